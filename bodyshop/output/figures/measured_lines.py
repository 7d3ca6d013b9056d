"""Measured lines on a view: where each dimension line runs, and the ghost of its limit.

A long level length gets a row under the view. Every other one is drawn between its own two ends, or
beside them where another line lies there already. All in sheet mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.layout.dimensions import DimensionStyle, dimension
from bodyshop.drawing.sheet.items import Item, Path
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import LineTo, MoveTo, Rect, Segment
from bodyshop.output.figures.boundary import apart_mm
from bodyshop.output.figures.labels import Callout, MeasuredLength

__all__ = [
    "ROW_MM",
    "LimitMark",
    "MeasuredLine",
    "dotted",
    "lay_lines",
    "lay_rows",
    "line_items",
    "wants_row",
]

ROW_MM: Final = 6.6
"""From one row of level dimensions to the next."""

STYLE: Final = DimensionStyle(text_mm=1.9, arrow_mm=1.7, start_gap_mm=0.7, beyond_mm=1.0)

_ROW_LEAST_MM: Final = 12.0
_LEVEL_RAD: Final = math.radians(2)
_STEP_MM: Final = 2.6
_STEPS: Final = 14
_KEEP_MM: Final = 2.2
_TICK_MM: Final = 3.2
_DOT_MM: Final = 0.95
_SPECK: Final = 0.02
"""Length of a dot's stroke, of the distance between dots."""
_LEAST_MM: Final = 1e-6
_EDGE_MM: Final = 0.5
_FAR_MM: Final = 30.0


@dataclass(frozen=True, slots=True)
class LimitMark:
    """Where an end would be at the limit: `at` on the dimension line, the ends of a dotted line through it,
    and the dotted gap from the end as measured.
    """

    at: Point
    cross: tuple[Point, Point]
    gap: tuple[Point, Point]


@dataclass(frozen=True, slots=True)
class MeasuredLine:
    """One measured line: its real ends, the dimension line's ends, and the limit's ghosts."""

    callout: Callout
    start: Point
    end: Point
    feet: tuple[Point, Point]
    direction_rad: float
    ghosts: tuple[LimitMark, ...]
    row: bool

    @property
    def middle(self) -> Point:
        """Half way along the dimension line."""
        return self.at(0.5)

    @property
    def length_mm(self) -> float:
        """Length of the dimension line on paper."""
        return math.dist(*self.feet)

    def at(self, share: float) -> Point:
        """A point of the dimension line."""
        (x0, y0), (x1, y1) = self.feet
        return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))

    @property
    def ink(self) -> tuple[Point, Point]:
        """The dimension line with the arrows that stand outside a short one."""
        if self.length_mm >= 2 * STYLE.arrow_mm + 1.0:
            return self.feet
        cos, sin = math.cos(self.direction_rad), math.sin(self.direction_rad)
        a, b = sorted(self.feet, key=lambda p: p[0] * cos + p[1] * sin)
        tail = 2 * STYLE.arrow_mm
        return ((a[0] - tail * cos, a[1] - tail * sin), (b[0] + tail * cos, b[1] + tail * sin))

    @property
    def extensions(self) -> tuple[tuple[Point, Point], tuple[Point, Point]]:
        """From each real end to its foot on the dimension line."""
        return ((self.start, self.feet[0]), (self.end, self.feet[1]))


@dataclass(frozen=True, slots=True)
class _Frame:
    """Along the measuring direction (u) and square to it (v), to the left."""

    cos: float
    sin: float

    def uv(self, p: Point) -> Point:
        return (p[0] * self.cos + p[1] * self.sin, p[1] * self.cos - p[0] * self.sin)

    def xy(self, u: float, v: float) -> Point:
        return (u * self.cos - v * self.sin, u * self.sin + v * self.cos)


def wants_row(measured: MeasuredLength, scale: float) -> bool:
    """Whether a length is level and long enough on paper for a row of its own."""
    level = abs(math.remainder(measured.direction_rad, math.pi)) < _LEVEL_RAD
    return level and scale * abs(measured.end[0] - measured.start[0]) >= _ROW_LEAST_MM


def lay_lines(
    callouts: Sequence[Callout], to_sheet: Affine, room: Rect, car: Rect
) -> tuple[list[MeasuredLine], list[Callout]]:
    """Lines for the lengths that get no row, and the callouts that have no line at all.

    Lines keep inside `room`; those at the ends of the `car` stand outside it. Longer ones choose first.
    """
    lines: list[MeasuredLine] = []
    spots: list[Callout] = []
    wanted = [c for c in callouts if c.measured is not None]
    wanted.sort(key=lambda c: (-round(_sheet_length(c, to_sheet), 3), c.number))
    for callout in wanted:
        line = _beside(callout, to_sheet, room, car, lines)
        if line is None:
            spots.append(callout)
        else:
            lines.append(line)
    return lines, [*spots, *(c for c in callouts if c.measured is None)]


def lay_rows(callouts: Sequence[Callout], to_sheet: Affine, room: Rect, top: float) -> list[MeasuredLine]:
    """Rows of level lengths from `top` downwards, the shortest first; several may share a row."""
    taken: list[list[tuple[float, float]]] = []
    lines: list[MeasuredLine] = []
    for callout in sorted(callouts, key=lambda c: (round(_sheet_length(c, to_sheet), 3), c.number)):
        ends = _sheet_ends(callout, to_sheet)
        xs = [p[0] for p in (*ends, *_limits(callout, to_sheet, room))]
        low, high = min(xs) - 3.0, max(xs) + 3.0
        row = next(
            (k for k, spans in enumerate(taken) if all(high < a or b < low for a, b in spans)), len(taken)
        )
        if row == len(taken):
            taken.append([])
        taken[row].append((low, high))
        y = top - row * ROW_MM
        feet = ((ends[0][0], y), (ends[1][0], y))
        ghosts = tuple(_row_ghost(p, y, feet[_nearer(p, feet)]) for p in _limits(callout, to_sheet, room))
        lines.append(MeasuredLine(callout, *ends, feet, 0.0, ghosts, row=True))
    return lines


def _sheet_ends(callout: Callout, to_sheet: Affine) -> tuple[Point, Point]:
    assert callout.measured is not None  # noqa: S101 - the caller has looked
    return to_sheet.point(callout.measured.start), to_sheet.point(callout.measured.end)


def _sheet_length(callout: Callout, to_sheet: Affine) -> float:
    return math.dist(*_sheet_ends(callout, to_sheet))


def _limits(callout: Callout, to_sheet: Affine, room: Rect) -> list[Point]:
    """The ends at the limit, those left out that fall off the drawing."""
    assert callout.measured is not None  # noqa: S101 - the caller has looked
    roomy = Rect(room.x, room.y - _FAR_MM, room.width, room.height + 2 * _FAR_MM)
    points = [to_sheet.point(p) for p in callout.measured.limits]
    return [p for p in points if roomy.holds(Rect(*p, 0.0, 0.0))]


def _nearer(p: Point, feet: tuple[Point, Point]) -> int:
    """Which foot a limit belongs to: the second, unless it clearly lies at the first."""
    return 0 if math.dist(p, feet[0]) < math.dist(p, feet[1]) - 1e-9 else 1


def _row_ghost(limit: Point, y: float, foot: Point) -> LimitMark:
    at = (limit[0], y)
    cross = ((limit[0], limit[1] + 2.0), (limit[0], y - 1.8))
    return LimitMark(at, cross, (foot, at))


def _beside(
    callout: Callout, to_sheet: Affine, room: Rect, car: Rect, others: Sequence[MeasuredLine]
) -> MeasuredLine | None:
    """The line between its own ends, or beside them, clear of the others; None when it has no length."""
    measured = callout.measured
    assert measured is not None  # noqa: S101 - the caller has looked
    start, end = _sheet_ends(callout, to_sheet)
    angle = measured.direction_rad
    frame = _Frame(math.cos(angle), math.sin(angle))
    (u0, v0), (u1, v1) = frame.uv(start), frame.uv(end)
    if abs(u1 - u0) < _LEAST_MM:
        return None
    limits = _limits(callout, to_sheet, room)
    found: MeasuredLine | None = None
    for level in _levels(v0, v1, frame, start, end, car):
        feet = (frame.xy(u0, level), frame.xy(u1, level))
        ghosts = tuple(_ghost(p, frame, level, feet, middle=len(limits) == 2) for p in limits)
        line = MeasuredLine(callout, start, end, feet, angle, ghosts, row=False)
        if found is None:
            found = line
        if _inside(line, room) and all(_clear(line, other) for other in others):
            return line
    return found


def _levels(v0: float, v1: float, frame: _Frame, start: Point, end: Point, car: Rect) -> Iterator[float]:
    """Places across the measuring direction, the best first."""
    outward = 0.0
    if abs(frame.sin) > 0.7:
        x = max(start[0], end[0])
        if x > car.right - 1.0:
            outward = math.copysign(1.0, -frame.sin)
        elif min(start[0], end[0]) < car.x + 1.0:
            outward = math.copysign(1.0, frame.sin)
    high, low = max(v0, v1), min(v0, v1)
    if outward:
        first = high if outward > 0 else low
        yield from (first + outward * (_STEP_MM * k + 3.2) for k in range(_STEPS))
    yield (v0 + v1) / 2 if abs(v1 - v0) < _LEAST_MM else high
    for k in range(1, _STEPS):
        yield high + _STEP_MM * k
        yield low - _STEP_MM * k


def _ghost(
    limit: Point, frame: _Frame, level: float, feet: tuple[Point, Point], *, middle: bool
) -> LimitMark:
    u, _ = frame.uv(limit)
    at = frame.xy(u, level)
    cross = (frame.xy(u, level - _TICK_MM), frame.xy(u, level + _TICK_MM))
    foot = feet[_nearer(at, feet)] if middle else feet[1]
    return LimitMark(at, cross, (foot, at))


def _inside(line: MeasuredLine, room: Rect) -> bool:
    points = [*line.ink, *(p for ghost in line.ghosts for p in ghost.cross)]
    return all(room.x + _EDGE_MM <= p[0] <= room.right - _EDGE_MM for p in points)


def _clear(line: MeasuredLine, other: MeasuredLine) -> bool:
    """Whether two lines keep apart, if they run alike: lines that cross squarely may."""
    if abs(math.remainder(line.direction_rad - other.direction_rad, math.pi)) > math.radians(20):
        return math.dist(line.middle, other.middle) > 1.0
    mine, theirs = ([each.ink, *(ghost.gap for ghost in each.ghosts)] for each in (line, other))
    return all(apart_mm(a, b) >= _KEEP_MM for a in mine for b in theirs)


# ---------------------------------------------------------------- ink


def line_items(line: MeasuredLine) -> list[Item]:
    """The dimension line with its extension lines and arrows, and the ghosts."""
    cos, sin = math.cos(line.direction_rad), math.sin(line.direction_rad)
    frame = _Frame(cos, sin)
    vs = [frame.uv(p)[1] for p in (line.start, line.end)]
    level = frame.uv(line.feet[0])[1]
    highest, lowest = max(vs), min(vs)
    offset = level - highest if level >= highest else level - lowest
    items = dimension(line.start, line.end, "", offset, line.direction_rad, STYLE)
    for ghost in line.ghosts:
        items.append(dotted(*ghost.cross))
        if math.dist(*ghost.gap) > 2 * _DOT_MM:
            items.append(dotted(*ghost.gap))
    return items


def dotted(start: Point, end: Point) -> Path:
    """A row of dots from end to end: where a limit would be.

    Dots are strokes of next to no length with round ends. They begin and finish at the very ends.
    """
    count = max(1, round(math.dist(start, end) / _DOT_MM))
    dx, dy = (end[0] - start[0]) / count, (end[1] - start[1]) / count
    segments: list[Segment] = []
    for k in range(count + 1):
        back = -_SPECK if k == count else _SPECK
        at = (start[0] + k * dx, start[1] + k * dy) if k < count else end
        segments += (MoveTo(at), LineTo((at[0] + back * dx, at[1] + back * dy)))
    return Path(tuple(segments), Layer.DIMENSION, Pen.CUT)

"""What side and plan templates share: blank, stations, edge names, and words inside the blank."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from bodyshop.car.stock.blades import Blade
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.layout.tiling import OVERLAP_MM
from bodyshop.drawing.sheet.items import Anchor, Group, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import bounds
from bodyshop.drawing.sheet.shapes import line, polygon
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import Rect

__all__ = [
    "NOTE_MM",
    "RULER_MM",
    "SEAM_MM",
    "SMALL_MM",
    "TITLE_MM",
    "Panel",
    "TemplateSettings",
    "datum_edge",
    "datum_width_mm",
    "edge_name",
    "panel",
    "pitch",
    "stations",
    "title_row",
]

NOTE_MM = 2.5
"""Height of capitals in notes and figures."""
TITLE_MM = 3.5
"""Height of capitals in a template's name."""

SMALL_MM = 2.2
"""Height of capitals in the names of edges and the like."""
_PITCH = 1.75
RULER_MM = 8.0
"""From the blank's edge, over its stations and their numbers, to the foot of the words above."""
SEAM_MM = OVERLAP_MM / 2 + 1.0
"""How far words keep from a seam: off the strip that neighbouring sheets share."""
_TICK_MM, _SHORT_TICK_MM = 2.2, 1.1
_DATUM_MM, _DATUM_GAP_MM = 3.0, 1.0
_DATUM = "DATUM:"


@dataclass(frozen=True, slots=True)
class TemplateSettings:
    """What every template of a set is drawn with.

    `seams` are the x at which sheets will be joined: no word is put across one where that can be helped.
    With a `blade`, relief cuts are drawn for the inside curves that it cannot follow; with an `offset_mm`
    a line for the saw that far outside the outline. `gauges` are the stations of the card gauges, mm from
    the nose end of the blank.
    """

    figures: Figures
    name: str
    fingerprint: str
    fails: bool = False
    seams: tuple[float, ...] = ()
    blade: Blade | None = None
    offset_mm: float = 0.0
    gauges: tuple[float, ...] = ()

    def identity(self, view: str) -> str:
        """Whose template it is, and for which face."""
        return f"{self.name} · {view} · {self.fingerprint}"


@dataclass(frozen=True, slots=True)
class Panel:
    """One template: its items in its own coordinates, and the rectangle that holds them."""

    name: str
    items: tuple[Item, ...]
    room: Rect

    def moved(self, dx: float, dy: float) -> list[Item]:
        """The items shifted, each by itself so that tiles can leave out what they do not show."""
        move = Affine.move(dx, dy)
        return [Group(move, (item,)) for item in self.items]


def panel(name: str, items: Iterable[Item]) -> Panel:
    """A panel just large enough for its items."""
    held = tuple(items)
    room = bounds(held)
    return Panel(name, held, room if room is not None else Rect(0.0, 0.0, 0.0, 0.0))


def pitch(height_mm: float = NOTE_MM) -> float:
    """Between baselines of notes set close together."""
    return _PITCH * height_mm


def title_row(
    name: str, where: str, figures: Figures, length: float, top: Callable[[float, float], float]
) -> list[Item]:
    """A template's name and what to do with it over its nose, and the unit of figures over its tail.

    `top` gives the highest of the drawing below between two x.
    """
    width = text_width_mm(name, TITLE_MM, bold=True)
    after = width + 3.0
    note = text_width_mm(figures.note, SMALL_MM)
    where = shorten(where, NOTE_MM, max(length - note - 6.0 - after, 60.0))
    end = after + text_width_mm(where, NOTE_MM)
    base = top(0.0, min(end, length)) + RULER_MM
    items: list[Item] = [
        Text(name, (0.0, base), TITLE_MM, weight=Weight.BOLD),
        Text(where, (after, base), NOTE_MM),
    ]
    if end + 6.0 < length - note:
        at = (length, top(length - note, length) + RULER_MM)
        items.append(Text(figures.note, at, SMALL_MM, Anchor.END))
    return items


def stations(
    upper: tuple[Point, Point], lower: tuple[Point, Point], figures: Figures, stretch: float = 1.0
) -> list[Item]:
    """Ticks along both long edges of the blank, the numbers over the upper edge.

    Each edge is given by its nose end, at x = 0, and its tail end. Along a slope the paper is `stretch`
    times as long as the blank; stations count along the blank all the same.
    """
    items: list[Item] = []
    length = (upper[1][0] - upper[0][0]) / stretch
    step = figures.station_step_mm / figures.station_parts

    def level(edge: tuple[Point, Point], x: float) -> float:
        (x0, y0), (x1, y1) = edge
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

    for k in range(int(length / step + 1e-6) + 1):
        x = stretch * k * step
        numbered = k % figures.station_parts == 0
        tick = _TICK_MM if numbered else _SHORT_TICK_MM
        top, foot = level(upper, x), level(lower, x)
        items.append(line((x, top), (x, top + tick), Layer.STATION))
        items.append(line((x, foot), (x, foot - tick / 2), Layer.STATION))
        if numbered:
            words = figures.station(k // figures.station_parts)
            at = (x, top + _TICK_MM + 0.7)
            items.append(Text(words, at, SMALL_MM, Anchor.MIDDLE, layer=Layer.STATION))
    return items


def edge_name(words: str, at: Point, *, upright: bool = False, nose: bool = False) -> Text:
    """The name of an edge, centred at `at`: below a level edge, or outside an upright one."""
    quarter = 1.5707963267948966 if upright else 0.0
    if upright:
        x = at[0] - 1.8 if nose else at[0] + 1.8 + SMALL_MM
        return Text(words, (x, at[1]), SMALL_MM, Anchor.MIDDLE, quarter, Weight.BOLD)
    return Text(words, (at[0], at[1] - 1.6 - SMALL_MM), SMALL_MM, Anchor.MIDDLE, weight=Weight.BOLD)


def datum_width_mm(name: str, *, stacked: bool = False) -> float:
    """How much of an edge the mark and the words of `datum_edge` take."""
    words = (_DATUM, name) if stacked else (f"{_DATUM} {name}",)
    return _DATUM_MM + _DATUM_GAP_MM + max(text_width_mm(each, SMALL_MM, bold=True) for each in words)


def datum_edge(
    name: str, at: Point, *, upright: bool = False, nose: bool = False, stacked: bool = False
) -> list[Item]:
    """The mark of a datum edge and its name, outside the edge, centred at `at`.

    Below a level edge, beside an upright one (to its left for the nose end); `stacked` on two lines. The
    mark is a filled triangle that stands on the edge, after ISO 5459 (from memory); the words make it plain
    to all others.
    """
    left, up = -datum_width_mm(name, stacked=stacked) / 2, 1.0 if upright and nose else -1.0
    mark = polygon(
        ((left, 0.0), (left + _DATUM_MM, 0.0), (left + _DATUM_MM / 2, 0.85 * _DATUM_MM * up)),
        Layer.DATUM,
        Pen.NARROW,
        0.0,
    )
    lines = [_DATUM, name] if stacked else [f"{_DATUM} {name}"]
    near, step = 0.8, 1.5 * SMALL_MM
    # Read from the foot or the right of the sheet, so that the first line is the upper one.
    levels = (
        [near + step * k for k in range(len(lines))][::-1]
        if up > 0
        else [-near - SMALL_MM - step * k for k in range(len(lines))]
    )
    start = left + _DATUM_MM + _DATUM_GAP_MM
    texts = [
        Text(words, (start, level), SMALL_MM, weight=Weight.BOLD, layer=Layer.DATUM)
        for words, level in zip(lines, levels, strict=True)
    ]
    place = Affine.turn(math.pi / 2 if upright else 0.0).then(Affine.move(*at))
    return [Group(place, (mark, *texts))]

"""Where the call-outs of one view go: in a dimension line of their own, or in a band above or below."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from bodyshop.drawing.layout.free_space import clearest
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.boundary import LabelPosition, LeaderPoint, apart_mm, seat_labels
from bodyshop.output.figures.labels import Callout, Label, inline_labels, labels_for
from bodyshop.output.figures.measured_lines import ROW_MM, MeasuredLine, lay_lines, lay_rows, wants_row

__all__ = ["BandCallout", "CalloutPlaces", "InlineCallout", "ViewSpace", "frame_of", "place_callouts"]


_BAND_MM: Final = 5.5
"""Between the drawing and its bands of labels, where the leaders fan out."""
_ROW_GAP_MM: Final = 4.6
_KEEP_MM: Final = 1.3
_TIP_SHARES: Final = (0.5, 0.38, 0.62, 0.27, 0.73, 0.15, 0.85)
_RING: Final = tuple((math.cos(a), math.sin(a)) for a in (k * math.pi / 4 + 0.3 for k in range(8)))
_LEAN_MM: Final = 7.0
_LONG_MM: Final = 8.0
_NEAR_SHARES: Final = (0.2, 0.35, 0.5, 0.65, 0.8)


@dataclass(frozen=True, slots=True)
class BandCallout:
    """A call-out with its label in a band."""

    callout: Callout
    label: Label
    seat: LabelPosition


@dataclass(frozen=True, slots=True)
class InlineCallout:
    """A call-out with its label in its own dimension line."""

    callout: Callout
    label: Label
    box: Rect


@dataclass(frozen=True, slots=True)
class ViewSpace:
    """What is fixed before any call-out is placed; boxes in sheet mm."""

    to_sheet: Affine
    scale: float
    width_mm: float
    drawn: Rect
    car: Rect


@dataclass(frozen=True, slots=True)
class CalloutPlaces:
    """Where every call-out of a view went; `left_out` are those that found no room."""

    lines: tuple[MeasuredLine, ...]
    seated: tuple[BandCallout, ...]
    inline: tuple[InlineCallout, ...]
    left_out: tuple[Callout, ...]


def place_callouts(space: ViewSpace, callouts: Sequence[Callout]) -> CalloutPlaces:
    """A place for every call-out, the least of them left out when there is no room for all."""
    rows = [c for c in callouts if c.measured is not None and wants_row(c.measured, space.scale)]
    rest = [c for c in callouts if c not in rows]
    room = Rect(0.0, space.drawn.y, space.width_mm, space.drawn.height)
    beside, points = lay_lines(rest, space.to_sheet, room, space.car)
    low = min([space.drawn.y, *(p[1] for each in beside for p in _points(each))])
    in_rows = lay_rows(rows, space.to_sheet, room, low - _ROW_GAP_MM)
    lines = [*beside, *in_rows]
    to_seat: list[Callout] = [*points, *(each.callout for each in beside)]
    left_out: list[Callout] = []
    while True:
        seated = _seat_all(space, lines, to_seat)
        if seated is None:
            # The least of them make room; the table tells their story.
            last = max(to_seat, key=lambda c: c.number)
            to_seat.remove(last)
            left_out.append(last)
            continue
        inline, homeless = _inline_all(space, in_rows, lines, seated, {c.number for c in to_seat})
        if not homeless:
            kept = tuple(each for each in lines if each.callout not in left_out)
            return CalloutPlaces(kept, tuple(seated), tuple(inline), tuple(left_out))
        to_seat.append(homeless[0])


# ---------------------------------------------------------------- labels in bands


def _seat_all(
    space: ViewSpace, lines: Sequence[MeasuredLine], callouts: Sequence[Callout]
) -> list[BandCallout] | None:
    """Every call-out in a band, with as many words as there is room for; None when not even numbers fit."""
    if not callouts:
        return []
    order = sorted(callouts, key=lambda c: c.number)
    tips = _tips(space, lines, order)
    room = _room(space, lines, tips)
    choices = [labels_for(c.number, c.verdict) for c in order]
    for detail in range(max(len(labels) for labels in choices)):
        labels = [sizes[min(detail, len(sizes) - 1)] for sizes in choices]
        seats = seat_labels(tips, [label.size for label in labels], room)
        if seats is not None:
            seats = _shortened(seats, order, lines)
            return [BandCallout(c, label, seat) for c, label, seat in zip(order, labels, seats, strict=True)]
    return None


def _shortened(
    seats: Sequence[LabelPosition], callouts: Sequence[Callout], lines: Sequence[MeasuredLine]
) -> list[LabelPosition]:
    """Leaders to long lines end on the near part of the line, where that keeps them apart."""
    by_number = {each.callout.number: each for each in lines}
    shorter = list(seats)
    for k, (seat, callout) in enumerate(zip(seats, callouts, strict=True)):
        each = by_number.get(callout.number)
        if each is None or each.length_mm < _LONG_MM:
            continue
        others = [(other.port, other.tip) for other in (*shorter[:k], *shorter[k + 1 :])]
        for tip in sorted((each.at(share) for share in _NEAR_SHARES), key=lambda p: math.dist(p, seat.port)):
            steep = abs(
                math.sin(math.atan2(seat.port[1] - tip[1], seat.port[0] - tip[0]) - each.direction_rad)
            )
            if steep > 0.2 and all(apart_mm((seat.port, tip), other) >= _KEEP_MM for other in others):
                shorter[k] = LabelPosition(seat.box, seat.port, tip, seat.above)
                break
    return shorter


def _room(space: ViewSpace, lines: Sequence[MeasuredLine], tips: Sequence[LeaderPoint]) -> Rect:
    """The drawing with its lines, and space for leaders to fan out above and below."""
    ys = [space.drawn.y, space.drawn.top, *(tip.at[1] for tip in tips)]
    ys += [p[1] for each in lines for p in _points(each)]
    low, high = min(ys), max(ys)
    if any(each.row for each in lines):
        low -= ROW_MM / 2
    return Rect(0.0, low - _BAND_MM, space.width_mm, high - low + 2 * _BAND_MM)


def _points(each: MeasuredLine) -> Iterator[Point]:
    yield from each.ink
    yield from (each.start, each.end)
    for ghost in each.ghosts:
        yield from ghost.cross


def _tips(space: ViewSpace, lines: Sequence[MeasuredLine], callouts: Sequence[Callout]) -> list[LeaderPoint]:
    """Where each leader points, no two at one spot."""
    by_number = {each.callout.number: each for each in lines}
    taken: list[Point] = []
    tips: list[LeaderPoint] = []
    middle = space.drawn.centre[0]
    for callout in callouts:
        each = by_number.get(callout.number)
        at = _free_place(_wanted(space, callout, each), taken)
        taken.append(at)
        lean, direction = 0.0, None
        if each is not None:
            direction = each.direction_rad
            if abs(math.sin(direction)) > 0.7:
                lean = math.copysign(_LEAN_MM, at[0] - middle)
        tips.append(LeaderPoint(at, lean, direction))
    return tips


def _wanted(space: ViewSpace, callout: Callout, each: MeasuredLine | None) -> list[Point]:
    if each is not None:
        return [each.at(share) for share in _TIP_SHARES]
    x, y = space.to_sheet.point(callout.spot)
    return [(x, y), *((x + r * c, y + r * s) for r in (1.7, 3.2, 4.8) for c, s in _RING)]


def _free_place(wanted: Sequence[Point], taken: Sequence[Point]) -> Point:
    """The first spot that is clear of the others, or else the clearest."""
    candidates = [(float(k), [spot]) for k, spot in enumerate(wanted)]
    return wanted[round(clearest(candidates, shapely.MultiPoint(list(taken)), 0.0, _KEEP_MM))]


# ---------------------------------------------------------------- labels in rows


def _inline_all(
    space: ViewSpace,
    rows: Sequence[MeasuredLine],
    lines: Sequence[MeasuredLine],
    seated: Sequence[BandCallout],
    away: set[int],
) -> tuple[list[InlineCallout], list[Callout]]:
    """A label in each row that nothing runs through, and the call-outs of rows that have none."""
    found: list[InlineCallout] = []
    homeless: list[Callout] = []
    leaders = [(s.seat.port, s.seat.tip) for s in seated]
    for row in rows:
        if row.callout.number in away:
            continue
        others = [each for each in lines if each is not row]
        strokes = [*leaders, *(stroke for each in others for stroke in _strokes(each))]
        strokes += [ghost.cross for ghost in row.ghosts]
        boxes = [each.box for each in found]
        spot = _inline_place(space, row, strokes, boxes)
        if spot is None:
            homeless.append(row.callout)
        else:
            found.append(spot)
    return found, homeless


def _strokes(each: MeasuredLine) -> Iterator[tuple[Point, Point]]:
    yield each.ink
    yield from each.extensions
    for ghost in each.ghosts:
        yield from (ghost.cross, ghost.gap)


def _inline_place(
    space: ViewSpace, row: MeasuredLine, strokes: Sequence[tuple[Point, Point]], boxes: Sequence[Rect]
) -> InlineCallout | None:
    y = row.feet[0][1]
    low, high = sorted(foot[0] for foot in row.feet)
    gaps = [sorted(p[0] for p in ghost.gap) for ghost in row.ghosts]
    for label in inline_labels(row.callout.number, row.callout.verdict):
        height = ROW_MM - 1.2
        for x in _along(low + 3.0, high - 3.0 - label.width_mm):
            box = Rect(x, y - height / 2, label.width_mm + 0.6, height)
            if box.x < 0 or box.right > space.width_mm or any(box.touches(other) for other in boxes):
                continue
            if any(a <= box.right and box.x <= b for a, b in gaps if b - a > 1.0):
                continue
            if all(not _through(stroke, box) for stroke in strokes):
                return InlineCallout(row.callout, label, box)
    return None


def _along(low: float, high: float) -> Iterator[float]:
    """Places from the middle outwards; none when there is no room."""
    if high < low:
        return
    middle = (low + high) / 2
    yield middle
    for k in range(1, int((high - low) / 2) + 1):
        yield middle + k
        yield middle - k


def _through(stroke: tuple[Point, Point], box: Rect) -> bool:
    """Whether a stroke runs through a box or within a hair of it."""
    (x0, y0), (x1, y1) = stroke
    roomy = box.grown(0.5)
    if max(x0, x1) < roomy.x or min(x0, x1) > roomy.right or max(y0, y1) < roomy.y or min(y0, y1) > roomy.top:
        return False
    if any(roomy.holds(Rect(*p, 0.0, 0.0)) for p in stroke):
        return True
    corners = ((roomy.x, roomy.y), (roomy.right, roomy.y), (roomy.right, roomy.top), (roomy.x, roomy.top))
    sides = zip(corners, (*corners[1:], corners[0]), strict=True)
    return any(apart_mm(stroke, side) == 0.0 for side in sides)


def frame_of(space: ViewSpace, placed: CalloutPlaces) -> Rect:
    """The whole figure: full width, as high as what is drawn."""
    ys = [space.drawn.y, space.drawn.top]
    ys += [p[1] for each in placed.lines for p in _points(each)]
    ys += [y for each in placed.seated for y in (each.seat.box.y, each.seat.box.top)]
    ys += [y for each in placed.inline for y in (each.box.y, each.box.top)]
    low, high = min(ys) - 1.0, max(ys) + 1.0
    return Rect(0.0, low, space.width_mm, high - low)

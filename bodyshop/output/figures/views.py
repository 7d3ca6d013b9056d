"""The three views of one judged car at one scale."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from bodyshop.car.assembly import Car
from bodyshop.drawing.layout.free_space import clearest
from bodyshop.drawing.sheet.items import Group, Item
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.shapes import disc, line
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.aspects import Aspect
from bodyshop.output.figures.boundary import LabelPosition, LeaderPoint, apart_mm, seat_labels
from bodyshop.output.figures.car_views import car_extent, car_items
from bodyshop.output.figures.labels import (
    Callout,
    Label,
    callouts_of,
    inline_items,
    inline_labels,
    label_items,
    labels_for,
)
from bodyshop.output.figures.measured_lines import (
    ROW_MM,
    MeasuredLine,
    lay_lines,
    lay_rows,
    line_items,
    wants_row,
)
from bodyshop.rules.checking import Checked

__all__ = [
    "BandCallout",
    "CAPTIONS",
    "Figure",
    "InlineCallout",
    "TAIL_WIDTH_MM",
    "Views",
    "draw_figure",
    "draw_views",
    "scale_for",
    "scale_sentence",
    "scale_words",
]


_BAND_MM: Final = 5.5
"""Between the drawing and its bands of labels, where the leaders fan out."""
_ROW_GAP_MM: Final = 4.6
_SIDE_MM: Final = 13.0
"""Kept at each side of the car for lines that stand outside its ends."""
_KEEP_MM: Final = 1.3
_TIP_SHARES: Final = (0.5, 0.38, 0.62, 0.27, 0.73, 0.15, 0.85)
_RING: Final = tuple((math.cos(a), math.sin(a)) for a in (k * math.pi / 4 + 0.3 for k in range(8)))
_LEAN_MM: Final = 7.0
_LONG_MM: Final = 8.0
_NEAR_SHARES: Final = (0.2, 0.35, 0.5, 0.65, 0.8)
_SCALES: Final = (
    5.0,
    2.0,
    1.0,
    *(1 / k for k in (1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50)),
)


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
class Figure:
    """A view as drawn, in sheet mm inside `frame`, whose corner need not be the origin.

    `to_sheet` takes a point of the view (mm of the car) to the sheet. `left_out` are call-outs that found
    no room.
    """

    aspect: Aspect
    scale: float
    to_sheet: Affine
    frame: Rect
    items: tuple[Item, ...]
    lines: tuple[MeasuredLine, ...]
    seated: tuple[BandCallout, ...]
    inline: tuple[InlineCallout, ...]
    left_out: tuple[Callout, ...]


def scale_for(car: Car, width_mm: float, tail_width_mm: float, smaller: int = 0) -> float:
    """The largest usual scale at which all three views fit, or one `smaller` by so many steps."""
    side, top, tail = (car_extent(car, aspect) for aspect in Aspect)
    length = max(side.width, top.width)

    def fits(scale: float) -> bool:
        return (
            scale * length <= width_mm - 2 * _SIDE_MM + 12.0
            and scale * side.height <= 62.0
            and scale * top.height <= 66.0
            and scale * tail.height <= 62.0
            and scale * tail.width <= tail_width_mm - 12.0
        )

    first = next((k for k, scale in enumerate(_SCALES) if fits(scale)), len(_SCALES) - 1)
    return _SCALES[min(first + smaller, len(_SCALES) - 1)]


def draw_figure(
    car: Car, aspect: Aspect, callouts: Sequence[Callout], scale: float, width_mm: float
) -> Figure:
    """A view at a scale, `width_mm` wide, with those of the call-outs that belong to it."""
    extent = car_extent(car, aspect)
    left = (width_mm - scale * _shared(car, aspect, extent).width) / 2
    left -= scale * _shared(car, aspect, extent).x
    to_sheet = Affine.stretch(scale, scale).then(Affine.move(left, 0.0))
    drawn = Rect(left + scale * extent.x, scale * extent.y, scale * extent.width, scale * extent.height)
    plan = _Plan(aspect, to_sheet, scale, width_mm, drawn, _car_box(car, aspect, to_sheet))
    own = [c for c in callouts if c.aspect is aspect]
    laid = _lay_all(plan, own)
    items: list[Item] = [Group(to_sheet, tuple(car_items(car, aspect)))]
    for each in laid.lines:
        items += line_items(each)
    for seated in laid.seated:
        items.append(line(seated.seat.port, seated.seat.tip, Layer.DIMENSION))
        if not any(each.callout is seated.callout for each in laid.lines):
            items.append(disc(seated.seat.tip, 0.65, Layer.DIMENSION))
        items += label_items(seated.label, seated.seat.box, seated.seat.port)
    for inline in laid.inline:
        items += inline_items(inline.label, inline.box)
    frame = _frame(plan, laid)
    return Figure(
        aspect, scale, to_sheet, frame, tuple(items), laid.lines, laid.seated, laid.inline, laid.left_out
    )


def _shared(car: Car, aspect: Aspect, extent: Rect) -> Rect:
    """The stretch by which a view is centred: the same for side and top, so that they line up."""
    if aspect is Aspect.TAIL:
        return extent
    other = car_extent(car, Aspect.TOP if aspect is Aspect.SIDE else Aspect.SIDE)
    x = min(extent.x, other.x)
    return Rect(x, extent.y, max(extent.right, other.right) - x, extent.height)


@dataclass(frozen=True, slots=True)
class _Plan:
    """What is fixed before any call-out is laid: sheet mm."""

    aspect: Aspect
    to_sheet: Affine
    scale: float
    width_mm: float
    drawn: Rect
    car: Rect


@dataclass(frozen=True, slots=True)
class _Laid:
    lines: tuple[MeasuredLine, ...]
    seated: tuple[BandCallout, ...]
    inline: tuple[InlineCallout, ...]
    left_out: tuple[Callout, ...]


def _car_box(car: Car, aspect: Aspect, to_sheet: Affine) -> Rect:
    """The body's box on the sheet: its ends are where lines stand outside."""
    x0, y0, z0, x1, y1, z1 = car.body.bounds
    across = {Aspect.SIDE: (x0, z0, x1, z1), Aspect.TOP: (x0, y0, x1, y1), Aspect.TAIL: (y0, z0, y1, z1)}
    u0, v0, u1, v1 = across[aspect]
    low, high = to_sheet.point((u0, v0)), to_sheet.point((u1, v1))
    return Rect(low[0], low[1], high[0] - low[0], high[1] - low[1])


def _lay_all(plan: _Plan, callouts: Sequence[Callout]) -> _Laid:
    rows = [c for c in callouts if c.measured is not None and wants_row(c.measured, plan.scale)]
    rest = [c for c in callouts if c not in rows]
    room = Rect(0.0, plan.drawn.y, plan.width_mm, plan.drawn.height)
    beside, points = lay_lines(rest, plan.to_sheet, room, plan.car)
    low = min([plan.drawn.y, *(p[1] for each in beside for p in _points(each))])
    in_rows = lay_rows(rows, plan.to_sheet, room, low - _ROW_GAP_MM)
    lines = [*beside, *in_rows]
    to_seat: list[Callout] = [*points, *(each.callout for each in beside)]
    left_out: list[Callout] = []
    while True:
        seated = _seat_all(plan, lines, to_seat)
        if seated is None:
            # The least of them make room; the table tells their story.
            last = max(to_seat, key=lambda c: c.number)
            to_seat.remove(last)
            left_out.append(last)
            continue
        inline, homeless = _inline_all(plan, in_rows, lines, seated, {c.number for c in to_seat})
        if not homeless:
            kept = tuple(each for each in lines if each.callout not in left_out)
            return _Laid(kept, tuple(seated), tuple(inline), tuple(left_out))
        to_seat.append(homeless[0])


# ---------------------------------------------------------------- labels in bands


def _seat_all(
    plan: _Plan, lines: Sequence[MeasuredLine], callouts: Sequence[Callout]
) -> list[BandCallout] | None:
    """Every call-out in a band, with as many words as there is room for; None when not even numbers fit."""
    if not callouts:
        return []
    order = sorted(callouts, key=lambda c: c.number)
    tips = _tips(plan, lines, order)
    room = _room(plan, lines, tips)
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


def _room(plan: _Plan, lines: Sequence[MeasuredLine], tips: Sequence[LeaderPoint]) -> Rect:
    """The drawing with its lines, and space for leaders to fan out above and below."""
    ys = [plan.drawn.y, plan.drawn.top, *(tip.at[1] for tip in tips)]
    ys += [p[1] for each in lines for p in _points(each)]
    low, high = min(ys), max(ys)
    if any(each.row for each in lines):
        low -= ROW_MM / 2
    return Rect(0.0, low - _BAND_MM, plan.width_mm, high - low + 2 * _BAND_MM)


def _points(each: MeasuredLine) -> Iterator[Point]:
    yield from each.ink
    yield from (each.start, each.end)
    for ghost in each.ghosts:
        yield from ghost.cross


def _tips(plan: _Plan, lines: Sequence[MeasuredLine], callouts: Sequence[Callout]) -> list[LeaderPoint]:
    """Where each leader points, no two at one spot."""
    by_number = {each.callout.number: each for each in lines}
    taken: list[Point] = []
    tips: list[LeaderPoint] = []
    middle = plan.drawn.centre[0]
    for callout in callouts:
        each = by_number.get(callout.number)
        at = _free_place(_wanted(plan, callout, each), taken)
        taken.append(at)
        lean, direction = 0.0, None
        if each is not None:
            direction = each.direction_rad
            if abs(math.sin(direction)) > 0.7:
                lean = math.copysign(_LEAN_MM, at[0] - middle)
        tips.append(LeaderPoint(at, lean, direction))
    return tips


def _wanted(plan: _Plan, callout: Callout, each: MeasuredLine | None) -> list[Point]:
    if each is not None:
        return [each.at(share) for share in _TIP_SHARES]
    x, y = plan.to_sheet.point(callout.spot)
    return [(x, y), *((x + r * c, y + r * s) for r in (1.7, 3.2, 4.8) for c, s in _RING)]


def _free_place(wanted: Sequence[Point], taken: Sequence[Point]) -> Point:
    """The first spot that is clear of the others, or else the clearest."""
    candidates = [(float(k), [spot]) for k, spot in enumerate(wanted)]
    return wanted[round(clearest(candidates, shapely.MultiPoint(list(taken)), 0.0, _KEEP_MM))]


# ---------------------------------------------------------------- labels in rows


def _inline_all(
    plan: _Plan,
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
        spot = _inline_place(plan, row, strokes, boxes)
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
    plan: _Plan, row: MeasuredLine, strokes: Sequence[tuple[Point, Point]], boxes: Sequence[Rect]
) -> InlineCallout | None:
    y = row.feet[0][1]
    low, high = sorted(foot[0] for foot in row.feet)
    gaps = [sorted(p[0] for p in ghost.gap) for ghost in row.ghosts]
    for label in inline_labels(row.callout.number, row.callout.verdict):
        height = ROW_MM - 1.2
        for x in _along(low + 3.0, high - 3.0 - label.width_mm):
            box = Rect(x, y - height / 2, label.width_mm + 0.6, height)
            if box.x < 0 or box.right > plan.width_mm or any(box.touches(other) for other in boxes):
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


def _frame(plan: _Plan, laid: _Laid) -> Rect:
    """The whole figure: full width, as high as what is drawn."""
    ys = [plan.drawn.y, plan.drawn.top]
    ys += [p[1] for each in laid.lines for p in _points(each)]
    ys += [y for each in laid.seated for y in (each.seat.box.y, each.seat.box.top)]
    ys += [y for each in laid.inline for y in (each.box.y, each.box.top)]
    low, high = min(ys) - 1.0, max(ys) + 1.0
    return Rect(0.0, low, plan.width_mm, high - low)


TAIL_WIDTH_MM: Final = 84.0
"""Width of the tail view; the mass stands beside it on paper."""

CAPTIONS: Final = {
    Aspect.SIDE: "Side view, nose to the left",
    Aspect.TOP: "Top view, nose to the left",
    Aspect.TAIL: "From behind",
}


@dataclass(frozen=True, slots=True)
class Views:
    """The views, their common scale (paper over car), and all call-outs with a place."""

    scale: float
    callouts: tuple[Callout, ...]
    side: Figure
    top: Figure
    tail: Figure

    @property
    def figures(self) -> tuple[Figure, Figure, Figure]:
        """All three."""
        return (self.side, self.top, self.tail)

    @property
    def drawn(self) -> frozenset[int]:
        """Numbers of the call-outs that found room."""
        return frozenset(c.number for c in self.callouts) - {
            c.number for figure in self.figures for c in figure.left_out
        }


def draw_views(checked: Checked, width_mm: float, smaller: int = 0) -> Views:
    """The views for a page that leaves `width_mm` for them, `smaller` by so many steps than need be."""
    car = checked.opened.car
    callouts = callouts_of(checked.judgement)
    scale = scale_for(car, width_mm, TAIL_WIDTH_MM, smaller)
    side, top = (draw_figure(car, a, callouts, scale, width_mm) for a in (Aspect.SIDE, Aspect.TOP))
    tail = draw_figure(car, Aspect.TAIL, callouts, scale, TAIL_WIDTH_MM)
    return Views(scale, callouts, side, top, tail)


def scale_words(scale: float) -> str:
    """`1 : 2`, `2 : 1`."""
    return f"{scale:g} : 1" if scale > 1.0 else f"1 : {round(1 / scale, 2):g}"


def scale_sentence(scale: float) -> str:
    """What a reader must know before laying a rule on the paper."""
    return f"All three views at {scale_words(scale)}. Do not saw from these: use the templates."

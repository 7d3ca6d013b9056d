"""The car in its three views, and the legend of its lines and marks."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import Final

import shapely

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.body import Rim
from bodyshop.drawing.sheet.items import Group, Item, Path, Text
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import bounds
from bodyshop.drawing.sheet.shapes import circle, line, polygon, polyline, rectangle, through, trace
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.outlines import Outline
from bodyshop.geometry.paths import Rect, Segment
from bodyshop.output.figures.aspects import Aspect
from bodyshop.output.figures.labels import MARK_MM, Callout, mark_items
from bodyshop.output.figures.measured_lines import dotted
from bodyshop.rules.rulebook import Outcome, Verdict

__all__ = ["car_extent", "car_items", "legend_items"]


_WOOD_GREY: Final = 0.93
_WHEEL_GREY: Final = 0.985
_ROUGH_MM: Final = 0.01
_SAME_MM: Final = 1e-6
_TRACK_OVER_MM: Final = 8.0
_AXIS_OVER_MM: Final = 6.0


def car_items(car: Car, aspect: Aspect) -> list[Item]:
    """One view of the car."""
    match aspect:
        case Aspect.SIDE:
            return [*_side(car)]
        case Aspect.TOP:
            return [*_top(car)]
        case Aspect.TAIL:
            return [*_tail(car)]


def car_extent(car: Car, aspect: Aspect) -> Rect:
    """The rectangle round a view, mm of the car."""
    found = bounds(car_items(car, aspect))
    return found if found is not None else Rect(0.0, 0.0, 1.0, 1.0)


# ---------------------------------------------------------------- side


def _side(car: Car) -> Iterator[Item]:
    blank = car.design.blank
    yield from _wood(car, car.body.profile)
    corners = ((0.0, 0.0), (blank.length_mm, 0.0), (blank.length_mm, blank.height_tail_mm))
    yield polygon((*corners, (0.0, blank.height_nose_mm)), Layer.BLANK)
    if car.body.rim is not None:
        yield from _bore_from_side(car.body.rim)
    for place, pilot in zip(car.design.eyes, car.body.eye_pilots, strict=True):
        if pilot is not None:
            half, wire = place.eye.ring_outer_mm / 2, place.eye.wire_mm / 2
            yield rectangle(
                Rect(pilot.x - wire, pilot.z - 2 * half, 2 * wire, 2 * half), Layer.OUTLINE, Pen.NARROW
            )
            yield _hidden_shank(pilot.x, pilot.z, place.eye.pilot_diameter_mm / 2, place.eye.pilot_depth_mm)
    for axle in car.design.axles:
        centre = (axle.x_mm, axle.height_mm)
        yield circle(centre, axle.wheel.radius_mm, Layer.OUTLINE, Pen.NARROW)
        yield circle(centre, axle.hole_mm / 2, Layer.HOLE, Pen.NARROW)
        yield from _cross(centre, axle.hole_mm / 2 + 3.0)
    yield from _track_from_side(car)


def _bore_from_side(rim: Rim) -> Iterator[Item]:
    bore = rim.bore
    mouth, blind = rim.side_view
    yield polyline([mouth[-1], *blind, mouth[0]], Layer.HIDDEN)
    yield line(bore.point(bore.depth + _AXIS_OVER_MM), bore.point(-_AXIS_OVER_MM), Layer.CENTRE)


def _track_from_side(car: Car) -> Iterator[Item]:
    track = car.track
    if track is None:
        return
    front, rear = car.design.front, car.design.rear
    x0 = min(car.body.x_nose, front.x_mm - front.wheel.radius_mm) - _TRACK_OVER_MM
    x1 = max(car.body.x_tail, rear.x_mm + rear.wheel.radius_mm) + _TRACK_OVER_MM
    ends = [(x, track.level(x)) for x in (x0, x1)]
    yield from _ground(ends[0], ends[1])


def _ground(start: Point, end: Point) -> Iterator[Item]:
    """The track as a line with short strokes under it."""
    yield line(start, end, Layer.OUTLINE, Pen.VISIBLE)
    length = math.dist(start, end)
    along = ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
    count = max(1, int(length / 7.0))
    for k in range(count):
        at = length * (k + 0.5) / count
        x, z = start[0] + at * along[0], start[1] + at * along[1]
        yield line((x, z), (x - 2.2, z - 2.2), Layer.HATCH)


# ---------------------------------------------------------------- top


def _top(car: Car) -> Iterator[Item]:
    blank = car.design.blank
    for stack in car.stacks:
        yield from _wheels_from_top(stack)
    yield from _wood(car, car.body.plan)
    yield rectangle(Rect(0.0, -blank.width_mm / 2, blank.length_mm, blank.width_mm), Layer.BLANK)
    for stack in car.stacks:
        x, radius = stack.axle.x_mm, stack.axle.hole_mm / 2
        for side in (x - radius, x + radius):
            yield line((side, stack.faces[0]), (side, stack.faces[1]), Layer.HIDDEN)
    rim = car.body.rim
    if rim is not None:
        bore = rim.bore
        mouth, blind = rim.top_view
        # In a tail that leans the edge of the mouth shows too, elsewhere it lies in the outline.
        leans = min(x for x, _ in mouth) < car.body.x_tail - _SAME_MM
        yield polyline([mouth[-1], *blind, *(mouth if leans else mouth[:1])], Layer.HIDDEN)
        if abs(bore.y) > _SAME_MM:
            ahead = bore.point(bore.depth)[0] - _AXIS_OVER_MM
            yield line((ahead, bore.y), (bore.x + _AXIS_OVER_MM, bore.y), Layer.CENTRE)
    for place in car.design.eyes:
        half, wire = place.eye.ring_outer_mm / 2, place.eye.wire_mm / 2
        ring = Rect(place.x_mm - wire, place.offset_mm - half, 2 * wire, 2 * half)
        yield rectangle(ring, Layer.HIDDEN)
    x0 = min(0.0, car.body.x_nose) - _AXIS_OVER_MM
    x1 = max(blank.length_mm, car.body.x_tail) + _AXIS_OVER_MM
    yield line((x0, 0.0), (x1, 0.0), Layer.CENTRE)


def _wheels_from_top(stack: AxleStack) -> Iterator[Item]:
    x, radius, rod = stack.axle.x_mm, stack.axle.wheel.radius_mm, stack.axle.axle.diameter_mm / 2
    half = stack.axle_length_mm / 2
    yield rectangle(Rect(x - rod, stack.middle - half, 2 * rod, 2 * half), Layer.OUTLINE, Pen.NARROW, 1.0)
    for low, high in stack.treads:
        yield rectangle(Rect(x - radius, low, 2 * radius, high - low), Layer.OUTLINE, Pen.NARROW, _WHEEL_GREY)


# ---------------------------------------------------------------- tail


def _tail(car: Car) -> Iterator[Item]:
    blank = car.design.blank
    # Seen from behind the rear wheels hide the front ones.
    for stack in sorted(car.stacks, key=lambda s: s.axle.x_mm):
        yield from _wheels_from_tail(stack)
    for part in _polygons(car.body.silhouette):
        yield _area(part, Pen.VISIBLE)
    yield rectangle(
        Rect(-blank.width_mm / 2, 0.0, blank.width_mm, max(blank.height_nose_mm, blank.height_tail_mm)),
        Layer.BLANK,
    )
    yield from _tail_face(car)
    bore = car.body.bore
    if bore is not None:
        yield circle((bore.y, bore.z), bore.radius, Layer.HOLE, Pen.VISIBLE)
        yield from _cross((bore.y, bore.z), bore.radius + 3.0)
    for place, pilot in zip(car.design.eyes, car.body.eye_pilots, strict=True):
        if pilot is not None:
            half = place.eye.ring_outer_mm / 2
            centre = (pilot.y, pilot.z - half)
            yield circle(centre, half, Layer.OUTLINE, Pen.NARROW)
            yield circle(centre, place.eye.ring_inner_mm / 2, Layer.OUTLINE, Pen.NARROW)
    yield from _middle_line(car)
    yield from _track_from_tail(car)


def _wheels_from_tail(stack: AxleStack) -> Iterator[Item]:
    z, radius, rod = stack.axle.height_mm, stack.axle.wheel.radius_mm, stack.axle.axle.diameter_mm / 2
    half = stack.axle_length_mm / 2
    yield rectangle(Rect(stack.middle - half, z - rod, 2 * half, 2 * rod), Layer.OUTLINE, Pen.NARROW, 1.0)
    for low, high in stack.treads:
        yield rectangle(Rect(low, z - radius, high - low, 2 * radius), Layer.OUTLINE, Pen.NARROW, _WHEEL_GREY)


def _tail_face(car: Car) -> Iterator[Item]:
    """The wood at the very tail, where it is smaller than the car's shadow."""
    r = car.body.section(car.body.x_tail)
    for k in range(r.y0.size):
        y0, y1, z0, z1 = (float(side[k]) for side in (r.y0, r.y1, r.z0, r.z1))
        if y1 - y0 > _ROUGH_MM and z1 - z0 > _ROUGH_MM:
            yield rectangle(Rect(y0, z0, y1 - y0, z1 - z0), Layer.OUTLINE, Pen.NARROW)


def _middle_line(car: Car) -> Iterator[Item]:
    _, _, z0, _, _, z1 = car.body.bounds
    yield line((0.0, z0 - _AXIS_OVER_MM), (0.0, z1 + _AXIS_OVER_MM), Layer.CENTRE)


def _track_from_tail(car: Car) -> Iterator[Item]:
    track, rear = car.track, car.design.rear
    if track is None:
        return
    level = rear.height_mm - rear.wheel.radius_mm * track.nz
    _, y0, _, _, y1, _ = car.body.bounds
    for stack in car.stacks:
        y0, y1 = min(y0, stack.ends[0]), max(y1, stack.ends[1])
    yield from _ground((y0 - _TRACK_OVER_MM, level), (y1 + _TRACK_OVER_MM, level))


# ---------------------------------------------------------------- shared


def _wood(car: Car, outline: Outline) -> Iterator[Item]:
    """The outline of the body; where the other cut ends sooner, only what both leave."""
    x0, x1 = car.body.x_nose, car.body.x_tail
    u0, _, u1, _ = outline.bounds
    if u0 >= x0 - _SAME_MM and u1 <= x1 + _SAME_MM:
        yield trace([ring.curves for ring in outline.rings], Layer.OUTLINE, Pen.VISIBLE, fill_grey=_WOOD_GREY)
        return
    for part in _polygons(shapely.clip_by_rect(outline.polygon(_ROUGH_MM), x0, -1e5, x1, 1e5)):
        yield _area(part, Pen.VISIBLE)


def _polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    return [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon" and not part.is_empty]


def _area(part: shapely.Polygon, pen: Pen) -> Item:
    """One polygon with its holes, filled as wood."""
    segments: list[Segment] = []
    for ring in (part.exterior, *part.interiors):
        segments += through([(float(u), float(v)) for u, v in ring.simplify(_ROUGH_MM).coords[:-1]])
    return Path(tuple(segments), Layer.OUTLINE, pen, closed=True, fill_grey=_WOOD_GREY)


def _hidden_shank(x: float, z: float, radius: float, depth: float) -> Item:
    corners = ((x - radius, z), (x - radius, z + depth), (x + radius, z + depth), (x + radius, z))
    return polyline(corners, Layer.HIDDEN)


def _cross(at: Point, reach: float) -> Iterator[Item]:
    yield line((at[0] - reach, at[1]), (at[0] + reach, at[1]), Layer.CENTRE, Pen.HATCH)
    yield line((at[0], at[1] - reach), (at[0], at[1] + reach), Layer.CENTRE, Pen.HATCH)


_TEXT_MM: Final = 1.7
_ROW_MM: Final = 5.2
_SAMPLE_MM: Final = 15.0


def legend_items(
    callouts: Sequence[Callout], marks: Sequence[tuple[int, Verdict]], width_mm: float
) -> tuple[list[Item], float]:
    """The legend below the origin in rows as wide as `width_mm`, and its height.

    Only what the report shows is explained: `marks` are its numbers, some of which have no call-out.
    """
    entries: list[tuple[float, Callable[[], list[Item]], str]] = [
        (_SAMPLE_MM, lambda: [line((0.0, 0.0), (_SAMPLE_MM, 0.0), Layer.BLANK)], "the block"),
        (_SAMPLE_MM, lambda: [line((0.0, 0.0), (_SAMPLE_MM, 0.0), Layer.HIDDEN)], "hidden in the wood"),
    ]
    if any(c.measured is not None and c.measured.limits for c in callouts):
        entries.append((_SAMPLE_MM, lambda: [dotted((0.0, 0.0), (_SAMPLE_MM, 0.0))], "where the limit is"))
    told = (
        (Outcome.FAIL, "fails"),
        (Outcome.TOO_CLOSE, "too close to tell"),
        (Outcome.NEAR, "close"),
        (Outcome.ADVICE, "advice"),
    )
    for outcome, words in told:
        first = next((number for number, verdict in marks if verdict.outcome is outcome), None)
        if first is not None:
            entries.append((2 * MARK_MM, _mark(first, outcome), words))
    items: list[Item] = []
    x, y = 0.0, -_ROW_MM / 2
    for size, sample, words in entries:
        wide = size + 1.5 + text_width_mm(words, _TEXT_MM) + 4.0
        if x and x + wide - 4.0 > width_mm:
            x, y = 0.0, y - _ROW_MM
        items.append(Group(Affine.move(x, y), tuple(sample())))
        items.append(Text(words, (x + size + 1.5, y - _TEXT_MM / 2), _TEXT_MM))
        x += wide
    return items, -y + _ROW_MM / 2


def _mark(number: int, outcome: Outcome) -> Callable[[], list[Item]]:
    return lambda: mark_items(number, outcome, (MARK_MM, 0.0))

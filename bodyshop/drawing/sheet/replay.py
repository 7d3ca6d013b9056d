"""A sheet as a flat run of strokes, fills and words that writers replay, and the extent of it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from bodyshop.drawing.sheet.items import Anchor, Circle, Clip, Group, Hatch, Item, Path, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import descent_mm, showable, text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import hatch_strokes, through
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Rect, Segment

__all__ = [
    "ClipBegin",
    "ClipEnd",
    "Drawn",
    "InkedPath",
    "Lettering",
    "arc_as_cubics",
    "bounds",
    "boxed",
    "ellipse_axes",
    "replay",
    "text_box",
]


_Box = tuple[float, float, float, float]


def bounds(items: Iterable[Item]) -> Rect | None:
    """The upright rectangle round items, by centre lines of strokes and boxes of text; None if empty.

    What a clip hides is not counted.
    """
    boxes = list(_boxes(items))
    if not boxes:
        return None
    x0, y0 = min(box[0] for box in boxes), min(box[1] for box in boxes)
    x1, y1 = max(box[2] for box in boxes), max(box[3] for box in boxes)
    return Rect(x0, y0, x1 - x0, y1 - y0)


def boxed(items: Iterable[Item]) -> list[tuple[Item, Rect]]:
    """Every item that shows with the rectangle round it, in order."""
    pairs = ((item, bounds([item])) for item in items)
    return [(item, box) for item, box in pairs if box is not None]


def _boxes(items: Iterable[Item]) -> Iterator[_Box]:
    everywhere = (-math.inf, -math.inf, math.inf, math.inf)
    windows: list[_Box] = [everywhere]
    for drawn in replay(Sheet(0.0, 0.0, tuple(items))):
        if isinstance(drawn, ClipEnd):
            windows.pop()
            continue
        if isinstance(drawn, ClipBegin):
            windows.append(_common(_box(drawn.corners), windows[-1]))
            continue
        points = text_box(drawn) if isinstance(drawn, Lettering) else _extremes(drawn.segments)
        box = _common(_box(points), windows[-1])
        if box[0] <= box[2] and box[1] <= box[3]:
            yield box


def _box(points: Iterable[Point]) -> _Box:
    listed = list(points)
    xs, ys = [p[0] for p in listed], [p[1] for p in listed]
    return min(xs), min(ys), max(xs), max(ys)


def _common(a: _Box, b: _Box) -> _Box:
    return max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])


def _extremes(segments: Iterable[Segment]) -> Iterator[Point]:
    """The ends of segments, and the points between where x or y turns round."""
    here: Point = (0.0, 0.0)
    for segment in segments:
        if isinstance(segment, CubicTo):
            yield from _cubic_turns(here, segment)
        elif isinstance(segment, ArcTo):
            low, high = sorted((segment.start_rad, segment.start_rad + segment.sweep_rad))
            for axis in (0, 1):
                base = math.atan2(segment.half_b[axis], segment.half_a[axis])
                first, last = math.ceil((low - base) / math.pi), math.floor((high - base) / math.pi)
                for k in range(first, last + 1):
                    yield segment.at(base + k * math.pi)
        here = segment.end
        yield here


def _cubic_turns(start: Point, cubic: CubicTo) -> Iterator[Point]:
    """Points inside a cubic where its derivative along x or y is zero."""
    p, q, r, s = start, cubic.control_1, cubic.control_2, cubic.end
    for axis in (0, 1):
        # The derivative over 3: a t^2 + b t + c.
        a = -p[axis] + 3 * q[axis] - 3 * r[axis] + s[axis]
        b = 2 * (p[axis] - 2 * q[axis] + r[axis])
        c = q[axis] - p[axis]
        for t in _roots(a, b, c):
            if 0 < t < 1:
                u = 1 - t
                weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
                corners = (p, q, r, s)
                yield (
                    sum(w * corner[0] for w, corner in zip(weights, corners, strict=True)),
                    sum(w * corner[1] for w, corner in zip(weights, corners, strict=True)),
                )


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    size = abs(a) + abs(b) + abs(c)
    if abs(a) <= 1e-12 * size:
        return (-c / b,) if abs(b) > 1e-12 * size else ()
    inside = b * b - 4 * a * c
    if inside < 0:
        return ()
    # The stable pair: no difference of nearly equal numbers.
    q = -(b + math.copysign(math.sqrt(inside), b)) / 2
    return (q / a, c / q) if q else (0.0,)


_CLEAR_MM = 0.6
# Pieces of an arc written as cubics. At 22.5 degrees the curve leaves the circle by 7e-8 of the radius.
_CUBIC_STEP = math.pi / 8


@dataclass(frozen=True, slots=True)
class InkedPath:
    """A path in sheet coordinates to stroke, to fill, or both (fill first)."""

    segments: tuple[Segment, ...]
    closed: bool
    layer: Layer
    pen: Pen | None
    fill_grey: float | None
    circle: tuple[Point, float] | None = None
    """Centre and radius when the path is one full circle."""


@dataclass(frozen=True, slots=True)
class Lettering:
    """A line of text in sheet coordinates. `start` is the left end of the baseline, `text` is showable."""

    text: str
    start: Point
    width_mm: float
    height_mm: float
    rotation_rad: float
    bold: bool
    layer: Layer


@dataclass(frozen=True, slots=True)
class ClipBegin:
    """From here to the matching end only what lies in `corners` shows."""

    corners: tuple[Point, Point, Point, Point]


@dataclass(frozen=True, slots=True)
class ClipEnd:
    """End of the latest clip."""


Drawn = InkedPath | Lettering | ClipBegin | ClipEnd


def replay(sheet: Sheet) -> Iterator[Drawn]:
    """Everything on the sheet, in the order it is drawn."""
    return _items(sheet.items, Affine())


def _items(items: Iterable[Item], affine: Affine) -> Iterator[Drawn]:
    for item in items:
        match item:
            case Group():
                yield from _items(item.items, item.affine.then(affine))
            case Clip():
                window = item.window
                corners = (
                    affine.point((window.x, window.y)),
                    affine.point((window.right, window.y)),
                    affine.point((window.right, window.top)),
                    affine.point((window.x, window.top)),
                )
                yield ClipBegin(corners)
                yield from _items(item.items, affine)
                yield ClipEnd()
            case Path():
                segments = tuple(_mapped(segment, affine) for segment in item.segments)
                yield InkedPath(segments, item.closed, item.layer, item.pen, item.fill_grey)
            case Circle():
                yield _circle(item, affine)
            case Hatch():
                for start, end in hatch_strokes(item):
                    ends = (MoveTo(affine.point(start)), LineTo(affine.point(end)))
                    yield InkedPath(ends, closed=False, layer=item.layer, pen=item.pen, fill_grey=None)
            case Text():
                yield from _text(item, affine)


def _mapped(segment: Segment, affine: Affine) -> Segment:
    match segment:
        case MoveTo():
            return MoveTo(affine.point(segment.end))
        case LineTo():
            return LineTo(affine.point(segment.end))
        case CubicTo():
            return CubicTo(
                affine.point(segment.control_1), affine.point(segment.control_2), affine.point(segment.end)
            )
        case ArcTo():
            return replace(
                segment,
                centre=affine.point(segment.centre),
                half_a=affine.vector(segment.half_a),
                half_b=affine.vector(segment.half_b),
            )


def _circle(item: Circle, affine: Affine) -> InkedPath:
    whole = ArcTo.circular(item.centre, item.radius_mm, 0.0, 2 * math.pi)
    arc = _mapped(whole, affine)
    assert isinstance(arc, ArcTo)  # noqa: S101 - an arc maps to an arc
    segments: tuple[Segment, ...] = (MoveTo(arc.begin), arc)
    radius = arc.radius_mm
    circle = None if radius is None else (arc.centre, radius)
    return InkedPath(segments, True, item.layer, item.pen, item.fill_grey, circle)


def _text(item: Text, affine: Affine) -> Iterator[Drawn]:
    text = showable(item.text)
    if not text.strip():
        return
    bold = item.weight is Weight.BOLD
    width = text_width_mm(text, item.height_mm, bold=bold)
    along = (math.cos(item.rotation_rad), math.sin(item.rotation_rad))
    back = {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[item.anchor] * width
    mapped = affine.vector(along)
    rotation = math.atan2(mapped[1], mapped[0])
    if affine.mirrors:
        # Letters are never mirrored: the middle of the words goes where it must, and the words are set
        # about it so that they read from below or from the right.
        rotation = math.remainder(rotation, math.pi)
        if rotation <= -math.pi / 2 + 1e-9:
            rotation += math.pi
        across = (-along[1], along[0])
        half = item.height_mm / 2
        middle = affine.point(
            (
                item.at[0] + along[0] * (width / 2 - back) + across[0] * half,
                item.at[1] + along[1] * (width / 2 - back) + across[1] * half,
            )
        )
        cos, sin = math.cos(rotation), math.sin(rotation)
        start = (
            middle[0] - cos * width / 2 + sin * half,
            middle[1] - sin * width / 2 - cos * half,
        )
    else:
        at = affine.point(item.at)
        start = (at[0] - math.cos(rotation) * back, at[1] - math.sin(rotation) * back)
    lettering = Lettering(text, start, width, item.height_mm, rotation, bold, item.layer)
    if item.clear:
        corners = text_box(lettering, _CLEAR_MM)
        yield InkedPath(through(corners), closed=True, layer=item.layer, pen=None, fill_grey=1.0)
    yield lettering


def text_box(lettering: Lettering, margin_mm: float = 0.0) -> tuple[Point, Point, Point, Point]:
    """The corners of the box round a line of text, from the descenders to the capitals."""
    low = descent_mm(lettering.height_mm, bold=lettering.bold)
    cos, sin = math.cos(lettering.rotation_rad), math.sin(lettering.rotation_rad)

    def corner(u: float, v: float) -> Point:
        return (lettering.start[0] + u * cos - v * sin, lettering.start[1] + u * sin + v * cos)

    left, right = -margin_mm, lettering.width_mm + margin_mm
    bottom, top = -low - margin_mm, lettering.height_mm + margin_mm
    return corner(left, bottom), corner(right, bottom), corner(right, top), corner(left, top)


def arc_as_cubics(arc: ArcTo) -> tuple[CubicTo, ...]:
    """Cubics within 1e-7 of the radius of an arc, for formats without arcs.

    Control points at (4/3) tan(step / 4) along the tangents, the usual approximation.
    """
    count = max(1, math.ceil(abs(arc.sweep_rad) / _CUBIC_STEP - 1e-9))
    step = arc.sweep_rad / count
    reach = 4 / 3 * math.tan(step / 4)
    a, b = arc.half_a, arc.half_b

    def tangent(angle: float) -> Point:
        cos, sin = math.cos(angle), math.sin(angle)
        return (b[0] * cos - a[0] * sin, b[1] * cos - a[1] * sin)

    cubics: list[CubicTo] = []
    for k in range(count):
        first = arc.start_rad + k * step
        last = arc.start_rad + (k + 1) * step
        p0, p3 = arc.at(first), arc.at(last)
        t0, t3 = tangent(first), tangent(last)
        cubics.append(
            CubicTo(
                (p0[0] + reach * t0[0], p0[1] + reach * t0[1]),
                (p3[0] - reach * t3[0], p3[1] - reach * t3[1]),
                p3,
            )
        )
    return tuple(cubics)


def ellipse_axes(arc: ArcTo) -> tuple[float, float, float]:
    """Half axes, long one first, and the direction of the long one in radians.

    The principal axes from two conjugate half diameters: the angle at which |point - centre| is extreme.
    """
    (ax, ay), (bx, by) = arc.half_a, arc.half_b
    turn = 0.5 * math.atan2(2 * (ax * bx + ay * by), ax * ax + ay * ay - bx * bx - by * by)
    cos, sin = math.cos(turn), math.sin(turn)
    long = (ax * cos + bx * sin, ay * cos + by * sin)
    short = (bx * cos - ax * sin, by * cos - ay * sin)
    return math.hypot(*long), math.hypot(*short), math.atan2(long[1], long[0])

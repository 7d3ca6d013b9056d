"""Short ways to make the usual paths: shapes, outlines as paths, and the strokes of a hatch."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache

import shapely

from bodyshop.drawing.sheet.items import Circle, Group, Hatch, Item, Path
from bodyshop.drawing.sheet.pens import Layer, Pen, default_pen
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.outlines.curves import Arc, Cubic, Curve
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Rect, Segment

__all__ = [
    "arc",
    "circle",
    "disc",
    "filled",
    "hatch_strokes",
    "line",
    "moved",
    "polygon",
    "polyline",
    "rectangle",
    "through",
    "trace",
]


# A stroke shorter than this (mm) is a speck.
_SPECK_MM = 0.05
# More strokes than this is a solid black area and a huge file; the spacing is widened instead.
_MOST = 4000


@lru_cache(maxsize=64)
def hatch_strokes(hatch: Hatch) -> tuple[tuple[Point, Point], ...]:
    """The two ends of every stroke, in order across the hatch."""
    area = _area(hatch.rings)
    if area.is_empty:
        return ()
    # Turn the area so that the strokes are level; turn the strokes back.
    turn = Affine.turn(-hatch.angle_rad)
    back = Affine.turn(hatch.angle_rad)
    level = shapely.transform(area, lambda p: p @ [[turn.a, turn.b], [turn.c, turn.d]])
    x0, y0, x1, y1 = level.bounds
    spacing = max(hatch.spacing_mm, (y1 - y0) / _MOST, 1e-3)
    # A stroke along the lowest or highest edge would only thicken the outline.
    rows = range(math.floor(y0 / spacing + 1e-9) + 1, math.ceil(y1 / spacing - 1e-9))
    if not rows:
        return ()
    scan = shapely.linestrings([[(x0 - 1, k * spacing), (x1 + 1, k * spacing)] for k in rows])
    ends: list[tuple[float, float, float]] = []
    for part in shapely.get_parts(shapely.intersection(scan, level), return_index=False):
        for piece in shapely.get_parts(part):
            if piece.geom_type == "LineString" and piece.length >= _SPECK_MM:
                xs = [c[0] for c in piece.coords]
                ends.append((piece.coords[0][1], min(xs), max(xs)))
    ends.sort()
    return tuple((back.point((a, y)), back.point((b, y))) for y, a, b in ends)


def _area(rings: tuple[tuple[Point, ...], ...]) -> shapely.Geometry:
    """The even-odd area of the rings."""
    area: shapely.Geometry = shapely.Polygon()
    for ring in rings:
        if len(ring) >= 3:
            area = area.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
    return area


# An arc of so large a radius that its ends are lost to rounding (mm) is a straight line on paper.
_LOST_MM = 5e-7


def trace(
    rings: Sequence[Sequence[Curve]],
    layer: Layer,
    pen: Pen | None = None,
    *,
    closed: bool = True,
    fill_grey: float | None = None,
) -> Path:
    """One path through one or more chains of curves; with a fill, rings inside others are holes.

    `pen` None takes the layer's pen. A chain may not be empty.
    """
    segments = tuple(segment for ring in rings for segment in _segments(ring))
    return Path(segments, layer, pen or default_pen(layer), closed, fill_grey)


def _segments(ring: Sequence[Curve]) -> Iterator[Segment]:
    yield MoveTo(ring[0].p0)
    for curve in ring:
        if isinstance(curve, Cubic):
            yield CubicTo(curve.c1, curve.c2, curve.p1)
        elif isinstance(curve, Arc):
            arc = ArcTo.circular(curve.centre, curve.radius, curve.start, curve.sweep)
            if max(math.dist(arc.begin, curve.p0), math.dist(arc.end, curve.p1)) <= _LOST_MM:
                yield arc
            else:
                yield LineTo(curve.p1)
        else:
            yield LineTo(curve.p1)


def through(points: Sequence[Point]) -> tuple[Segment, ...]:
    """Segments for straight lines through points."""
    return (MoveTo(points[0]), *(LineTo(point) for point in points[1:]))


def line(start: Point, end: Point, layer: Layer, pen: Pen | None = None) -> Path:
    """One straight line."""
    return Path((MoveTo(start), LineTo(end)), layer, pen or default_pen(layer))


def polyline(points: Sequence[Point], layer: Layer, pen: Pen | None = None) -> Path:
    """Straight lines through two or more points, left open."""
    return Path(through(points), layer, pen or default_pen(layer))


def polygon(
    points: Sequence[Point], layer: Layer, pen: Pen | None = None, fill_grey: float | None = None
) -> Path:
    """Straight lines through the points and back to the first."""
    return Path(through(points), layer, pen or default_pen(layer), closed=True, fill_grey=fill_grey)


def filled(rect: Rect, layer: Layer, grey: float) -> Path:
    """A filled rectangle without an outline."""
    return replace(rectangle(rect, layer, fill_grey=grey), pen=None)


def rectangle(rect: Rect, layer: Layer, pen: Pen | None = None, fill_grey: float | None = None) -> Path:
    """The outline of a rectangle, from its bottom left corner, turning left."""
    corners = ((rect.x, rect.y), (rect.right, rect.y), (rect.right, rect.top), (rect.x, rect.top))
    return polygon(corners, layer, pen, fill_grey)


def circle(centre: Point, radius_mm: float, layer: Layer, pen: Pen | None = None) -> Circle:
    """A full circle."""
    return Circle(centre, radius_mm, layer, pen or default_pen(layer))


def disc(centre: Point, radius_mm: float, layer: Layer, grey: float = 0.0) -> Circle:
    """A filled circle without an outline."""
    return Circle(centre, radius_mm, layer, None, grey)


def arc(
    centre: Point, radius_mm: float, start_deg: float, sweep_deg: float, layer: Layer, pen: Pen | None = None
) -> Path:
    """An arc of a circle by angles in degrees; a positive sweep turns left."""
    segment = ArcTo.circular(centre, radius_mm, math.radians(start_deg), math.radians(sweep_deg))
    return Path((MoveTo(segment.begin), segment), layer, pen or default_pen(layer))


def moved(items: Iterable[Item], dx: float, dy: float) -> Group:
    """Items shifted together."""
    return Group(Affine.move(dx, dy), tuple(items))

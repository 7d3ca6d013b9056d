"""Short ways to make the usual paths. Each takes its layer's pen unless told otherwise."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from bodyshop.drawing.affine import Affine, Point
from bodyshop.drawing.items import ArcTo, Circle, Group, Item, LineTo, MoveTo, Path, Rect, Segment
from bodyshop.drawing.pens import Layer, Pen, default_pen

__all__ = ["arc", "circle", "disc", "filled", "line", "moved", "polygon", "polyline", "rectangle", "through"]


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

"""Finding a clear spot on a drawing for a mark or a note that may stand anywhere along a line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import shapely

from bodyshop.drawing.sheet.items import Item, Sheet
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, arc_as_cubics, replay, text_box
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import ArcTo, CubicTo, MoveTo, Rect, Segment

__all__ = ["clearest", "ink_near"]

# Chords in a cubic: a spot is looked for to the millimetre, not to the micron.
_CHORDS = 8


def ink_near(items: Iterable[Item], strip: Rect) -> shapely.Geometry:
    """The strokes and words of items that lie in a strip; fills do not count."""
    shapes: list[shapely.Geometry] = []
    for drawn in replay(Sheet(0.0, 0.0, tuple(items))):
        if isinstance(drawn, Lettering):
            shapes.append(shapely.Polygon(text_box(drawn)))
        elif isinstance(drawn, InkedPath) and drawn.pen is not None:
            shapes += [shapely.LineString(run) for run in _runs(drawn) if len(run) > 1]
    if not shapes:
        return shapely.GeometryCollection()
    window = shapely.box(strip.x, strip.y, strip.right, strip.top)
    near = [shape for shape in shapes if shape.intersects(window)]
    return shapely.GeometryCollection(near)


def clearest(
    candidates: Sequence[tuple[float, Sequence[Point]]],
    ink: shapely.Geometry,
    wanted: float,
    enough_mm: float,
) -> float:
    """The place whose points keep farthest from the ink; beyond `enough_mm` nearness to `wanted` decides.

    Each candidate is a place and the point, or the two ends of the line, that stands for it.
    """

    def badness(candidate: tuple[float, Sequence[Point]]) -> tuple[float, float, float]:
        place, points = candidate
        shape = shapely.Point(points[0]) if len(points) == 1 else shapely.LineString(points)
        room = enough_mm if ink.is_empty else min(enough_mm, float(shapely.distance(shape, ink)))
        # Rounded, so that the last bit of a distance does not choose.
        return (-round(room, 1), round(abs(place - wanted), 3), place)

    return min(candidates, key=badness)[0]


def _runs(ink: InkedPath) -> Iterator[list[Point]]:
    run: list[Point] = []
    stretches: list[list[Point]] = []
    for k, segment in enumerate(ink.segments):
        points = list(_points(run[-1] if run else segment.end, segment))
        if k == 0 or not points:
            run = [segment.end]
            stretches.append(run)
        else:
            run += points
    for stretch in stretches:
        yield [*stretch, stretch[0]] if ink.closed else stretch


def _points(here: Point, segment: Segment) -> Iterator[Point]:
    """Points on a segment after its start; none for a move."""
    if isinstance(segment, ArcTo):
        for cubic in arc_as_cubics(segment):
            yield cubic.end
    elif isinstance(segment, CubicTo):
        corners = (here, segment.control_1, segment.control_2, segment.end)
        for k in range(1, _CHORDS + 1):
            t = k / _CHORDS
            u = 1 - t
            weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
            yield (
                sum(w * corner[0] for w, corner in zip(weights, corners, strict=True)),
                sum(w * corner[1] for w, corner in zip(weights, corners, strict=True)),
            )
    elif not isinstance(segment, MoveTo):
        yield segment.end

"""The line for the saw: outside the outline by the same distance everywhere."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from bodyshop.drawing.affine import Affine, Point
from bodyshop.drawing.figures import Figures
from bodyshop.drawing.items import Item
from bodyshop.drawing.pens import Layer
from bodyshop.drawing.shapes import polyline
from bodyshop.outline import Outline
from bodyshop.templates.labels import Wanted

__all__ = ["MOST_MM", "saw_items", "saw_lines", "saw_words"]

MOST_MM = 10.0
"""A line farther out than this is no longer wood left for sanding."""

# Chords of the outline and of the round corners about it, mm.
_CHORD_MM = 0.002
# A piece shorter than this along an edge of the blank is no cut.
_LEAST_MM = 0.5
_MOST_POINTS = 3000
_WORDS_OVER_MM = 1.2


def saw_lines(outline: Outline, blank: shapely.Polygon, offset_mm: float) -> list[tuple[Point, ...]]:
    """The parallel of the outline `offset_mm` outside the wood, inside the blank, as chains of points.

    Outside corners are gone round at that distance. In windows the line runs inside, on the waste. Every
    point is at the distance within 0.005 mm.
    """
    steps = max(4, math.ceil(math.pi / 4 / math.acos(1.0 - min(1.0, _CHORD_MM / offset_mm))))
    wide = _grown(outline.polygon(_CHORD_MM), offset_mm, steps).simplify(_CHORD_MM)
    # Where the line would run outside the blank, or on its very edge, there is nothing to saw.
    inside = wide.boundary.intersection(blank.buffer(-1e-6))
    merged = shapely.line_merge(inside) if inside.geom_type == "MultiLineString" else inside
    return [
        tuple((float(x), float(y)) for x, y in part.coords)
        for part in shapely.get_parts(merged)
        if part.geom_type in {"LineString", "LinearRing"} and part.length >= _LEAST_MM
    ]


def _grown(wood: shapely.Polygon, by_mm: float, steps: int) -> shapely.Geometry:
    """All that is no farther than that from the wood.

    The time that the library takes in one go grows as the square of the points, so that an outline of
    thousands is put together from bands round a few edges each, which comes to the same.
    """
    if shapely.get_num_coordinates(wood) <= _MOST_POINTS:
        return wood.buffer(by_mm, quad_segs=steps)
    edges: list[shapely.Geometry] = []
    for ring in (wood.exterior, *wood.interiors):
        points = shapely.get_coordinates(ring)
        edges += [shapely.LineString(points[k : k + 3]) for k in range(0, len(points) - 1, 2)]
    bands = shapely.buffer(edges, by_mm, quad_segs=steps)
    return shapely.union_all([wood, *bands])


def saw_items(chains: list[tuple[Point, ...]], place: Affine | None = None) -> Iterator[Item]:
    """The chains as narrow lines."""
    for chain in chains:
        points = chain if place is None else tuple(place.point(point) for point in chain)
        yield polyline(points, Layer.SAW)


def saw_words(chains: list[tuple[Point, ...]], offset_mm: float, figures: Figures) -> list[Wanted]:
    """What the narrow line is for, wanted beside the longest one."""
    if not chains:
        return []
    longest = max(chains, key=lambda chain: shapely.LineString(chain).length)
    middle = shapely.LineString(longest).interpolate(0.5, normalized=True)
    words = f"narrow line: saw here, {figures.length(offset_mm)} outside"
    return [Wanted(words, (middle.x, middle.y + _WORDS_OVER_MM), on_hatching=True, in_waste=True)]

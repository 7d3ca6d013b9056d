"""The strokes of a hatch, worked out once so that every writer draws the same ones."""

from __future__ import annotations

import math
from functools import lru_cache

import shapely

from bodyshop.drawing.affine import Affine, Point
from bodyshop.drawing.items import Hatch

__all__ = ["hatch_strokes"]

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

"""Free spots inside a blank for the words that must be glued on with the template.

A spot is a box that meets neither a line nor a hole nor another label. Lines are taken to a tenth of a
millimetre: a label keeps farther away than that.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from functools import lru_cache

import numpy as np
import shapely

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import Rect
from bodyshop.outline import Array, Line, Outline, Ring

__all__ = ["ROUGH_MM", "Spots", "rough_outline", "rough_polygon"]

ROUGH_MM = 0.1
"""How far a rough outline may stray from the true one."""

_CLOSE_MM = 0.5
_MOST_POINTS, _ROUGHEST_MM = 800, 1.5
_STEP_X_MM, _STEP_Y_MM = 4.0, 1.5
_CLEAR_MM = 1.4
# A step up or down costs as much as this many along: labels keep to their level.
_UPRIGHT_COST = 3.0
# A grid finer than this many boxes takes longer than a label is worth.
_MOST = 6000


@lru_cache(maxsize=8)
def rough_polygon(outline: Outline) -> shapely.Polygon:
    """The outline with few points, for looking only; never drawn.

    An outline of thousands of points is taken more roughly, so that looking at it stays quick.
    """
    stray = ROUGH_MM / 2
    rings = [_thinned(ring.flattened(stray)[0]) for ring in outline.rings]
    polygon = shapely.Polygon(rings[0], rings[1:]).simplify(stray)
    while shapely.get_num_coordinates(polygon) > _MOST_POINTS and stray < _ROUGHEST_MM:
        stray *= 2
        polygon = polygon.simplify(stray)
    return polygon if polygon.is_valid else polygon.buffer(0)


def _thinned(points: Array) -> Array:
    """Points of a ring, of very many only one in so many where they are close together."""
    every = len(points) // _MOST_POINTS
    if every < 2:
        return points
    edge = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    corner = (edge > _CLOSE_MM) | (np.roll(edge, 1) > _CLOSE_MM)
    kept: Array = points[corner | (np.arange(len(points)) % every == 0)]
    return kept


def rough_outline(outline: Outline) -> Outline:
    """The same as an outline of straight lines, where it has very many curves; else as it is."""
    if sum(len(ring.curves) for ring in outline.rings) <= _MOST_POINTS:
        return outline
    rings = [
        _ring(ring.coords)
        for part in shapely.get_parts(rough_polygon(outline))
        for ring in (part.exterior, *part.interiors)
    ]
    return Outline(rings[0].turned(left=True), tuple(ring.turned(left=False) for ring in rings[1:]))


def _ring(coordinates: Iterable[tuple[float, ...]]) -> Ring:
    points = [(float(u), float(v)) for u, v in coordinates]
    curves = tuple(Line(a, b) for a, b in itertools.pairwise(points))
    return Ring(curves, tuple(range(len(curves))))


class Spots:
    """Where labels may go: inside `area`, off `ink` and off each other."""

    def __init__(self, area: shapely.Geometry, ink: Iterable[shapely.Geometry]) -> None:
        self._area = area
        self._ink = [geometry for geometry in ink if not geometry.is_empty]

    def block(self, *geometries: shapely.Geometry) -> None:
        """Keep labels off more ink."""
        self._ink += geometries

    def place(
        self, width_mm: float, height_mm: float, wanted: Point, within: shapely.Geometry | None = None
    ) -> Rect | None:
        """The free box whose middle is nearest to `wanted`; None when there is no room.

        `within` narrows the area for this label. The box found is kept free of later labels.
        """
        area = self._area if within is None else within
        if area.is_empty:
            return None
        wide, high = width_mm + 2 * _CLEAR_MM, height_mm + 2 * _CLEAR_MM
        x0, y0, x1, y1 = area.bounds
        if wide > x1 - x0 or high > y1 - y0:
            return None
        coarse = max(1.0, math.sqrt((x1 - x0) * (y1 - y0) / (_STEP_X_MM * _STEP_Y_MM * _MOST)))
        xs = _steps(x0, x1 - wide, wanted[0] - wide / 2, coarse * _STEP_X_MM)
        ys = _steps(y0, y1 - high, wanted[1] - high / 2, coarse * _STEP_Y_MM)
        left, low = (side.ravel() for side in np.meshgrid(xs, ys))
        boxes = shapely.box(left, low, left + wide, low + high)
        shapely.prepare(area)
        free = shapely.contains(area, boxes)
        for ink in self._ink:
            if not free.any():
                return None
            shapely.prepare(ink)
            free[free] = ~shapely.intersects(ink, boxes[free])
        found = np.flatnonzero(free)
        if not found.size:
            return None
        away = np.hypot(
            left[found] + wide / 2 - wanted[0], _UPRIGHT_COST * (low[found] + high / 2 - wanted[1])
        )
        # Rounded, so that the last bit of a distance does not choose.
        best = found[np.argmin(np.round(away, 3))]
        self._ink.append(boxes[best])
        return Rect(float(left[best]) + _CLEAR_MM, float(low[best]) + _CLEAR_MM, width_mm, height_mm)

    def first(
        self, sizes: Sequence[tuple[float, float]], wanted: Point, within: shapely.Geometry | None = None
    ) -> tuple[int, Rect] | None:
        """The first of the sizes (width, height) that finds room, and its box."""
        for number, (width, height) in enumerate(sizes):
            rect = self.place(width, height, wanted, within)
            if rect is not None:
                return number, rect
        return None


def _steps(
    low: float, high: float, wanted: float, step: float
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Places from `low` to `high` a step apart, one of them the wanted place when it lies between."""
    start = min(max(wanted, low), high)
    back, ahead = math.floor((start - low) / step), math.floor((high - start) / step)
    return start + step * np.arange(-back, ahead + 1, dtype=np.float64)

"""Free space on a drawing: where a label, a mark or a note may go without running into what is drawn."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely

from bodyshop.drawing.sheet.items import Item, Sheet
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, arc_as_cubics, replay, text_box
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import ArcTo, CubicTo, MoveTo, Rect, Segment

__all__ = ["FreeSpace", "clearest", "ink_near"]

_STEP_X_MM, _STEP_Y_MM = 4.0, 1.5
_CLEAR_MM = 1.4
# A step up or down costs as much as this many along: labels keep to their level.
_UPRIGHT_COST = 3.0
# A grid finer than this many boxes takes longer than a label is worth.
_MOST = 6000
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


class FreeSpace:
    """Where labels and marks may go: inside `area`, off `ink` and off each other."""

    def __init__(self, area: shapely.Geometry | None = None, ink: Iterable[shapely.Geometry] = ()) -> None:
        self._area = shapely.GeometryCollection() if area is None else area
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

    def pick(self, shapes: Sequence[shapely.Geometry]) -> int:
        """Which of some shapes to take, the one wanted most first: the first that nothing is drawn in, else
        the one that touches least of what is. It is kept free of later ones.
        """
        hits = [sum(bool(shapely.intersects(shape, ink)) for ink in self._ink) for shape in shapes]
        best = min(range(len(shapes)), key=lambda k: (hits[k], k))
        self._ink.append(shapes[best])
        return best


def _steps(
    low: float, high: float, wanted: float, step: float
) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Places from `low` to `high` a step apart, one of them the wanted place when it lies between."""
    start = min(max(wanted, low), high)
    back, ahead = math.floor((start - low) / step), math.floor((high - start) / step)
    return start + step * np.arange(-back, ahead + 1, dtype=np.float64)


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

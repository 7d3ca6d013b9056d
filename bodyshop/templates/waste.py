"""The waste side of a cut: a narrow band of hatching along the line, and the parts large enough to name."""

from __future__ import annotations

import math

import shapely

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import Hatch, Item

__all__ = ["BAND_MM", "hatched_area", "waste_band", "waste_parts"]

BAND_MM = 4.0
"""Width of the hatched band."""

_SPACING_MM = 2.6
_ANGLE_RAD = math.radians(55)
_NAMED_MM2 = 350.0
_NAMED_MOST = 3


def waste_parts(blank: shapely.Polygon, car: shapely.Geometry) -> tuple[shapely.Polygon, ...]:
    """The pieces of waste that are worth a name, largest first."""
    rest = blank.difference(car)
    parts = [part for part in shapely.get_parts(rest) if part.geom_type == "Polygon"]
    parts.sort(key=lambda part: (-round(part.area, 3), part.bounds))
    return tuple(part for part in parts if part.area >= _NAMED_MM2)[:_NAMED_MOST]


def hatched_area(blank: shapely.Polygon, car: shapely.Geometry) -> shapely.Geometry:
    """The band along every cut, on its waste side."""
    return car.buffer(BAND_MM, quad_segs=8).intersection(blank).difference(car)


def waste_band(blank: shapely.Polygon, car: shapely.Geometry) -> list[Item]:
    """Light hatching on the waste side of every cut, inside windows too; none where nothing is sawn off."""
    rings: list[tuple[Point, ...]] = []
    for part in shapely.get_parts(hatched_area(blank, car)):
        if part.geom_type == "Polygon" and part.area > 0.01:
            rings += [_ring(part.exterior), *(_ring(hole) for hole in part.interiors)]
    return [Hatch(tuple(rings), _SPACING_MM, _ANGLE_RAD)] if rings else []


def _ring(line: shapely.LinearRing) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in line.coords[:-1])

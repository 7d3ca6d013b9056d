"""The waste side of a cut: a narrow band of hatching along the line, and the parts large enough to name."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import shapely

from bodyshop.drawing.sheet.items import Hatch, Item
from bodyshop.geometry.affine import Point

__all__ = ["BAND_MM", "Waste"]

BAND_MM = 4.0
"""Width of the hatched band."""

_SPACING_MM = 2.6
_ANGLE_RAD = math.radians(55)
_NAMED_MM2 = 350.0
_NAMED_MOST = 3


@dataclass(frozen=True)
class Waste:
    """What is sawn off a blank to leave a car, in one view."""

    blank: shapely.Polygon
    car: shapely.Geometry

    @cached_property
    def rest(self) -> shapely.Geometry:
        """All that is sawn off."""
        return self.blank.difference(self.car)

    @cached_property
    def parts(self) -> tuple[shapely.Polygon, ...]:
        """The pieces that are worth a name, largest first."""
        parts = [part for part in shapely.get_parts(self.rest) if part.geom_type == "Polygon"]
        parts.sort(key=lambda part: (-round(part.area, 3), part.bounds))
        return tuple(part for part in parts if part.area >= _NAMED_MM2)[:_NAMED_MOST]

    @cached_property
    def band(self) -> shapely.Geometry:
        """The band along every cut, on its waste side; inside windows too."""
        return self.car.buffer(BAND_MM, quad_segs=8).intersection(self.blank).difference(self.car)

    @property
    def items(self) -> list[Item]:
        """The band, lightly hatched; nothing where nothing is sawn off."""
        rings: list[tuple[Point, ...]] = []
        for part in shapely.get_parts(self.band):
            if part.geom_type == "Polygon" and part.area > 0.01:
                rings += [_ring(part.exterior), *(_ring(hole) for hole in part.interiors)]
        return [Hatch(tuple(rings), _SPACING_MM, _ANGLE_RAD)] if rings else []


def _ring(line: shapely.LinearRing) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in line.coords[:-1])

"""Volume, centre and inertia by exact cross-sections and Gauss quadrature between breaks.

`Moments` holds the integrals of 1, r and r r^T over a region; regions add and subtract.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bodyshop.body.rectangles import Rectangles
from bodyshop.body.section import Sections
from bodyshop.body.spandrels import spandrel_area, spandrels
from bodyshop.outline import Array

__all__ = ["Moments", "cylinder_moments", "section_area", "undrilled_moments"]


@dataclass(frozen=True, slots=True)
class Moments:
    """Integrals over a region of unit density: volume (mm^3), first (3,) mm^4, second (3, 3) mm^5."""

    volume: float
    first: Array
    second: Array

    def __add__(self, other: Moments) -> Moments:
        return Moments(self.volume + other.volume, self.first + other.first, self.second + other.second)

    def __sub__(self, other: Moments) -> Moments:
        return Moments(self.volume - other.volume, self.first - other.first, self.second - other.second)

    def scaled(self, density: float) -> Moments:
        """The same region with another density; with g/mm^3 the volume becomes a mass in g."""
        return Moments(self.volume * density, self.first * density, self.second * density)

    @property
    def centre(self) -> Array:
        """Centre of the region, (x, y, z) mm."""
        centre: Array = self.first / self.volume
        return centre

    @property
    def inertia(self) -> Array:
        """Inertia tensor about the centre, (3, 3), mm^5 at unit density (g mm^2 when scaled)."""
        about = self.second - np.outer(self.first, self.first) / self.volume
        tensor: Array = np.trace(about) * np.eye(3) - about
        return tensor


def section_area(r: Rectangles) -> Array:
    """Area of each rectangle, mm^2."""
    area: Array = (r.y1 - r.y0) * (r.z1 - r.z0) - spandrel_area(r)
    return area


def undrilled_moments(sections: Sections) -> Moments:
    """Moments of the body before drilling."""
    r, weight = sections.grid.r, sections.grid.weight
    w, h = r.y1 - r.y0, r.z1 - r.z0
    yc, zc = 0.5 * (r.y0 + r.y1), 0.5 * (r.z0 + r.z1)
    area = w * h
    sy, sz = area * yc, area * zc
    syy, szz, syz = area * (yc * yc + w * w / 12), area * (zc * zc + h * h / 12), area * yc * zc
    for gone in spandrels(r):
        area, sy, sz = area - gone.area, sy - gone.y, sz - gone.z
        syy, szz, syz = syy - gone.yy, szz - gone.zz, syz - gone.yz
    x = r.x
    terms = np.stack((area, x * area, sy, sz, x * x * area, syy, szz, x * sy, x * sz, syz))
    v, fx, fy, fz, xx, yy, zz, xy, xz, yz = np.sum(terms * weight, axis=(1, 2))
    second = np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
    return Moments(float(v), np.array([fx, fy, fz]), second)


def cylinder_moments(centre: Array, axis: Array, radius_mm: float, length_mm: float) -> Moments:
    """Moments of a solid cylinder: about its centre L^2/12 along the axis and R^2/4 across it."""
    volume = math.pi * radius_mm**2 * length_mm
    along = np.outer(axis, axis)
    second = volume * (
        length_mm**2 / 12 * along + radius_mm**2 / 4 * (np.eye(3) - along) + np.outer(centre, centre)
    )
    return Moments(volume, volume * centre, second)

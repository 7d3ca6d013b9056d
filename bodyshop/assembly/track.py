"""Where the track is, as the car stands on its four wheels.

The track is the line that touches both wheels from below in the side view. With wheels or axle heights
that differ it is not parallel to the underside of the blank.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.design.model import AxleSet

__all__ = ["Track", "track_under"]


@dataclass(frozen=True, slots=True)
class Track:
    """The track as a line in the side view: unit normal (nx, nz) pointing up, and offset, mm."""

    nx: float
    nz: float
    offset: float

    def height(self, x: float, z: float) -> float:
        """Height of a point above the track, square to it."""
        return self.nx * x + self.nz * z - self.offset

    def foot(self, x: float, z: float) -> tuple[float, float]:
        """The point of the track under (x, z)."""
        h = self.height(x, z)
        return (x - h * self.nx, z - h * self.nz)

    @property
    def tilt_rad(self) -> float:
        """How far the blank's underside is turned out of the track; positive where the car stands nose up,
        so that in the side view the track rises towards the tail.
        """
        return math.atan2(-self.nx, self.nz)


def track_under(front: AxleSet, rear: AxleSet) -> Track | None:
    """The common tangent below two wheels; None where one wheel swallows the other.

    n . (c_rear - c_front) = r_rear - r_front gives the normal's direction.
    """
    dx, dz = rear.x_mm - front.x_mm, rear.height_mm - front.height_mm
    gap = math.hypot(dx, dz)
    grow = rear.wheel.radius_mm - front.wheel.radius_mm
    if gap <= abs(grow):
        return None
    angle = math.atan2(dz, dx) + math.acos(grow / gap)
    nx, nz = math.cos(angle), math.sin(angle)
    return Track(nx, nz, nx * front.x_mm + nz * front.height_mm - front.wheel.radius_mm)

"""What sits across the car on each axle, and the track that its four wheels stand on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.car.body import Body
from bodyshop.car.design.model import AxleSet

__all__ = ["AxleStack", "Track", "axle_stack", "track_under"]


@dataclass(frozen=True, slots=True)
class AxleStack:
    """One axle put together; y in mm, left (negative) and right (positive) side of each pair.

    `faces` are the body's sides at the hole, `treads` the inner and outer edges of the right tread,
    mirrored on the left about the middle of the faces, `ends` the outermost points of wheel or axle.
    """

    axle: AxleSet
    faces: tuple[float, float]
    bearing_length_mm: float
    axle_length_mm: float
    tread_inner_mm: float
    tread_outer_mm: float
    hub_inner_mm: float
    hub_outer_mm: float
    ends: tuple[float, float]

    @property
    def middle(self) -> float:
        """Y half way between the body's sides at the hole."""
        return 0.5 * (self.faces[0] + self.faces[1])

    @property
    def body_width_mm(self) -> float:
        """Width of the body at the axle hole."""
        return self.faces[1] - self.faces[0]

    @property
    def treads(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """The left and the right tread across the car, each from its lower to its higher y."""
        near, far = sorted((self.tread_inner_mm - self.middle, self.tread_outer_mm - self.middle))
        return (self.middle - far, self.middle - near), (self.middle + near, self.middle + far)

    @property
    def tread_gap_mm(self) -> float:
        """Between the inner edges of the two treads."""
        return 2 * (self.tread_inner_mm - self.middle)


def axle_stack(body: Body, axle: AxleSet) -> AxleStack | None:
    """The stack on one axle, outward from the body: play, washers, hub. None when the hole is not in wood.

    The bearing is cut flush with the body's sides at the middle of the hole. Washer or hub rests on the body
    where it is widest within the washer, or else within the hole. Where the axle's length is not given it
    ends flush with the hubs.
    """
    x, z = axle.x_mm, axle.height_mm
    faces = body.width_at(x, z)
    if faces is None:
        return None
    wheel = axle.wheel
    # What comes against the body rests on the widest of it, which beside a rounded edge is not at the hole.
    outer = axle.washer.outer_mm if axle.washer and axle.washers else axle.hole_mm
    seats = body.widest_at(x, z - outer / 2, z + outer / 2) or faces
    between = axle.play_mm + (axle.washers * axle.washer.thickness_mm if axle.washer else 0.0)
    middle = 0.5 * (faces[0] + faces[1])
    hub_inner = max(seats[1], 2 * middle - seats[0], faces[1]) + between
    hub_outer = hub_inner + wheel.hub_length_mm
    tread_inner = hub_inner + wheel.hub_inboard_mm
    tread_outer = tread_inner + wheel.width_mm
    length = axle.length_mm if axle.length_mm is not None else 2 * (hub_outer - middle)
    reach = max(hub_outer, tread_outer, middle + 0.5 * length) - middle
    return AxleStack(
        axle=axle,
        faces=faces,
        bearing_length_mm=(faces[1] - faces[0]) if axle.bearing else 0.0,
        axle_length_mm=length,
        tread_inner_mm=tread_inner,
        tread_outer_mm=tread_outer,
        hub_inner_mm=hub_inner,
        hub_outer_mm=hub_outer,
        ends=(middle - reach, middle + reach),
    )


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

    def level(self, x: float) -> float:
        """Z of the track at x."""
        return (self.offset - self.nx * x) / self.nz

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

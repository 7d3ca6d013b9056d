"""What sits across the car on one axle: bearing, washers, wheels, and how long the axle must be."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.body import Body
from bodyshop.design.model import AxleSet

__all__ = ["AxleStack", "axle_stack"]


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

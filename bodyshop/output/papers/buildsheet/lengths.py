"""What is cut and drilled, in mm, worked out from the car: nothing here knows paper."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.design.model import AxleEnd, AxleSet, EyePlace

__all__ = ["AxleCut", "BoreDrill", "EyePosition", "axle_cuts", "bore_drill", "eye_positions"]


@dataclass(frozen=True, slots=True)
class AxleCut:
    """One axle's lengths, mm. `stack` is None where the axle's hole is not in wood."""

    axle: AxleSet
    stack: AxleStack | None

    @property
    def washers_mm(self) -> float:
        """Thickness of the washers at one wheel."""
        return self.axle.washers * self.axle.washer.thickness_mm if self.axle.washer else 0.0

    @property
    def needed_mm(self) -> float:
        """Over both hubs: body, and twice washers, play and hub. Zero without a stack."""
        if self.stack is None:
            return 0.0
        each = self.washers_mm + self.axle.play_mm + self.axle.wheel.hub_length_mm
        return self.stack.body_width_mm + 2 * each

    @property
    def over_mm(self) -> float:
        """How much longer the axle is than what it carries, both ends together; negative: shorter."""
        return 0.0 if self.stack is None else self.stack.axle_length_mm - self.needed_mm


@dataclass(frozen=True, slots=True)
class BoreDrill:
    """The cartridge hole as it is drilled from the blank's tail end, mm and rad.

    `height_mm` is over the underside of the blank and `offset_mm` right of the centre line, both at the
    tail end of the blank.
    """

    diameter_mm: float
    deep_mm: float
    height_mm: float
    offset_mm: float
    tilt_rad: float
    is_there: bool
    past_blank_mm: float
    """How far the car's tail lies beyond the blank: the blank is too short. Zero as a rule."""

    @property
    def start(self) -> str:
        """Where the depth is measured from."""
        return (
            "the car's tail (past the end of the blank)"
            if self.past_blank_mm
            else "the tail end of the blank"
        )


@dataclass(frozen=True, slots=True)
class EyePosition:
    """A screw eye on the underside, mm.

    `behind_mm` is from the centre of the axle `end`, negative ahead of it; `clearance_mm` is the height
    of the ring's lowest point over the track, None where it cannot be told.
    """

    place: EyePlace
    end: AxleEnd
    behind_mm: float
    in_wood: bool
    clearance_mm: float | None


def axle_cuts(car: Car) -> tuple[AxleCut, ...]:
    """Front and rear."""
    return tuple(AxleCut(axle, car.stack(axle.end)) for axle in car.design.axles)


def bore_drill(car: Car) -> BoreDrill:
    """The bore from the blank's tail end, where the drill starts, not from the car's own tail."""
    design, bore = car.design, car.body.bore
    told = design.bore
    deep, height, past = told.depth_mm, told.height_mm, 0.0
    if bore is not None:
        start = max(design.blank.length_mm, bore.x)
        beyond = (start - bore.x) / math.cos(bore.tilt)
        deep += beyond
        height = bore.point(-beyond)[1]
        past = max(bore.x - design.blank.length_mm, 0.0)
    there = design.blank.is_drilled
    return BoreDrill(told.diameter_mm, deep, height, told.offset_mm, told.tilt_rad, there, past)


def eye_positions(car: Car) -> tuple[EyePosition, ...]:
    """Every screw eye from nose to tail, each from its own axle, or the nearer one."""
    pilots = zip(car.design.eyes, car.body.eye_pilots, strict=True)
    spots: list[EyePosition] = []
    for place, pilot in sorted(pilots, key=lambda pair: pair[0].x_mm):
        near = min(car.design.axles, key=lambda axle: abs(axle.x_mm - place.x_mm))
        axle = next((each for each in car.design.axles if each.end is place.axle), near)
        clearance = None
        if pilot is not None and car.track is not None:
            ring = place.eye.ring_outer_mm / 2
            clearance = car.track.height(place.x_mm, pilot.z - ring) - ring
        spots.append(EyePosition(place, axle.end, place.x_mm - axle.x_mm, pilot is not None, clearance))
    return tuple(spots)

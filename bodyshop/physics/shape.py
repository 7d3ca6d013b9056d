"""What the air meets of a car: faces by their slope, skin, tail, wheels, axles, eyes. mm, mm^2, rad."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from bodyshop.car.assembly import Car
from bodyshop.car.body.rectangles import Rectangles
from bodyshop.car.body.section import Sections

__all__ = ["BLUNT_RAD", "CLOSING_RAD", "CarShape", "ForwardFace", "body_shape"]

BLUNT_RAD: Final = math.radians(60)
"""A face steeper than this counts as blunt."""

CLOSING_RAD: Final = math.radians(15)
"""A tail that closes more steeply lets the flow part from it (textbook, from memory)."""

_BINS: Final = 18
"""Slopes are counted in steps of 5 degrees."""


@dataclass(frozen=True, slots=True)
class ForwardFace:
    """A stretch of surface that looks forward: its frontal area and its angle to the air's path."""

    area_mm2: float
    angle_rad: float


@dataclass(frozen=True, slots=True)
class CarShape:
    """A body, and what stands out beside it.

    `frontal_mm2` is the body's shadow from the front, `car_mm2` that of the whole car; `faces` look forward
    on the outside, `window_mm2` in windows; `base_mm2` is flat at the tail, `steep_mm2` closes steeply.
    `front_wheels_mm2` and `rear_wheels_mm2` show beside the body, `hidden_mm2` of the rear ones behind the
    front ones.
    """

    length_mm: float
    frontal_mm2: float
    wetted_mm2: float
    faces: tuple[ForwardFace, ...]
    base_mm2: float
    window_mm2: float = 0.0
    steep_mm2: float = 0.0
    front_wheels_mm2: float = 0.0
    rear_wheels_mm2: float = 0.0
    hidden_mm2: float = 0.0
    axles_mm2: float = 0.0
    eyes_mm2: float = 0.0
    car_mm2: float = 0.0

    @property
    def diameter_mm(self) -> float:
        """Of the circle with the body's frontal area."""
        return math.sqrt(4.0 * self.frontal_mm2 / math.pi)

    @property
    def blunt_share(self) -> float:
        """How much of the frontal area is blunt."""
        blunt = sum(face.area_mm2 for face in self.faces if face.angle_rad >= BLUNT_RAD)
        return blunt / self.frontal_mm2 if self.frontal_mm2 else 0.0


def body_shape(car: Car) -> CarShape:
    """The shape of a car as its drawing has it."""
    body = car.body
    sections = body.sections
    faces, window, steep = _faces(sections)
    shadow = body.silhouette
    wheels = [_wheels(car, index) for index in range(2)]
    beside = [shapely.difference(wheel, shadow) for wheel in wheels]
    rods = shapely.difference(car.silhouette, shapely.union_all([shadow, *wheels]))
    return CarShape(
        length_mm=body.x_tail - body.x_nose,
        frontal_mm2=float(shadow.area),
        wetted_mm2=body.wetted_area,
        faces=faces,
        base_mm2=body.base_area,
        window_mm2=window,
        steep_mm2=steep,
        front_wheels_mm2=float(beside[0].area),
        rear_wheels_mm2=float(beside[1].area),
        hidden_mm2=float(shapely.intersection(*beside).area),
        # Both axles show, though one may hide behind the other.
        axles_mm2=float(rods.area),
        eyes_mm2=_eyes(car),
        car_mm2=float(car.silhouette.area),
    )


def _wheels(car: Car, index: int) -> shapely.Geometry:
    """Both wheels of one axle, seen from the front."""
    end = car.design.axles[index].end
    stack = car.stack(end)
    if stack is None:
        return shapely.Polygon()
    radius, z = stack.axle.wheel.radius_mm, stack.axle.height_mm
    return shapely.union_all([shapely.box(low, z - radius, high, z + radius) for low, high in stack.treads])


def _eyes(car: Car) -> float:
    """Wire of the rings, seen through the ring as the guide line sees it."""
    return sum(
        math.pi / 4.0 * (place.eye.ring_outer_mm**2 - place.eye.ring_inner_mm**2) for place in car.design.eyes
    )


def _faces(sections: Sections) -> tuple[tuple[ForwardFace, ...], float, float]:
    """Faces that look forward on the outside, by slope; frontal area of those in windows; and of those that
    look back and close steeply.

    A side whose position changes by `slope` over a length dx shows `slope` dx times the section's size
    across it. Edges rounded by sanding are taken as square.
    """
    grid = sections.grid
    r, weight = grid.r, grid.weight
    high, wide = r.z1 - r.z0, r.y1 - r.y0
    bins = np.zeros(_BINS + 1)
    window = steep = 0.0
    outer = {
        "z": (
            sections.side.ring[sections.z_lower] == 0,
            sections.side.ring[sections.z_upper] == 0,
        ),
        "y": (
            sections.top.ring[sections.y_lower] == 0,
            sections.top.ring[sections.y_upper] == 0,
        ),
    }
    for slope, across, is_outer in (
        (grid.dz1, wide, outer["z"][1]),
        (-grid.dz0, wide, outer["z"][0]),
        (grid.dy1, high, outer["y"][1]),
        (-grid.dy0, high, outer["y"][0]),
    ):
        steepness = np.where(np.isfinite(slope), slope, 0.0)
        shown = steepness * across * weight
        outside = np.broadcast_to(is_outer[:, None], shown.shape)
        ahead = shown > 0
        where = np.minimum(np.degrees(np.arctan(np.abs(steepness))) / (90.0 / _BINS), _BINS - 1).astype(int)
        pick = ahead & outside
        bins += np.bincount(where[pick], weights=shown[pick], minlength=_BINS + 1)
        window += float(shown[ahead & ~outside].sum())
        steep -= float(shown[~ahead & outside & (steepness < -math.tan(CLOSING_RAD))].sum())
    step_on, step_off = _steps(sections)
    bins[_BINS] += step_on
    steep += step_off
    angles = [*np.radians((np.arange(_BINS) + 0.5) * 90.0 / _BINS).tolist(), math.pi / 2]
    faces = tuple(
        ForwardFace(float(area), angle) for area, angle in zip(bins, angles, strict=True) if area > 1e-6
    )
    return faces, window, steep


def _steps(sections: Sections) -> tuple[float, float]:
    """Upright faces that look forward, the nose's own with them; and those that look back, the tail's own
    left out.
    """
    ahead = float(_shape(sections.at(sections.x_min)).area)
    back = 0.0
    jumps = {upright.x for graph in (sections.side, sections.top) for upright in graph.uprights}
    for x in sorted(jumps):
        if sections.x_min < x < sections.x_max:
            before, after = _shape(sections.at(x, ahead=True)), _shape(sections.at(x))
            ahead += float(shapely.difference(after, before).area)
            back += float(shapely.difference(before, after).area)
    return ahead, back


def _shape(r: Rectangles) -> shapely.Geometry:
    return shapely.union_all(shapely.box(r.y0, r.z0, r.y1, r.z1))

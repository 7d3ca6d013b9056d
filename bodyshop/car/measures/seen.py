"""How much of a wheel the body hides: seen from above, from the side, from ahead."""

from __future__ import annotations

import numpy as np
import shapely

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.design.model import AxleEnd
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import stack_of, track_of
from bodyshop.foundation.place import Place, View
from bodyshop.geometry.outlines import FINE_MM, Array

__all__: list[str] = []

FROM_TRACK_MM = 20.0
"""How high above the track a wheel is looked at from ahead; the height that published sheets use."""
STATIONS = 121
BESIDE_MM = 1e-6


@measure(
    "{end}_wheel.hidden_from_above",
    "{end} wheel hidden from above",
    QuantityKind.AREA,
    state=MeasuringState.WHEELS,
    between=("edge of the body over the wheel", "edge of the wheel"),
    less="narrow the body over the {end} wheels",
    drivers=("plan.points",),
)
def hidden_from_above(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Area of a {end} wheel's tread, seen from straight above, that lies under the body."""
    stack = stack_of(car, end)
    plan = car.body.plan.polygon(FINE_MM)
    reach = shapely.box(car.body.x_nose, -1e4, car.body.x_tail, 1e4)
    r, x = stack.axle.wheel.radius_mm, stack.axle.x_mm
    treads = [shapely.box(x - r, a, x + r, b) for a, b in stack.treads]
    area = max(float(plan.intersection(reach).intersection(t).area) for t in treads)
    return Reading(area, _wheel_place(stack, View.TOP))


@measure(
    "{end}_wheel.hidden_from_side",
    "{end} wheel hidden from the side",
    QuantityKind.AREA,
    state=MeasuringState.WHEELS,
    between=("edge of the body outside the wheel", "edge of the wheel"),
    less="narrow the body beside the {end} wheels",
    drivers=("plan.points",),
)
def hidden_from_side(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Area of a {end} wheel, seen straight from its side, that stands behind a wider part of the body."""
    stack = stack_of(car, end)
    r = stack.axle.wheel.radius_mm
    ends = _stations(car, stack.axle.x_mm - r, stack.axle.x_mm + r)
    middle = 0.5 * (ends[1:] + ends[:-1])
    cut = car.body.cut_at(middle)
    width = np.diff(ends)[np.searchsorted(middle, cut.x)]
    chord = np.sqrt(np.maximum(r**2 - (cut.x - stack.axle.x_mm) ** 2, 0.0))
    low = np.maximum(cut.z0, stack.axle.height_mm - chord)
    high = np.minimum(cut.z1, stack.axle.height_mm + chord)
    area = 0.0
    for inner, outer in stack.treads:
        edge = max(inner, outer, key=lambda y: abs(y - stack.middle))
        beyond = cut.y1 > edge if edge > stack.middle else cut.y0 < edge
        area = max(area, float(np.sum(np.where(beyond, np.maximum(high - low, 0.0), 0.0) * width)))
    return Reading(area, _wheel_place(stack, View.SIDE))


@measure(
    "{end}_wheel.hidden_from_ahead",
    "{end} wheel hidden from the front",
    QuantityKind.AREA,
    state=MeasuringState.WHEELS,
    between=("edge of the body in front of the wheel", "edge of the wheel"),
    less="narrow the body in front of the {end} wheels",
    drivers=("plan.points",),
)
def hidden_from_ahead(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Area of a {end} wheel's tread, seen from straight ahead and up to 20 mm above the track, that the body
    in front of its axle hides; its long edges are taken as square.
    """
    stack, track = stack_of(car, end), track_of(car)
    bottom = track.level(stack.axle.x_mm)
    ends = _stations(car, car.body.x_nose, min(stack.axle.x_mm, car.body.x_tail))
    # A break is seen from both sides.
    cut = car.body.cut_at(np.concatenate((ends, ends[1:] - BESIDE_MM)))
    area = 0.0
    for left, right in stack.treads:
        y0, y1 = np.maximum(cut.y0, left), np.minimum(cut.y1, right)
        z0, z1 = np.maximum(cut.z0, bottom), np.minimum(cut.z1, bottom + FROM_TRACK_MM)
        over = (y0 < y1) & (z0 < z1)
        if np.any(over):
            boxes = shapely.box(y0[over], z0[over], y1[over], z1[over])
            area = max(area, float(shapely.union_all(boxes).area))
    return Reading(area, _wheel_place(stack, View.NOSE))


def _stations(car: Car, x0: float, x1: float) -> Array:
    """Stations from x0 to x1, no further apart than the even ones, with the breaks of the body among them."""
    breaks = car.body.sections.breaks
    inner = breaks[(breaks > x0 + BESIDE_MM) & (breaks < x1 - BESIDE_MM)]
    return np.sort(np.concatenate((np.linspace(x0, x1, STATIONS), inner)))


def _wheel_place(stack: AxleStack, view: View) -> Place:
    centre = (stack.axle.x_mm, 0.5 * (stack.tread_inner_mm + stack.tread_outer_mm), stack.axle.height_mm)
    return Place(view, (centre,), f"the {stack.axle.end.value} wheel")

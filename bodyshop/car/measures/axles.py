"""Measures of axle holes, axles and wheels."""

from __future__ import annotations

import numpy as np

from bodyshop.car.assembly import Car
from bodyshop.car.body import Wall
from bodyshop.car.body.clearance import axle_to_axle, pilot_to_axle
from bodyshop.car.design.model import AxleEnd
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, Reading, measure
from bodyshop.car.measures.needed import NOT_IN_WOOD, along, axle_of, axle_place, stack_of
from bodyshop.foundation.place import Place, View

__all__: list[str] = []


@measure(
    "car.wheelbase",
    "wheelbase",
    between=("centre of the front axle", "centre of the rear axle"),
    more="move the axles apart",
    less="move the axles together",
    drivers=("axles.rear.x", "axles.front.x"),
)
def wheelbase(car: Car) -> Reading | NotKnown:
    """Distance between the centres of the two axles along the car."""
    a, b = car.design.front, car.design.rear
    return along(a.x_mm, b.x_mm, a.height_mm, "axle centre to axle centre")


@measure(
    "{end}_axle.hole_diameter",
    "{end} axle hole diameter",
    between=("one side of the hole", "the other"),
    more="make the {end} axle hole larger",
    less="make the {end} axle hole smaller",
    drivers=("axles.{end}.hole",),
)
def hole_diameter(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Diameter of the {end} axle hole."""
    a = axle_of(car, end)
    ends = ((a.x_mm - a.hole_mm / 2, 0.0, a.height_mm), (a.x_mm + a.hole_mm / 2, 0.0, a.height_mm))
    return Reading(a.hole_mm, Place(View.SIDE, ends, f"the {end.value} axle hole"))


@measure(
    "{end}_axle.hole_height",
    "{end} axle hole above the bottom",
    between=("bottom of the body under the hole", "centre of the {end} axle hole"),
    more="raise the {end} axle hole",
    less="lower the {end} axle hole",
    drivers=("axles.{end}.height",),
)
def hole_height(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Height of the centre of the {end} axle hole above the bottom there."""
    return _over_underside(car, end, 0.0)


@measure(
    "{end}_axle.hole_bottom",
    "wood under the {end} axle hole",
    between=("bottom of the body under the hole", "lowest point of the {end} axle hole"),
    more="raise the {end} axle hole",
    less="lower the {end} axle hole",
    drivers=("axles.{end}.height",),
)
def hole_bottom(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Wood straight down from the {end} axle hole to the bottom of the body."""
    return _over_underside(car, end, axle_of(car, end).hole_mm / 2)


def _over_underside(car: Car, end: AxleEnd, less: float) -> Reading | NotKnown:
    a = axle_of(car, end)
    span = car.body.height_at(a.x_mm)
    if span is None:
        return NotKnown(NOT_IN_WOOD.format(end=end.value))
    top = a.height_mm - less
    ends = ((a.x_mm, 0.0, span[0]), (a.x_mm, 0.0, top))
    return Reading(top - span[0], Place(View.SIDE, ends, f"at the {end.value} axle, x = {a.x_mm:.1f} mm"))


@measure(
    "{end}_axle.from_nose",
    "{end} axle hole from the nose end",
    between=("front of the body", "centre of the {end} axle hole"),
    more="move the {end} axle towards the tail",
    less="move the {end} axle towards the nose",
    drivers=("axles.{end}.x",),
)
def from_nose(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Distance along the car from the nose end of the body to the centre of the {end} axle hole."""
    a = axle_of(car, end)
    return along(car.body.x_nose, a.x_mm, a.height_mm, f"nose to the {end.value} axle")


@measure(
    "{end}_axle.from_tail",
    "{end} axle hole from the tail end",
    between=("back of the body", "centre of the {end} axle hole"),
    more="move the {end} axle towards the nose",
    less="move the {end} axle towards the tail",
    drivers=("axles.{end}.x",),
)
def from_tail(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Distance along the car from the tail end of the body to the centre of the {end} axle hole."""
    a = axle_of(car, end)
    return along(a.x_mm, car.body.x_tail, a.height_mm, f"the {end.value} axle to the tail")


@measure(
    "{end}_axle.wall",
    "wood round the {end} axle hole",
    between=("{end} axle hole", "nearest outline, window or hole in the side view"),
    more="move the {end} axle hole into thicker wood",
    drivers=("axles.{end}.height", "axles.{end}.x"),
)
def axle_wall(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Least wood round the {end} axle hole in the side view: to the outline, a window, a screw-eye hole or
    the other axle hole. Rounded edges at the ends of the hole are not counted.
    """
    index = 0 if end is AxleEnd.FRONT else 1
    hole = car.body.axle_holes[index]
    walls: list[tuple[str, Wall]] = [("the outline", car.body.axle_skins[index])]
    window = car.body.axle_windows[index]
    if window:
        walls.append(("a window", window))
    walls.append(("the other axle hole", axle_to_axle(hole, car.body.axle_holes[1 - index])))
    walls.extend(("a screw-eye hole", _turned(pilot_to_axle(p, hole))) for p in car.body.pilots)
    name, w = min(walls, key=lambda pair: pair[1].value_mm)
    label = f"{end.value} axle hole to {name}, x = {w.at_other[0]:.1f} mm"
    return Reading(w.value_mm, Place(View.SIDE, (w.at_hole, w.at_other), label))


def _turned(wall: Wall) -> Wall:
    return Wall(wall.value_mm, wall.at_other, wall.at_hole)


@measure(
    "{end}_axle.length",
    "{end} axle length",
    state=MeasuringState.WHEELS,
    between=("one end of the axle", "the other"),
    more="cut a longer {end} axle",
    less="cut a shorter {end} axle, or narrow the body there",
    drivers=("axles.{end}.length", "plan.points"),
)
def axle_length(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Length of the {end} axle: as given, or flush with the hubs."""
    stack = stack_of(car, end)
    half = stack.axle_length_mm / 2
    x, z = stack.axle.x_mm, stack.axle.height_mm
    ends = ((x, stack.middle - half, z), (x, stack.middle + half, z))
    return Reading(stack.axle_length_mm, Place(View.TOP, ends, f"the {end.value} axle"))


@measure(
    "{end}_axle.diameter",
    "{end} axle diameter",
    state=MeasuringState.WHEELS,
    between=("one side of the axle", "the other"),
    drivers=("axles.{end}.axle",),
)
def axle_diameter(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Diameter of the {end} axle rod."""
    return Reading(axle_of(car, end).axle.diameter_mm, axle_place(car, end))


@measure(
    "{end}_wheel.diameter",
    "{end} wheel diameter",
    state=MeasuringState.WHEELS,
    between=("top of the wheel", "its contact with the track"),
    more="fit larger {end} wheels",
    less="fit smaller {end} wheels",
    drivers=("axles.{end}.wheel",),
)
def wheel_diameter(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Diameter of a {end} wheel at its tread."""
    return Reading(axle_of(car, end).wheel.diameter_mm, axle_place(car, end))


@measure(
    "{end}_wheel.width",
    "{end} wheel width",
    state=MeasuringState.WHEELS,
    between=("inner edge of the tread", "outer edge"),
    more="fit wider {end} wheels",
    less="fit narrower {end} wheels",
    drivers=("axles.{end}.wheel",),
)
def wheel_width(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Width of the tread of a {end} wheel where it touches the track."""
    stack = car.stack(end)
    place = axle_place(car, end)
    if stack is not None:
        x, z = stack.axle.x_mm, stack.axle.height_mm
        place = Place(
            View.TOP, ((x, stack.tread_inner_mm, z), (x, stack.tread_outer_mm, z)), f"{end.value} wheel"
        )
    return Reading(axle_of(car, end).wheel.width_mm, place)


@measure(
    "{end}_wheel.gap",
    "gap between the {end} wheels",
    state=MeasuringState.WHEELS,
    between=("inner edge of the left tread", "inner edge of the right tread"),
    more="widen the body at the {end} axle, or add washers",
    less="narrow the body at the {end} axle, or remove washers",
    drivers=("plan.points", "axles.{end}.washers"),
)
def wheel_gap(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Clear distance between the treads of the two {end} wheels."""
    stack = stack_of(car, end)
    x, z = stack.axle.x_mm, stack.axle.height_mm
    half = stack.tread_gap_mm / 2
    ends = ((x, stack.middle - half, z), (x, stack.middle + half, z))
    return Reading(stack.tread_gap_mm, Place(View.TOP, ends, f"between the {end.value} wheels"))


@measure(
    "{end}_wheel.body_gap",
    "{end} wheel clear of the body",
    state=MeasuringState.WHEELS,
    between=("inner edge of the {end} tread", "side of the body within the wheel's reach"),
    more="narrow the body beside the {end} wheels, or add a washer",
    less="widen the body beside the {end} wheels",
    drivers=("axles.{end}.washers", "plan.points"),
)
def wheel_body_gap(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Least gap across the car between a {end} wheel and the body beside it: the body may be wider ahead
    of or behind the axle than at it.
    """
    stack = stack_of(car, end)
    axle = stack.axle
    reach = axle.wheel.radius_mm
    x = np.linspace(axle.x_mm - reach, axle.x_mm + reach, 65)
    r = car.body.cut_at(x)
    chord = np.sqrt(np.maximum(reach**2 - (r.x - axle.x_mm) ** 2, 0.0))
    beside = (r.z0 < axle.height_mm + chord) & (r.z1 > axle.height_mm - chord)
    if not np.any(beside):
        return NotKnown(f"no wood beside the {end.value} wheels")
    inner = stack.tread_inner_mm - stack.middle
    room = np.where(beside, np.minimum(stack.middle + inner - r.y1, inner - stack.middle + r.y0), np.inf)
    i = int(np.argmin(room))
    right = stack.middle + inner - r.y1[i] <= inner - stack.middle + r.y0[i]
    side = float(r.y1[i] if right else r.y0[i])
    tread = stack.middle + (inner if right else -inner)
    at, z = float(r.x[i]), axle.height_mm
    return Reading(
        float(room[i]), Place(View.TOP, ((at, tread, z), (at, side, z)), f"beside the {end.value} wheel")
    )

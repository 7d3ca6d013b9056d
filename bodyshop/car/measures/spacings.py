"""Measures from edges and farthest points, overhangs and heights that some event sheets ask for."""

from __future__ import annotations

from bodyshop.car.assembly import Car
from bodyshop.car.design.model import AxleEnd
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import along, axle_of, eye_of, eyes_of, track_of
from bodyshop.foundation.place import Place, View

__all__: list[str] = []


@measure(
    "car.axle_spread",
    "over the axles",
    state=MeasuringState.WHEELS,
    between=("front edge of the front axle", "rear edge of the rear axle"),
    more="move the axles apart",
    less="move the axles together",
    drivers=("axles.rear.x", "axles.front.x"),
)
def axle_spread(car: Car) -> Reading | NotKnown:
    """Distance along the car over the outside edges of the two axle rods."""
    a, b = car.design.axles
    x0, x1 = a.x_mm - a.axle.diameter_mm / 2, b.x_mm + b.axle.diameter_mm / 2
    return along(x0, x1, a.height_mm, "over both axles")


@measure(
    "car.hole_spread",
    "over the axle holes",
    between=("front edge of the front axle hole", "rear edge of the rear axle hole"),
    more="move the axle holes apart",
    less="move the axle holes together",
    drivers=("axles.rear.x", "axles.front.x"),
)
def hole_spread(car: Car) -> Reading | NotKnown:
    """Distance along the car over the outside edges of the two axle holes: their farthest points."""
    a, b = car.design.axles
    x0, x1 = a.x_mm - a.hole_mm / 2, b.x_mm + b.hole_mm / 2
    return along(x0, x1, a.height_mm, "over both axle holes")


@measure(
    "{end}_axle.edge_from_nose",
    "edge of the {end} axle hole from the nose end",
    between=("front of the body", "nearest edge of the {end} axle hole"),
    more="move the {end} axle towards the tail",
    less="move the {end} axle towards the nose",
    drivers=("axles.{end}.x",),
)
def edge_from_nose(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Distance along the car from the nose end of the body to the nearest edge of the {end} axle hole."""
    a = axle_of(car, end)
    where = f"nose to the edge of the {end.value} axle hole"
    return along(car.body.x_nose, a.x_mm - a.hole_mm / 2, a.height_mm, where)


@measure(
    "{end}_axle.edge_from_tail",
    "edge of the {end} axle hole from the tail end",
    between=("nearest edge of the {end} axle hole", "back of the body"),
    more="move the {end} axle towards the nose",
    less="move the {end} axle towards the tail",
    drivers=("axles.{end}.x",),
)
def edge_from_tail(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Distance along the car from the nearest edge of the {end} axle hole to the tail end of the body."""
    a = axle_of(car, end)
    where = f"edge of the {end.value} axle hole to the tail"
    return along(a.x_mm + a.hole_mm / 2, car.body.x_tail, a.height_mm, where)


@measure(
    "car.nose_overhang",
    "nose overhang",
    state=MeasuringState.WHEELS,
    between=("front of body or wheels", "centre of the front axle"),
    more="leave more of the car in front of the front axle",
    less="leave less of the car in front of the front axle",
    drivers=("axles.front.x", "profile.points"),
)
def nose_overhang(car: Car) -> Reading | NotKnown:
    """How far the car, body or wheels, reaches in front of the centre of the front axle."""
    a = car.design.front
    x = min(car.body.x_nose, a.x_mm - a.wheel.radius_mm)
    return along(x, a.x_mm, a.height_mm, "in front of the front axle")


@measure(
    "car.tail_overhang",
    "tail overhang",
    state=MeasuringState.WHEELS,
    between=("centre of the rear axle", "back of body or wheels"),
    more="leave more of the car behind the rear axle",
    less="leave less of the car behind the rear axle",
    drivers=("axles.rear.x", "profile.points"),
)
def tail_overhang(car: Car) -> Reading | NotKnown:
    """How far the car, body or wheels, reaches behind the centre of the rear axle."""
    a = car.design.rear
    x = max(car.body.x_tail, a.x_mm + a.wheel.radius_mm)
    return along(a.x_mm, x, a.height_mm, "behind the rear axle")


@measure(
    "car.rear_height",
    "height of the body at the tail",
    state=MeasuringState.WHEELS,
    between=("track", "highest point of the body from the rear axle back"),
    more="raise the body behind the rear axle",
    less="lower the body behind the rear axle",
    drivers=("profile.points", "axles.rear.height"),
)
def rear_height(car: Car) -> Reading | NotKnown:
    """Height above the track of the highest point of the body from the rear axle to the tail."""
    track = track_of(car)
    x = car.design.rear.x_mm
    if x >= car.body.x_tail:
        return NotKnown("there is no body behind the rear axle")
    (px, pz), value = car.body.highest(track.nx, track.nz, x, car.body.x_tail)
    fx, fz = track.foot(px, pz)
    place = Place(View.SIDE, ((fx, 0.0, fz), (px, 0.0, pz)), f"highest at x = {px:.0f} mm")
    return Reading(value - track.offset, place)


@measure(
    "bore.angle_to_underside",
    "angle of the cartridge hole to the bottom of the block",
    QuantityKind.ANGLE,
    between=("centre line of the cartridge hole", "bottom of the block"),
    more="raise the blind end of the cartridge hole",
    less="lower the blind end of the cartridge hole",
    drivers=("bore.angle",),
)
def angle_to_underside(car: Car) -> Reading | NotKnown:
    """Angle between the cartridge hole and the flat bottom of the block; 0 is parallel, positive
    has the blind end up.
    """
    bore = car.body.bore
    point = Place(View.TAIL, ((bore.x, bore.y, bore.z),), "the mouth of the cartridge hole") if bore else None
    return Reading(car.design.bore.tilt_rad, point)


@measure(
    "eyes.spread",
    "over the screw eyes",
    state=MeasuringState.WHEELS,
    between=("front edge of the front ring", "rear edge of the rear ring"),
    more="move the screw eyes apart",
    less="move the screw eyes together",
    drivers=("screw_eye",),
)
def eyes_spread(car: Car) -> Reading | NotKnown:
    """Distance along the car over the rings of the front and rear screw eyes: their farthest points, rings
    turned square to the car. Each ring is then as long as its wire is thick.
    """
    front, rear = eyes_of(car)
    a, b = front[0], rear[0]
    x0, x1 = a.x_mm - a.eye.wire_mm / 2, b.x_mm + b.eye.wire_mm / 2
    ends = ((x0, a.offset_mm, 0.0), (x1, b.offset_mm, 0.0))
    return Reading(x1 - x0, Place(View.UNDERSIDE, ends, "over both screw eyes"))


@measure(
    "{end}_eye.inside_diameter",
    "inside of the {end} screw eye",
    state=MeasuringState.WHEELS,
    between=("inside of the ring", "inside of the ring opposite"),
    more="use a {end} screw eye with a larger ring",
    less="use a {end} screw eye with a smaller ring",
    drivers=("screw_eye",),
)
def eye_inside(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Inside diameter of the ring of the {end} screw eye."""
    found = eye_of(car, end)
    place = found[0]
    point = Place(View.UNDERSIDE, ((place.x_mm, place.offset_mm, 0.0),), f"the {end.value} screw eye")
    return Reading(place.eye.ring_inner_mm, point)

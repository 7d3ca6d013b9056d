"""Measures of the whole car, of the blank it comes from, and its mass."""

from __future__ import annotations

import math

from bodyshop.car.assembly import Car, Mass, Track
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import along, bore_of, track_of
from bodyshop.foundation.place import Place, Point3, View

__all__: list[str] = []


@measure(
    "car.height",
    "height on wheels",
    state=MeasuringState.WHEELS,
    between=("track", "highest point of the car"),
    more="make the car higher",
    less="lower the highest point of the body, or raise the axle holes",
    drivers=("profile.points", "axles.rear.height"),
)
def height(car: Car) -> Reading | NotKnown:
    """Height of the highest point of the car above the track, on its wheels."""
    track = track_of(car)
    point, value = _extreme(car, track, highest=True)
    for a in car.design.axles:
        if 2 * a.wheel.radius_mm > value:
            value = 2 * a.wheel.radius_mm
            point = (a.x_mm + a.wheel.radius_mm * track.nx, 0.0, a.height_mm + a.wheel.radius_mm * track.nz)
    fx, fz = track.foot(point[0], point[2])
    place = Place(View.SIDE, ((fx, 0.0, fz), point), f"highest at x = {point[0]:.0f} mm")
    return Reading(value, place)


@measure(
    "car.track_clearance",
    "body above the track",
    state=MeasuringState.WHEELS,
    between=("track", "lowest point of the body"),
    below_zero="the body would hang {value} below the top of the track",
    more="lower the axle holes, or fit larger wheels",
    less="raise the axle holes, or fit smaller wheels",
    drivers=("axles.front.height", "axles.rear.height"),
)
def track_clearance(car: Car) -> Reading | NotKnown:
    """Least height of the body above the track, on its wheels, screw eyes left out."""
    track = track_of(car)
    point, value = _extreme(car, track, highest=False)
    fx, fz = track.foot(point[0], point[2])
    return Reading(value, Place(View.SIDE, ((fx, 0.0, fz), point), f"lowest at x = {point[0]:.0f} mm"))


@measure(
    "car.width",
    "total width",
    state=MeasuringState.WHEELS,
    between=("outermost point on the left", "outermost point on the right"),
    more="widen the body at the axles, or fit wider wheels",
    less="narrow the body at the axles, or fit narrower wheels",
    drivers=("plan.points", "axles.rear.washers"),
)
def width(car: Car) -> Reading | NotKnown:
    """Greatest width of the complete car, over wheels, axle ends and body."""
    _, y0, _, _, y1, _ = car.body.bounds
    low: Point3 = (car.body.x_tail, y0, 0.0)
    high: Point3 = (car.body.x_tail, y1, 0.0)
    for s in car.stacks:
        if s.ends[0] < low[1]:
            low = (s.axle.x_mm, s.ends[0], s.axle.height_mm)
        if s.ends[1] > high[1]:
            high = (s.axle.x_mm, s.ends[1], s.axle.height_mm)
    return Reading(high[1] - low[1], Place(View.TOP, (low, high), "over everything"))


@measure(
    "car.length",
    "total length",
    state=MeasuringState.WHEELS,
    between=("front of body or wheels", "back"),
    more="make the car longer",
    less="make the car shorter",
    drivers=("profile.points", "axles.front.x", "axles.rear.x"),
)
def length(car: Car) -> Reading | NotKnown:
    """Length of the complete car over body and wheels, without cartridge."""
    a, b = car.design.front, car.design.rear
    x0 = min(car.body.x_nose, a.x_mm - a.wheel.radius_mm)
    x1 = max(car.body.x_tail, b.x_mm + b.wheel.radius_mm)
    return along(x0, x1, a.height_mm, "over everything, nose to tail")


@measure(
    "blank.fit",
    "room in the block",
    between=("face of the block", "nearest point of the body"),
    more="move that side of the body in",
    below_zero="the body sticks {value} out of the block",
    drivers=("profile.points", "plan.points", "blank.stock"),
)
def blank_fit(car: Car) -> Reading | NotKnown:
    """Least room between the body and the faces of the block. A minus number says how far
    the body sticks out. 0 fits: a face of the block may be a face of the car.
    """
    blank = car.design.blank
    x0, y0, z0, x1, y1, _ = car.body.bounds
    rooms: list[tuple[float, Point3, str]] = [
        (x0, (x0, 0.0, z0), "the nose end of the block"),
        (blank.length_mm - x1, (x1, 0.0, z0), "the tail end of the block"),
        (z0, (x0, 0.0, z0), "the bottom of the block"),
        (blank.width_mm / 2 - y1, (x1, y1, z0), "the right side of the block"),
        (blank.width_mm / 2 + y0, (x1, y0, z0), "the left side of the block"),
    ]
    rise = (blank.height_tail_mm - blank.height_nose_mm) / blank.length_mm
    size = math.hypot(1.0, rise)
    (x, z), reach = car.body.highest(-rise / size, 1.0 / size, x0, x1)
    rooms.append((blank.height_nose_mm / size - reach, (x, 0.0, z), "the top of the block"))
    value, point, label = min(rooms, key=lambda r: r[0])
    return Reading(value, Place(View.SIDE, (point,), label))


@measure(
    "blank.bore_mismatch",
    "cartridge hole out of line with the hole in the block",
    between=("centre of the hole already in the block", "centre of the cartridge hole"),
    less="put the cartridge hole where the block is drilled",
    drivers=("bore.height",),
)
def bore_mismatch(car: Car) -> Reading | NotKnown:
    """How far the cartridge hole you drew is from the hole that the block came with."""
    own = car.design.blank.bore
    if own is None:
        return NotKnown("the block has no hole", absent=True)
    bore = bore_of(car)
    value = math.hypot(bore.y, bore.z - own.height_mm)
    ends = ((bore.x, 0.0, own.height_mm), (bore.x, bore.y, bore.z))
    return Reading(value, Place(View.TAIL, ends, "at the tail face"))


@measure(
    "car.mass",
    "mass without cartridge",
    QuantityKind.MASS,
    state=MeasuringState.NO_CARTRIDGE,
    more="leave more wood, or use denser wood",
    less="take wood off, or use lighter wood",
    drivers=("blank.wood", "profile.points", "plan.points"),
)
def mass(car: Car) -> Reading | NotKnown:
    """Estimated mass of everything on the car except the cartridge. Trust the scale, not the estimate."""
    return _mass(car.mass)


@measure(
    "car.mass_loaded",
    "mass with a full cartridge",
    QuantityKind.MASS,
    state=MeasuringState.WITH_CARTRIDGE,
    more="leave more wood, or use denser wood",
    less="take wood off, or use lighter wood",
    drivers=("blank.wood", "profile.points", "plan.points"),
)
def mass_loaded(car: Car) -> Reading | NotKnown:
    """Estimated mass of everything on the car, with a full cartridge."""
    return _mass(car.mass_loaded)


@measure(
    "car.balance",
    "centre of mass from the nose",
    state=MeasuringState.NO_CARTRIDGE,
    between=("front of the body", "centre of mass"),
    more="move mass towards the tail",
    less="move mass towards the nose",
    drivers=("profile.points", "plan.points"),
)
def balance(car: Car) -> Reading | NotKnown:
    """Estimated distance along the car from the nose to the centre of mass, complete without cartridge."""
    x, y, z = car.mass.centre
    nose = car.body.x_nose
    place = Place(View.SIDE, ((nose, 0.0, z), (x, y, z)), "nose to the centre of mass")
    return Reading(x - nose, place, car.centre_spread[0])


@measure(
    "car.balance_height",
    "centre of mass above the track",
    state=MeasuringState.NO_CARTRIDGE,
    between=("track", "centre of mass"),
    more="move mass upwards",
    less="move mass downwards",
    drivers=("profile.points", "axles.rear.height"),
)
def balance_height(car: Car) -> Reading | NotKnown:
    """Estimated height of the centre of mass above the track, complete without cartridge."""
    track = track_of(car)
    x, y, z = car.mass.centre
    fx, fz = track.foot(x, z)
    place = Place(View.SIDE, ((fx, y, fz), (x, y, z)), "above the track")
    # The track is level but for a car with unequal wheels, whose slope is too small to count in a spread.
    return Reading(track.height(x, z), place, car.centre_spread[2])


def _mass(value: Mass) -> Reading:
    return Reading(value.mass_g, Place(View.SIDE, (value.centre,), "the centre of mass"), value.sd_g)


def _extreme(car: Car, track: Track, *, highest: bool) -> tuple[Point3, float]:
    """The highest or lowest point of the body above the track, and its height."""
    body, sign = car.body, 1.0 if highest else -1.0
    (x, z), reach = body.highest(sign * track.nx, sign * track.nz, body.x_nose, body.x_tail)
    return (x, 0.0, z), sign * reach - track.offset

"""Measures of the screw eyes that run on the guide line."""

from __future__ import annotations

from bodyshop.car.assembly import Car
from bodyshop.car.design.model import AxleEnd
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import axle_of, eye_of, eyes_of, track_of
from bodyshop.foundation.place import Place, View

__all__: list[str] = []


@measure(
    "eyes.count",
    "screw eyes",
    QuantityKind.COUNT,
    more="add a screw eye",
    less="remove a screw eye",
    drivers=("screw_eye",),
)
def count(car: Car) -> Reading | NotKnown:
    """How many screw eyes the car has."""
    return Reading(float(len(car.design.eyes)), None)


@measure(
    "eyes.spacing",
    "screw-eye spacing",
    between=("centre of the front screw eye", "centre of the rear screw eye"),
    more="move the screw eyes apart",
    less="move the screw eyes together",
    drivers=("screw_eye.rear.ahead", "screw_eye.rear.behind", "screw_eye.rear.x", "screw_eye"),
)
def spacing(car: Car) -> Reading | NotKnown:
    """Distance along the car between the centres of the front and the rear screw eye."""
    front, rear = eyes_of(car)
    a, b = front[0], rear[0]
    ends = ((a.x_mm, a.offset_mm, _under(car, front[1])), (b.x_mm, b.offset_mm, _under(car, rear[1])))
    return Reading(b.x_mm - a.x_mm, Place(View.UNDERSIDE, ends, "screw eye to screw eye"))


@measure(
    "{end}_eye.from_axle",
    "{end} screw eye from its axle",
    between=("centre of the {end} axle", "centre of the {end} screw eye"),
    more="move the {end} screw eye away from the axle",
    less="move the {end} screw eye towards the axle",
    drivers=("screw_eye.{end}.behind", "screw_eye.{end}.ahead", "screw_eye.{end}.x"),
)
def from_axle(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Distance along the car from the {end} axle to the {end} screw eye, whichever way it lies."""
    place, index = eye_of(car, end)
    axle = axle_of(car, end)
    z = _under(car, index)
    ends = ((axle.x_mm, 0.0, z), (place.x_mm, place.offset_mm, z))
    return Reading(abs(place.x_mm - axle.x_mm), Place(View.UNDERSIDE, ends, f"{end.value} axle to screw eye"))


@measure(
    "{end}_eye.behind_axle",
    "{end} screw eye behind its axle",
    between=("centre of the {end} axle", "centre of the {end} screw eye"),
    more="move the {end} screw eye towards the tail",
    less="move the {end} screw eye towards the nose",
    drivers=("screw_eye.{end}.behind", "screw_eye.{end}.ahead", "screw_eye.{end}.x"),
)
def behind_axle(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Distance along the car from the {end} axle back to the {end} screw eye; below 0 where the screw eye is
    in front of the axle.
    """
    place, index = eye_of(car, end)
    axle = axle_of(car, end)
    z = _under(car, index)
    ends = ((axle.x_mm, 0.0, z), (place.x_mm, 0.0, z))
    return Reading(place.x_mm - axle.x_mm, Place(View.UNDERSIDE, ends, f"{end.value} axle to screw eye"))


@measure(
    "{end}_eye.offset",
    "{end} screw eye off the centre line",
    between=("centre line of the underside", "centre of the {end} screw eye"),
    more="move the {end} screw eye off the centre line",
    less="move the {end} screw eye on to the centre line",
    drivers=("screw_eye.{end}.offset",),
)
def offset(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """How far the {end} screw eye lies to one side of the centre line."""
    place, index = eye_of(car, end)
    z = _under(car, index)
    ends = ((place.x_mm, 0.0, z), (place.x_mm, place.offset_mm, z))
    return Reading(abs(place.offset_mm), Place(View.UNDERSIDE, ends, f"the {end.value} screw eye"))


@measure(
    "{end}_eye.track_clearance",
    "{end} screw eye above the track",
    state=MeasuringState.WHEELS,
    between=("track", "lowest point of the {end} screw eye's ring"),
    more="lower the {end} axle hole, which lifts the body, or use a smaller eye",
    less="raise the {end} axle hole, which lowers the body, or use a larger eye",
    below_zero="the {end} screw eye would hang {value} below the top of the track",
    drivers=("axles.{end}.height", "screw_eye.{end}.eye"),
)
def track_clearance(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Height above the track of the lowest point of the {end} screw eye, screwed home."""
    place, index = eye_of(car, end)
    pilot = car.body.eye_pilots[index]
    if pilot is None:
        return NotKnown(f"there is no wood over the {end.value} screw eye")
    track = track_of(car)
    ring = place.eye.ring_outer_mm / 2
    x, z = place.x_mm, pilot.z - ring
    low = (x - ring * track.nx, z - ring * track.nz)
    fx, fz = track.foot(*low)
    ends = ((fx, place.offset_mm, fz), (low[0], place.offset_mm, low[1]))
    return Reading(track.height(*low), Place(View.SIDE, ends, f"under the {end.value} screw eye"))


@measure(
    "{end}_eye.wall",
    "wood round the {end} screw-eye hole",
    between=("{end} screw-eye hole", "nearest outside surface or window"),
    more="move the {end} screw eye into thicker wood, or use a shorter one",
    drivers=("screw_eye.{end}.eye", "screw_eye.{end}.behind", "screw_eye.{end}.ahead"),
)
def eye_wall(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Least wood over and beside the {end} screw eye's pilot hole, to rounded edges too."""
    found = car.eye_near(end)
    w = car.body.pilot_skins[found[1]] if found else None
    if w is None:
        return NotKnown(f"there is no {end.value} screw-eye hole in wood", absent=found is None)
    view = View.SIDE if w.at_hole[1] == w.at_other[1] else View.TOP
    return Reading(w.value_mm, Place(view, (w.at_hole, w.at_other), f"at the {end.value} screw eye"))


def _under(car: Car, index: int) -> float:
    pilot = car.body.eye_pilots[index]
    return pilot.z if pilot else 0.0

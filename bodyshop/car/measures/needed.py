"""The parts of a car that measures are taken at; one that is not there ends the measuring of it."""

from __future__ import annotations

from bodyshop.car.assembly import AxleStack, Car, Track
from bodyshop.car.body import BoreHole
from bodyshop.car.design.model import AxleEnd, AxleSet, EyePlace
from bodyshop.car.measures.catalogue import MissingError, Reading
from bodyshop.foundation.place import Place, View

__all__ = [
    "NOT_IN_WOOD",
    "along",
    "axle_of",
    "axle_place",
    "bore_of",
    "eye_of",
    "eyes_of",
    "stack_of",
    "track_of",
]

NOT_IN_WOOD = "the {end} axle hole is not in wood"


def axle_of(car: Car, end: AxleEnd) -> AxleSet:
    """The axle at an end."""
    return car.design.front if end is AxleEnd.FRONT else car.design.rear


def axle_place(car: Car, end: AxleEnd) -> Place:
    """The middle of the axle at an end, in the side view."""
    a = axle_of(car, end)
    return Place(View.SIDE, ((a.x_mm, 0.0, a.height_mm),), f"the {end.value} axle")


def stack_of(car: Car, end: AxleEnd) -> AxleStack:
    """What sits on the axle at an end. Raises `MissingError` where its hole is not in wood."""
    stack = car.stack(end)
    if stack is None:
        raise MissingError(NOT_IN_WOOD.format(end=end.value))
    return stack


def track_of(car: Car) -> Track:
    """What the car stands on. Raises `MissingError` where its wheels do not stand on one track."""
    if car.track is None:
        raise MissingError("the wheels do not stand on one track")
    return car.track


def bore_of(car: Car) -> BoreHole:
    """The cartridge hole where it is in the body. Raises `MissingError`."""
    if car.body.bore is None:
        raise MissingError("the cartridge hole does not meet the body")
    return car.body.bore


def eye_of(car: Car, end: AxleEnd) -> tuple[EyePlace, int]:
    """The screw eye at an end, and which one it is. Raises `MissingError` where there is none."""
    found = car.eye_near(end)
    if found is None:
        raise MissingError(f"there is no {end.value} screw eye", absent=True)
    return found


def eyes_of(car: Car) -> tuple[tuple[EyePlace, int], tuple[EyePlace, int]]:
    """The front and the rear screw eye. Raises `MissingError` where there are not two."""
    front, rear = car.eye_near(AxleEnd.FRONT), car.eye_near(AxleEnd.REAR)
    if front is None or rear is None:
        raise MissingError("there are not two screw eyes", absent=True)
    return front, rear


def along(x0: float, x1: float, z: float, where: str) -> Reading:
    """The reading of a length along the car, from one station to another."""
    return Reading(x1 - x0, Place(View.SIDE, ((x0, 0.0, z), (x1, 0.0, z)), where))

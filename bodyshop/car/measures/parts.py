"""What the parts list answers: counts, and sizes of bought parts."""

from __future__ import annotations

from collections.abc import Callable

from bodyshop.car.assembly import Car
from bodyshop.car.design.model import AxleEnd, Design
from bodyshop.car.measures.catalogue import MeasuringState, NotKnown, QuantityKind, Reading, measure
from bodyshop.car.measures.needed import axle_of, axle_place

__all__: list[str] = []

_COUNTS: tuple[tuple[str, str, str, tuple[str, ...], Callable[[Design], int]], ...] = (
    ("axles.count", "axles", "an axle", ("axles.front", "axles.rear"), lambda d: len(d.axles)),
    ("wheels.count", "wheels", "a wheel", ("axles.front.wheel",), lambda d: 2 * len(d.axles)),
    (
        "washers.count",
        "washers",
        "a washer",
        ("axles.front.washers", "axles.rear.washers"),
        lambda d: sum(2 * a.washers for a in d.axles if a.washer),
    ),
    (
        "bearings.count",
        "bearings",
        "a bearing",
        ("axles.front.bearing", "axles.rear.bearing"),
        lambda d: sum(1 for a in d.axles if a.bearing),
    ),
    ("clips.count", "axle clips", "an axle clip", ("parts.clips",), lambda d: d.parts.clips),
    ("cartridges.count", "cartridges", "a cartridge", ("cartridge.stock",), lambda _: 1),
    (
        "spares.wheels",
        "spare wheels",
        "a spare wheel",
        ("parts.spare_wheels",),
        lambda d: d.parts.spare_wheels,
    ),
    ("spares.axles", "spare axles", "a spare axle", ("parts.spare_axles",), lambda d: d.parts.spare_axles),
    (
        "spares.washers",
        "spare washers",
        "a spare washer",
        ("parts.spare_washers",),
        lambda d: d.parts.spare_washers,
    ),
    (
        "spares.eyes",
        "spare screw eyes",
        "a spare screw eye",
        ("parts.spare_eyes",),
        lambda d: d.parts.spare_eyes,
    ),
    (
        "spares.clips",
        "spare axle clips",
        "a spare clip",
        ("parts.spare_clips",),
        lambda d: d.parts.spare_clips,
    ),
)


def _declare_counts() -> None:
    for name, title, one, drivers, count in _COUNTS:

        def take(car: Car, count: Callable[[Design], int] = count) -> Reading | NotKnown:
            return Reading(float(count(car.design)), None)

        take.__doc__ = f"How many {title} the design's parts list holds."
        measure(
            name,
            title,
            QuantityKind.COUNT,
            state=MeasuringState.WHEELS,
            more=f"add {one}",
            less=f"remove {one}",
            drivers=drivers,
        )(take)


_declare_counts()


@measure(
    "marking.number_height",
    "height of the number",
    state=MeasuringState.WHEELS,
    between=("foot of the figures", "head of the figures"),
    more="make the number taller",
    less="make the number smaller",
    drivers=("parts.number_height",),
)
def number_height(car: Car) -> Reading | NotKnown:
    """Height of the figures of the car's number, as the design declares it."""
    value = car.design.parts.number_height_mm
    if value is None:
        return NotKnown("the design does not say how high its number is: parts.number_height")
    return Reading(value, None)


@measure(
    "{end}_bearing.diameter",
    "{end} bearing diameter",
    state=MeasuringState.WHEELS,
    between=("outside of the tube", "outside opposite"),
    more="use a wider {end} bearing",
    less="use a narrower {end} bearing",
    drivers=("axles.{end}.bearing",),
)
def bearing_diameter(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Outside diameter of the tube that the {end} axle turns in."""
    a = axle_of(car, end)
    if a.bearing is None:
        return NotKnown(f"the {end.value} axle has no bearing", absent=True)
    return Reading(a.bearing.outer_mm, axle_place(car, end))


@measure(
    "{end}_washer.diameter",
    "{end} washer diameter",
    state=MeasuringState.WHEELS,
    between=("outside of the washer", "outside opposite"),
    more="use wider {end} washers",
    less="use narrower {end} washers",
    drivers=("axles.{end}.washer",),
)
def washer_diameter(car: Car, end: AxleEnd) -> Reading | NotKnown:
    """Outside diameter of the washers that space the {end} wheels."""
    a = axle_of(car, end)
    if a.washer is None or a.washers == 0:
        return NotKnown(f"the {end.value} axle has no washer", absent=True)
    return Reading(a.washer.outer_mm, axle_place(car, end))

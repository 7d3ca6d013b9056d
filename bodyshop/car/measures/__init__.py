"""The catalogue of measures: every quantity a rule can name."""

from collections.abc import Mapping

from bodyshop.car.assembly import Car
from bodyshop.car.measures import axles, body, bore, cartridge, eyes, parts, seen, shape, spacings, whole
from bodyshop.car.measures.catalogue import (
    Measure,
    MeasuringState,
    NotKnown,
    QuantityKind,
    Reading,
    arrange,
    registered,
)

__all__ = [
    "MODULES",
    "QuantityKind",
    "Measure",
    "NotKnown",
    "Reading",
    "MeasuringState",
    "catalogue",
    "take_all",
]

MODULES = (body, axles, bore, cartridge, eyes, whole, shape, spacings, parts, seen)
"""The modules that declare measures, listed so that nothing is found by walking."""

arrange(MODULES)


def catalogue() -> Mapping[str, Measure]:
    """Every measure by id."""
    return registered()


def take_all(car: Car) -> dict[str, Reading | NotKnown]:
    """Every measure taken on one car."""
    return {name: entry.take(car) for name, entry in registered().items()}

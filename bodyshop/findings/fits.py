"""The class's fit as the book keeps it, with its uncertainty."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from bodyshop.problems import Problem, ProblemsError
from bodyshop.race.classfit import ClassFitted
from bodyshop.race.model import Basis, Estimate
from bodyshop.trials.book import Book
from bodyshop.trials.model import ClassFit, Entry

__all__ = ["FIT_KIND", "StoredFit", "fit_record", "latest_fit"]

FIT_KIND: Final = "cartridge"
_VERSION: Final = 1


@dataclass(frozen=True, slots=True)
class StoredFit:
    """A fit out of the book. `runs` and `cars` are what it was made from; `number` the record's."""

    impulse_factor: Estimate
    hole_mm: Estimate
    impulse_ns: Estimate
    coupling: float
    hole_told: bool
    runs: int
    cars: int
    number: int


def fit_record(fitted: ClassFitted, runs: Sequence[int]) -> ClassFit:
    """A fit as the book keeps it; `runs` are the numbers of the records it was made from."""
    values = {
        "version": _VERSION,
        "impulse_factor": _figure(fitted.impulse_factor),
        "hole_mm": _figure(fitted.hole_mm),
        "impulse_ns": _figure(fitted.impulse_ns),
        "coupling": fitted.coupling,
        "hole_told": fitted.hole_told,
        "birge": fitted.birge,
        "scatter_s": fitted.scatter_s,
        "cars": fitted.cars,
        "runs": list(runs),
    }
    return ClassFit(FIT_KIND, json.dumps(values, allow_nan=False))


def _figure(estimate: Estimate) -> dict[str, object]:
    return {"value": estimate.value, "sd": estimate.sd, "source": estimate.source}


def latest_fit(book: Book) -> StoredFit | None:
    """The newest fit of the class's cartridges; None where there is none, or none that can be read."""
    for entry in reversed(book.records(ClassFit)):
        if entry.record.kind == FIT_KIND:
            return _stored(entry, book.name)
    return None


def _stored(entry: Entry[ClassFit], file: str) -> StoredFit:
    try:
        values = json.loads(entry.record.fit)
        stored = StoredFit(
            impulse_factor=_estimate(values["impulse_factor"]),
            hole_mm=_estimate(values["hole_mm"]),
            impulse_ns=_estimate(values["impulse_ns"]),
            coupling=_within(values["coupling"], -1.0, 1.0),
            hole_told=bool(values["hole_told"]),
            runs=len(values["runs"]),
            cars=int(values["cars"]),
            number=entry.id,
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        message = f"the fit that is record number {entry.id} makes no sense; strike it, and fit again"
        raise ProblemsError([Problem("book-fit", message, file=file, key="values")]) from None
    return stored


def _estimate(values: Mapping[str, Any]) -> Estimate:
    return Estimate(
        _within(values["value"], 1e-9, 1e9),
        _within(values["sd"], 0.0, 1e9),
        str(values["source"]),
        Basis.FITTED,
    )


def _within(value: Any, low: float, high: float) -> float:
    number = float(value)
    if not low <= number <= high:
        raise ValueError(value)
    return number

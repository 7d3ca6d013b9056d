"""A car of the book as its design has it, and the class's stored fits."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from bodyshop.car.assembly import Car
from bodyshop.foundation.files.names import is_file
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import parse_source
from bodyshop.physics.classfit import ClassFitResult
from bodyshop.physics.lift import AxleLoads, shifted_by_push
from bodyshop.physics.model import Basis, Estimate
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import CarRecord, ClassFit, Entry
from bodyshop.records.findings.facts import PushMoment
from bodyshop.rules.checking import LoadedCar, RulebookCache, find_design, open_car, open_source

__all__ = [
    "BookCar",
    "FIT_KIND",
    "StoredFit",
    "book_car",
    "car_record",
    "recorded_design",
    "fit_record",
    "latest_fit",
    "push_moment",
    "stance_of",
]


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


def fit_record(fitted: ClassFitResult, runs: Sequence[int]) -> ClassFit:
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


_PUSH_N = 10.0


@dataclass(frozen=True)
class BookCar:
    """A car of the book. `design` is None where the book holds no design of it that can be read: `why_not`
    says why.
    """

    entry: Entry[CarRecord]
    design: Car | None
    why_not: str = ""

    @property
    def name(self) -> str:
        """The car's name, as the book spells it."""
        return self.entry.record.name


def book_car(book: Book, name: str, design: str = "", shelf: RulebookCache | None = None) -> BookCar:
    """A car by its name. `design` is a design file to use instead of the one that the book keeps; `shelf` is
    shared by those who ask for many cars.

    Raises:
        ProblemsError: there is no such car in the book, or the file named cannot be read.
    """
    entry = book.car(name)
    record = entry.record
    shelf = RulebookCache() if shelf is None else shelf
    if design:
        path, _ = find_design(design)
        return BookCar(entry, open_car(path, shelf=shelf).car)
    if not record.design_text and not record.design_file:
        return BookCar(entry, None, "the book holds no design of it")
    try:
        return BookCar(entry, recorded_design(book, record, shelf).car)
    except ProblemsError as error:
        return BookCar(entry, None, f"its design cannot be read: {error.problems[0].sentence}")


def car_record(opened: LoadedCar, file: str) -> CarRecord:
    """A car as its design says, for the book; `file` is the design's, as it is to be found again."""
    design = opened.design
    return CarRecord(
        name=" ".join(design.name.split()),
        bench=design.bench,
        design_file=file,
        fingerprint=design.fingerprint,
        rulebook=opened.rulebook.stem,
        design_text=opened.source.text,
    )


def recorded_design(book: Book, record: CarRecord, shelf: RulebookCache) -> LoadedCar:
    """The design of a car as the book holds it: its text, else its file, beside the book or from here.

    Raises:
        ProblemsError: there is none, or it cannot be read.
    """
    if record.design_text:
        where = record.design_file or f"{record.name} in the book"
        return open_source(parse_source(record.design_text, where), shelf)
    if not record.design_file:
        message = f"the book holds no design of {record.name}"
        raise ProblemsError([Problem("inspect-design", message, book.name)])
    beside = book.path.parent / record.design_file
    return open_car(beside if is_file(beside) else find_design(record.design_file)[0], shelf=shelf)


def stance_of(car: Car, mass_g: float | None = None) -> AxleLoads:
    """How a car stands with a spent cartridge: where the drawing puts its balance point, with the mass that a
    balance showed of the car without it where there is one.
    """
    empty, spent = car.mass, car.mass_spent
    own = empty.mass_g if mass_g is None else mass_g
    shell = spent.mass_g - empty.mass_g
    shell_moment = spent.mass_g * spent.centre[0] - empty.mass_g * empty.centre[0]
    nose = car.body.x_nose
    return AxleLoads(
        own + shell,
        (own * empty.centre[0] + shell_moment) / (own + shell) - nose,
        car.design.front.x_mm - nose,
        car.design.rear.x_mm - nose,
    )


def push_moment(car: Car, stance: AxleLoads) -> PushMoment | None:
    """What the cartridge's push does to the axles while it lasts; None for a car without a bore.

    Moments, textbook mechanics.
    """
    bore = car.body.bore
    if bore is None or stance.wheelbase_mm <= 0:
        return None
    # The line of the push at the station of the balance point, which a tilted bore raises or lowers.
    x, _, z = car.mass_loaded.centre
    above = bore.z + (bore.x - x) * math.tan(bore.tilt) - z
    return PushMoment(above, _PUSH_N, shifted_by_push(_PUSH_N, above, stance.wheelbase_mm))

"""A car of the book as its design has it: drawn again from the text that the book keeps."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from bodyshop.assembly import Car
from bodyshop.checking import Bookshelf, find_design, open_car, open_source
from bodyshop.problems import ProblemsError
from bodyshop.race.lift import Stance
from bodyshop.source import parse_source
from bodyshop.trials.book import Book
from bodyshop.trials.model import Car as CarRecord
from bodyshop.trials.model import Entry

__all__ = ["BookCar", "book_car", "stance_of"]


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


def book_car(book: Book, name: str, design: str = "") -> BookCar:
    """A car by its name. `design` is a design file to use instead of the one that the book keeps.

    Raises:
        ProblemsError: there is no such car in the book, or the file named cannot be read.
    """
    entry = book.car(name)
    record = entry.record
    if design:
        path, _ = find_design(design)
        return BookCar(entry, open_car(path).car)
    try:
        if record.design_text:
            source = parse_source(record.design_text, record.design_file or f"{record.name} in the book")
            return BookCar(entry, open_source(source, Bookshelf()).car)
        if record.design_file:
            path = Path(record.design_file)
            beside = book.path.parent / path
            return BookCar(entry, open_car(beside if beside.is_file() else find_design(str(path))[0]).car)
    except ProblemsError as error:
        return BookCar(entry, None, f"its design cannot be read: {error.problems[0].sentence}")
    return BookCar(entry, None, "the book holds no design of it")


def stance_of(car: Car, mass_g: float | None = None) -> Stance:
    """How a car stands without its cartridge: where the drawing puts its balance point, with the mass that a
    balance showed where there is one.
    """
    mass = car.mass
    nose = car.body.x_nose
    return Stance(
        mass.mass_g if mass_g is None else mass_g,
        mass.centre[0] - nose,
        car.design.front.x_mm - nose,
        car.design.rear.x_mm - nose,
    )

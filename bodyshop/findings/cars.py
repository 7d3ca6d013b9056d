"""A car of the book as its design has it: drawn again from the text that the book keeps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from bodyshop.assembly import Car
from bodyshop.checking import Bookshelf, find_design, open_car, open_source
from bodyshop.findings.facts import PushMoment
from bodyshop.problems import ProblemsError
from bodyshop.race.lift import Stance, shifted_by_push
from bodyshop.source import parse_source
from bodyshop.source.looking import is_file
from bodyshop.trials.book import Book
from bodyshop.trials.model import Car as CarRecord
from bodyshop.trials.model import Entry

__all__ = ["BookCar", "book_car", "push_moment", "stance_of"]

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


def book_car(book: Book, name: str, design: str = "", shelf: Bookshelf | None = None) -> BookCar:
    """A car by its name. `design` is a design file to use instead of the one that the book keeps; `shelf` is
    shared by those who ask for many cars.

    Raises:
        ProblemsError: there is no such car in the book, or the file named cannot be read.
    """
    entry = book.car(name)
    record = entry.record
    shelf = Bookshelf() if shelf is None else shelf
    if design:
        path, _ = find_design(design)
        return BookCar(entry, open_car(path, shelf=shelf).car)
    try:
        if record.design_text:
            source = parse_source(record.design_text, record.design_file or f"{record.name} in the book")
            return BookCar(entry, open_source(source, shelf).car)
        if record.design_file:
            path = Path(record.design_file)
            beside = book.path.parent / path
            file = beside if is_file(beside) else find_design(str(path))[0]
            return BookCar(entry, open_car(file, shelf=shelf).car)
    except ProblemsError as error:
        return BookCar(entry, None, f"its design cannot be read: {error.problems[0].sentence}")
    return BookCar(entry, None, "the book holds no design of it")


def stance_of(car: Car, mass_g: float | None = None) -> Stance:
    """How a car stands with a spent cartridge: where the drawing puts its balance point, with the mass that a
    balance showed of the car without it where there is one.
    """
    empty, spent = car.mass, car.mass_spent
    own = empty.mass_g if mass_g is None else mass_g
    shell = spent.mass_g - empty.mass_g
    shell_moment = spent.mass_g * spent.centre[0] - empty.mass_g * empty.centre[0]
    nose = car.body.x_nose
    return Stance(
        own + shell,
        (own * empty.centre[0] + shell_moment) / (own + shell) - nose,
        car.design.front.x_mm - nose,
        car.design.rear.x_mm - nose,
    )


def push_moment(car: Car, stance: Stance) -> PushMoment | None:
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

"""A race made ready from the book: the car's own figures, what was measured of it, and the class's fit."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.car.assembly import Car
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.physics.cartridge import Thrust
from bodyshop.physics.factors import Setup, make_setup
from bodyshop.physics.model import Air, Estimate, Lane
from bodyshop.physics.priors import car_numbers, cartridge_numbers
from bodyshop.records.book.book import Book
from bodyshop.records.findings.cars import BookCar, book_car
from bodyshop.records.findings.measured_priors import MeasuredPriors, priors_from_book
from bodyshop.rules.checking import RulebookCache

__all__ = ["RaceConditions", "car_setup", "lane_of", "ready"]


@dataclass(frozen=True)
class RaceConditions:
    """What a race depends on beside the car. None for the shipped thrust and the hall's temperature."""

    lane: Lane
    air: Air
    cartridge_c: Estimate | None = None
    thrust: Thrust | None = None


def lane_of(book: Book, length_m: float | None = None) -> Lane:
    """The event's lane with its gates, or one of another length.

    Raises:
        ProblemsError: nobody says how long it is.
    """
    event = book.event.record
    if length_m is None:
        if event.track_mm is None:
            raise ProblemsError(
                [
                    Problem(
                        "book-lane",
                        "the book does not say how long the track is",
                        file=book.name,
                        expected="a track given to the event, or --length",
                    )
                ]
            )
        length_m = event.track_mm / 1e3
    return Lane(length_m, tuple(sorted({mm / 1e3 for mm in event.gates_mm if 0 < mm / 1e3 < length_m})))


def car_setup(car: Car, known: MeasuredPriors, conditions: RaceConditions) -> Setup:
    """A race of one car with what is known of it."""
    gas = cartridge_numbers(
        car.design.cartridge,
        conditions.cartridge_c,
        measured_curve=conditions.thrust is not None,
    )
    # A fit of the computed blow-down says nothing of a curve that was measured.
    fitted = gas if conditions.thrust is not None else known.cartridge(gas)
    return make_setup(
        known.car_numbers(car_numbers(car, conditions.air)),
        fitted,
        conditions.air,
        conditions.lane,
        conditions.thrust,
    )


def ready(
    book: Book, name: str, conditions: RaceConditions, shelf: RulebookCache | None = None
) -> tuple[BookCar, Setup]:
    """A car of the book with its race; `shelf` is shared by those who ask for many.

    Raises:
        ProblemsError: there is no such car, or no design of it to work with.
    """
    found = book_car(book, name, shelf=shelf)
    if found.design is None:
        raise ProblemsError(
            [
                Problem(
                    "book-design",
                    f"{found.name} cannot be used: {found.why_not}",
                    file=book.name,
                    key=found.name,
                    expected="a car with its design in the book",
                )
            ]
        )
    return found, car_setup(found.design, priors_from_book(book, found.name, found.design), conditions)

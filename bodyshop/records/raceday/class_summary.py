"""The class in figures out of the trial book: one line a car."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics.air import air_of_the_day
from bodyshop.physics.model import Basis, CarNumbers, Estimate
from bodyshop.physics.priors import car_numbers
from bodyshop.records.book.book import Book
from bodyshop.records.book.prediction_order import counted_predictions
from bodyshop.records.findings.cars import BookCar
from bodyshop.records.findings.measured_priors import MeasuredPriors, priors_from_book
from bodyshop.records.raceday.reading import DayState
from bodyshop.records.raceday.standings import StandingsRow

__all__ = ["CarLine", "Figure", "PlotQuantity", "class_lines"]


Figure = tuple[float, float, float]
"""Value, low and high; the three are equal where no interval is known."""


class PlotQuantity(Enum):
    """What a plot can be made of."""

    MASS = "mass_g"
    CDA = "cda_cm2"
    ROLLING = "rolling"
    PREDICTED = "predicted_s"
    MEASURED = "measured_s"


@dataclass(frozen=True, slots=True)
class CarLine:
    """A car's figures.

    `mass_g` is of the complete car without its cartridge; `cda_cm2` its drag area; `rolling` its rolling
    resistance over its weight; `predicted_s` the frozen prediction; `measured_s` its best run with the
    spread of all its runs. `measured` tells which of the figures come from a measurement on this very
    car: the others are estimates. `place` is its place on the day.
    """

    number: int
    car: str
    bench: str = ""
    mass_g: Figure | None = None
    cda_cm2: Figure | None = None
    rolling: Figure | None = None
    predicted_s: Figure | None = None
    measured_s: Figure | None = None
    runs: int = 0
    place: int | None = None
    out: str = ""
    measured: frozenset[PlotQuantity] = frozenset()

    def figure(self, quantity: PlotQuantity) -> Figure | None:
        """The figure of a quantity; None where there is none."""
        return {
            PlotQuantity.MASS: self.mass_g,
            PlotQuantity.CDA: self.cda_cm2,
            PlotQuantity.ROLLING: self.rolling,
            PlotQuantity.PREDICTED: self.predicted_s,
            PlotQuantity.MEASURED: self.measured_s,
        }[quantity]


_CM2_PER_M2: Final = 1e4


def class_lines(
    book: Book, state: DayState, cars: Mapping[str, BookCar]
) -> tuple[tuple[CarLine, ...], tuple[str, ...]]:
    """A line of figures for each car that is entered, and why figures are missing.

    What was measured of a car goes before what its drawing suggests; a car without a design has only the
    former.

    Raises:
        ProblemsError: the book is damaged.
    """
    lines: list[CarLine] = []
    notes: list[str] = []
    rows = {row.car: row for row in state.standings}
    for number, name in enumerate(state.entered, 1):
        found = cars[name]
        if found.design is None:
            notes.append(f"{name}: {found.why_not}; figures that need it are left out.")
        known = priors_from_book(book, name, found.design)
        line = CarLine(number, name, found.entry.record.bench, out=state.out.get(name, ""))
        line = _with_figures(line, known, found.design)
        line = _with_race(line, book, rows.get(name), state)
        lines.append(line)
    return tuple(lines), tuple(notes)


def _with_figures(line: CarLine, known: MeasuredPriors, design: Car | None) -> CarLine:
    numbers: CarNumbers | None = None
    if design is not None:
        try:
            numbers = known.car_numbers(car_numbers(design, air_of_the_day()))
        except ProblemsError:
            numbers = None  # a car without wheels cannot roll; what was measured still counts
    figures: dict[PlotQuantity, tuple[Estimate | None, float]] = {
        PlotQuantity.MASS: (numbers.mass_g if numbers else known.mass_g, 1.0),
        PlotQuantity.CDA: (numbers.cda_m2 if numbers else known.cda_m2, _CM2_PER_M2),
        PlotQuantity.ROLLING: (numbers.rolling if numbers else known.rolling, 1.0),
    }
    measured = frozenset(
        quantity
        for quantity, (estimate, _) in figures.items()
        if estimate is not None and estimate.basis is Basis.MEASURED
    )
    told = {quantity: _figure(estimate, scale) for quantity, (estimate, scale) in figures.items()}
    return replace(
        line,
        mass_g=told[PlotQuantity.MASS],
        cda_cm2=told[PlotQuantity.CDA],
        rolling=told[PlotQuantity.ROLLING],
        measured=measured,
    )


def _figure(estimate: Estimate | None, scale: float) -> Figure | None:
    if estimate is None:
        return None
    held = estimate.interval()
    return (scale * held.value, scale * held.low, scale * held.high)


def _with_race(line: CarLine, book: Book, row: StandingsRow | None, state: DayState) -> CarLine:
    predicted = _predicted_figure(book, line.car)
    waits = line.car in state.undecided or line.car in state.still_racing
    place = None if waits else state.place(line.car)
    if row is None or not row.times:
        return replace(line, predicted_s=predicted, place=place)
    best = min(row.times)
    return replace(
        line, predicted_s=predicted, measured_s=(best, best, max(row.times)), runs=len(row.times), place=place
    )


def _predicted_figure(book: Book, car: str) -> Figure | None:
    """The last prediction that came into the book before the car's first time; a later one foretells
    nothing.
    """
    found = counted_predictions(book, car)
    if not found:
        return None
    last = found[-1].record
    return last.time_s, last.time_low_s, last.time_high_s

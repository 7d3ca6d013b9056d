"""The class in figures out of the trial book, and all papers of the day as files by name."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from bodyshop.assembly import Car
from bodyshop.drawing.items import Sheet
from bodyshop.drawing.names import words_warning
from bodyshop.findings.cars import BookCar, book_car
from bodyshop.findings.known import Known, priors_from_book
from bodyshop.problems import ProblemsError
from bodyshop.race.air import air_of_the_day
from bodyshop.race.model import Basis, CarNumbers, Estimate
from bodyshop.race.priors import car_numbers
from bodyshop.raceday.certificate import Award, certificates
from bodyshop.raceday.classdata import CarLine, Figure, Quantity, class_csv
from bodyshop.raceday.papers import (
    UNDECIDED,
    DayHead,
    Holds,
    class_sheets,
    day_pdf,
    final_sheets,
    heat_sheets,
    seconds,
    standings_sheets,
)
from bodyshop.raceday.picture import side_picture
from bodyshop.raceday.reading import DayState
from bodyshop.raceday.standings import Row, place_words
from bodyshop.stock.sheets import SheetSize
from bodyshop.trials.book import Book
from bodyshop.trials.foretold import foretold

__all__ = ["class_lines", "day_files"]

_CM2_PER_M2: Final = 1e4


def day_files(
    book: Book, state: DayState, sheet: SheetSize, *, date: str = "", owner: str = ""
) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """All papers of the day by file name, and what could not be told, in sentences.

    Raises:
        ProblemsError: the book is damaged.
    """
    event = state.event
    head = DayHead(event.name, owner or event.owner, event.rulebook, date, state.as_of, state.decimals)
    cars = {name: book_car(book, name) for name in state.entered}
    lines, notes = class_lines(book, state, cars)
    notes = (*_lettering(event.name, [*state.entered, *state.benches.values()]), *notes)
    heats = [held.heat for held in state.heats]
    waiting = state.undecided_words
    holds = Holds(
        state.pending,
        state.still_racing,
        state.undecided,
        [(car, state.admissions[car].why) for car in state.racing if state.admissions[car].decided],
    )
    sheets: dict[str, list[Sheet]] = {
        "standings": standings_sheets(
            state.standings, state.benches, head, sheet, state.counts, replace(holds, pending=waiting)
        ),
        "final": final_sheets(
            state.standings, state.ladder, state.benches, state.decisions, head, sheet, state.counts, holds
        ),
        "class-data": class_sheets(lines, head, sheet),
    }
    if heats:
        sheets["heats"] = heat_sheets(
            heats,
            head,
            sheet,
            results=state.lane_results,
            out=state.out,
            repeats={held.heat.number: held.again for held in state.heats if held.again is not None},
            notes=(*waiting, "No official has decided yet whether they race.") if waiting else (),
        )
    awards = [_award(state, row, cars[row.car].design, lines) for row in state.standings if not row.out]
    if awards:
        sheets["certificates"] = certificates(awards, head, sheet)
    files = {f"{name}.pdf": day_pdf(made, head, name.replace("-", " ")) for name, made in sheets.items()}
    files["class-data.csv"] = class_csv(lines)
    return files, notes


def _lettering(event: str, names: Iterable[str]) -> list[str]:
    """What papers cannot print letter by letter, in sentences."""
    told = [words_warning(event, "the event's name")]
    told += [words_warning(name, f"the name {name}") for name in dict.fromkeys(names)]
    return [f"{problem.sentence[:1].upper()}{problem.sentence[1:]}." for problem in told if problem]


def class_lines(
    book: Book, state: DayState, cars: Mapping[str, BookCar]
) -> tuple[tuple[CarLine, ...], tuple[str, ...]]:
    """A line of figures for each car that is entered, and why figures are missing.

    What was measured of a car goes before what its drawing lets expect; a car without a design has only the
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


def _with_figures(line: CarLine, known: Known, design: Car | None) -> CarLine:
    numbers: CarNumbers | None = None
    if design is not None:
        try:
            numbers = known.car_numbers(car_numbers(design, air_of_the_day()))
        except ProblemsError:
            numbers = None  # a car without wheels cannot roll; what was measured still counts
    figures: dict[Quantity, tuple[Estimate | None, float]] = {
        Quantity.MASS: (numbers.mass_g if numbers else known.mass_g, 1.0),
        Quantity.CDA: (numbers.cda_m2 if numbers else known.cda_m2, _CM2_PER_M2),
        Quantity.ROLLING: (numbers.rolling if numbers else known.rolling, 1.0),
    }
    measured = frozenset(
        quantity
        for quantity, (estimate, _) in figures.items()
        if estimate is not None and estimate.basis is Basis.MEASURED
    )
    told = {quantity: _figure(estimate, scale) for quantity, (estimate, scale) in figures.items()}
    return replace(
        line,
        mass_g=told[Quantity.MASS],
        cda_cm2=told[Quantity.CDA],
        rolling=told[Quantity.ROLLING],
        measured=measured,
    )


def _figure(estimate: Estimate | None, scale: float) -> Figure | None:
    if estimate is None:
        return None
    held = estimate.interval()
    return (scale * held.value, scale * held.low, scale * held.high)


def _with_race(line: CarLine, book: Book, row: Row | None, state: DayState) -> CarLine:
    predicted = _foretold(book, line.car)
    waits = line.car in state.undecided or line.car in state.still_racing
    place = None if waits else state.place(line.car)
    if row is None or not row.times:
        return replace(line, predicted_s=predicted, place=place)
    best = min(row.times)
    return replace(
        line, predicted_s=predicted, measured_s=(best, best, max(row.times)), runs=len(row.times), place=place
    )


def _foretold(book: Book, car: str) -> Figure | None:
    """The last prediction that came into the book before the car's first time; a later one foretells
    nothing.
    """
    found = foretold(book, car)
    if not found:
        return None
    last = found[-1].record
    return last.time_s, last.time_low_s, last.time_high_s


def _award(state: DayState, row: Row, design: Car | None, lines: tuple[CarLine, ...]) -> Award:
    line = next(each for each in lines if each.car == row.car)
    words: list[str] = []
    if row.times:
        length = "" if state.event.track_mm is None else f" over {state.event.track_mm / 1e3:g} m"
        words.append(f"Best run {seconds(min(row.times), state.decimals)} s{length}")
    if line.predicted_s is not None and row.times:
        low, high = seconds(line.predicted_s[1], 2), seconds(line.predicted_s[2], 2)
        words.append(f"Predicted: {low} to {high} s")
    told = _place_told(state, row.car)
    picture, size = side_picture(design) if design is not None else ((), (0.0, 0.0))
    return Award(row.car, state.benches.get(row.car, ""), told, tuple(words), picture, size)


def _place_told(state: DayState, car: str) -> str:
    """The place for a certificate: none while the car races or is not decided on, and none for good before
    the day is over.
    """
    if car in state.undecided:
        return f"provisional: place {UNDECIDED}"
    if car in state.still_racing:
        return "provisional: still racing"
    place = state.place(car)
    if place is None:
        return "took part in the race"
    words = f"{place_words(place, [state.place(each) for each in state.racing])} place"
    return f"provisional: {words}" if state.pending else f"{words[:1].upper()}{words[1:]}"

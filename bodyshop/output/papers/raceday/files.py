"""The class in figures out of the trial book, and all papers of the day as files by name."""

from __future__ import annotations

from collections.abc import Iterable
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from bodyshop.car.assembly import Car
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.units import MassUnit
from bodyshop.output.papers.raceday.certificate import Award, certificates, side_picture
from bodyshop.output.papers.raceday.class_data import class_csv
from bodyshop.output.papers.raceday.documents import (
    UNDECIDED,
    DayHead,
    PendingReasons,
    class_sheets,
    day_pdf,
    final_sheets,
    heat_sheets,
    standings_sheets,
)
from bodyshop.output.words.papers import words_warning
from bodyshop.output.words.raceday import seconds
from bodyshop.records.book.book import Book
from bodyshop.records.findings.cars import book_car
from bodyshop.records.raceday.class_summary import CarLine, class_lines
from bodyshop.records.raceday.reading import DayState
from bodyshop.records.raceday.standings import StandingsRow, place_words
from bodyshop.rules.rulebook import find_rulebook, read_rulebook

__all__ = ["day_files"]


def day_files(
    book: Book, state: DayState, sheet: SheetSize, *, date: str = "", owner: str = ""
) -> tuple[dict[str, bytes], tuple[str, ...]]:
    """All papers of the day by file name, and what could not be told, in sentences.

    Raises:
        ProblemsError: the book is damaged.
    """
    event = state.event
    unit = _mass_unit(event.rulebook, Path(book.name).parent)
    head = DayHead(event.name, owner or event.owner, event.rulebook, date, state.as_of, state.decimals, unit)
    cars = {name: book_car(book, name) for name in state.entered}
    lines, notes = class_lines(book, state, cars)
    notes = (*_lettering(event.name, [*state.entered, *state.benches.values()]), *notes)
    heats = [held.heat for held in state.heats]
    waiting = state.undecided_words
    holds = PendingReasons(
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
            notes=(*waiting, "An official still has to decide whether they race.") if waiting else (),
        )
    awards = [_award(state, row, cars[row.car].design, lines) for row in state.standings if not row.out]
    if awards:
        sheets["certificates"] = certificates(awards, head, sheet)
    files = {f"{name}.pdf": day_pdf(made, head, name.replace("-", " ")) for name, made in sheets.items()}
    files["class-data.csv"] = class_csv(lines)
    return files, notes


def _mass_unit(rulebook: str, near: Path) -> MassUnit:
    """The unit of mass of the event's rulebook; grams where it has none, or none that can be read."""
    with suppress(ProblemsError):
        if rulebook:
            return read_rulebook(find_rulebook(rulebook, near)).mass_unit
    return MassUnit.G


def _lettering(event: str, names: Iterable[str]) -> list[str]:
    """What papers cannot print letter by letter, in sentences."""
    told = [words_warning(event, "the event's name")]
    told += [words_warning(name, f"the name {name}") for name in dict.fromkeys(names)]
    return [f"{problem.sentence[:1].upper()}{problem.sentence[1:]}." for problem in told if problem]


def _award(state: DayState, row: StandingsRow, design: Car | None, lines: tuple[CarLine, ...]) -> Award:
    line = next(each for each in lines if each.car == row.car)
    words: list[str] = []
    if row.times:
        length = "" if state.event.track_mm is None else f" over {state.event.track_mm / 1e3:g} m"
        words.append(f"Best run {seconds(min(row.times), state.decimals)} s{length}")
    if line.predicted_s is not None and row.times:
        low, high = seconds(line.predicted_s[1], 2), seconds(line.predicted_s[2], 2)
        words.append(f"Predicted: {low} to {high} s")
    told = _place_words(state, row.car)
    picture, size = side_picture(design) if design is not None else ((), (0.0, 0.0))
    return Award(row.car, state.benches.get(row.car, ""), told, tuple(words), picture, size)


def _place_words(state: DayState, car: str) -> str:
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

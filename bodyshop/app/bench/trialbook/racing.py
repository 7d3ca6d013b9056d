"""Race day on the page: what the officials do, and the day as it stands."""

from __future__ import annotations

from msgspec.structs import asdict

from bodyshop.app.bench import messages
from bodyshop.app.bench.messages import Data
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.output.json.raceday import day_data
from bodyshop.records.book.book import Book
from bodyshop.records.raceday.day import DOUBT, RaceDay
from bodyshop.records.raceday.draw import chance_seed
from bodyshop.records.raceday.model import KEYS, LaneEntry, read_said
from bodyshop.records.raceday.reading import DayState
from bodyshop.records.raceday.standings import RankedBy

__all__ = ["race_data", "race_action"]


def race_data(book: Book) -> Data:
    """The day for the page.

    Raises:
        ProblemsError: the book is damaged.
    """
    state = RaceDay(book).state
    return {
        **asdict(day_data(state)),
        "lanes": state.event.lanes,
        "decimals": state.decimals,
        "entered": list(state.entered),
        "out": dict(state.out),
        "cars": [car.name for car in state.cars],
        "benches": state.benches,
        "open": [held.heat.number for held in state.open_heats],
        "knockout": bool(state.rounds),
        "final": _is_final(state),
        "keys": KEYS,
        "cautions": [each.sentence for each in cautions_for(Operation.CARTRIDGE, Operation.RACE)],
    }


def _is_final(state: DayState) -> bool:
    """Whether the final is run and decided."""
    return (
        bool(state.knockout)
        and all(result.done for result in state.knockout[-1] if result.group.cars)
        and any(result.group.final for result in state.knockout[-1])
    )


def race_action(book: Book, given: messages.RaceDeed) -> Data:
    """Do what a button says: `done`, what was done, in a sentence; or `asks`, what is asked about it first.

    Raises:
        ProblemsError: it cannot be done, with the reason.
        WriteRefusedError: the book cannot be written.
    """
    try:
        return {"done": _done(RaceDay(book), given)}
    except ProblemsError as error:
        if any(problem.code != DOUBT for problem in error.problems):
            raise
        return {"asks": [f"{problem.message}." for problem in error.problems]}


def _done(day: RaceDay, given: messages.RaceDeed) -> str:
    match given:
        case messages.EnterDeed():
            fresh = day.enter()
            told = f"Entered: {', '.join(fresh)}." if fresh else "All cars of the book are entered already."
        case messages.DrawDeed():
            told = _draw(day, given)
        case messages.NoteDeed():
            told = _note(day, given)
        case messages.RerunDeed():
            held = day.rerun(_whole("heat", given.heat), given.because)
            told = f"It is run again as heat {held.heat.number}."
        case messages.OutDeed():
            told = f"{day.rule_out(given.car, given.because)} is out."
        case messages.BackDeed():
            told = f"{day.readmit(given.car, given.because)} races again."
        case messages.AllowDeed():
            names = day.allow(given.because, list(given.cars))
            told = f"Allowed to race: {', '.join(names)}." if names else "There was nothing to decide."
        case _:
            told = _eliminate(day, given)
    return told


def _draw(day: RaceDay, given: messages.DrawDeed) -> str:
    seed = chance_seed()
    named = given.counts or RankedBy.BEST.value
    counts = next((each for each in RankedBy if each.value == named), None)
    if counts is None:
        expected = " or ".join(each.value for each in RankedBy)
        raise ProblemsError(
            [Problem("raceday-counts", "nobody knows what counts", found=named[:40], expected=expected)]
        )
    heats = day.draw_trials(_whole("rounds", given.rounds), seed, counts=counts)
    return f"{len(heats)} heats drawn, draw number {seed}."


def _note(day: RaceDay, given: messages.NoteDeed) -> str:
    said = read_said(given.result)
    if not isinstance(said, LaneEntry):
        raise ProblemsError([said])
    if said.leaves:
        raise ProblemsError(
            [Problem("raceday-time", "nothing was typed", expected="a time, or dnf, dns, void")]
        )
    number = _whole("heat", given.heat)
    day.record(number, given.car, said.end, said.time_s, reason=given.because, confirmed=given.confirmed)
    return f"Heat {number}, {given.car}: noted."


def _eliminate(day: RaceDay, given: messages.EliminateDeed) -> str:
    if day.state.rounds:
        heats = day.next_round()
        return f"{len(heats)} heats drawn." if heats else "The final is run."
    seed = chance_seed() if given.chance else None
    best = _whole("best", given.best) if given.best else None
    heats = day.draw_knockout(legs=_whole("runs", given.runs), best=best, seed=seed)
    told = "" if seed is None else f", draw number {seed}"
    return f"{len(heats)} heats drawn{told}."


def _whole(name: str, given: int | str) -> int:
    text = str(given).strip()
    if not (text.isascii() and text.isdecimal() and len(text) < 7):
        raise ProblemsError([Problem("raceday-number", f"{name} is no whole number", found=text[:20])])
    return int(text)

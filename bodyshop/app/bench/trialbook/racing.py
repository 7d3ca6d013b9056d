"""Race day on the page: what the officials do, and the day as it stands."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping
from typing import Any, Final

from msgspec.structs import asdict

from bodyshop.app.bench.messages import Data
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.output.json.raceday import day_data
from bodyshop.records.book.book import Book
from bodyshop.records.raceday.day import DOUBT, RaceDay
from bodyshop.records.raceday.model import KEYS, LaneEntry, read_said
from bodyshop.records.raceday.reading import DayState
from bodyshop.records.raceday.standings import RankedBy

__all__ = ["ACTIONS", "race_data", "race_action"]

_MOST_SEED: Final = 1_000_000
Given = Mapping[str, Any]


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


def race_action(book: Book, action: str, given: Given) -> Data:
    """Do what a button says: `done`, what was done, in a sentence; or `asks`, what is asked about it first.

    Raises:
        ProblemsError: it cannot be done, with the reason.
        WriteRefusedError: the book cannot be written.
    """
    does = ACTIONS.get(action)
    if does is None:
        raise ProblemsError([Problem("bench-deed", "there is no such deed", found=action[:40])])
    try:
        return {"done": does(RaceDay(book), given)}
    except ProblemsError as error:
        if any(problem.code != DOUBT for problem in error.problems):
            raise
        return {"asks": [f"{problem.message}." for problem in error.problems]}


def _enter(day: RaceDay, _given: Given) -> str:
    fresh = day.enter()
    return f"Entered: {', '.join(fresh)}." if fresh else "All cars of the book are entered already."


def _draw(day: RaceDay, given: Given) -> str:
    seed = secrets.randbelow(_MOST_SEED)
    named = str(given.get("counts") or RankedBy.BEST.value)
    counts = next((each for each in RankedBy if each.value == named), None)
    if counts is None:
        expected = " or ".join(each.value for each in RankedBy)
        raise ProblemsError(
            [Problem("raceday-counts", "nobody knows what counts", found=named[:40], expected=expected)]
        )
    heats = day.draw_trials(_whole(given, "rounds"), seed, counts=counts)
    return f"{len(heats)} heats drawn, draw number {seed}."


def _note(day: RaceDay, given: Given) -> str:
    said = read_said(str(given.get("result", "")))
    if not isinstance(said, LaneEntry):
        raise ProblemsError([said])
    if said.leaves:
        raise ProblemsError(
            [Problem("raceday-time", "nothing was typed", expected="a time, or dnf, dns, void")]
        )
    number, car = _whole(given, "heat"), str(given.get("car", ""))
    reason, confirmed = str(given.get("because", "")), bool(given.get("confirmed"))
    day.record(number, car, said.end, said.time_s, reason=reason, confirmed=confirmed)
    return f"Heat {number}, {car}: noted."


def _rerun(day: RaceDay, given: Given) -> str:
    held = day.rerun(_whole(given, "heat"), str(given.get("because", "")))
    return f"It is run again as heat {held.heat.number}."


def _out(day: RaceDay, given: Given) -> str:
    return f"{day.rule_out(str(given.get('car', '')), str(given.get('because', '')))} is out."


def _allow(day: RaceDay, given: Given) -> str:
    named = given.get("cars")
    cars = [str(car) for car in named] if isinstance(named, list) else []
    names = day.allow(str(given.get("because", "")), cars)
    return f"Allowed to race: {', '.join(names)}." if names else "There was nothing to decide."


def _back(day: RaceDay, given: Given) -> str:
    return f"{day.readmit(str(given.get('car', '')), str(given.get('because', '')))} races again."


def _eliminate(day: RaceDay, given: Given) -> str:
    if day.state.rounds:
        heats = day.next_round()
        return f"{len(heats)} heats drawn." if heats else "The final is run."
    seed = secrets.randbelow(_MOST_SEED) if given.get("chance") else None
    best = _whole(given, "best") if given.get("best") else None
    heats = day.draw_knockout(legs=_whole(given, "runs"), best=best, seed=seed)
    told = "" if seed is None else f", draw number {seed}"
    return f"{len(heats)} heats drawn{told}."


def _whole(given: Given, name: str) -> int:
    text = str(given.get(name, "")).strip()
    if not (text.isascii() and text.isdecimal() and len(text) < 7):
        raise ProblemsError([Problem("raceday-number", f"{name} is no whole number", found=text[:20])])
    return int(text)


ACTIONS: Final[Mapping[str, Callable[[RaceDay, Given], str]]] = {
    "enter": _enter,
    "draw": _draw,
    "note": _note,
    "rerun": _rerun,
    "out": _out,
    "back": _back,
    "allow": _allow,
    "eliminate": _eliminate,
}
"""What can be done on the page, by the name of the deed."""

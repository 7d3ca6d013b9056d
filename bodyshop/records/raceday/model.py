"""A heat, what is typed for its lanes and what happened in them, and who may race."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bodyshop.foundation.problems import Problem
from bodyshop.foundation.text.small_words import number_words
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Entrant, Entry, Inspection, RaceFormat, RunEnd

__all__ = [
    "Admission",
    "DrawnHeat",
    "InspectionState",
    "KEYS",
    "LEAST_LANES",
    "LaneEntry",
    "LaneResult",
    "MOST_CARS",
    "MOST_LANES",
    "admissions",
    "decimals_of",
    "read_said",
    "said_words",
    "steps_of",
    "undecided_words",
]


LEAST_LANES: Final = 2
MOST_LANES: Final = 8
MOST_CARS: Final = 500


def steps_of(time_s: float, step_s: float) -> int:
    """A time in whole steps of the timing: times of the same step cannot be told apart."""
    return round(time_s / step_s)


def decimals_of(step_s: float) -> int:
    """Decimals of a second that times with such a step have."""
    return max(0, -math.floor(math.log10(step_s) + 1e-9))


@dataclass(frozen=True, slots=True)
class DrawnHeat:
    """Cars that start together.

    `lanes` holds a car for each lane from lane 1 on, None for an empty one. `number` counts through its
    race from 1; `tie` says that cars which were equal run against each other. In eliminations `group` is
    the pairing that the heat decides, and `leg` which of its runs it is, each from 1.
    """

    race: RaceFormat
    number: int
    round: int
    lanes: tuple[str | None, ...]
    group: int = 0
    leg: int = 1
    tie: bool = False

    @property
    def cars(self) -> tuple[str, ...]:
        """The cars in it, by lane."""
        return tuple(car for car in self.lanes if car is not None)

    def lane_of(self, car: str) -> int:
        """The lane of a car, from 1.

        Raises:
            ValueError: it is not in this heat.
        """
        return self.lanes.index(car) + 1


@dataclass(frozen=True, slots=True)
class LaneResult:
    """What one car did in one heat. `time_s` is there for a timed run alone."""

    heat: int
    car: str
    end: RunEnd
    time_s: float | None = None

    def __post_init__(self) -> None:
        """A time belongs to a timed run, and to no other."""
        if (self.time_s is not None) is not (self.end is RunEnd.FINISHED):
            raise ValueError("a timed run has a time, any other has none")


KEYS: Final = (
    "Type a time in seconds (1.042 or 1,042), dnf where the car did not finish, dns where it did not start, "
    "void where the run counts for nobody."
)

_WORDS: Final[Mapping[str, RunEnd]] = {
    "dnf": RunEnd.STOPPED,
    "dns": RunEnd.NO_START,
    "v": RunEnd.VOID,
    "void": RunEnd.VOID,
}
_TIME: Final = re.compile(r"([0-9]{1,4})(?:[.,]([0-9]{1,6}))?\s*(?:s|sec|seconds)?")


@dataclass(frozen=True, slots=True)
class LaneEntry:
    """What was typed. `leaves` is the empty line: the lane waits."""

    end: RunEnd = RunEnd.VOID
    time_s: float | None = None
    leaves: bool = False


def read_said(text: str) -> LaneEntry | Problem:
    """What a line means, or what is wrong with it."""
    word = text.strip().casefold()
    if not word:
        return LaneEntry(leaves=True)
    if word in _WORDS:
        return LaneEntry(_WORDS[word])
    match = _TIME.fullmatch(word)
    if match is None:
        return Problem(
            "raceday-time",
            f'"{text.strip()[:40]}" is no time and no way to end a run',
            found=text.strip()[:40],
            expected="seconds as 1.042, or dnf, dns, void",
        )
    return LaneEntry(RunEnd.FINISHED, float(f"{match[1]}.{match[2] or '0'}"))


def said_words(said: LaneEntry, decimals: int = 3) -> str:
    """The same as it is read back."""
    return f"{said.time_s:.{decimals}f} s" if said.time_s is not None else said.end.value


class InspectionState(Enum):
    """What the newest inspection of a car came to."""

    PASSED = "passed inspection"
    OPEN = "inspection not finished"
    FAILED = "failed inspection"
    MISSING = "not inspected"


@dataclass(frozen=True, slots=True)
class Admission:
    """A car's way into the race.

    `inspection` is its newest one. `allowed` is why an official lets it race although it has not passed;
    empty where nobody decided, or decided over an earlier inspection.
    """

    car: str
    cleared: InspectionState
    inspection: Entry[Inspection] | None = None
    allowed: str = ""

    @property
    def decided(self) -> bool:
        """Whether it may race: it passed, or an official allowed it."""
        return self.cleared is InspectionState.PASSED or bool(self.allowed)

    @property
    def words(self) -> str:
        """What inspection says, in a clause: `failed inspection 4 (not legal: B3 is broken)`."""
        if self.inspection is None:
            return self.cleared.value
        number, record = self.inspection.id, self.inspection.record
        if self.cleared is InspectionState.PASSED:
            return f"passed inspection {number}"
        if self.cleared is InspectionState.OPEN:
            return f"inspection {number} is not finished ({number_words(record.open_points, 'check')} open)"
        return f"failed inspection {number} ({record.result})"

    @property
    def why(self) -> str:
        """Why it may race, or that nobody has said so."""
        if self.cleared is InspectionState.PASSED:
            return self.words
        return (
            f"{self.words}; {f'allowed: {self.allowed}' if self.allowed else 'no official has decided yet'}"
        )


def admissions(book: Book, entrants: Sequence[Entry[Entrant]]) -> dict[str, Admission]:
    """The admission of every car that is entered, by its name."""
    newest: dict[str, Entry[Inspection]] = {}
    for entry in book.records(Inspection):
        before = newest.get(entry.record.car)
        if before is None or entry.order > before.order:
            newest[entry.record.car] = entry
    entered = sorted(entrants, key=lambda entry: entry.origin)
    return {entry.record.car: _admission(entry.record, newest.get(entry.record.car)) for entry in entered}


def _admission(entrant: Entrant, inspection: Entry[Inspection] | None) -> Admission:
    over = None if inspection is None else inspection.origin
    allowed = entrant.allowed if entrant.allowed_over == over else ""
    return Admission(entrant.car, _cleared(inspection), inspection, allowed)


def _cleared(inspection: Entry[Inspection] | None) -> InspectionState:
    if inspection is None:
        return InspectionState.MISSING
    record = inspection.record
    # Books of older forms do not say it in a field of its own.
    legal = record.legal if record.legal is not None else not record.result.startswith("not legal")
    if not legal:
        return InspectionState.FAILED
    return InspectionState.OPEN if record.open_points else InspectionState.PASSED


def undecided_words(found: Mapping[str, Admission], cars: Sequence[str]) -> tuple[str, ...]:
    """Cars about which an official has to decide, in sentences; those not inspected in one."""
    waiting = [found[car] for car in cars if not found[car].decided]
    missing = [each.car for each in waiting if each.cleared is InspectionState.MISSING]
    told = [f"{each.car}: {each.words}." for each in waiting if each.cleared is not InspectionState.MISSING]
    if missing:
        told.append(f"Not inspected: {', '.join(missing)}.")
    return tuple(told)

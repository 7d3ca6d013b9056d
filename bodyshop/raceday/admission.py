"""Who may race: what the inspection of each car came to, and what the officials decided over it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from bodyshop.report.words import number_words
from bodyshop.trials.book import Book
from bodyshop.trials.model import Entrant, Entry, Inspection

__all__ = ["Admission", "Cleared", "admissions", "undecided_words"]


class Cleared(Enum):
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
    cleared: Cleared
    inspection: Entry[Inspection] | None = None
    allowed: str = ""

    @property
    def decided(self) -> bool:
        """Whether it may race: it passed, or an official allowed it."""
        return self.cleared is Cleared.PASSED or bool(self.allowed)

    @property
    def words(self) -> str:
        """What inspection says, in a clause: `failed inspection 4 (not legal: B3 is broken)`."""
        if self.inspection is None:
            return self.cleared.value
        number, record = self.inspection.id, self.inspection.record
        if self.cleared is Cleared.PASSED:
            return f"passed inspection {number}"
        if self.cleared is Cleared.OPEN:
            return f"inspection {number} is not finished ({number_words(record.open_points, 'check')} open)"
        return f"failed inspection {number} ({record.result})"

    @property
    def why(self) -> str:
        """Why it may race, or that nobody has said so."""
        if self.cleared is Cleared.PASSED:
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


def _cleared(inspection: Entry[Inspection] | None) -> Cleared:
    if inspection is None:
        return Cleared.MISSING
    record = inspection.record
    # Books of older forms do not say it in a field of its own.
    legal = record.legal if record.legal is not None else not record.result.startswith("not legal")
    if not legal:
        return Cleared.FAILED
    return Cleared.OPEN if record.open_points else Cleared.PASSED


def undecided_words(found: Mapping[str, Admission], cars: Sequence[str]) -> tuple[str, ...]:
    """Cars about which an official has to decide, in sentences; those not inspected in one."""
    waiting = [found[car] for car in cars if not found[car].decided]
    missing = [each.car for each in waiting if each.cleared is Cleared.MISSING]
    told = [f"{each.car}: {each.words}." for each in waiting if each.cleared is not Cleared.MISSING]
    if missing:
        told.append(f"Not inspected: {', '.join(missing)}.")
    return tuple(told)

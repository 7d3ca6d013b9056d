"""A finding: what the records of a car mean, with how sure it is and how it was found."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bodyshop.race.model import Interval
from bodyshop.repeats import Repeats

__all__ = ["CarMeaning", "Finding", "Subject"]


class Subject(Enum):
    """What a finding is about, in the order of the work."""

    MASS = "mass"
    AIRFLOW = "airflow"
    DRAG = "drag"
    LIFT = "lift"
    ROLLING = "rolling"
    RUNS = "runs"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the records say.

    `value` is in `unit`, as is its interval; None where the finding is no number. `figure` is both in words;
    `sentence` what that means, for a student; `formula` and `source` how it was found. `repeats` are the
    readings behind it, in their own unit `repeats_unit`; none is averaged away. `notes` say what else
    matters; `doubts` are questions about readings that can hardly be true. `records` are their numbers in
    the book.
    """

    id: str
    subject: Subject
    title: str
    figure: str
    sentence: str
    formula: str
    source: str
    value: float | None = None
    unit: str = ""
    interval: Interval | None = None
    repeats: Repeats | None = None
    repeats_unit: str = ""
    notes: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    records: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class CarMeaning:
    """Everything that a book says of one car. `missing` are measurements that would tell more, and how."""

    car: str
    bench: str
    book: str
    findings: tuple[Finding, ...]
    missing: tuple[str, ...]

    @property
    def doubts(self) -> int:
        """How many questions there are."""
        return sum(len(finding.doubts) for finding in self.findings)

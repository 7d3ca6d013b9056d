"""A finding: what the records of a car mean, with how sure it is and how it was found."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bodyshop.foundation.statistics import Repeats
from bodyshop.physics.model import Interval
from bodyshop.records.findings.facts import Doubt, Facts

__all__ = ["CM2_PER_M2", "CarMeaning", "Finding", "Missing", "FindingSubject", "scaled"]

CM2_PER_M2 = 1e4


def scaled(held: Interval, factor: float) -> Interval:
    """The same in another unit."""
    return Interval(held.value * factor, held.low * factor, held.high * factor, held.confidence)


class FindingSubject(Enum):
    """What a finding is about, in the order of the work."""

    MASS = "mass"
    AIRFLOW = "airflow"
    DRAG = "drag"
    LIFT = "lift"
    ROLLING = "rolling"
    RUNS = "runs"


class Missing(Enum):
    """A measurement that would tell more."""

    DRAWING = "drawing"
    MASS = "mass"
    TUNNEL = "tunnel"
    LIFT = "lift"
    ROLLS = "rolls"
    RUNS = "runs"


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that the records say.

    `value` is in `unit`, as is its interval; None where the finding is no number. `facts` are the figures
    that its sentences are made of; `formula` and `source` how it was found. `repeats` are the readings
    behind it, in their own unit `repeats_unit`; none is averaged away. `doubts` are about readings that can
    hardly be true. `records` are their numbers in the book.
    """

    id: str
    subject: FindingSubject
    facts: Facts
    formula: str
    source: str
    value: float | None = None
    unit: str = ""
    interval: Interval | None = None
    repeats: Repeats | None = None
    repeats_unit: str = ""
    doubts: tuple[Doubt, ...] = ()
    records: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class CarMeaning:
    """Everything that a book says of one car.

    `missing` are measurements that would tell more; `why_no_drawing` says why there is no drawing.
    """

    car: str
    bench: str
    book: str
    findings: tuple[Finding, ...]
    missing: tuple[Missing, ...]
    why_no_drawing: str = ""

    @property
    def doubts(self) -> int:
        """How many questions there are."""
        return sum(len(finding.doubts) for finding in self.findings)

"""Everything that a trial book says of one car."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from bodyshop.physics.model import Estimate, Law
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    AirflowSeen,
    FrozenPrediction,
    MassReading,
    RollTest,
    TrackRun,
    TunnelReading,
)
from bodyshop.records.findings.cars import BookCar, book_car, push_moment, stance_of
from bodyshop.records.findings.classruns import usable_runs
from bodyshop.records.findings.drag import airflow_findings, drag_findings
from bodyshop.records.findings.lift import lift_findings
from bodyshop.records.findings.mass import mass_findings
from bodyshop.records.findings.measured_priors import complete_mass, drag_from
from bodyshop.records.findings.model import CarMeaning, Finding, Missing
from bodyshop.records.findings.rolling import rolling_findings
from bodyshop.records.findings.runs import run_findings

__all__ = ["RACE_SPEED_M_S", "MeaningOptions", "meaning", "race_speed"]

RACE_SPEED_M_S: Final = 20.0
"""Race speed where neither a gate nor a prediction tells one: light cars on 20 m reach 20 m/s and more
(published race times, 20 m in 0.986 s)."""


@dataclass(frozen=True, slots=True)
class MeaningOptions:
    """What may be said beside the book: a design file, the race speed, the section of the tunnel (mm^2)."""

    design: str = ""
    race_m_s: float | None = None
    section_mm2: float | None = None


def meaning(book: Book, car: str, options: MeaningOptions | None = None) -> CarMeaning:
    """All findings of one car, in the order of the work.

    Raises:
        ProblemsError: there is no such car, or the design file named cannot be read.
    """
    options = MeaningOptions() if options is None else options
    found = book_car(book, car, options.design)
    speed = options.race_m_s or race_speed(book, found.name)
    return CarMeaning(
        found.name,
        found.entry.record.bench,
        book.name,
        tuple(_findings(book, found, speed, options)),
        tuple(_missing(book, found)),
        found.why_not,
    )


def race_speed(book: Book, car: str) -> float:
    """The fastest that a gate has seen a car or that was last predicted of it, else 20 m/s: a gate at the
    line sees a car that has slowed down again.
    """
    gates = [entry.record.speed_m_s or 0.0 for entry in book.records(TrackRun, car=car)]
    top = [entry.record.top_speed_m_s or 0.0 for entry in book.records(FrozenPrediction, car=car)]
    return max([*gates, *top[-1:]], default=0.0) or RACE_SPEED_M_S


def _findings(book: Book, found: BookCar, speed: float, options: MeaningOptions) -> Iterator[Finding]:
    name, design = found.name, found.design
    mass = complete_mass(book, name)
    tunnel = book.records(TunnelReading, car=name)
    yield from mass_findings(book.records(MassReading, car=name), design)
    yield from airflow_findings(book.records(AirflowSeen, car=name))
    yield from drag_findings(tunnel, design, speed, options.section_mm2)
    stance = stance_of(design, mass.value if mass else None) if design else None
    push = push_moment(design, stance) if design and stance else None
    yield from lift_findings(tunnel, stance, speed, found.why_not, push)
    drag = drag_from(tunnel, design, options.section_mm2)
    cda: Estimate | None = None
    if drag is not None and drag.estimate.law is Law.POSITIVE and not drag.doubts:
        cda = drag.estimate
    yield from rolling_findings(book.records(RollTest, car=name), design, mass, cda)
    yield from run_findings(usable_runs(book, name))


def _missing(book: Book, found: BookCar) -> Iterator[Missing]:
    name = found.name
    if found.design is None:
        yield Missing.DRAWING
    if complete_mass(book, name) is None:
        yield Missing.MASS
    tunnel = book.records(TunnelReading, car=name)
    if not tunnel:
        yield Missing.TUNNEL
    elif not any(e.record.front_lift_n is not None and e.record.rear_lift_n is not None for e in tunnel):
        yield Missing.LIFT
    if not book.records(RollTest, car=name):
        yield Missing.ROLLS
    if not usable_runs(book, name):
        yield Missing.RUNS

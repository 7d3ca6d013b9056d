"""What the roll test means: the friction of wheels and bearings, and where the height's energy went."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bodyshop.car.assembly import Car
from bodyshop.physics.model import Estimate
from bodyshop.physics.roll import ROLL_FORMULA, ROLL_SOURCE, impossible
from bodyshop.records.book.model import Entry, RollTest
from bodyshop.records.findings.facts import ImpossibleRoll, Question, RollFacts
from bodyshop.records.findings.measured_priors import roll_of, rolling_from, usable_rolls
from bodyshop.records.findings.model import Finding, FindingSubject

__all__ = ["rolling_findings"]


def rolling_findings(
    entries: Sequence[Entry[RollTest]],
    design: Car | None,
    mass_g: Estimate | None,
    cda_m2: Estimate | None,
) -> Iterator[Finding]:
    """The friction from all rolls that can be; those that cannot are questioned."""
    if not entries:
        return
    doubts = [
        ImpossibleRoll(entry.id, why) for entry in entries if (why := impossible(roll_of(entry.record)))
    ]
    usable = usable_rolls(entries)
    result = rolling_from(entries, design, mass_g, cda_m2)
    if result is None:
        yield Finding(
            id="rolling.friction",
            subject=FindingSubject.ROLLING,
            facts=RollFacts(None),
            formula=ROLL_FORMULA,
            source=ROLL_SOURCE,
            doubts=tuple(doubts),
            records=tuple(entry.id for entry in entries),
        )
        return
    held = result.estimate.interval()
    yield Finding(
        id="rolling.friction",
        subject=FindingSubject.ROLLING,
        facts=RollFacts(result),
        formula=ROLL_FORMULA,
        source=ROLL_SOURCE,
        value=held.value,
        unit="",
        interval=held,
        repeats=result.series,
        doubts=(*doubts, *(Question(words) for words in result.doubts)),
        records=tuple(entry.id for entry in usable),
    )

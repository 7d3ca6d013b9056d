"""What the balance's readings mean."""

from __future__ import annotations

from collections.abc import Iterator

from bodyshop.car.assembly import Car
from bodyshop.foundation.statistics import repeats
from bodyshop.records.book.model import Entry, MassReading, WeighingStage
from bodyshop.records.findings.facts import ChangedBetween, MassFacts
from bodyshop.records.findings.measured_priors import mass_estimate
from bodyshop.records.findings.model import Finding, FindingSubject

__all__ = ["mass_findings"]

_FORMULA = "mean of the readings; mean ± t s / √n, and the balance's step"
_SOURCE = "JCGM 100:2008 (GUM), G.3 and F.2.2.1"
_CHANGED_G = 0.5


def mass_findings(entries: tuple[Entry[MassReading], ...], design: Car | None) -> Iterator[Finding]:
    """The mass at every stage that was weighed, in shop order, with what each step took or added."""
    before: tuple[WeighingStage, float] | None = None
    for stage in WeighingStage:
        same = [entry for entry in entries if entry.record.stage is stage]
        estimate = mass_estimate([(entry.record.mass_g, entry.record.resolution_g) for entry in same])
        if estimate is None:
            continue
        step = max(entry.record.resolution_g for entry in same)
        series = repeats([entry.record.mass_g for entry in same if entry.record.mass_g > 0], step)
        doubts: tuple[ChangedBetween, ...] = ()
        if series.spread is not None and series.spread > max(_CHANGED_G, 5.0 * step):
            doubts = (ChangedBetween(stage, series.count, series.spread),)
        drawn = design.mass if stage is WeighingStage.COMPLETE and design is not None else None
        yield Finding(
            id=f"mass.{stage.name.casefold()}",
            subject=FindingSubject.MASS,
            facts=MassFacts(stage, estimate, before, drawn),
            formula=_FORMULA,
            source=_SOURCE,
            value=estimate.value,
            unit="g",
            interval=estimate.interval(),
            repeats=series,
            repeats_unit="g",
            doubts=doubts,
            records=tuple(entry.id for entry in same),
        )
        before = (stage, estimate.value)

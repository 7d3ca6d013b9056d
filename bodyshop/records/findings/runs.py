"""What a car's runs on the track mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bodyshop.foundation.statistics import repeats
from bodyshop.physics.model import Basis, Estimate, Interval, Law
from bodyshop.records.book.model import Entry, TrackRun
from bodyshop.records.findings.facts import GasFacts, SpeedFacts, TimeFacts
from bodyshop.records.findings.model import Finding, FindingSubject

__all__ = ["run_findings"]

_SOURCE = "JCGM 100:2008 (GUM), G.3"


def run_findings(entries: Sequence[Entry[TrackRun]]) -> Iterator[Finding]:
    """Times over each length that was run, speed gates, and gas used. `entries` are finished, timed runs."""
    lengths = sorted({entry.record.length_mm or 0.0 for entry in entries})
    for length in lengths:
        yield _times([entry for entry in entries if entry.record.length_mm == length], length / 1e3)
    gated = [entry for entry in entries if entry.record.speed_m_s]
    if gated:
        yield _speed(gated)
    used = [(entry, gas) for entry in entries if (gas := entry.record.gas_used_g) is not None and gas > 0]
    if used:
        yield _gas(used)


def _times(entries: Sequence[Entry[TrackRun]], length_m: float) -> Finding:
    step = max(entry.record.resolution_s for entry in entries)
    series = repeats([entry.record.time_s or 0.0 for entry in entries], step)
    held = Interval.of_mean(series)  # how far runs differ cannot be told from one
    lanes = tuple(sorted({entry.record.lane for entry in entries if entry.record.lane is not None}))
    return Finding(
        id=f"runs.time.{length_m:g}m",
        subject=FindingSubject.RUNS,
        facts=TimeFacts(series, length_m, held, step, lanes),
        formula="mean of the runs; mean ± t s / √n, and the timer's step",
        source=f"{_SOURCE} and F.2.2.1",
        value=series.mean,
        unit="s",
        interval=held,
        repeats=series,
        repeats_unit="s",
        records=tuple(entry.id for entry in entries),
    )


def _speed(entries: Sequence[Entry[TrackRun]]) -> Finding:
    series = repeats([entry.record.speed_m_s or 0.0 for entry in entries])
    places = tuple(sorted({(e.record.speed_at_mm or e.record.length_mm or 0.0) / 1e3 for e in entries}))
    held = None
    if series.sd:
        held = Estimate(series.mean, series.sd, "speed gate", Basis.MEASURED, Law.PLAIN).interval()
    return Finding(
        id="runs.speed",
        subject=FindingSubject.RUNS,
        facts=SpeedFacts(series, places, held),
        formula="mean of the readings; mean ± t s / √n",
        source=_SOURCE,
        value=series.mean,
        unit="m/s",
        interval=held,
        repeats=series,
        repeats_unit="m/s",
        records=tuple(entry.id for entry in entries),
    )


def _gas(used: Sequence[tuple[Entry[TrackRun], float]]) -> Finding:
    series = repeats([gas for _, gas in used])
    held = Estimate(series.mean, max(series.sd or 0.0, 0.06), "", Basis.MEASURED, Law.PLAIN).interval()
    return Finding(
        id="runs.gas",
        subject=FindingSubject.RUNS,
        facts=GasFacts(series, held),
        formula="cartridge before - cartridge after",
        source="balance",
        value=held.value,
        unit="g",
        interval=held,
        repeats=series,
        repeats_unit="g",
        records=tuple(entry.id for entry, _ in used),
    )

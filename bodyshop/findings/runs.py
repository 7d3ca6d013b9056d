"""What a car's runs on the track mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from bodyshop.findings.figures import figure, number, plain, times_words
from bodyshop.findings.model import Finding, Subject
from bodyshop.race.model import Basis, Estimate, Interval, Law
from bodyshop.repeats import repeats
from bodyshop.trials.model import Entry, TrackRun

__all__ = ["run_findings"]

_SOURCE = "JCGM 100:2008 (GUM), G.3"
_KMH = 3.6
_APART = 1.96 * 2**0.5
"""The difference of two readings is 1.96 times the root of two times their spread in 19 cases of 20."""


def run_findings(entries: Sequence[Entry[TrackRun]]) -> Iterator[Finding]:
    """Times over each length that was run, speed gates, and gas used. `entries` are finished, timed runs."""
    lengths = sorted({entry.record.length_mm for entry in entries})
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
    speed = length_m / series.mean
    sentence = f"{plain(length_m)} m in {number(series.mean, 4)} s is {number(speed)} m/s on average"
    sentence += f", {number(speed * _KMH)} km/h."
    if series.spread is not None:
        apart = _APART * max(series.spread, step / 12**0.5)
        sentence += (
            f" In a single run two cars need to be more than {number(apart, 2)} s apart before that says "
        )
        sentence += "which is faster."
    lanes = sorted({entry.record.lane for entry in entries if entry.record.lane is not None})
    notes = []
    if len(lanes) > 1:
        notes.append(f"run in lanes {', '.join(str(lane) for lane in lanes)}: a slower lane is in the spread")
    if series.count == 1:
        notes.append("one run shows no spread of its own, so no range can be given")
    return Finding(
        id=f"runs.time.{length_m:g}m",
        subject=Subject.RUNS,
        title=f"Time over {plain(length_m)} m",
        figure=figure(held, "s") if held else f"{number(series.mean, 4)} s, one run",
        sentence=sentence,
        formula="mean of the runs; mean ± t s / √n, and the timer's step",
        source=f"{_SOURCE} and F.2.2.1",
        value=series.mean,
        unit="s",
        interval=held,
        repeats=series,
        repeats_unit="s",
        notes=tuple(notes),
        records=tuple(entry.id for entry in entries),
    )


def _speed(entries: Sequence[Entry[TrackRun]]) -> Finding:
    series = repeats([entry.record.speed_m_s or 0.0 for entry in entries])
    places = sorted({(e.record.speed_at_mm or e.record.length_mm) / 1e3 for e in entries})
    where = ", ".join(f"{plain(place)} m" for place in places)
    held = None
    if series.sd:
        held = Estimate(series.mean, series.sd, "speed gate", Basis.MEASURED, Law.PLAIN).interval()
    alike = "the readings are all alike: the gate shows no finer"
    notes = () if held else (alike if series.count > 1 else "one reading shows no spread of its own",)
    return Finding(
        id="runs.speed",
        subject=Subject.RUNS,
        title="Speed at the gate",
        figure=figure(held, "m/s") if held else f"{plain(series.mean)} m/s",
        sentence=f"At {where} the car did {number(series.mean)} m/s, {number(series.mean * _KMH)} km/h, "
        f"measured {times_words(series.count)}.",
        formula="mean of the readings; mean ± t s / √n",
        source=_SOURCE,
        value=series.mean,
        unit="m/s",
        interval=held,
        repeats=series,
        repeats_unit="m/s",
        notes=notes,
        records=tuple(entry.id for entry in entries),
    )


def _gas(used: Sequence[tuple[Entry[TrackRun], float]]) -> Finding:
    series = repeats([gas for _, gas in used])
    held = Estimate(series.mean, max(series.sd or 0.0, 0.06), "", Basis.MEASURED, Law.PLAIN).interval()
    return Finding(
        id="runs.gas",
        subject=Subject.RUNS,
        title="Gas used in a run",
        figure=figure(held, "g"),
        sentence=f"{number(series.mean)} g of gas left the cartridge. Cartridges that hold more push longer, "
        "so weigh them before a race that matters.",
        formula="cartridge before - cartridge after",
        source="balance",
        value=held.value,
        unit="g",
        interval=held,
        repeats=series,
        repeats_unit="g",
        notes=("weigh the spent shell when it has come back to room temperature: frost weighs too",),
        records=tuple(entry.id for entry, _ in used),
    )

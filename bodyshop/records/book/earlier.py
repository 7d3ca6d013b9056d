"""What the book held before a reading, and what such readings are likely to be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Final

from bodyshop.foundation.constants import DRY_AIR_J_KG_K, STANDARD_HPA, ZERO_C_K
from bodyshop.foundation.toml.rows import Confidence, read_named_rows
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    FrozenPrediction,
    MassReading,
    MeasuredFrom,
    Record,
    RollTest,
    RunEnd,
    TrackRun,
    TunnelReading,
    WeighingStage,
)

__all__ = ["EarlierRecords", "LikelyRange", "drag_area_m2", "known_about", "level_friction", "likely"]


@dataclass(frozen=True, slots=True)
class LikelyRange:
    """Bounds of what is likely, and where they come from."""

    low: float
    high: float
    source: str
    confidence: Confidence

    def holds(self, value: float) -> bool:
        """Whether a value is within."""
        return self.low <= value <= self.high


@cache
def likely() -> Mapping[str, LikelyRange]:
    """What measurements are likely to be, by the name of the quantity."""
    return read_named_rows(Path(__file__).with_name("likely.toml"), LikelyRange)


_STILL_M_S: Final = 0.01
"""Air that is slower stands still: no tunnel is driven so."""
_LEAST_S: Final = 0.01
"""A prediction below it, which may have come out of a table, is none."""


@dataclass(frozen=True, slots=True)
class EarlierRecords:
    """What the book says already that bears on one new record of a car. None or empty where it says nothing.

    `mass_g` is the complete car without its cartridge, weighed last; `stages` the last reading at each
    stage; `timing_s` the step of the event's timing. `own_times` are the car's runs over the length of the
    new record, `class_times` those of the other cars, s. `predicted_s` is the last prediction for that
    length: value, low, high. `drag_areas` (m2) and `frictions` are what earlier readings of the car came to.
    """

    mass_g: float | None = None
    stages: Mapping[WeighingStage, MassReading] | None = None
    track_mm: float | None = None
    lanes: int | None = None
    timing_s: float | None = None
    own_times: tuple[float, ...] = ()
    class_times: tuple[float, ...] = ()
    predicted_s: tuple[float, float, float] | None = None
    drag_areas: tuple[float, ...] = ()
    frictions: tuple[float, ...] = ()


def known_about(book: Book, record: Record, *, but: int | None = None) -> EarlierRecords:
    """What the book says that bears on a record. `but` is an entry being corrected: it is no witness."""
    car = getattr(record, "car", None)
    event = book.event.record
    known = EarlierRecords(track_mm=event.track_mm, lanes=event.lanes, timing_s=event.timing_s)
    if car is None:
        return known
    own = type(record)
    stages = {
        entry.record.stage: entry.record
        for entry in book.records(MassReading, car=car)
        if own is not MassReading or entry.id != but
    }
    complete = stages.get(WeighingStage.COMPLETE)
    known = replace(known, mass_g=None if complete is None else complete.mass_g, stages=stages)
    if isinstance(record, TrackRun):
        return _with_times(known, book, car, record.length_mm or event.track_mm, but=but)
    if isinstance(record, TunnelReading):
        areas = [drag_area_m2(each.record) for each in book.records(TunnelReading, car=car) if each.id != but]
        return replace(known, drag_areas=tuple(each for each in areas if each is not None))
    if isinstance(record, RollTest):
        rolls = [level_friction(each.record) for each in book.records(RollTest, car=car) if each.id != but]
        return replace(known, frictions=tuple(each for each in rolls if each is not None))
    return known


def _with_times(
    known: EarlierRecords, book: Book, car: str, length_mm: float | None, *, but: int | None
) -> EarlierRecords:
    """With the times over a length, and what was predicted for it."""
    times = [
        (run.record.car, time)
        for run in book.records(TrackRun)
        if (time := _timed(run.record)) is not None
        and run.id != but
        and _same_length(run.record.length_mm or known.track_mm, length_mm)
    ]
    predicted = [
        entry.record
        for entry in book.records(FrozenPrediction, car=car)
        if _same_length(entry.record.length_mm, length_mm) and entry.record.time_low_s >= _LEAST_S
    ]
    last = predicted[-1] if predicted else None
    return replace(
        known,
        own_times=tuple(time for name, time in times if name == car),
        class_times=tuple(time for name, time in times if name != car),
        predicted_s=None if last is None else (last.time_s, last.time_low_s, last.time_high_s),
    )


def _timed(record: TrackRun) -> float | None:
    """The time of a run that finished."""
    return record.time_s if record.end is RunEnd.FINISHED and record.time_s else None


def _same_length(one: float | None, other: float | None) -> bool:
    """Whether two lengths are of one track; a length that nobody knows is that of the event."""
    if one is None or other is None:
        return one is other
    return likely()["same_length"].holds(one / other)


def drag_area_m2(record: TunnelReading) -> float | None:
    """CdA from a reading and its air, m2; a usual room where the air was not noted. None in still air."""
    if record.speed_m_s < _STILL_M_S:
        return None
    kelvin = (20.0 if record.temperature_c is None else record.temperature_c) + ZERO_C_K
    pascal = 100.0 * (STANDARD_HPA if record.pressure_hpa is None else record.pressure_hpa)
    pressure = 0.5 * pascal / (DRY_AIR_J_KG_K * kelvin) * record.speed_m_s**2
    return record.net_drag_n / pressure


def level_friction(record: RollTest) -> float | None:
    """Drop over the whole level way, which is friction over weight where air is left out (energy balance).

    None for a roll that cannot be.
    """
    height, length = record.ramp_height_mm, record.ramp_length_mm
    if not 0.0 < height < length:
        return None
    flat = record.run_out_mm - (0.0 if record.measured_from is MeasuredFrom.FOOT else length)
    return None if flat <= 0.0 else height / (math.sqrt(length**2 - height**2) + flat)

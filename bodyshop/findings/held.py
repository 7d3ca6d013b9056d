"""Frozen predictions held against what was measured: error, order, and how often the intervals were right."""

from __future__ import annotations

import math
import statistics
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.findings.classruns import usable_runs
from bodyshop.findings.frozen import lane_length_m
from bodyshop.findings.ranks import RankAgreement, rank_agreement, wilson
from bodyshop.race.model import Interval
from bodyshop.repeats import Repeats, repeats
from bodyshop.trials.book import Book
from bodyshop.trials.foretold import foretold
from bodyshop.trials.model import Entry, FrozenPrediction, Heat, HeatResult, RunEnd

__all__ = ["CarHeld", "Comparison", "compare_book"]

_SAME_LENGTH_M: Final = 0.005
_SHORTEST_S: Final = 0.01


@dataclass(frozen=True, slots=True)
class CarHeld:
    """One car: its frozen prediction and its timed runs since.

    `inside` counts the runs inside the interval. `low_by_s` and `high_by_s` are how far the mean lies
    outside, 0 where it is inside.
    """

    car: str
    prediction: Entry[FrozenPrediction]
    length_m: float
    times: Repeats

    @property
    def predicted(self) -> Interval:
        """The predicted time."""
        record = self.prediction.record
        return Interval(record.time_s, record.time_low_s, record.time_high_s, record.confidence)

    @property
    def error_s(self) -> float:
        """Mean measured time less the predicted one."""
        return self.times.mean - self.prediction.record.time_s

    @property
    def error_share(self) -> float:
        """The error as a share of the predicted time."""
        return self.error_s / self.prediction.record.time_s

    @property
    def inside(self) -> int:
        """How many runs lie inside the interval."""
        held = self.predicted
        return sum(held.low <= time <= held.high for time in self.times.values)

    @property
    def mean_inside(self) -> bool:
        """Whether the mean of the runs lies inside the interval."""
        held = self.predicted
        return held.low <= self.times.mean <= held.high


@dataclass(frozen=True, slots=True)
class Comparison:
    """All cars, fastest prediction first.

    `bias_s` is the mean error over the cars with its interval (None for a single car), `typical_s` the root
    of the mean square. `order` is None for fewer than three cars. `cars_inside` and `runs_inside` are shares
    with the interval that so few cases leave. `passed_over` says in clauses what was left out, and why.
    """

    cars: tuple[CarHeld, ...]
    bias_s: float
    bias: Interval | None
    typical_s: float
    order: RankAgreement | None
    cars_inside: Interval
    runs_inside: Interval
    confidence: float
    passed_over: tuple[str, ...]

    @property
    def winner_told(self) -> bool:
        """Whether the car predicted to be fastest was."""
        return min(self.cars, key=lambda car: car.times.mean) is self.cars[0]


@dataclass(frozen=True, slots=True)
class _Timed:
    car: str
    length_m: float
    time_s: float


def compare_book(book: Book) -> Comparison | None:
    """Every frozen prediction against the car's runs since; None where there is nothing to compare.

    A prediction counts on a lane of the length it was made for, and where it came into the book before any
    time of the car (`foretold`); of several, the last of these, so that nobody predicts what he has seen.
    Voided, stopped and disqualified runs do not count, nor heats that were run again.
    """
    timed = _timed(book)
    cars: list[CarHeld] = []
    passed_over: list[str] = []
    by_car: dict[str, list[Entry[FrozenPrediction]]] = {}
    for entry in book.records(FrozenPrediction):
        by_car.setdefault(entry.record.car, []).append(entry)
    for name, predictions in by_car.items():
        before = {entry.id for entry in foretold(book, name)}
        held, why = _held(name, predictions, before, [run for run in timed if run.car == name])
        if held is not None:
            step = book.event.record.time_step_s
            cars.append(replace(held, times=replace(held.times, resolution=step)))
        else:
            passed_over.append(f"{name}: {why}")
    passed_over += [
        f"{name}: nothing was predicted of it before"
        for name in dict.fromkeys(run.car for run in timed)
        if name not in by_car
    ]
    return _compared(cars, tuple(passed_over)) if cars else None


def _held(
    name: str, predictions: Sequence[Entry[FrozenPrediction]], before: Collection[int], runs: Sequence[_Timed]
) -> tuple[CarHeld | None, str]:
    if not runs:
        return None, "no timed run yet"
    made = [entry for entry in predictions if _told(entry.record)]
    if not made:
        return None, "what was predicted is no time"
    foretelling = [entry for entry in made if entry.id in before]
    if not foretelling:
        return None, "its prediction came into the book after its first time, and does not count"
    chosen = max(foretelling, key=lambda entry: entry.order)
    length = lane_length_m(chosen.record)
    same = [run for run in runs if length is None or abs(run.length_m - length) <= _SAME_LENGTH_M]
    if not same:
        return None, f"it was predicted for {length:g} m and run over {runs[0].length_m:g} m"
    return CarHeld(name, chosen, same[0].length_m, repeats([run.time_s for run in same])), ""


def _told(record: FrozenPrediction) -> bool:
    """Whether a prediction, which may have come out of a table, is one."""
    return record.time_s >= _SHORTEST_S and record.time_low_s <= record.time_s <= record.time_high_s


def _timed(book: Book) -> list[_Timed]:
    """Every time that counts: runs of the trial book, and results of heats that are not noted as runs too."""
    found = [
        _Timed(entry.record.car, entry.record.length_mm / 1e3, entry.record.time_s)
        for entry in usable_runs(book)
        if entry.record.time_s
    ]
    noted = {entry.record.result for entry in usable_runs(book)}
    track = book.event.record.track_mm
    if track is None:
        return found
    again = {entry.record.reruns for entry in book.records(Heat)}
    found += [
        _Timed(entry.record.car, track / 1e3, entry.record.time_s)
        for entry in book.records(HeatResult)
        if entry.record.end is RunEnd.FINISHED
        and entry.record.time_s
        and entry.origin not in noted
        and entry.record.heat not in again
    ]
    return found


def _compared(cars: Sequence[CarHeld], passed_over: tuple[str, ...]) -> Comparison:
    ordered = sorted(cars, key=lambda car: car.prediction.record.time_s)
    errors = [car.error_s for car in ordered]
    series = repeats(errors)
    runs = sum(car.times.count for car in ordered)
    return Comparison(
        cars=tuple(ordered),
        bias_s=series.mean,
        bias=Interval.of_mean(series),
        typical_s=math.sqrt(statistics.fmean(error * error for error in errors)),
        order=rank_agreement(
            [car.prediction.record.time_s for car in ordered], [car.times.mean for car in ordered]
        ),
        cars_inside=wilson(sum(car.mean_inside for car in ordered), len(ordered)),
        runs_inside=wilson(sum(car.inside for car in ordered), runs),
        confidence=min(car.prediction.record.confidence for car in ordered),
        passed_over=passed_over,
    )

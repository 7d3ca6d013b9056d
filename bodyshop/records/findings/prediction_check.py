"""Predictions stored before the run, and how well they met what was measured."""

from __future__ import annotations

import json
import math
import statistics
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from statistics import NormalDist
from typing import Any, Final

import numpy as np

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.statistics import Repeats, repeats
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import CONFIDENCE, Array, Interval
from bodyshop.physics.prediction import Prediction, predict
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Entry, FrozenPrediction
from bodyshop.records.book.prediction_order import counted_predictions
from bodyshop.records.findings.classruns import usable_runs
from bodyshop.records.findings.setups import RaceConditions, ready
from bodyshop.rules.checking import RulebookCache

__all__ = [
    "CarComparison",
    "Comparison",
    "FreezeResult",
    "INPUTS_VERSION",
    "RankAgreement",
    "compare_book",
    "freeze",
    "frozen_record",
    "inputs_json",
    "lane_length_m",
    "rank_agreement",
    "ranks",
    "wilson",
]


INPUTS_VERSION: Final = 1


@dataclass(frozen=True)
class FreezeResult:
    """What was frozen, and the cars that were not, each with the reason in a clause."""

    entries: tuple[Entry[FrozenPrediction], ...]
    passed_over: tuple[tuple[str, str], ...]


def freeze(
    book: Book, conditions: RaceConditions, cars: Sequence[str] = (), *, by: str = "", note: str = ""
) -> FreezeResult:
    """Predict cars of the book (all of them unless some are named) and put the predictions into it, all or
    none.

    Raises:
        ProblemsError: a car that was named cannot be predicted, or no car can.
    """
    wanted = list(dict.fromkeys(cars)) or [entry.record.name for entry in book.cars()]
    records: list[FrozenPrediction] = []
    passed_over: list[tuple[str, str]] = []
    faults: list[Problem] = []
    shelf = RulebookCache()
    for name in wanted:
        try:
            found, setup = ready(book, name, conditions, shelf)
            fingerprint = found.design.design.fingerprint if found.design else ""
            records.append(frozen_record(found.name, fingerprint, predict(setup)))
        except ProblemsError as error:
            faults += error.problems
            passed_over.append((name, error.problems[0].sentence))
    if faults and (cars or not records):
        raise ProblemsError(faults)
    if not records:
        raise ProblemsError(
            [Problem("book-no-cars", "there is no car in the book to predict", file=book.name)]
        )
    with book.writing() as writer:
        entries = tuple(writer.add(record, by=by, note=note) for record in records)
    return FreezeResult(entries, tuple(passed_over))


def frozen_record(car: str, fingerprint: str, prediction: Prediction) -> FrozenPrediction:
    """A prediction as the book keeps it.

    Raises:
        ProblemsError: the car would not come to the line, so there is no time to hold a race against.
    """
    finish = prediction.finish
    if not math.isfinite(finish.high):
        coming = f"{100 * prediction.finishing:.0f} %"
        message = (
            f"{car} may stop short of the line ({coming} of its draws come there), so no time can be frozen"
        )
        raise ProblemsError([Problem("race-stops-short", message, key=car)])
    return FrozenPrediction(
        car=car,
        time_s=finish.value,
        time_low_s=finish.low,
        time_high_s=finish.high,
        confidence=finish.confidence,
        **_ends("top_speed", prediction.top),
        **_ends("line_speed", prediction.line),
        fingerprint=fingerprint,
        inputs=inputs_json(prediction.setup),
    )


def _ends(name: str, held: Interval) -> dict[str, Any]:
    return {f"{name}_m_s": held.value, f"{name}_low_m_s": held.low, f"{name}_high_m_s": held.high}


def inputs_json(setup: Setup) -> str:
    """Everything that a prediction was made from."""
    return json.dumps(
        {
            "version": INPUTS_VERSION,
            "length_m": setup.lane.length_m,
            "gates_m": list(setup.lane.gates_m),
            "air": {"temperature_c": setup.air.temperature_c, "pressure_hpa": setup.air.pressure_hpa},
            "thrust": setup.thrust.source,
            "coupling": setup.cartridge.coupling,
            "figures": {
                factor.id: {
                    "value": (figure := setup.figure(factor)).value,
                    "sd": figure.sd,
                    "law": figure.law.value,
                    "basis": figure.basis.value,
                    "source": figure.source,
                }
                for factor in Factor
            },
        },
        allow_nan=False,
    )


def lane_length_m(record: FrozenPrediction) -> float | None:
    """The length of the lane that a prediction was made for; None where the record does not say."""
    return None if record.length_mm is None else record.length_mm / 1e3


_COUNTED: Final = 8
"""Up to so many cases all orders are counted, ties or not: 40 320 of them."""

LEAST: Final = 3
"""Two cars are in the right order by chance every second time."""


@dataclass(frozen=True, slots=True)
class RankAgreement:
    """How well two orders of `count` cases agree: 1 the same, 0 none, -1 the opposite.

    `chance` is the probability that chance alone does as well or better; `exact` whether it was counted.
    """

    count: int
    spearman: float
    kendall: float
    chance: float
    exact: bool


def ranks(values: Sequence[float]) -> list[float]:
    """Ranks from 1, equal values sharing the mean of theirs."""
    order = sorted(range(len(values)), key=lambda i: values[i])
    found = [0.0] * len(values)
    i = 0
    while i < len(order):
        j = i
        while j + 1 < len(order) and values[order[j + 1]] == values[order[i]]:
            j += 1
        for k in order[i : j + 1]:
            found[k] = 0.5 * (i + j) + 1.0
        i = j + 1
    return found


def rank_agreement(one: Sequence[float], other: Sequence[float]) -> RankAgreement | None:
    """Agreement of two series of the same cases; None for fewer than three, or where one is all alike."""
    n = len(one)
    if n < LEAST or len(set(one)) < 2 or len(set(other)) < 2:
        return None
    a, b = np.array(ranks(one)), np.array(ranks(other))
    x, y = a - a.mean(), b - b.mean()
    spearman = float((x @ y) / math.sqrt((x @ x) * (y @ y)))
    score, untied = _score(a, b)
    kendall = score / untied
    chance, exact = _chance(a, b, score)
    return RankAgreement(n, spearman, kendall, chance, exact)


def _signs(values: Array) -> Array:
    i, j = np.triu_indices(len(values), 1)
    return np.sign(values[i] - values[j])


def _score(a: Array, b: Array) -> tuple[float, float]:
    """Pairs in the same order less those in the opposite one, and what they would be at the best."""
    one, other = _signs(a), _signs(b)
    return float(one @ other), math.sqrt(float((one @ one) * (other @ other)))


def _chance(a: Array, b: Array, score: float) -> tuple[float, bool]:
    n = len(a)
    tied = len(set(a.tolist())) < n or len(set(b.tolist())) < n
    if not tied:
        counts = _orders_by_score(n)
        # The score of an order with k pairs in the opposite one is n (n - 1) / 2 - 2 k.
        wrong = round((n * (n - 1) / 2 - score) / 2)
        return float(sum(counts[: wrong + 1]) / sum(counts)), True
    if n <= _COUNTED:
        one = _signs(a)
        every = np.array(list(permutations(b.tolist())))
        i, j = np.triu_indices(n, 1)
        scores = np.sign(every[:, i] - every[:, j]) @ one
        return float(np.mean(scores >= score - 1e-9)), True
    return 1.0 - NormalDist().cdf(score / math.sqrt(_variance(a, b))), False


def _orders_by_score(n: int) -> list[int]:
    """How many orders of n have k pairs in the wrong order, k = 0 ... n (n - 1) / 2 (Mahonian numbers)."""
    counts = [1]
    for size in range(2, n + 1):
        wider = [0] * (len(counts) + size - 1)
        for k, count in enumerate(counts):
            for step in range(size):
                wider[k + step] += count
        counts = wider
    return counts


def _variance(a: Array, b: Array) -> float:
    """Variance of the score by chance, with ties."""
    n = len(a)
    ties = [np.unique(each, return_counts=True)[1].astype(float) for each in (a, b)]
    whole = n * (n - 1) * (2 * n + 5)
    first = whole - sum(float((t * (t - 1) * (2 * t + 5)).sum()) for t in ties)
    pairs = [float((t * (t - 1)).sum()) for t in ties]
    triples = [float((t * (t - 1) * (t - 2)).sum()) for t in ties]
    return (
        first / 18.0
        + pairs[0] * pairs[1] / (2.0 * n * (n - 1))
        + triples[0] * triples[1] / (9.0 * n * (n - 1) * (n - 2))
    )


def wilson(held: int, count: int) -> Interval:
    """The share that `held` of `count` cases stand for, with its interval (E. B. Wilson, J. Amer. Statist.
    Assoc. 22 (1927) 209). count >= 1.
    """
    z = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2.0)
    p = held / count
    middle = (p + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))
    return Interval(p, max(middle - half, 0.0), min(middle + half, 1.0))


_SAME_LENGTH_M: Final = 0.005
_SHORTEST_S: Final = 0.01


@dataclass(frozen=True, slots=True)
class CarComparison:
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

    cars: tuple[CarComparison, ...]
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
    time of the car (`counted_predictions`); of several, the last of these, so that nobody predicts what he
    has seen. Voided, stopped and disqualified runs do not count, nor heats that were run again.
    """
    timed = _timed(book)
    cars: list[CarComparison] = []
    passed_over: list[str] = []
    by_car: dict[str, list[Entry[FrozenPrediction]]] = {}
    for entry in book.records(FrozenPrediction):
        by_car.setdefault(entry.record.car, []).append(entry)
    for name, predictions in by_car.items():
        before = {entry.id for entry in counted_predictions(book, name)}
        held, why = _car_compared(name, predictions, before, [run for run in timed if run.car == name])
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


def _car_compared(
    name: str, predictions: Sequence[Entry[FrozenPrediction]], before: Collection[int], runs: Sequence[_Timed]
) -> tuple[CarComparison | None, str]:
    if not runs:
        return None, "no timed run yet"
    made = [entry for entry in predictions if _has_interval(entry.record)]
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
    return CarComparison(name, chosen, same[0].length_m, repeats([run.time_s for run in same])), ""


def _has_interval(record: FrozenPrediction) -> bool:
    """Whether a prediction, which may have come out of a table, is one."""
    return record.time_s >= _SHORTEST_S and record.time_low_s <= record.time_s <= record.time_high_s


def _timed(book: Book) -> list[_Timed]:
    """Every time that counts."""
    return [
        _Timed(entry.record.car, entry.record.length_mm / 1e3, entry.record.time_s)
        for entry in usable_runs(book)
        if entry.record.time_s and entry.record.length_mm
    ]


def _compared(cars: Sequence[CarComparison], passed_over: tuple[str, ...]) -> Comparison:
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

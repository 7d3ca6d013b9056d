"""The table of time trials as it stands after any heat."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from bodyshop.records.book.model import RunEnd
from bodyshop.records.raceday.model import LaneResult, steps_of

__all__ = ["RankedBy", "StandingsRow", "ordinal", "place_words", "standings"]


def ordinal(place: int) -> str:
    """`1st`, `2nd`, `3rd`, `11th`."""
    if place % 100 in (11, 12, 13):
        return f"{place}th"
    return f"{place}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(place % 10, 'th') }"


def place_words(place: int | None, places: Sequence[int | None]) -> str:
    """`3rd`, or `joint 5th` where another of `places` is the same; a dash for none."""
    if place is None:
        return "–"
    return f"joint {ordinal(place)}" if places.count(place) > 1 else ordinal(place)


class RankedBy(Enum):
    """What a car's runs are ranked by."""

    BEST = "best"
    MEAN = "mean"
    TOTAL = "total"


@dataclass(frozen=True, slots=True)
class StandingsRow:
    """A car's line. `place` is None for one that is ruled out or has no time yet; equal cars share a place.

    `times` are all timed runs in the order run, `score_s` what it is ranked by, None without any time.
    `runs` counts starts, timed or not.
    """

    car: str
    place: int | None
    score_s: float | None
    times: tuple[float, ...]
    runs: int
    out: str = ""

    @property
    def spread_s(self) -> float | None:
        """Slowest less fastest; None with fewer than two times."""
        return max(self.times) - min(self.times) if len(self.times) > 1 else None


def standings(
    cars: Sequence[str],
    results: Sequence[LaneResult],
    *,
    counts: RankedBy = RankedBy.BEST,
    out: Mapping[str, str] | None = None,
    apart_s: float = 0.001,
) -> tuple[StandingsRow, ...]:
    """Cars from the first place; those without a time after, those ruled out last.

    Args:
        cars: all that are entered, in the order kept where nothing else decides.
        results: those that stand, in the order run.
        counts: best single run, mean of all, or total. Where the mean or total counts, more finished runs
            go before fewer, since a run lost must not help. Equal scores are told apart by the best run, then
            the second best and so on; what is still equal shares its place.
        out: reasons of cars ruled out.
        apart_s: the step of the timing; times of the same step are equal.
    """
    gone = out or {}
    by_car: dict[str, list[LaneResult]] = {car: [] for car in cars}
    for result in results:
        if result.car in by_car and result.end is not RunEnd.VOID:
            by_car[result.car].append(result)
    keys: dict[str, tuple[float, ...]] = {}
    drafts: dict[str, StandingsRow] = {}
    for car, runs in by_car.items():
        times = tuple(run.time_s for run in runs if run.time_s is not None)
        score = _score(times, counts) if times else None
        started = sum(1 for run in runs if run.end in (RunEnd.FINISHED, RunEnd.STOPPED))
        drafts[car] = StandingsRow(car, None, score, times, started, gone.get(car, ""))
        if score is not None:
            # Among cars with as many runs the mean ranks as the total does, and is free of its rounding.
            missing = 0 if counts is RankedBy.BEST else -len(times)
            steps = sorted(steps_of(time, apart_s) for time in times)
            keys[car] = (missing, steps[0] if counts is RankedBy.BEST else sum(steps), *steps)
    ranked = sorted(
        (car for car in cars if car in keys and car not in gone), key=lambda car: _padded(keys[car])
    )
    rows: list[StandingsRow] = []
    for index, car in enumerate(ranked):
        shared = index > 0 and keys[car] == keys[ranked[index - 1]]
        place = rows[-1].place if shared else index + 1
        draft = drafts[car]
        rows.append(StandingsRow(car, place, draft.score_s, draft.times, draft.runs))
    rows += [drafts[car] for car in cars if car not in keys and car not in gone]
    rows += [drafts[car] for car in cars if car in gone]
    return tuple(rows)


def _score(times: Sequence[float], counts: RankedBy) -> float:
    if counts is RankedBy.BEST:
        return min(times)
    total = math.fsum(times)
    return total if counts is RankedBy.TOTAL else total / len(times)


def _padded(key: tuple[float, ...]) -> tuple[float, ...]:
    """With fewer runs a car comes after one that is equal so far and has run again."""
    return (*key, math.inf)

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats

from bodyshop.records.book.model import RunEnd
from bodyshop.records.raceday import LaneResult, RankedBy, standings


def _timed(car: str, *times: float) -> list[LaneResult]:
    return [LaneResult(k, car, RunEnd.FINISHED, time) for k, time in enumerate(times, 1)]


def test_best_run_then_second_best_then_a_shared_place() -> None:
    results = [*_timed("wren", 1.20, 1.10), *_timed("kestrel", 1.10, 1.15), *_timed("heron", 1.10, 1.20)]
    rows = standings(["wren", "kestrel", "heron"], results)
    assert [(row.car, row.place) for row in rows] == [("kestrel", 1), ("wren", 2), ("heron", 2)]
    assert rows[0].spread_s == pytest.approx(0.05)


def test_places_of_best_runs_are_those_of_scipy() -> None:
    # Peer: scipy.stats.rankdata, method "min": equal values share the lowest rank.
    rng = np.random.default_rng(4)
    for _ in range(50):
        times = np.round(1.0 + 0.1 * rng.random(20), 2)
        cars = [f"car {k}" for k in range(20)]
        results = [LaneResult(1, car, RunEnd.FINISHED, float(t)) for car, t in zip(cars, times, strict=True)]
        places = {row.car: row.place for row in standings(cars, results)}
        assert [places[car] for car in cars] == scipy.stats.rankdata(times, method="min").tolist()


def test_mean_and_total_put_a_lost_run_behind() -> None:
    results = [
        *_timed("wren", 1.10, 1.10),
        LaneResult(1, "kestrel", RunEnd.FINISHED, 1.00),
        LaneResult(2, "kestrel", RunEnd.STOPPED),
    ]
    cars = ["kestrel", "wren"]
    assert standings(cars, results)[0].car == "kestrel"
    for counts in (RankedBy.MEAN, RankedBy.TOTAL):
        rows = standings(cars, results, counts=counts)
        assert [(row.car, row.place, row.runs) for row in rows] == [("wren", 1, 2), ("kestrel", 2, 2)]
    assert standings(cars, results, counts=RankedBy.TOTAL)[0].score_s == pytest.approx(2.2)


def test_void_runs_do_not_count_and_ruled_out_cars_come_last_with_their_reason() -> None:
    results = [
        *_timed("wren", 1.3),
        *_timed("heron", 0.9),
        LaneResult(2, "wren", RunEnd.VOID),
        LaneResult(1, "swift", RunEnd.NO_START),
    ]
    rows = standings(["heron", "swift", "wren"], results, out={"heron": "lost a wheel"})
    assert [(row.car, row.place, row.out) for row in rows] == [
        ("wren", 1, ""),
        ("swift", None, ""),
        ("heron", None, "lost a wheel"),
    ]
    assert rows[0].times == (1.3,)
    assert rows[2].times == (0.9,)


def test_readings_of_the_same_thousandth_are_equal() -> None:
    # 0.1 + 1.0 and 1.1 differ in the last bit.
    rows = standings(["a", "b"], [*_timed("a", 0.1 + 1.0), *_timed("b", 1.1)])
    assert [row.place for row in rows] == [1, 1]


@pytest.mark.parametrize("first", [1.049, 1.05, 1.1, 1.234, 2.007])
def test_readings_one_thousandth_apart_are_not_equal(first: float) -> None:
    rows = standings(["a", "b"], [*_timed("a", round(first + 0.001, 3)), *_timed("b", first)])
    assert [(row.car, row.place) for row in rows] == [("b", 1), ("a", 2)]


def test_a_time_belongs_to_a_timed_run_alone() -> None:
    with pytest.raises(ValueError, match="has none"):
        LaneResult(1, "a", RunEnd.NO_START, 1.0)
    with pytest.raises(ValueError, match="has a time"):
        LaneResult(1, "a", RunEnd.FINISHED)

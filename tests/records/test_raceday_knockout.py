from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.records.book.model import RunEnd
from bodyshop.records.raceday import (
    DrawnHeat,
    GroupResult,
    KnockoutGroup,
    LaneResult,
    first_groups,
    heats_of,
    ladder_order,
    next_groups,
    places,
    resolve,
)


def _names(count: int) -> list[str]:
    return [f"car {k}" for k in range(1, count + 1)]


def _ran(heats: tuple[DrawnHeat, ...], times: Mapping[str, float]) -> dict[tuple[int, str], LaneResult]:
    return {
        (heat.number, car): LaneResult(heat.number, car, RunEnd.FINISHED, times[car])
        for heat in heats
        for car in heat.cars
    }


def _play(cars: list[str], lanes: int, times: Mapping[str, float], legs: int = 1) -> list[list[GroupResult]]:
    rounds: list[list[GroupResult]] = []
    groups = first_groups(cars, lanes)
    number = 1
    while groups:
        heats = heats_of(groups, lanes, legs, number)
        number += len(heats)
        ran = _ran(heats, times)
        rounds.append([resolve(g, [h for h in heats if h.group == g.number], ran) for g in groups])
        groups = next_groups(rounds[-1], lanes, cars)
    return rounds


def test_ladder_of_eight() -> None:
    # 1 meets 8, 4 meets 5, 2 meets 7, 3 meets 6: common practice, no published source.
    assert ladder_order(8) == (1, 8, 4, 5, 2, 7, 3, 6)
    assert ladder_order(1) == (1,)


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 40), st.integers(2, 8), st.integers(1, 3), st.integers(0, 2**32))
def test_the_fastest_wins_and_the_second_comes_far(count, lanes, legs, seed) -> None:
    cars = _names(count)
    rng = np.random.default_rng(seed)
    speed = dict(zip(cars, (1.0 + 0.01 * rng.permutation(count)).tolist(), strict=True))
    ranked = sorted(cars, key=speed.__getitem__)
    rounds = _play(ranked, lanes, speed, legs)
    final = places(rounds)
    assert set(final) == set(cars)
    # Seeded by their speed, the field ends in its order: first and second at least.
    assert final[ranked[0]] == 1
    assert final[ranked[1]] == 2


@settings(max_examples=60, deadline=None)
@given(st.integers(2, 40), st.integers(2, 8), st.integers(0, 2**32))
def test_drawn_without_standing_the_fastest_still_wins(count, lanes, seed) -> None:
    cars = _names(count)
    rng = np.random.default_rng(seed)
    speed = dict(zip(cars, (1.0 + 0.01 * rng.permutation(count)).tolist(), strict=True))
    assert places(_play(cars, lanes, speed))[min(cars, key=speed.__getitem__)] == 1


def test_places_of_eight_are_shared_by_round() -> None:
    cars = _names(8)
    final = places(_play(cars, 2, {car: 1.0 + 0.01 * k for k, car in enumerate(cars)}))
    assert [final[car] for car in cars] == [1, 2, 3, 3, 5, 5, 5, 5]


def test_five_on_two_lanes_three_pass_the_first_round() -> None:
    groups = first_groups(_names(5), 2)
    assert [group.cars for group in groups] == [("car 1",), ("car 4", "car 5"), ("car 2",), ("car 3",)]
    assert [set(heat.cars) for heat in heats_of(groups, 2, 1, 1)] == [{"car 4", "car 5"}]


def test_legs_change_lanes_and_add_up() -> None:
    group = KnockoutGroup(1, 1, ("a", "b"), 1, True)
    heats = heats_of([group], 2, 2, 1)
    assert {(heat.leg, heat.lane_of("a")) for heat in heats} == {(1, 1), (2, 2)}
    results = {
        (1, "a"): LaneResult(1, "a", RunEnd.FINISHED, 1.10),
        (1, "b"): LaneResult(1, "b", RunEnd.FINISHED, 1.20),
        (2, "a"): LaneResult(2, "a", RunEnd.FINISHED, 1.30),
        (2, "b"): LaneResult(2, "b", RunEnd.FINISHED, 1.15),
    }
    # 2.40 against 2.35: b, which lost the first leg.
    result = resolve(group, heats, results)
    assert result.order == ("b", "a")
    assert result.times == pytest.approx({"a": 2.40, "b": 2.35})


def test_a_tie_where_it_matters_is_run_again_and_elsewhere_is_not() -> None:
    group = KnockoutGroup(1, 1, ("a", "b", "c", "d"), 2)
    heats = heats_of([group], 4, 1, 1)
    tied = resolve(group, heats, _ran(heats, {"a": 1.1, "b": 1.2, "c": 1.2, "d": 1.4}))
    assert not tied.done
    assert set(tied.tied) == {"b", "c"}
    again = DrawnHeat(heats[0].race, 2, 1, ("c", "b", None, None), 1, 1, tie=True)
    ran = _ran(heats, {"a": 1.1, "b": 1.2, "c": 1.2, "d": 1.4}) | _ran((again,), {"b": 1.25, "c": 1.22})
    assert resolve(group, [*heats, again], ran).through == ("a", "c")
    harmless = resolve(group, heats, _ran(heats, {"a": 1.1, "b": 1.1, "c": 1.2, "d": 1.2}))
    assert harmless.done
    assert set(harmless.through) == {"a", "b"}


def test_a_car_that_did_not_finish_loses_to_one_that_did_and_a_ruled_out_one_to_all() -> None:
    group = KnockoutGroup(1, 1, ("a", "b", "c"), 1)
    heats = heats_of([group], 3, 1, 1)
    results = {
        (1, "a"): LaneResult(1, "a", RunEnd.STOPPED),
        (1, "b"): LaneResult(1, "b", RunEnd.FINISHED, 3.0),
        (1, "c"): LaneResult(1, "c", RunEnd.FINISHED, 1.0),
    }
    assert resolve(group, heats, results).order == ("c", "b", "a")
    assert resolve(group, heats, results, out=["c"]).order == ("b", "a", "c")


def test_a_run_to_be_run_again_leaves_its_group_open() -> None:
    group = KnockoutGroup(1, 1, ("a", "b"), 1)
    heats = heats_of([group], 2, 1, 1)
    results = _ran(heats, {"a": 1.0, "b": 1.1}) | {(1, "b"): LaneResult(1, "b", RunEnd.VOID)}
    assert not resolve(group, heats, results).done
    assert not resolve(group, heats, {}).done
    with pytest.raises(ValueError, match="not decided"):
        next_groups([resolve(group, heats, {})], 2, ["a", "b"])


def test_ruled_out_after_winning_its_opponent_does_not_come_back() -> None:
    cars = _names(4)
    groups = first_groups(cars, 2)
    heats = heats_of(groups, 2, 1, 1)
    ran = _ran(heats, {car: 1.0 + 0.1 * k for k, car in enumerate(cars)})
    results = [resolve(g, [h for h in heats if h.group == g.number], ran) for g in groups]
    final = next_groups(results, 2, cars, out=["car 1"])
    assert [group.cars for group in final] == [("car 2",)]
    assert resolve(final[0], [], {}).order == ("car 2",)


def test_wrong_calls() -> None:
    with pytest.raises(ValueError, match="two cars"):
        first_groups(["a"], 2)
    with pytest.raises(ValueError, match="two lanes"):
        first_groups(["a", "b"], 1)


@pytest.mark.parametrize(("apart", "tied"), [(0.0, True), (0.001, False), (-0.001, False)])
@pytest.mark.parametrize("first", [1.049, 1.05, 1.234, 2.007])
@pytest.mark.parametrize("legs", [1, 2])
def test_times_one_thousandth_apart_are_no_tie(apart: float, tied: bool, first: float, legs: int) -> None:
    # A gate that shows thousandths tells these apart; only equal readings are a tie.
    (group,) = first_groups(["kestrel", "heron"], 2)
    heats = heats_of((group,), 2, legs, 1)
    ran = _ran(heats, {"kestrel": first, "heron": first})
    ran[1, "heron"] = LaneResult(1, "heron", RunEnd.FINISHED, round(first + apart, 3))
    found = resolve(group, heats, ran)
    assert found.tied == (("kestrel", "heron") if tied else ())
    assert found.done is not tied
    if not tied:
        assert found.order[0] == ("kestrel" if apart > 0 else "heron")

from __future__ import annotations

from collections import Counter
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.records.raceday import DrawnHeat, draw_trials


def _names(count: int) -> list[str]:
    return [f"car {k}" for k in range(count)]


def _lane_counts(heats: tuple[DrawnHeat, ...]) -> Counter[tuple[str, int]]:
    return Counter((car, heat.lane_of(car)) for heat in heats for car in heat.cars)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 30), st.integers(1, 8), st.integers(1, 9), st.integers(0, 2**32))
def test_every_car_runs_once_a_round_and_its_lanes_differ_by_one_at_most(count, lanes, rounds, seed) -> None:
    cars = _names(count)
    heats = draw_trials(cars, lanes, rounds, seed)
    for round_ in range(1, rounds + 1):
        assert sorted(car for heat in heats if heat.round == round_ for car in heat.cars) == sorted(cars)
    used = _lane_counts(heats)
    for car in cars:
        each = [used[car, lane] for lane in range(1, lanes + 1)]
        assert max(each) - min(each) <= 1
    assert [heat.number for heat in heats] == list(range(1, len(heats) + 1))


@settings(max_examples=40, deadline=None)
@given(st.integers(2, 30), st.integers(2, 8), st.integers(1, 8), st.integers(0, 2**32))
def test_heats_are_as_few_and_as_full_as_can_be(count, lanes, rounds, seed) -> None:
    heats = draw_trials(_names(count), lanes, rounds, seed)
    assert len(heats) == rounds * -(-count // lanes)
    sizes = [len(heat.cars) for heat in heats]
    assert max(sizes) - min(sizes) <= 1
    assert all(len(heat.lanes) == lanes for heat in heats)


def test_as_many_rounds_as_lanes_are_a_latin_square() -> None:
    # A car's lanes over the rounds are a row of a Latin square: each lane once (definition; Euler 1782).
    used = _lane_counts(draw_trials(_names(12), 4, 4, 3))
    assert set(used.values()) == {1}
    assert len(used) == 12 * 4


def test_two_lanes_and_even_sets_never_repeat_a_meeting() -> None:
    heats = draw_trials(_names(12), 2, 4, 7)
    met = Counter(frozenset(pair) for heat in heats for pair in combinations(heat.cars, 2))
    assert set(met.values()) == {1}


@pytest.mark.parametrize(("cars", "lanes", "rounds"), [(16, 4, 6), (20, 4, 8), (24, 3, 6)])
def test_no_two_cars_of_a_lane_can_change_heats_for_fewer_meetings(
    cars: int, lanes: int, rounds: int
) -> None:
    # After the rounds before it, each pair has met m times; a heat adds 2 m + 1 to the sum of squares of
    # meetings for each of its pairs: (m + 1)^2 - m^2.
    for seed in range(6):
        heats = draw_trials(_names(cars), lanes, rounds, seed)
        met: Counter[frozenset[str | None]] = Counter(
            frozenset(pair) for heat in heats if heat.round < rounds for pair in combinations(heat.cars, 2)
        )

        def cost(*rows: list[str | None], met: Counter[frozenset[str | None]] = met) -> int:
            return sum(2 * met[frozenset(pair)] + 1 for row in rows for pair in combinations(row, 2))

        for one, other in combinations([list(heat.lanes) for heat in heats if heat.round == rounds], 2):
            for lane in range(lanes):
                first, second = list(one), list(other)
                first[lane], second[lane] = other[lane], one[lane]
                assert cost(first, second) >= cost(one, other), (seed, one, other)


def test_nobody_runs_in_two_heats_on_end_where_there_are_enough_cars() -> None:
    heats = draw_trials(_names(30), 3, 3, 11)
    assert not any(set(one.cars) & set(other.cars) for one, other in pairwise(heats))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize(("cars", "lanes", "rounds"), [(12, 3, 4), (30, 3, 3), (9, 2, 5), (12, 2, 4)])
def test_a_car_never_runs_twice_running_where_a_round_has_more_heats_than_lanes(
    cars: int, lanes: int, rounds: int, seed: int
) -> None:
    # The last heat of a round holds as many cars as there are lanes: with more heats than lanes in the next
    # round one of them holds none of those (pigeonhole), and it has to go first. Heats of a round in any
    # other order break this for 36 of these 48 draws.
    heats = draw_trials(_names(cars), lanes, rounds, seed)
    assert -(-cars // lanes) > lanes
    for one, other in pairwise(heats):
        assert not set(one.cars) & set(other.cars), (one.number, other.number)


def test_the_number_of_the_draw_is_all_that_decides() -> None:
    assert draw_trials(_names(9), 3, 3, 5) == draw_trials(_names(9), 3, 3, 5)
    assert draw_trials(_names(9), 3, 3, 5) != draw_trials(_names(9), 3, 3, 6)


def test_the_first_lane_is_as_likely_for_every_car() -> None:
    # 600 draws of 6 cars in 3 lanes: each car has each lane 200 times on average with a standard deviation
    # of sqrt(600 * 1/3 * 2/3) = 11.5 (binomial); 4.5 of them leave one chance in 150,000 a cell.
    cars = _names(6)
    used: Counter[tuple[str, int]] = Counter()
    for seed in range(600):
        used += _lane_counts(draw_trials(cars, 3, 1, seed))
    assert all(abs(used[car, lane] - 200) < 4.5 * 11.55 for car in cars for lane in (1, 2, 3))


def test_no_cars_no_heats_and_wrong_calls() -> None:
    assert draw_trials([], 2, 2, 1) == ()
    with pytest.raises(ValueError, match="each car once"):
        draw_trials(["a", "a"], 2, 2, 1)
    with pytest.raises(ValueError, match="lane"):
        draw_trials(["a"], 0, 2, 1)

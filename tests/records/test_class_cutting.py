from __future__ import annotations

import math
from collections import Counter

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from bodyshop.records.classroom.stock_plan import cutting_plan

lengths = st.floats(0.5, 300.0).map(lambda value: round(value, 2))


def least_rods(pieces: list[float], rod: float, saw: float) -> int:
    """The least number of rods, by integer programming (HiGHS, through SciPy)."""
    n = len(pieces)
    # x[i, j]: piece i from rod j; y[j]: rod j is used.
    size = n * n + n
    cost = np.concatenate((np.zeros(n * n), np.ones(n)))
    once = np.zeros((n, size))
    room = np.zeros((n, size))
    for i in range(n):
        once[i, i * n : (i + 1) * n] = 1
        for j in range(n):
            room[j, i * n + j] = pieces[i] + saw
    for j in range(n):
        room[j, n * n + j] = -(rod + saw)
    answer = milp(
        cost,
        integrality=np.ones(size),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(once, 1, 1), LinearConstraint(room, -np.inf, 0)],
    )
    assert answer.success
    return round(answer.fun)


@given(st.lists(lengths, max_size=40), st.floats(0.0, 3.0))
def test_every_piece_is_cut_once_and_no_rod_is_too_short(pieces: list[float], saw: float) -> None:
    plan = cutting_plan(pieces, 300.0, saw)
    cut = [piece for rod in plan.rods for piece in rod]
    assert Counter(cut) + Counter(plan.too_long) == Counter(pieces)
    assert plan.too_long == ()
    for rod in plan.rods:
        assert sum(rod) + saw * (len(rod) - 1) <= 300.0 + 1e-3
        assert list(rod) == sorted(rod, reverse=True)
    assert plan.length_mm == pytest.approx(math.fsum(pieces))


@given(st.lists(lengths, max_size=30))
def test_a_piece_goes_into_the_first_rod_with_room(pieces: list[float]) -> None:
    # The plain method, rod by rod, is what the tree has to agree with.
    rods: list[list[float]] = []
    for piece in sorted(pieces, reverse=True):
        for rod in rods:
            if sum(rod) + piece + 1.0 * len(rod) <= 300.0 + 1e-9:
                rod.append(piece)
                break
        else:
            rods.append([piece])
    assert [list(rod) for rod in cutting_plan(pieces, 300.0, 1.0).rods] == rods


@pytest.mark.parametrize("seed", range(6))
def test_it_keeps_to_the_bound_on_first_fit_decreasing(seed: int) -> None:
    # 11/9 of the least and 6/9 of a rod: Dósa 2007. The least is found by another program.
    chance = np.random.default_rng(seed)
    pieces = [round(float(each), 1) for each in chance.uniform(40, 130, 9)]
    best = least_rods(pieces, 300.0, 1.0)
    assert best <= len(cutting_plan(pieces, 300.0, 1.0).rods) <= 11 / 9 * best + 6 / 9


def test_rods_cut_by_hand() -> None:
    # 4 x 74.25 + 3 x 1 = 300: four axles and three cuts are one rod to the hair.
    assert [len(rod) for rod in cutting_plan([74.25] * 9, 300.0, 1.0).rods] == [4, 4, 1]
    assert [len(rod) for rod in cutting_plan([74.26] * 9, 300.0, 1.0).rods] == [3, 3, 3]
    assert cutting_plan([60, 60, 250, 30], 300.0, 1.0).rods == ((250, 30), (60, 60))
    assert cutting_plan([300.0], 300.0, 1.0).rods == ((300.0,),)
    assert cutting_plan([], 300.0).rods == ()


def test_a_piece_longer_than_a_rod_is_told() -> None:
    plan = cutting_plan([310.0, 50.0, 400.0], 300.0, 1.0)
    assert plan.too_long == (400.0, 310.0)
    assert plan.rods == ((50.0,),)


@pytest.mark.parametrize(("rod", "saw"), [(0.0, 1.0), (-1.0, 1.0), (300.0, -0.1)])
def test_rods_that_cannot_be(rod: float, saw: float) -> None:
    with pytest.raises(ValueError, match="cannot be cut"):
        cutting_plan([10.0], rod, saw)


def test_many_pieces_take_time_in_proportion() -> None:
    # Rod by rod this would be a hundred million steps.
    plan = cutting_plan([50.0 + (number * 37 % 400) / 10 for number in range(40_000)], 300.0, 1.0)
    assert sum(map(len, plan.rods)) == 40_000

"""What the lift balance means."""

from __future__ import annotations

import math

import pytest

from bodyshop.physics.lift import (
    AxleLoadChange,
    AxleLoads,
    axle_loads,
    leaves_at,
    lift_balance,
    shifted_by_push,
)
from bodyshop.physics.model import Basis, Estimate, Law

CAR = AxleLoads(100.0, 170.0, 50.0, 220.0)


def lift(value: float, sd: float = 0.001) -> Estimate:
    return Estimate(value, sd, "read", Basis.MEASURED, Law.PLAIN)


def test_loads_by_the_lever_rule() -> None:
    # 100 g, 120 mm behind the front axle of a wheelbase of 170 mm: the front carries 50/170 of 0.981 N.
    front, rear = axle_loads(CAR)
    assert front == pytest.approx(0.980665 * 50 / 170)
    assert front + rear == pytest.approx(0.980665)


def test_scaled_with_the_square_of_the_speed() -> None:
    balance = lift_balance(lift(0.01), lift(0.01), 10.0, 20.0, CAR)
    assert balance.front.race_n.value == pytest.approx(0.04)
    assert balance.front.race_n.sd == pytest.approx(0.004)


def test_the_speed_of_leaving_the_ground() -> None:
    balance = lift_balance(lift(0.02), lift(0.02), 10.0, 20.0, CAR)
    left = balance.front.leaves_m_s
    assert left is not None
    assert left.value == pytest.approx(10 * math.sqrt(balance.front.load_n / 0.02))
    assert left.low < left.value < left.high
    # At that speed the lift is the load.
    there = lift_balance(lift(0.02), lift(0.02), 10.0, left.value, CAR)
    assert there.front.race_n.value == pytest.approx(there.front.load_n)
    assert leaves_at(1.0, 1.0, 7.0) == 7.0


def test_an_axle_that_is_not_surely_lifted_may_never_leave() -> None:
    left = lift_balance(lift(0.001, 0.01), lift(0.02), 10.0, 20.0, CAR).front.leaves_m_s
    assert left is not None
    assert math.isinf(left.high)


@pytest.mark.parametrize(
    ("front", "rear", "equal", "small", "negative"),
    [
        (0.004, 0.004, True, True, False),
        (0.0005, 0.002, True, True, False),  # next to nothing, both
        (0.004, 0.010, False, True, False),
        (0.04, 0.042, True, False, False),
        (-0.02, 0.004, False, False, True),
    ],
)
def test_against_common_practice(front, rear, equal, small, negative) -> None:
    # Front and rear about equal, small, not negative: common practice, no published source.
    balance = lift_balance(lift(front, 1e-5), lift(rear, 1e-5), 15.0, 20.0, CAR)
    assert (balance.equal, balance.small, balance.negative) == (equal, small, negative)
    assert balance.by_practice is (equal and small and not negative)


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (0.2, AxleLoadChange.LEAVES),
        (0.02, AxleLoadChange.LIGHT),
        (0.001, AxleLoadChange.SMALL),
        (-0.05, AxleLoadChange.PRESSED),
    ],
)
def test_how_light_an_axle_grows(read, words) -> None:
    assert lift_balance(lift(read), lift(0.001), 10.0, 20.0, CAR).front.lightness is words


def test_what_cannot_be_is_questioned() -> None:
    flying = lift_balance(lift(3.0), lift(0.1), 12.0, 20.0, CAR)
    assert "more than the car's weight" in flying.doubts[0]
    front = lift_balance(lift(0.5), lift(0.0), 12.0, 20.0, CAR)
    assert "more than the" in front.doubts[0]
    pressed = lift_balance(lift(-2.0), lift(0.0), 12.0, 20.0, CAR)
    assert "presses down by more than the car weighs" in pressed.doubts[0]
    tipped = lift_balance(lift(0.01), lift(0.01), 12.0, 20.0, AxleLoads(100, 240, 50, 220))
    assert any("would tip" in doubt for doubt in tipped.doubts)
    assert tipped.front.lightness is AxleLoadChange.LEAVES
    assert not lift_balance(lift(0.01), lift(0.01), 12.0, 20.0, CAR).doubts


def test_a_push_over_the_balance_point_loads_the_front() -> None:
    # 10 N, 6 mm above, 150 mm wheelbase: 0.4 N by moments.
    assert shifted_by_push(10.0, 6.0, 150.0) == pytest.approx(0.4)

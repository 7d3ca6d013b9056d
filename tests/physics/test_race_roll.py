"""Rolling friction from the roll test."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.foundation.constants import GRAVITY_M_S2
from bodyshop.physics.model import Basis, Estimate, Law
from bodyshop.physics.roll import (
    FLOOR_FALL,
    HEIGHT_SD_M,
    Roll,
    RollConditions,
    impossible,
    rolling_friction,
    run_out_m,
    simple_friction,
    solve_friction,
    speed_at_foot_m_s,
)

RAMP = 0.15 / math.sin(math.radians(15))
K = 1.2 * 9e-4


def known(value: float, share: float = 0.0) -> Estimate:
    return Estimate(value, share * value, "given", Basis.GIVEN)


CAR = RollConditions(known(0.080, 0.001), known(0.002), known(9e-4, 0.3), known(1.2, 0.01))


def roll_of(friction: float, fall: float = 0.0, error: float = 0.0, direction: str = "") -> Roll:
    foot = speed_at_foot_m_s(friction, 0.15, RAMP, 0.08, 0.002, K)
    return Roll(0.15, RAMP, float(run_out_m(friction, foot, 0.08, 0.002, K, fall)) + error, direction)


def test_the_check_value() -> None:
    # Study of this method: friction 0.02, ramp of 0.15 m at 15 degrees, 80 g: 6.6 m, and height over the
    # whole way reads 4 % high.
    roll = roll_of(0.02)
    assert roll.run_out_m == pytest.approx(6.6, abs=0.05)
    assert simple_friction(roll) / 0.02 == pytest.approx(1.04, abs=0.01)


def test_a_worked_example() -> None:
    # 60 g, m_e/m 1.05, height 0.30 over 0.5 m level, friction 0.015, drag area 1e-3 in 1.2041: 2.337 m/s at
    # the foot without drag on the ramp, then 16.57 m, 19.50 without drag; height over all gives 0.01757.
    foot = float(speed_at_foot_m_s(0.015, 0.30, math.hypot(0.3, 0.5), 0.06, 0.003, 0.0))
    assert foot == pytest.approx(2.337, abs=1e-3)
    far = float(run_out_m(0.015, foot, 0.06, 0.003, 1.2041e-3))
    assert far == pytest.approx(16.57, abs=0.02)
    assert float(run_out_m(0.015, foot, 0.06, 0.003, 0.0)) == pytest.approx(19.50, abs=0.02)
    assert simple_friction(Roll(0.30, math.hypot(0.3, 0.5), far)) == pytest.approx(0.01757, abs=1e-5)


@pytest.mark.parametrize("friction", [0.002, 0.01, 0.02, 0.05, 0.15])
@pytest.mark.parametrize("fall", [0.0, 0.001, -0.002])
def test_there_and_back(friction, fall) -> None:
    foot = speed_at_foot_m_s(friction, 0.15, RAMP, 0.08, 0.002, K)
    far = run_out_m(friction, foot, 0.08, 0.002, K, fall)
    assert float(solve_friction(0.15, RAMP, far, 0.08, 0.002, K, fall)) == pytest.approx(friction, rel=1e-9)


def test_without_air_it_is_height_over_way() -> None:
    # Energy balance of a ramp, in which mass and wheels cancel.
    roll = Roll(0.2, 0.8, 5.0)
    for inertia in (0.0, 0.004):
        found = float(solve_friction(0.2, 0.8, 5.0, 0.08, inertia, 0.0))
        assert found == pytest.approx(simple_friction(roll), rel=1e-9)


def test_the_energy_is_all_there() -> None:
    result = rolling_friction([roll_of(0.02)], CAR)
    energy = result.rolls[0].energy
    assert energy.height == pytest.approx(0.08 * GRAVITY_M_S2 * 0.15)
    assert energy.friction + energy.air == pytest.approx(energy.height)
    # What the air took, integrated along the way: half rho CdA v^2 over the distance.
    v0 = result.rolls[0].foot_m_s
    m_e, brake = 0.082, 0.02 * 0.08 * GRAVITY_M_S2
    x = np.linspace(0, result.rolls[0].roll.run_out_m, 20_001)
    square = (v0**2 + 2 * brake / K) * np.exp(-K * x / m_e) - 2 * brake / K
    flat = float(np.trapezoid(0.5 * K * square, x))
    s = np.linspace(0, RAMP, 20_001)
    push = 2 * GRAVITY_M_S2 * 0.08 / m_e * (math.sin(math.radians(15)) - 0.02 * math.cos(math.radians(15)))
    ramp = float(np.trapezoid(0.5 * K * push * (1 - np.exp(-K / m_e * s)) / (K / m_e), s))
    assert energy.air == pytest.approx(flat + ramp, rel=1e-4)


def test_both_ways_takes_the_slope_out() -> None:
    there, back = (roll_of(0.02, 0.002, direction="there"), roll_of(0.02, -0.002, direction="back"))
    result = rolling_friction([there, back, there, back], CAR)
    assert result.both_ways
    assert result.estimate.value == pytest.approx(0.02, rel=0.01)
    assert result.floor_fall == pytest.approx(0.002, rel=0.05)
    one_way = rolling_friction([there, there, there, there], CAR)
    assert one_way.estimate.value < 0.0185
    assert one_way.floor_fall is None
    causes, one_causes = dict(result.causes), dict(one_way.causes)
    assert causes["the floor's slope"] < 0.05 * one_causes["the floor's slope"]


def test_a_way_counts_the_same_however_often_it_was_rolled() -> None:
    there, back = (roll_of(0.02, 0.002, direction="there"), roll_of(0.02, -0.002, direction="back"))
    result = rolling_friction([there] * 7 + [back] * 2, CAR)
    assert result.estimate.value == pytest.approx(0.02, rel=0.01)


def test_the_slope_alone() -> None:
    # The study: 1 mm in a metre is 4.7 % of a friction of 0.02.
    causes = dict(rolling_friction([roll_of(0.02)] * 5, CAR).causes)
    assert causes["the floor's slope"] / 0.02 == pytest.approx(0.047, abs=0.004)


def test_the_interval_against_draws() -> None:
    rng = np.random.default_rng(3)
    n = 4000
    base = roll_of(0.02)
    drawn = solve_friction(
        0.15 + HEIGHT_SD_M * rng.standard_normal(n),
        RAMP,
        base.run_out_m + base.reading_sd_m * rng.standard_normal(n),
        0.08,
        0.002,
        1.2 * CAR.cda_m2.draw(rng.standard_normal(n)),
        FLOOR_FALL * rng.standard_normal(n),
    )
    assert rolling_friction([base], CAR).estimate.sd == pytest.approx(float(drawn.std()), rel=0.05)


def test_repeats_are_kept() -> None:
    rolls = [roll_of(0.02, error=e) for e in (-0.1, 0.05, 0.0, 0.1, -0.05)]
    result = rolling_friction(rolls, CAR)
    assert result.series.count == 5
    assert result.series.spread is not None
    assert result.estimate.law is Law.POSITIVE
    calm = rolling_friction([roll_of(0.02)] * 5, CAR)
    assert calm.estimate.sd < result.estimate.sd


def test_what_cannot_be() -> None:
    assert "not as high" in impossible(Roll(0.7, 0.6, 5.0))
    assert "past the foot" in impossible(Roll(0.1, 0.6, 0.0))
    assert impossible(Roll(0.1, 0.6, 3.0)) == ""


def test_what_can_hardly_be_is_questioned() -> None:
    assert "so easily" in rolling_friction([Roll(0.15, RAMP, 2000.0)], CAR).doubts[0]
    assert "rubbed or stuck" in rolling_friction([Roll(0.15, 0.25, 0.05)], CAR).doubts[0]
    ways = [roll_of(0.03, 0.008, direction="a"), roll_of(0.03, -0.008, direction="b")]
    assert "8 mm in a metre" in rolling_friction(ways, CAR).doubts[0]
    assert not rolling_friction([roll_of(0.02)], CAR).doubts


def test_a_floor_that_falls_too_much_is_endless() -> None:
    assert math.isinf(float(run_out_m(0.01, 1.0, 0.08, 0.002, K, 0.02)))

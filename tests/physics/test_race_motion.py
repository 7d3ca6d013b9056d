from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.foundation.constants import GRAVITY_M_S2
from bodyshop.physics import motion
from bodyshop.physics.cartridge import TableThrust
from bodyshop.physics.motion import CarDraw, coast_speed_squared, coast_time, run
from tests.physics.race_cases import car, gas, one, raced, setup, steady_push


def test_constant_thrust_against_drag_is_a_tanh() -> None:
    # v = vt tanh(F t / (m vt)), x = (m vt² / F) ln cosh(F t / (m vt)), vt = sqrt(2 F / (rho CdA)): the
    # falling body with quadratic drag, in every mechanics textbook, turned level.
    force, mass, cda, rho, seconds = 3.0, 0.1, 2e-3, 1.2, 3.0
    top = math.sqrt(2 * force / (rho * cda))
    draw = CarDraw(one(100.0), one(0.0), one(cda), one(0.0), one(0.0), one(rho))
    for moment in (0.4, 1.0, 2.5):
        distance = mass * top**2 / force * math.log(math.cosh(force * moment / (mass * top)))
        found = raced(draw, steady_push(force, seconds), distance)
        assert found.finish_s[0] == pytest.approx(moment, abs=2e-7)
        assert found.line_m_s[0] == pytest.approx(top * math.tanh(force * moment / (mass * top)), rel=1e-6)


def test_wheels_count_as_mass_that_does_not_weigh() -> None:
    heavy = CarDraw(one(100.0), one(20.0), one(1e-9), one(0.05), one(0.0), one(1.2))
    found = raced(heavy, steady_push(2.0, 5.0), 10.0)
    pull = (2.0 - 0.05 * 0.1 * GRAVITY_M_S2) / 0.12
    assert found.finish_s[0] == pytest.approx(math.sqrt(2 * 10.0 / pull), rel=1e-6)


def test_coasting_with_drag_alone_is_a_log() -> None:
    # x = (m/k) ln(1 + k v0 t/m), v = v0 / (1 + k v0 t/m), k = ½ rho CdA: textbook
    k_over_m = np.array([0.5 * 1.2 * 1e-3 / 0.08])
    speed, moment = one(22.0), 0.9
    way = np.log(1 + k_over_m * speed * moment) / k_over_m
    after = np.sqrt(coast_speed_squared(speed, k_over_m, one(0.0), way))
    assert after[0] == pytest.approx(22.0 / (1 + k_over_m[0] * 22.0 * moment), rel=1e-12)
    assert coast_time(speed, after, k_over_m, one(0.0), way)[0] == pytest.approx(moment, rel=1e-9)


def test_coasting_with_friction_alone_is_a_parabola() -> None:
    after = np.sqrt(coast_speed_squared(one(5.0), one(0.0), one(0.3), one(12.0)))
    assert after[0] == pytest.approx(math.sqrt(25.0 - 2 * 0.3 * 12.0), rel=1e-12)
    assert coast_time(one(5.0), after, one(0.0), one(0.3), one(12.0))[0] == pytest.approx(
        (5.0 - after[0]) / 0.3, rel=1e-12
    )


def test_coasting_without_anything_takes_distance_over_speed() -> None:
    after = np.sqrt(coast_speed_squared(one(5.0), one(0.0), one(0.0), one(12.0)))
    assert coast_time(one(5.0), after, one(0.0), one(0.0), one(12.0))[0] == pytest.approx(2.4, rel=1e-12)


def test_no_car_beats_the_rocket_equation() -> None:
    # dv = c ln(m0 / m1) without drag and friction, where thrust is c times the flow
    jet, seconds, gone = 200.0, 0.3, 8.0
    force = jet * gone * 1e-3 / seconds
    free = CarDraw(one(60.0), one(0.0), one(1e-12), one(0.0), one(0.0), one(1.2))
    push = steady_push(force, seconds, gone, nodes=31)
    bound = jet * math.log(60.0 / 52.0)
    assert raced(free, push).top_m_s[0] == pytest.approx(bound, rel=1e-6)
    real = CarDraw(one(60.0), one(2.0), one(9e-4), one(0.03), one(0.01), one(1.2))
    assert raced(real, push).top_m_s[0] < bound


def test_a_finer_step_moves_a_race_by_less_than_three_hundredths_of_a_millisecond(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    push = TableThrust().push(gas(hole_mm=1.2))
    coarse = raced(car(116.0), push).finish_s[0]
    monkeypatch.setattr(motion, "LONGEST_S", 0.0005)
    assert raced(car(116.0), push).finish_s[0] == pytest.approx(coarse, abs=3e-5)


def test_gates_lie_on_the_way_and_the_line_may_come_while_gas_still_leaves() -> None:
    long = raced(car(), gates=(0.5, 2.0, 5.0, 10.0))
    assert np.all(np.diff(long.gates_s[:, 0]) > 0)
    for k, gate in enumerate((0.5, 2.0, 5.0, 10.0)):
        short = raced(car(), length_m=gate)
        assert short.finish_s[0] == pytest.approx(long.gates_s[k, 0], rel=1e-9)
        assert short.line_m_s[0] == pytest.approx(long.gates_m_s[k, 0], rel=1e-9)
        assert short.top_m_s[0] <= long.top_m_s[0] + 1e-9
    early = raced(car(), length_m=0.5)
    assert early.top_m_s[0] == pytest.approx(early.line_m_s[0])


def test_a_car_that_stops_short_has_no_time() -> None:
    found = raced(car(116.0, rolling=0.4), length_m=60.0, gates=(2.0, 50.0))
    assert np.isnan(found.finish_s[0])
    assert np.isnan(found.gates_s[1, 0])
    assert found.gates_s[0, 0] > 0
    assert 2.0 < found.reached_m[0] < 50.0
    assert found.finishes[0] == 0.0


def test_a_car_that_friction_holds_does_not_go_backwards() -> None:
    found = raced(car(rolling=0.5), steady_push(0.05, 0.2))
    assert found.reached_m[0] == 0.0
    assert found.top_m_s[0] == 0.0


def test_many_at_once_are_each_alone() -> None:
    masses = np.array([40.0, 80.0, 160.0])
    many = CarDraw(masses + 29.0, *(np.full(3, float(x)) for x in (2.0, 9e-4, 0.03, 0.01, 1.2)))
    together = run(TableThrust().push(gas()), many, 20.0, (5.0,))
    for k, mass in enumerate(masses):
        alone = raced(car(mass, line_n=0.01), gates=(5.0,))
        assert together.finish_s[k] == pytest.approx(alone.finish_s[0], rel=1e-12)
        assert together.gates_s[0, k] == pytest.approx(alone.gates_s[0, 0], rel=1e-12)


def test_a_long_step_of_a_curve_is_cut_up() -> None:
    few, many = steady_push(3.0, 1.0), steady_push(3.0, 1.0, nodes=400)
    assert raced(car(), few).finish_s[0] == pytest.approx(raced(car(), many).finish_s[0], abs=1e-8)


def test_the_reference_setup_is_the_reference_car() -> None:
    held = setup().car
    assert (held.mass_g.value, held.cda_m2.value) == (50.0, 9e-4)

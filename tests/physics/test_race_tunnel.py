"""What the drag balance's reading means."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.physics.air import air_of_the_day, standard_air
from bodyshop.physics.model import Law
from bodyshop.physics.tunnel import DragReading, Force, blockage, drag_area, net_force


def reading(shown: float, speed: float = 10.0, **more: float) -> DragReading:
    return DragReading(Force(shown, **more), speed, standard_air())


def test_a_published_reading() -> None:
    # A school car: 0.076 N at 10 m/s, hence 12.6 cm2 in air of 1.2041 kg/m3 (published report; the unit
    # is not printed there, N assumed).
    air = air_of_the_day(20, 1013.25, 0)
    found = drag_area([DragReading(Force(0.076), 10.0, air)])
    assert found.estimate.value == pytest.approx(1.26e-3, rel=5e-3)


def test_zero_and_unit() -> None:
    # One gram-force is 9.80665 mN; 8 gf over a zero of 1 gf at 10 m/s on the standard day.
    found = drag_area([reading(8 * 9.80665e-3, zero_n=9.80665e-3)])
    assert found.estimate.value == pytest.approx(7 * 9.80665e-3 / (0.5 * 1.225 * 100))


def test_the_speed_counts_twice() -> None:
    found = drag_area([reading(0.08)], speed_share=0.05)
    assert found.estimate.sd / found.estimate.value == pytest.approx(0.10, rel=1e-3)


def test_flicker_is_a_level_spread() -> None:
    # GUM 4.3.7: width over the root of twelve.
    force = net_force(Force(0.08, 0.0, 0.07, 0.09))
    assert force.sd == pytest.approx(0.02 / math.sqrt(12))
    off = net_force(Force(0.085, 0.0, 0.07, 0.09))
    assert off.sd > force.sd


def test_propagation_against_draws() -> None:
    rng = np.random.default_rng(1)
    n = 200_000
    force = rng.uniform(0.07, 0.09, n)
    speed = 10.0 * (1 + 0.03 * rng.standard_normal(n))
    air = air_of_the_day(20, 1000)
    density = air.density_kg_m3.value + air.density_kg_m3.sd * rng.standard_normal(n)
    drawn = force / (0.5 * density * speed**2)
    found = drag_area([DragReading(Force(0.08, 0.0, 0.07, 0.09), 10.0, air)])
    assert found.estimate.sd == pytest.approx(float(drawn.std()), rel=0.03)


def test_repeats_are_kept_and_what_they_share_does_not_average_out() -> None:
    many = drag_area([reading(v) for v in (0.078, 0.080, 0.082, 0.079, 0.081) * 8])
    assert many.series.count == 40
    assert many.estimate.sd / many.estimate.value > 0.06  # twice 3 % of the speed


def test_equal_readings_of_a_coarse_balance_are_no_finer_than_it() -> None:
    coarse = drag_area([reading(0.08, resolution_n=0.02)] * 3, speed_share=0.0)
    step = 0.02 * math.sqrt(2 / 12) / (0.5 * 1.225 * 100)
    assert coarse.estimate.sd == pytest.approx(step, rel=1e-3)


def test_blockage_lowers_and_widens() -> None:
    # A quarter of the filled share is added to the speed (Barlow, Rae and Pope, from memory).
    filled, lowered = blockage(2700, 90_000)
    assert filled == pytest.approx(0.03)
    assert lowered == pytest.approx(1 - 1 / 1.0075**2)
    free, shut = drag_area([reading(0.08)]), drag_area([reading(0.08)], 2700, 90_000)
    assert shut.estimate.value == pytest.approx(free.estimate.value * (1 - lowered))
    assert shut.estimate.sd / shut.estimate.value > free.estimate.sd / free.estimate.value
    assert free.filled is None
    assert shut.filled == pytest.approx(0.03)


def test_what_cannot_be_is_questioned_and_does_not_crash() -> None:
    backwards = drag_area([reading(-0.02)], 2700)
    assert "pull a car forward" in backwards.doubts[0]
    assert backwards.estimate.law is Law.PLAIN
    nothing = drag_area([reading(0.0)], 2700)
    assert nothing.doubts
    assert nothing.estimate.interval().low == nothing.estimate.interval().high == 0.0
    # 4 kg read as 4 gf: twice the frontal area is no car's.
    huge = drag_area([reading(39.0)], 2700)
    assert "twice the car's frontal area" in huge.doubts[0]
    assert not drag_area([reading(0.08)], 2700).doubts
    askew = drag_area([reading(0.08, lowest_n=0.09, highest_n=0.10)], 2700)
    assert "between its own lowest and highest" in askew.doubts[0]


def test_a_figure_that_may_be_nothing_is_not_taken_as_positive() -> None:
    assert drag_area([reading(0.01, lowest_n=-0.03, highest_n=0.05)]).estimate.law is Law.PLAIN
    assert drag_area([reading(0.08)]).estimate.law is Law.POSITIVE

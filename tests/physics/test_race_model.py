from __future__ import annotations

import math
from statistics import NormalDist

import numpy as np
import pytest

from bodyshop.physics.model import Basis, Estimate, Law, Push


def test_a_log_normal_figure_has_the_median_and_the_spread_it_names() -> None:
    held = Estimate(10.0, 4.0, "a test", Basis.GIVEN)
    normal = NormalDist()
    draws = held.draw(np.array([normal.inv_cdf((k + 0.5) / 20000) for k in range(20000)]))
    assert np.median(draws) == pytest.approx(10.0, rel=1e-3)
    assert draws.std() == pytest.approx(4.0, rel=0.01)
    assert draws.min() > 0


def test_a_range_comes_back_as_its_interval() -> None:
    held = Estimate.between(1.2, 2.7, "a test", Basis.ASSUMED)
    found = held.interval()
    assert found.low == pytest.approx(1.2)
    assert found.high == pytest.approx(2.7)
    assert found.value == pytest.approx(math.sqrt(1.2 * 2.7))


def test_a_normal_figure_may_be_below_nothing() -> None:
    found = Estimate(1.0, 2.0, "a test", Basis.GIVEN, Law.PLAIN).interval()
    assert found.low == pytest.approx(1.0 - 2 * 1.959964)


def test_exact_and_zero_have_no_width() -> None:
    for held in (Estimate.exact(3.0, "a test"), Estimate(0.0, 0.0, "a test", Basis.DESIGN)):
        found = held.interval()
        assert found.low == found.value == found.high


def test_scaled_and_shifted() -> None:
    held = Estimate(10.0, 1.0, "a test", Basis.GIVEN)
    assert (held.scaled(2.0).value, held.scaled(2.0).sd) == (20.0, 2.0)
    assert (held.shifted(-1.0).value, held.shifted(-1.0).sd) == (9.0, 1.0)


def test_an_impulse_is_the_area_under_the_curve() -> None:
    push = Push(np.array([[0.0, 0.1, 0.1, 0.3]]), np.array([[0.0, 10.0, 4.0, 0.0]]), np.zeros((1, 4)))
    assert push.impulse_ns[0] == pytest.approx(0.5 + 0.4)

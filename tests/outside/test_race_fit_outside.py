"""The class's fit against a known truth, and against scipy's least squares on the same sum."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from bodyshop.physics.cartridge import TableThrust
from bodyshop.physics.classfit import Solver, fit_class
from tests.physics.classruns import ClassTruth, PlainThrust, class_runs, known_cartridge


def test_the_most_probable_point_is_that_of_scipy() -> None:
    runs = class_runs(np.random.default_rng(11), ClassTruth(1.06, 2.2), (5.0, 20.0), cars=4, each=2)
    fitted = fit_class(runs)
    assert fitted is not None
    solver = Solver(runs, TableThrust())
    best = np.log([fitted.impulse_factor.value, fitted.hole_mm.value])
    root = np.linalg.cholesky(np.linalg.inv(solver.expected(best)[2])).T
    prior = known_cartridge()
    middle = np.log([prior.impulse_factor.value, prior.hole_mm.value])
    sds = np.array([prior.impulse_factor.tau, prior.hole_mm.tau])

    def misses(point):
        left = solver.measured - solver.expected(point)[0]
        return np.concatenate([root @ left, (point - middle) / sds])

    found = least_squares(misses, middle, xtol=1e-10)
    assert best == pytest.approx(found.x, abs=0.05 * min(sds[0], 0.01))
    covariance = np.linalg.inv(found.jac.T @ found.jac)
    if fitted.birge == 1.0:
        assert fitted.impulse_factor.tau == pytest.approx(math.sqrt(covariance[0, 0]), rel=0.05)
        assert fitted.hole_mm.tau == pytest.approx(math.sqrt(covariance[1, 1]), rel=0.05)
        correlation = covariance[0, 1] / math.sqrt(covariance[0, 0] * covariance[1, 1])
        assert fitted.coupling == pytest.approx(correlation, abs=0.05)


def test_fitted_intervals_hold_the_truth() -> None:
    """Synthetic classes with a known truth: 95 % intervals hold it in 90 to 98 % of 500 seeds."""
    held, thrust = np.zeros(2), PlainThrust()
    for seed in range(500):
        rng = np.random.default_rng(seed)
        prior = known_cartridge()
        factor, hole = (
            float(known.draw(np.array([rng.standard_normal()]))[0])
            for known in (prior.impulse_factor, prior.hole_mm)
        )
        runs = class_runs(rng, ClassTruth(factor, hole), (5.0, 20.0), cars=3, each=1, thrust=thrust)
        fitted = fit_class(runs, thrust)
        assert fitted is not None
        for k, (true, told) in enumerate(((factor, fitted.impulse_factor), (hole, fitted.hole_mm))):
            interval = told.interval()
            held[k] += interval.low <= true <= interval.high
    assert np.all(held / 500 >= 0.90)
    assert np.all(held / 500 <= 0.98)

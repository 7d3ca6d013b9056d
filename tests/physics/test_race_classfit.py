"""What a class's runs tell of its cartridges."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bodyshop.physics.classfit import TimedRun, fit_class
from bodyshop.physics.model import Estimate
from tests.physics.classruns import ClassTruth, class_runs, known_cartridge

FINISH = (20.0,)
GATES = (5.0, 20.0)


def test_a_class_without_noise_gives_its_truth_back() -> None:
    truth = ClassTruth(factor=0.95, hole_mm=2.1)
    fitted = fit_class(class_runs(None, truth, GATES, cars=6, each=2))
    assert fitted is not None
    assert fitted.impulse_factor.value == pytest.approx(0.95, rel=0.01)
    assert fitted.hole_mm.value == pytest.approx(2.1, rel=0.01)
    assert fitted.scatter_s < 0.003
    assert fitted.birge == 1.0


def test_a_gate_tells_the_puncture_and_a_finish_alone_does_not() -> None:
    # A study of 24 runs: impulse and puncture cannot be told apart from the finish alone; a gate at 5 m does.
    truth = ClassTruth(factor=1.03, hole_mm=1.7)
    alone, gated = (
        fit_class(class_runs(np.random.default_rng(4), truth, places, cars=8, each=3, masses=(80.0,)))
        for places in (FINISH, GATES)
    )
    assert alone is not None
    assert gated is not None
    prior = known_cartridge()
    assert not alone.hole_told
    assert "before" in alone.hole_mm.source
    assert alone.hole_mm.sd > 0.6 * prior.hole_mm.sd
    assert alone.coupling < -0.5
    assert gated.hole_told
    assert gated.hole_mm.sd < 0.2 * prior.hole_mm.sd
    assert gated.impulse_factor.sd < alone.impulse_factor.sd
    assert abs(gated.coupling) < 0.6


def test_more_runs_tell_more() -> None:
    truth = ClassTruth()
    few = fit_class(class_runs(np.random.default_rng(1), truth, GATES, cars=2, each=1))
    many = fit_class(class_runs(np.random.default_rng(1), truth, GATES, cars=12, each=2))
    assert few is not None
    assert many is not None
    prior = known_cartridge().impulse_factor.sd
    assert many.impulse_factor.sd < few.impulse_factor.sd < prior


def test_one_run_pulls_the_prior_only_a_little() -> None:
    fitted = fit_class(class_runs(np.random.default_rng(2), ClassTruth(factor=1.08), FINISH, cars=1, each=1))
    assert fitted is not None
    assert 1.0 < fitted.impulse_factor.value < 1.08
    assert fitted.birge == 1.0


def test_wild_times_widen_the_ranges_and_are_pointed_at() -> None:
    runs = class_runs(np.random.default_rng(3), ClassTruth(), GATES, cars=5, each=2)
    calm = fit_class(runs)
    wild = replace(runs[4], times=tuple((place, time + 0.4) for place, time in runs[4].times))
    upset = fit_class([*runs[:4], wild, *runs[5:]])
    assert calm is not None
    assert upset is not None
    assert not calm.far
    assert {missed.run for missed in upset.far} == {4}
    assert upset.birge > 1.5
    assert upset.impulse_factor.sd > 1.3 * calm.impulse_factor.sd


def test_drag_and_friction_stay_what_they_were() -> None:
    # Twice as unsure a drag area makes the impulse less sure: it is carried, not fitted.
    runs = class_runs(None, ClassTruth(), GATES, cars=5, each=2)
    unsure = [
        replace(
            run,
            numbers=replace(run.numbers, cda_m2=replace(run.numbers.cda_m2, sd=4 * run.numbers.cda_m2.sd)),
        )
        for run in runs
    ]
    sure, less = fit_class(runs), fit_class(unsure)
    assert sure is not None
    assert less is not None
    assert less.impulse_factor.sd > sure.impulse_factor.sd


def test_impulse_in_newton_seconds() -> None:
    # 8 g of CO2 at 20 degrees: 1.70 N s by the computed blow-down (study of this model).
    fitted = fit_class(class_runs(None, ClassTruth(factor=1.0, hole_mm=1.8), GATES, cars=4, each=1))
    assert fitted is not None
    assert fitted.impulse_ns.value == pytest.approx(1.70 * fitted.impulse_factor.value, abs=0.02)


def test_runs_that_would_not_come_so_far_are_left_out() -> None:
    runs = class_runs(None, ClassTruth(), FINISH, cars=2, each=1)
    stuck = replace(runs[0], numbers=replace(runs[0].numbers, line_n=Estimate.exact(4.0, "stuck")))
    fitted = fit_class([stuck, runs[1]])
    assert fitted is not None
    assert fitted.left_out == (0,)
    assert fitted.runs == 1
    assert fit_class([stuck]) is None
    assert fit_class([]) is None


def test_lanes_of_different_length_are_fitted_together() -> None:
    truth = ClassTruth(factor=0.97, hole_mm=1.6)
    runs: list[TimedRun] = [
        *class_runs(None, truth, (5.0, 20.0), cars=3, each=1),
        *class_runs(None, truth, (13.7,), cars=3, each=1),
    ]
    fitted = fit_class(runs)
    assert fitted is not None
    assert fitted.times == 9
    assert fitted.impulse_factor.value == pytest.approx(0.97, rel=0.01)

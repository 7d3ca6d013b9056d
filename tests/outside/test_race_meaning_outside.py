"""What measurements mean, against libraries and published figures that are not ours.

CoolProp (humid air by ASHRAE RP-1485), scipy (Student's t, rank correlation, integration, root finding),
ISO 2533:1975, and drag coefficients of simple bodies as the Aeronautical Engineer's Data Book (fig. 5.13b)
and Hoerner's Fluid-Dynamic Drag (1965, from memory) give them.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from CoolProp.HumidAirProp import HAPropsSI
from scipy import stats
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from bodyshop.foundation.constants import GRAVITY_M_S2
from bodyshop.foundation.statistics import repeats, t_quantile
from bodyshop.physics.air import air_of_the_day, viscosity_pa_s
from bodyshop.physics.drag import build_up_shape, laminar_friction, turbulent_friction
from bodyshop.physics.model import Basis, Estimate, Interval, Law
from bodyshop.physics.roll import (
    Roll,
    RollConditions,
    rolling_friction,
    run_out_m,
    solve_friction,
    speed_at_foot_m_s,
)
from bodyshop.physics.shape import CarShape, ForwardFace
from bodyshop.records.findings.prediction_check import rank_agreement, wilson

# ---------------------------------------------------------------- air


@pytest.mark.parametrize("celsius", [5.0, 15.0, 20.0, 30.0])
@pytest.mark.parametrize("hpa", [850.0, 1013.25, 1040.0])
@pytest.mark.parametrize("humidity", [0.0, 0.5, 1.0])
def test_density_of_humid_air(celsius, hpa, humidity) -> None:
    volume = HAPropsSI("Vha", "T", celsius + 273.15, "P", hpa * 100, "R", humidity)
    assert air_of_the_day(celsius, hpa, humidity).density_kg_m3.value == pytest.approx(1 / volume, rel=1e-3)


@pytest.mark.parametrize(
    ("height", "kelvin", "pascal", "density", "viscosity"),
    [
        # ISO 2533:1975, standard atmosphere.
        (0, 288.150, 101325.0, 1.22500, 1.7894e-5),
        (500, 284.900, 95461.3, 1.16727, 1.7737e-5),
        (1000, 281.651, 89876.3, 1.11166, 1.7578e-5),
        (2000, 275.154, 79501.4, 1.00655, 1.7260e-5),
    ],
)
def test_standard_atmosphere(height, kelvin, pascal, density, viscosity) -> None:
    air = air_of_the_day(kelvin - 273.15, pascal / 100, 0.0)
    assert air.density_kg_m3.value == pytest.approx(density, rel=1e-4)
    assert viscosity_pa_s(kelvin - 273.15) == pytest.approx(viscosity, rel=2e-4)


# ---------------------------------------------------------------- drag of simple bodies


def along_the_flow(ratio: float) -> CarShape:
    """A cylinder of 40 mm across, its end square to the air."""
    area = math.pi / 4 * 40**2
    return CarShape(
        40 * ratio, area, math.pi * 40 * 40 * ratio + 2 * area, (ForwardFace(area, math.pi / 2),), area
    )


def cone(apex_deg: float) -> CarShape:
    """Point first, 40 mm across at its base."""
    half = math.radians(apex_deg / 2)
    area, length = math.pi / 4 * 40**2, 20 / math.tan(half)
    skin = math.pi * 20 * math.hypot(20, length) + area
    return CarShape(length, area, skin, (ForwardFace(area, half),), area)


def hemisphere() -> CarShape:
    """Round side first: a ring at the angle t to the path has the frontal area 2 pi r^2 sin t cos t dt."""
    edges = np.linspace(0, math.pi / 2, 19)
    faces = tuple(
        ForwardFace(math.pi * 400 * (math.sin(b) ** 2 - math.sin(a) ** 2), math.pi / 2 - 0.5 * (a + b))
        for a, b in pairwise(edges)
    )
    area = math.pi * 400
    return CarShape(20, area, 2 * math.pi * 400 + area, faces, area)


def cube() -> CarShape:
    return CarShape(40, 1600, 6 * 1600, (ForwardFace(1600, math.pi / 2),), 1600)


def streamlined() -> CarShape:
    """A body of revolution of length over diameter 4, its nose a half ellipsoid, its tail closing gently."""
    area = math.pi * 400
    slopes = np.linspace(0.05, 0.95, 10)
    faces = tuple(ForwardFace(area / 10, math.atan(0.4 * s / math.sqrt(1 - s * s))) for s in slopes)
    return CarShape(160, area, 0.78 * math.pi * 40 * 160, faces, 0.0)


def coefficients(shape: CarShape) -> tuple[float, float, float]:
    """Outer ends and middle of the drag coefficient on the frontal area, at 15 m/s."""
    built = build_up_shape(shape, speed_m_s=15.0)
    scale = 1e6 / shape.frontal_mm2
    return built.low_m2 * scale, built.middle_m2 * scale, built.high_m2 * scale


@pytest.mark.parametrize(
    ("shape", "published"),
    [
        pytest.param(along_the_flow(1), 0.91, id="cylinder 1"),
        pytest.param(along_the_flow(2), 0.85, id="cylinder 2"),
        pytest.param(along_the_flow(4), 0.87, id="cylinder 4"),
        pytest.param(along_the_flow(7), 0.99, id="cylinder 7"),
        pytest.param(cone(60), 0.51, id="cone 60"),
        pytest.param(cone(30), 0.34, id="cone 30"),
        pytest.param(cube(), 1.05, id="cube"),
        pytest.param(hemisphere(), 0.42, id="hemisphere"),
        pytest.param(streamlined(), 0.07, id="streamlined"),
    ],
)
def test_published_bodies_lie_inside_the_build_up(shape, published) -> None:
    low, middle, high = coefficients(shape)
    assert low <= published <= high
    # And not by being endlessly wide. Smooth bodies lie below the middle: their suction is in the low end.
    assert abs(middle - published) <= max(0.15, 0.2 * published)
    assert high - low < 0.8


def test_the_order_of_bodies_is_the_published_one() -> None:
    middles = [
        coefficients(shape)[1] for shape in (streamlined(), cone(30), cone(60), along_the_flow(4), cube())
    ]
    assert middles == sorted(middles)


def test_friction_lines() -> None:
    # Blasius and ITTC 1957 at the Reynolds numbers of 305 mm at 10, 15, 20 and 25 m/s.
    table = {2.018e5: (0.002956, 0.006866), 3.028e5: (0.002414, 0.006189), 4.037e5: (0.002090, 0.005768)}
    table[5.046e5] = (0.001869, 0.005470)
    for number, (laminar, turbulent) in table.items():
        assert laminar_friction(number) == pytest.approx(laminar, rel=5e-4)
        assert turbulent_friction(number) == pytest.approx(turbulent, rel=5e-4)


# ---------------------------------------------------------------- roll test


@pytest.mark.parametrize("friction", [0.01, 0.02, 0.04])
@pytest.mark.parametrize("cda", [5e-4, 1.5e-3])
def test_the_roll_integrated(friction, cda) -> None:
    ramp, height, mass, inertia, density, fall = 0.8, 0.25, 0.09, 0.005, 1.19, 0.0015
    sine = height / ramp
    cosine = math.sqrt(1 - sine**2)

    def motion(on_ramp: bool):
        def slope(_: float, y):
            g_part = (sine - friction * cosine) if on_ramp else -(friction - fall)
            pull = mass * GRAVITY_M_S2 * g_part - 0.5 * density * cda * y[1] ** 2
            return [y[1], pull / (mass + inertia)]

        return slope

    def foot(_: float, y):
        return y[0] - ramp

    def stands(_: float, y):
        return y[1]

    foot.terminal = stands.terminal = True  # type: ignore[attr-defined]
    down = solve_ivp(motion(True), (0, 30), [0.0, 0.0], events=foot, rtol=1e-10, atol=1e-12)
    speed = float(down.y[1, -1])
    out = solve_ivp(motion(False), (0, 200), [0.0, speed], events=stands, rtol=1e-10, atol=1e-12)
    far = float(out.y_events[0][0][0])
    drag = density * cda
    assert float(speed_at_foot_m_s(friction, height, ramp, mass, inertia, drag)) == pytest.approx(
        speed, rel=1e-7
    )
    assert float(run_out_m(friction, speed, mass, inertia, drag, fall)) == pytest.approx(far, rel=1e-6)
    assert float(solve_friction(height, ramp, far, mass, inertia, drag, fall)) == pytest.approx(
        friction, rel=1e-6
    )

    def miss(mu: float) -> float:
        v = speed_at_foot_m_s(mu, height, ramp, mass, inertia, drag)
        return float(run_out_m(mu, v, mass, inertia, drag, fall)) - far

    assert brentq(miss, 0.002, 0.2, xtol=1e-12) == pytest.approx(friction, rel=1e-6)


def test_roll_intervals_hold_the_truth() -> None:
    """Synthetic rolls with a known truth: 95 % intervals hold it in 90 to 98 % of 500 seeds."""
    ramp = 0.6
    held = 0
    for seed in range(500):
        rng = np.random.default_rng(seed)
        z = rng.standard_normal(4)
        friction = float(np.exp(math.log(0.02) + 0.4 * z[0]))
        cda = Estimate(9e-4, 2e-4, "estimated", Basis.PUBLISHED)
        true_cda = float(cda.draw(np.array([z[1]]))[0])
        true_height, fall = 0.15 + 1.5e-3 * z[2], 1e-3 * z[3]
        if friction <= fall:
            continue
        foot = speed_at_foot_m_s(friction, true_height, ramp, 0.08, 0.004, 1.2 * true_cda)
        far = float(run_out_m(friction, foot, 0.08, 0.004, 1.2 * true_cda, fall))
        rolls = [Roll(0.15, ramp, far + 0.02 * float(rng.standard_normal()), "one way") for _ in range(3)]
        given = RollConditions(
            Estimate(0.08, 1e-4, "weighed", Basis.MEASURED, Law.PLAIN),
            Estimate(0.004, 0.0, "known", Basis.GIVEN),
            cda,
            Estimate(1.2, 0.005, "read", Basis.MEASURED, Law.PLAIN),
        )
        interval = rolling_friction(rolls, given).estimate.interval()
        held += interval.low <= friction <= interval.high
    assert 0.90 <= held / 500 <= 0.98


# ---------------------------------------------------------------- repeats, ranks, shares


def test_students_t() -> None:
    for freedom in (1, 2, 3, 4, 7, 12, 29, 60, 199):
        for share in (0.8, 0.95, 0.975, 0.995):
            assert t_quantile(share, freedom) == pytest.approx(stats.t.ppf(share, freedom), rel=1e-12)


def test_the_interval_of_a_mean() -> None:
    values = [1.031, 1.044, 1.029, 1.052, 1.040]
    held = Interval.of_mean(repeats(values))
    low, high = stats.t.interval(0.95, 4, np.mean(values), stats.sem(values))
    assert held is not None
    assert (held.low, held.high) == pytest.approx((low, high))


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("n", [3, 4, 6, 8, 9, 15, 24])
@pytest.mark.parametrize("tied", [False, True])
def test_rank_correlation(seed, n, tied) -> None:
    rng = np.random.default_rng(1000 * n + seed)
    one, other = rng.permutation(n).astype(float), rng.permutation(n).astype(float)
    if tied:
        other = np.floor(other / 2)
    found = rank_agreement(one.tolist(), other.tolist())
    assert found is not None
    assert found.spearman == pytest.approx(stats.spearmanr(one, other).statistic)
    kendall = stats.kendalltau(one, other, alternative="greater")
    assert found.kendall == pytest.approx(kendall.statistic)
    if not tied or n > 8:
        # Small tied cases are counted here, and taken by the normal law there.
        assert found.chance == pytest.approx(kendall.pvalue, rel=1e-9, abs=1e-12)
    else:
        counted = (
            stats.permutation_test(
                (other,),
                lambda x: stats.kendalltau(one, x).statistic,
                permutation_type="pairings",
                alternative="greater",
                n_resamples=np.inf,
            )
            if n <= 4
            else None
        )
        if counted is not None:
            assert found.chance == pytest.approx(counted.pvalue)


@pytest.mark.parametrize(("held", "count"), [(0, 1), (1, 1), (9, 10), (5, 5), (37, 60)])
def test_wilsons_interval(held, count) -> None:
    told = wilson(held, count)
    outside = stats.binomtest(held, count).proportion_ci(0.95, method="wilson")
    assert (told.low, told.high) == pytest.approx((outside.low, outside.high), abs=1e-12)

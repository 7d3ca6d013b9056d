"""A race predicted: drawn many times over with every figure inside its spread, and told as intervals.

The draws are a Latin hypercube (McKay, Beckman and Conover, Technometrics 21 (1979) 239) with a fixed seed:
each figure's range is cut into as many equally likely slices as there are draws, and each slice is used
once. The same setup gives the same intervals on any machine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from statistics import NormalDist
from typing import Final

import numpy as np

from bodyshop.physics.cartridge import GasDraw
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import CONFIDENCE, Array, Interval, Push
from bodyshop.physics.motion import CarDraw, Runs, run

__all__ = [
    "SAMPLES",
    "SEED",
    "Cause",
    "Difference",
    "Gate",
    "Prediction",
    "compare",
    "compare_all",
    "deviates",
    "predict",
    "simulate",
]

SAMPLES: Final = 4000
SEED: Final = 20

_FACTORS: Final = tuple(Factor)
_ROW: Final = {factor: row for row, factor in enumerate(_FACTORS)}
_LEAST_SHARE: Final = 0.05
"""No draw of a mass falls below this share of its middle: a log-normal or normal tail is no car."""


@dataclass(frozen=True, slots=True)
class Gate:
    """Time (s) and speed (m/s) at a place."""

    at_m: float
    time: Interval
    speed: Interval


@dataclass(frozen=True, slots=True)
class Cause:
    """How much one figure's spread alone moves the time: one standard deviation of it, s, and its share of
    the variance of all of them. `factors` holds more than one where a fit has tied them together.
    """

    factors: tuple[Factor, ...]
    sd_s: float
    share: float


@dataclass(frozen=True, slots=True)
class Prediction:
    """What a race will be like. Times in s, speeds in m/s, impulse in N s, `reached` in m.

    A time is infinite where the car stops short; `finishing` is the share of draws that come to the line.
    `causes` tell what makes the interval of the time wide, worst first.
    """

    setup: Setup
    finish: Interval
    finish_sd_s: float
    top: Interval
    line: Interval
    gates: tuple[Gate, ...]
    impulse: Interval
    reached: Interval
    finishing: float
    causes: tuple[Cause, ...]
    samples: int


@dataclass(frozen=True, slots=True)
class Difference:
    """Two races drawn in pairs: time of the second less that of the first, s, and the share of pairs in
    which the second is faster.
    """

    seconds: Interval
    faster: float


@lru_cache(maxsize=8)
def deviates(samples: int, seed: int = SEED) -> Array:
    """Standard normal deviates, a row for each factor in order, then rows to spare as many again."""
    normal = NormalDist()
    slices = np.array([normal.inv_cdf((k + 0.5) / samples) for k in range(samples)])
    # Of numpy's chance only the raw numbers are promised to stay the same from version to version (NEP 19).
    chance = np.random.PCG64(seed)
    orders = [np.argsort(chance.random_raw(samples), kind="stable") for _ in range(2 * len(_FACTORS))]
    rows = slices[np.stack(orders)]
    rows.setflags(write=False)
    return rows


def simulate(setup: Setup, z: Array) -> Runs:
    """The runs for deviates of shape (factors, n)."""
    return _simulated(setup, z)[0]


def _simulated(setup: Setup, z: Array) -> tuple[Runs, Push]:
    tied = setup.cartridge.coupling
    hole, impulse = _ROW[Factor.HOLE], _ROW[Factor.IMPULSE]
    drawn = {factor: setup.figure(factor).draw(z[row]) for factor, row in _ROW.items()}
    if tied:
        both = tied * z[hole] + math.sqrt(1.0 - tied * tied) * z[impulse]
        drawn[Factor.IMPULSE] = setup.figure(Factor.IMPULSE).draw(both)
    for factor in (Factor.MASS, Factor.SHELL, Factor.CHARGE, Factor.AIR):
        drawn[factor] = np.maximum(drawn[factor], _LEAST_SHARE * setup.figure(factor).value)
    gas = GasDraw(
        drawn[Factor.CHARGE],
        drawn[Factor.VOLUME],
        drawn[Factor.TEMPERATURE],
        drawn[Factor.HOLE],
        drawn[Factor.IMPULSE],
    )
    car = CarDraw(
        start_g=drawn[Factor.MASS] + drawn[Factor.SHELL] + drawn[Factor.CHARGE],
        inertia_g=drawn[Factor.INERTIA],
        cda_m2=drawn[Factor.DRAG],
        rolling=drawn[Factor.ROLLING],
        line_n=np.maximum(drawn[Factor.LINE], 0.0),
        density_kg_m3=drawn[Factor.AIR],
    )
    push = setup.thrust.push(gas)
    runs = run(push, car, setup.lane.length_m, setup.lane.gates_m)
    rest = drawn[Factor.REST]
    slowed = Runs(
        finish_s=runs.finish_s * rest,
        top_m_s=runs.top_m_s / rest,
        line_m_s=runs.line_m_s / rest,
        gates_s=runs.gates_s * rest,
        gates_m_s=runs.gates_m_s / rest,
        reached_m=runs.reached_m,
    )
    return slowed, push


def predict(setup: Setup, samples: int = SAMPLES, seed: int = SEED) -> Prediction:
    """The race with every figure at its middle, and the intervals of all draws."""
    middle, pushed = _simulated(setup, np.zeros((len(_FACTORS), 1)))
    runs, pushes = _simulated(setup, deviates(samples, seed)[: len(_FACTORS)])
    finishing = float(np.isfinite(runs.finish_s).mean())
    finish = _interval(_infinite(middle.finish_s)[0], _infinite(runs.finish_s))
    gates = tuple(
        Gate(
            at,
            _interval(_infinite(middle.gates_s[k])[0], _infinite(runs.gates_s[k])),
            _interval(_still(middle.gates_m_s[k])[0], _still(runs.gates_m_s[k])),
        )
        for k, at in enumerate(setup.lane.gates_m)
    )
    return Prediction(
        setup=setup,
        finish=finish,
        finish_sd_s=_spread(runs.finish_s),
        top=_interval(middle.top_m_s[0], runs.top_m_s),
        line=_interval(_still(middle.line_m_s)[0], _still(runs.line_m_s)),
        gates=gates,
        impulse=_interval(pushed.impulse_ns[0], pushes.impulse_ns),
        reached=_interval(middle.reached_m[0], runs.reached_m),
        finishing=finishing,
        causes=_causes(setup),
        samples=samples,
    )


def compare(
    first: Setup,
    second: Setup,
    *,
    apart: tuple[Factor, ...] = (),
    samples: int = SAMPLES,
    seed: int = SEED,
) -> Difference:
    """Two races under one sky: each pair of draws has the same luck in all but the factors `apart`."""
    (found,) = compare_all(first, [second], apart=apart, samples=samples, seed=seed)
    return found


def compare_all(
    first: Setup,
    others: Iterable[Setup],
    *,
    apart: tuple[Factor, ...] = (),
    samples: int = SAMPLES,
    seed: int = SEED,
) -> list[Difference]:
    """One race against several, each as in `compare`; the one is run but once."""
    rows = deviates(samples, seed)
    # Behind the draws a column with every figure at its middle.
    mine = np.concatenate([rows[: len(_FACTORS)], np.zeros((len(_FACTORS), 1))], axis=1)
    other = mine.copy()
    for factor in apart:
        other[_ROW[factor], :-1] = rows[len(_FACTORS) + _ROW[factor]]
    base = simulate(first, mine).finish_s
    return [_difference(base, simulate(each, other).finish_s) for each in others]


def _difference(first: Array, second: Array) -> Difference:
    """Of times drawn in pairs, the last pair at the middle of everything."""
    middle = second[-1:] - first[-1:]
    one, two = _infinite(first[:-1]), _infinite(second[:-1])
    both = np.isfinite(one) & np.isfinite(two)
    gap = two[both] - one[both]
    low, high = _quantiles(gap) if len(gap) else (math.nan, math.nan)
    value = float(middle[0])
    seconds = Interval(value, min(low, value), max(high, value))
    return Difference(seconds, float((two < one).mean()))


def _causes(setup: Setup) -> tuple[Cause, ...]:
    """Each figure one standard deviation up and down, all others at their middle."""
    count = len(_FACTORS)
    z = np.concatenate([np.eye(count), -np.eye(count)], axis=1)
    untied = replace(setup, cartridge=replace(setup.cartridge, coupling=0.0))
    finish = simulate(untied, z).finish_s
    half = 0.5 * (finish[:count] - finish[count:])
    half = np.where(np.isfinite(half), half, 0.0)
    found: dict[tuple[Factor, ...], float] = {(factor,): float(half[row]) for factor, row in _ROW.items()}
    tied = setup.cartridge.coupling
    if tied:
        a, b = found.pop((Factor.HOLE,)), found.pop((Factor.IMPULSE,))
        found[(Factor.HOLE, Factor.IMPULSE)] = math.sqrt(max(a * a + b * b + 2.0 * tied * a * b, 0.0))
    whole = sum(part * part for part in found.values())
    causes = [
        Cause(factors, abs(part), part * part / whole) for factors, part in found.items() if abs(part) > 1e-9
    ]
    return tuple(sorted(causes, key=lambda cause: -cause.sd_s))


def _infinite(times: Array) -> Array:
    return np.where(np.isfinite(times), times, np.inf)


def _still(speeds: Array) -> Array:
    """Speeds with 0 where the car has stopped before."""
    return np.where(np.isfinite(speeds), speeds, 0.0)


def _interval(value: float, draws: Array) -> Interval:
    low, high = _quantiles(draws)
    return Interval(float(value), min(low, float(value)), max(high, float(value)))


def _quantiles(draws: Array) -> tuple[float, float]:
    """The outer quantiles, drawn values themselves, so that one may be infinite."""
    edge = 0.5 * (1.0 - CONFIDENCE)
    low = np.quantile(draws, edge, method="lower")
    high = np.quantile(draws, 1.0 - edge, method="higher")
    return float(low), float(high)


def _spread(draws: Array) -> float:
    """Half the range between the quantiles of one standard deviation on each side."""
    finite = draws[np.isfinite(draws)]
    if len(finite) < 2:
        return math.nan
    low, high = np.quantile(finite, (0.158655, 0.841345))
    return float(0.5 * (high - low))

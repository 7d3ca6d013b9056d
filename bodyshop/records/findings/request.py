"""What was asked for: figures that a person gives, air, lane and thrust; held against what can be."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np

from bodyshop.foundation.constants import NORMAL_95
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.units.distances import lane_words
from bodyshop.physics.air import COLDEST_C, HIGHEST_HPA, HOTTEST_C, LOWEST_HPA, air_of_the_day
from bodyshop.physics.cartridge import GasDraw, TableThrust, Thrust, check_filling, check_temperature
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import Air, Basis, Estimate, Lane, Law
from bodyshop.physics.prediction import SAMPLES
from bodyshop.physics.thrust_file import read_thrust
from bodyshop.rules.rulebook import Rulebook

__all__ = ["GIVEN_LIMITS", "LANE_M", "ForecastRequest", "air_for", "lane_for", "thrust_for", "with_given"]

LANE_M: Final = 20.0
"""The lane that most published times are of."""
_LEAST_LANE_M, _MOST_LANE_M = 1.0, 100.0
_USUAL_GATES_M: Final = (5.0, 10.0)
_MOST_GATES: Final = 12
_THERMOMETER_SD_C: Final = 0.5

GIVEN_LIMITS: Final[Mapping[Factor, tuple[float, float]]] = {
    Factor.MASS: (5.0, 2000.0),
    Factor.DRAG: (0.3, 500.0),
    Factor.ROLLING: (0.0001, 0.5),
    Factor.LINE: (0.0, 5.0),
    Factor.HOLE: (0.3, 8.0),
    Factor.CHARGE: (0.5, 100.0),
    Factor.TEMPERATURE: (-1e6, 1e6),  # the table of cartridges has its own say
}
"""What a person may give for a figure, in the unit it is told in."""
_IMPULSE_LIMITS: Final = (0.05, 30.0)
_WIDEST: Final = 0.9
_WIDEST_C: Final = 15.0
"""The widest half-width that is believed: as a share of the value, or of a temperature in °C."""


@dataclass(frozen=True)
class ForecastRequest:
    """What was asked for; None where nothing was.

    `given` are figures in the unit each factor is told in, as a value and the half-width that holds 95 %
    (0: taken as it stands); `impulse_ns` the impulse of the class's cartridges likewise; `thrust` a CSV file.
    """

    lane_m: float | None = None
    gates_m: tuple[float, ...] | None = None
    temperature_c: float | None = None
    pressure_hpa: float | None = None
    humidity: float | None = None
    given: Mapping[Factor, tuple[float, float]] = field(default_factory=dict)
    impulse_ns: tuple[float, float] | None = None
    thrust: str = ""
    samples: int = SAMPLES


def air_for(asked: ForecastRequest) -> Air:
    """The air of the day.

    Raises:
        ProblemsError: no hall's air is like that.
    """
    problems = []
    for name, value, low, high, unit in (
        ("temperature", asked.temperature_c, COLDEST_C, HOTTEST_C, "°C"),
        ("pressure", asked.pressure_hpa, LOWEST_HPA, HIGHEST_HPA, "hPa"),
        ("humidity", None if asked.humidity is None else 100.0 * asked.humidity, 0.0, 100.0, "%"),
    ):
        if value is not None and not low <= value <= high:
            problems.append(_off(f"the air's {name}", value, low, high, unit))
    if problems:
        raise ProblemsError(problems)
    return air_of_the_day(asked.temperature_c, asked.pressure_hpa, asked.humidity)


def _off(what: str, value: float, low: float, high: float, unit: str) -> Problem:
    found = f"{value:g} {unit}".strip()
    return Problem(
        "race-given",
        f"{what} is {found}",
        found=found,
        expected=f"from {low:g} to {high:g} {unit}".strip(),
    )


def lane_for(asked: ForecastRequest, lane: Lane | None, book: Rulebook) -> tuple[Lane, str]:
    """The lane, and where its length comes from: what was asked for, the event's `lane`, the rulebook's.

    Raises:
        ProblemsError: it cannot be, or a gate is not on it.
    """
    if asked.lane_m is not None:
        length, source = asked.lane_m, f"{lane_words(asked.lane_m)}, as given"
    elif lane is not None:
        length, source = lane.length_m, f"{lane_words(lane.length_m)}, from the book's event"
    elif book.track_mm is not None:
        length = book.track_mm / 1e3
        source = f"{lane_words(length)}, by the rules of {book.name}"
    else:
        length, source = LANE_M, f"{LANE_M:g} m, assumed (--lane-length says another)"
    if not _LEAST_LANE_M <= length <= _MOST_LANE_M:
        raise ProblemsError([_off("the lane", length, _LEAST_LANE_M, _MOST_LANE_M, "m")])
    gates: tuple[float, ...] = tuple(gate for gate in _USUAL_GATES_M if gate < length)
    if asked.lane_m is None and lane is not None and lane.gates_m:
        gates = tuple(gate for gate in lane.gates_m if 0.0 < gate < length)
    if asked.gates_m is not None:
        gates = tuple(sorted(set(asked.gates_m)))
        bad = [gate for gate in gates if not 0.0 < gate < length]
        if bad:
            raise ProblemsError([_off("a gate", bad[0], 0.0, length, "m")])
    return Lane(length, gates[:_MOST_GATES]), source


def thrust_for(asked: ForecastRequest, charge_g: float) -> tuple[Thrust, tuple[Problem, ...]]:
    """The thrust, and doubts about it.

    Raises:
        ProblemsError: its file cannot be read, or does not go with what else was given.
    """
    if not asked.thrust:
        return TableThrust(), ()
    idle = [
        name
        for name, used in (
            ("a cartridge's temperature", Factor.TEMPERATURE in asked.given),
            ("a puncture", Factor.HOLE in asked.given),
        )
        if used
    ]
    if idle:
        message = (
            f"{' and '.join(idle)} cannot be given together with a measured thrust, which holds it already"
        )
        raise ProblemsError([Problem("race-given", message, file=str(Path(asked.thrust)))])
    measured = read_thrust(asked.thrust)
    return measured, measured.doubts(charge_g)


def with_given(setup: Setup, asked: ForecastRequest) -> Setup:
    """The race with the figures that were given.

    Raises:
        ProblemsError: one of them cannot be.
    """
    problems = [problem for problem in _faults(setup, asked) if problem is not None]
    if problems:
        raise ProblemsError(problems)
    for factor, (value, half) in asked.given.items():
        sd = half / NORMAL_95
        if factor is Factor.TEMPERATURE and not half:
            sd = _THERMOMETER_SD_C
        law = Law.PLAIN if factor in (Factor.MASS, Factor.TEMPERATURE) else Law.POSITIVE
        figure = Estimate(value / factor.scale, sd / factor.scale, "as given", Basis.GIVEN, law)
        setup = setup.having(factor, figure)
        if factor is Factor.HOLE:  # what a fit says of both together holds no longer
            setup = replace(setup, cartridge=replace(setup.cartridge, coupling=0.0))
    return _with_impulse(setup, asked)


def _faults(setup: Setup, asked: ForecastRequest) -> Iterator[Problem | None]:
    for factor, (value, half) in asked.given.items():
        unit = {"cm2": "cm²", "degC": "°C"}.get(factor.unit, factor.unit)
        widest = _WIDEST_C if factor is Factor.TEMPERATURE else _WIDEST * value
        yield _off_range(f"the {factor.label}", value, *GIVEN_LIMITS[factor], unit)
        yield _off_range(f"the half-width of the {factor.label}", half, 0.0, max(widest, 0.0), unit)
        if factor is Factor.TEMPERATURE:
            yield check_temperature(value)
        if factor is Factor.CHARGE:
            yield check_filling(value, setup.cartridge.volume_cm3.value)
    if asked.impulse_ns is not None:
        value, half = asked.impulse_ns
        yield _off_range("the impulse", value, *_IMPULSE_LIMITS, "N s")
        yield _off_range("the half-width of the impulse", half, 0.0, max(_WIDEST * value, 0.0), "N s")


def _off_range(what: str, value: float, low: float, high: float, unit: str) -> Problem | None:
    return None if low <= value <= high else _off(what, value, low, high, unit)


def _with_impulse(setup: Setup, asked: ForecastRequest) -> Setup:
    """The impulse factor that gives an impulse with all else at its middle."""
    if asked.impulse_ns is None:
        return setup
    value, half = asked.impulse_ns
    gas = setup.cartridge
    middle = GasDraw(
        np.array([gas.charge_g.value]),
        np.array([gas.volume_cm3.value]),
        np.array([gas.temperature_c.value]),
        np.array([gas.hole_mm.value]),
        np.ones(1),
    )
    computed = float(setup.thrust.push(middle).impulse_ns[0])
    figure = Estimate(
        value / computed, half / NORMAL_95 / computed, f"{value:g} N s, as given", Basis.GIVEN, Law.POSITIVE
    )
    tied = replace(setup, cartridge=replace(setup.cartridge, coupling=0.0))
    return tied.having(Factor.IMPULSE, figure)

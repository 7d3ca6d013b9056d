"""From a design, what was asked for and what a book holds, to a predicted race and what would change it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import numpy as np

from bodyshop.assembly import Car
from bodyshop.checking import Bookshelf, Checked, check_car
from bodyshop.findings.known import priors_from_book
from bodyshop.findings.setups import lane_of
from bodyshop.forecast.model import Advice, Forecast, WhatIf, WoodTry
from bodyshop.forecast.words import lane_words
from bodyshop.problems import Problem, ProblemsError
from bodyshop.race.air import COLDEST_C, HIGHEST_HPA, HOTTEST_C, LOWEST_HPA, air_of_the_day
from bodyshop.race.cartridge import GasDraw, TableThrust, Thrust, check_filling, check_temperature
from bodyshop.race.levers import effects
from bodyshop.race.model import Air, Basis, CarNumbers, Estimate, Lane, Law
from bodyshop.race.prediction import SAMPLES, compare, predict
from bodyshop.race.priors import car_numbers, cartridge_numbers
from bodyshop.race.redesign import Setting, in_wood, redesigned
from bodyshop.race.setup import Factor, Setup, make_setup
from bodyshop.race.thrust_file import read_thrust
from bodyshop.rulebook import Rulebook
from bodyshop.stock.woods import woods
from bodyshop.trials.book import Book

__all__ = ["GIVEN_LIMITS", "LANE_M", "Asked", "advise", "forecast_from_book", "make_forecast", "run_setup"]

LANE_M: Final = 20.0
"""The lane that most published times are of."""
_LEAST_LANE_M, _MOST_LANE_M = 1.0, 100.0
_USUAL_GATES_M: Final = (5.0, 10.0)
_MOST_GATES: Final = 12
_EFFECT_SAMPLES: Final = 800
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


@dataclass(frozen=True)
class Asked:
    """What was asked for; None where nothing was.

    `given` are figures in the unit each factor is told in, as a value and the half-width that holds 19 in 20
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


def make_forecast(
    checked: Checked,
    asked: Asked | None = None,
    *,
    known: Mapping[Factor, Estimate] | None = None,
    coupling: float = 0.0,
    lane: Lane | None = None,
    book: str = "",
) -> Forecast:
    """The predicted race of a car.

    Args:
        checked: the car.
        asked: what a person gave; it comes before everything else.
        known: what a trial book knows of the car and its cartridges, in the units of `CarNumbers`.
        coupling: what a class's fit says of puncture and impulse together, see `CartridgeNumbers`.
        lane: the lane of the book's event.
        book: the book's name.

    Raises:
        ProblemsError: a figure that cannot be, a thrust file that cannot be read, a car that cannot run.
    """
    asked = asked or Asked()
    air = _air(asked)
    ran, source = _lane(asked, lane, checked.opened.rulebook)
    thrust, doubts = _thrust(asked, checked.opened.design.cartridge.charge_g)
    base = car_numbers(checked.opened.car, air)
    cartridge = cartridge_numbers(
        checked.opened.design.cartridge, measured_curve=not isinstance(thrust, TableThrust)
    )
    setup = make_setup(base, replace(cartridge, coupling=coupling), air, ran, thrust)
    for factor, figure in (known or {}).items():
        setup = setup.having(factor, figure)
    setup = _with_given(setup, asked)
    return Forecast(checked, predict(setup, asked.samples), source, book, doubts)


def forecast_from_book(checked: Checked, asked: Asked, book: Book, car: str = "") -> Forecast:
    """The same with what a trial book knows of the car, its cartridges and its event. `car` is the car's name
    in the book where it is not the design's.

    Raises:
        ProblemsError: the book has no such car, and everything that `make_forecast` raises.
    """
    known = priors_from_book(book, car or checked.opened.design.name, checked.opened.car)
    figures, coupling = known.figures, known.coupling
    if asked.thrust:  # a fit of the computed blow-down says nothing of a measured curve
        figures = {each: figures[each] for each in figures if each not in (Factor.IMPULSE, Factor.HOLE)}
        coupling = 0.0
    lane = lane_of(book) if book.event.record.track_mm is not None else None
    return make_forecast(
        checked, asked, known=figures, coupling=coupling, lane=lane, book=Path(book.name).name
    )


def run_setup(forecast: Forecast, car: Car) -> Setup:
    """The same race for the same car drawn differently: what was measured is carried over by what the drawing
    says has changed: a mass by the difference, areas and friction by the ratio.
    """
    setup = forecast.prediction.setup
    before = car_numbers(forecast.checked.opened.car, setup.air)
    after = car_numbers(car, setup.air)
    return replace(setup, car=_carried(setup.car, before, after))


def _carried(now: CarNumbers, before: CarNumbers, after: CarNumbers) -> CarNumbers:
    def ratio(name: str) -> Estimate:
        held, old, new = (getattr(numbers, name) for numbers in (now, before, after))
        if held == old or not old.value:
            return Estimate(new.value, new.sd, new.source, new.basis, new.law)
        return Estimate(
            held.value * new.value / old.value,
            held.sd * new.value / old.value,
            held.source,
            held.basis,
            held.law,
        )

    mass = after.mass_g
    if now.mass_g != before.mass_g:
        mass = now.mass_g.shifted(after.mass_g.value - before.mass_g.value)
    return CarNumbers(mass, ratio("inertia_g"), ratio("cda_m2"), ratio("rolling"), ratio("line_n"))


def advise(
    forecast: Forecast,
    shelf: Bookshelf,
    settings: Iterable[Setting] = (),
    wood_names: Iterable[str] = (),
) -> Advice:
    """What each lever is worth, and what was tried.

    Raises:
        ProblemsError: a setting or a wood that is not there, or a car that cannot be made so.
    """
    asked_for = tuple(settings)
    tried = _what_if(forecast, shelf, asked_for) if asked_for else None
    in_woods = _woods(forecast, tuple(wood_names))
    return Advice(forecast, effects(forecast.prediction.setup, _EFFECT_SAMPLES), tried, in_woods)


def _what_if(forecast: Forecast, shelf: Bookshelf, settings: tuple[Setting, ...]) -> WhatIf:
    opened = redesigned(forecast.checked.opened, settings, shelf)
    setup = run_setup(forecast, opened.car)
    first = forecast.prediction
    return WhatIf(
        tuple(f"{setting.key} = {setting.text}" for setting in settings),
        check_car(opened),
        predict(setup, first.samples),
        compare(first.setup, setup, samples=first.samples),
    )


def _woods(forecast: Forecast, names: tuple[str, ...]) -> tuple[WoodTry, ...]:
    if not names:
        return ()
    opened = forecast.checked.opened
    own = opened.design.wood
    tried = [_wood(forecast, own.id, own=True)]
    seen = {own.id}
    for name in names:
        found = in_wood(opened, name).design.wood
        if found.id not in seen:
            seen.add(found.id)
            tried.append(_wood(forecast, found.id, own=False))
    return tuple(sorted(tried, key=lambda each: each.mass.value))


def _wood(forecast: Forecast, name: str, *, own: bool) -> WoodTry:
    opened, first = forecast.checked.opened, forecast.prediction
    car = opened.car if own else in_wood(opened, name)
    setup = first.setup if own else run_setup(forecast, car)
    if not own:
        drawn = Estimate(
            car.mass.mass_g, car.mass.sd_g, "estimated from the drawing", Basis.DESIGN, Law.PLAIN
        )
        setup = setup.having(Factor.MASS, drawn)
    return WoodTry(
        name,
        woods()[name].label,
        setup.figure(Factor.MASS).interval(),
        first if own else predict(setup, first.samples),
        compare(first.setup, setup, apart=() if own else (Factor.MASS,), samples=first.samples),
        own,
    )


# ---------------------------------------------------------------- what was asked for


def _air(asked: Asked) -> Air:
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


def _lane(asked: Asked, lane: Lane | None, book: Rulebook) -> tuple[Lane, str]:
    if asked.lane_m is not None:
        length, source = asked.lane_m, f"{lane_words(asked.lane_m)}, as given"
    elif lane is not None:
        length, source = lane.length_m, f"{lane_words(lane.length_m)}, from the book's event"
    elif book.track_mm is not None:
        length = book.track_mm / 1e3
        source = f"{lane_words(length)}, by the rules of {book.name}"
    else:
        length, source = LANE_M, f"{LANE_M:g} m, taken for granted (--lane-length says another)"
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


def _thrust(asked: Asked, charge_g: float) -> tuple[Thrust, tuple[Problem, ...]]:
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


def _with_given(setup: Setup, asked: Asked) -> Setup:
    problems = []
    for factor, (value, half) in asked.given.items():
        low, high = GIVEN_LIMITS[factor]
        unit = {"cm2": "cm²", "degC": "°C"}.get(factor.unit, factor.unit)
        if not (math.isfinite(value) and low <= value <= high and 0.0 <= half < max(value - low, high)):
            problems.append(_off(f"the {factor.label}", value, low, high, unit))
        elif factor is Factor.TEMPERATURE:
            found = check_temperature(value)
            problems += [found] if found else []
    charge = asked.given.get(Factor.CHARGE)
    if charge is not None and not problems:
        found = check_filling(charge[0], setup.cartridge.volume_cm3.value)
        problems += [found] if found else []
    if asked.impulse_ns is not None and not _IMPULSE_LIMITS[0] <= asked.impulse_ns[0] <= _IMPULSE_LIMITS[1]:
        problems.append(_off("the impulse", asked.impulse_ns[0], *_IMPULSE_LIMITS, "N s"))
    if problems:
        raise ProblemsError(problems)
    for factor, (value, half) in asked.given.items():
        sd = half / 1.959964
        if factor is Factor.TEMPERATURE and not half:
            sd = _THERMOMETER_SD_C
        law = Law.PLAIN if factor in (Factor.MASS, Factor.TEMPERATURE) else Law.POSITIVE
        figure = Estimate(value / factor.scale, sd / factor.scale, "as given", Basis.GIVEN, law)
        setup = setup.having(factor, figure)
        if factor is Factor.HOLE:  # what a fit says of both together holds no longer
            setup = replace(setup, cartridge=replace(setup.cartridge, coupling=0.0))
    return _with_impulse(setup, asked)


def _with_impulse(setup: Setup, asked: Asked) -> Setup:
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
        value / computed, half / 1.959964 / computed, f"{value:g} N s, as given", Basis.GIVEN, Law.POSITIVE
    )
    tied = replace(setup, cartridge=replace(setup.cartridge, coupling=0.0))
    return tied.having(Factor.IMPULSE, figure)

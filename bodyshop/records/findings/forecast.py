"""From a design, what was asked for and what a book holds, to a predicted race and what would change it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.stock.woods import woods
from bodyshop.foundation.problems import Problem
from bodyshop.physics.cartridge import TableThrust
from bodyshop.physics.factors import Factor, Setup, make_setup
from bodyshop.physics.model import Basis, CarNumbers, Estimate, Interval, Lane, Law
from bodyshop.physics.prediction import Difference, Prediction, compare, predict
from bodyshop.physics.priors import car_numbers, cartridge_numbers
from bodyshop.physics.what_if import TimeEffect, TriedValue, effects, in_wood, redesigned
from bodyshop.records.book.book import Book
from bodyshop.records.findings.measured_priors import priors_from_book
from bodyshop.records.findings.request import ForecastRequest, air_for, lane_for, thrust_for, with_given
from bodyshop.records.findings.setups import lane_of
from bodyshop.rules.checking import Checked, RulebookCache, check_car

__all__ = [
    "Advice",
    "Forecast",
    "WhatIf",
    "WoodTry",
    "advise",
    "forecast_from_book",
    "make_forecast",
    "run_setup",
]


@dataclass(frozen=True)
class Forecast:
    """A race of one car. `lane_source` says where its length comes from, `book` names the trial book whose
    figures took the place of estimates; `doubts` are warnings of the figures that went in.
    """

    checked: Checked
    prediction: Prediction
    lane_source: str
    book: str = ""
    doubts: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class WhatIf:
    """The car with other values in its file: `settings` as they were asked for."""

    settings: tuple[str, ...]
    checked: Checked
    prediction: Prediction
    difference: Difference


@dataclass(frozen=True, slots=True)
class WoodTry:
    """The same design in a wood: mass without cartridge (g), time, and the difference to the design's own
    wood, two blanks drawn apart from each other. `own` marks the design's own wood.
    """

    name: str
    label: str
    mass: Interval
    prediction: Prediction
    difference: Difference
    own: bool


@dataclass(frozen=True)
class Advice:
    """What to change."""

    forecast: Forecast
    effects: tuple[TimeEffect, ...]
    what_if: WhatIf | None = None
    woods: tuple[WoodTry, ...] = ()


_EFFECT_SAMPLES: Final = 800


def make_forecast(
    checked: Checked,
    asked: ForecastRequest | None = None,
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

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.rules.checking import check_car, open_car
    >>> from bodyshop.records.findings.request import ForecastRequest
    >>> checked = check_car(open_car(samples_folder() / "kestrel.toml"))
    >>> make_forecast(checked, ForecastRequest()).prediction.finish.value > 0.5
    True
    """
    asked = asked or ForecastRequest()
    air = air_for(asked)
    ran, source = lane_for(asked, lane, checked.opened.rulebook)
    thrust, doubts = thrust_for(asked, checked.opened.design.cartridge.charge_g)
    base = car_numbers(checked.opened.car, air)
    cartridge = cartridge_numbers(
        checked.opened.design.cartridge, measured_curve=not isinstance(thrust, TableThrust)
    )
    setup = make_setup(base, replace(cartridge, coupling=coupling), air, ran, thrust)
    for factor, figure in (known or {}).items():
        setup = setup.having(factor, figure)
    setup = with_given(setup, asked)
    return Forecast(checked, predict(setup, asked.samples), source, book, doubts)


def forecast_from_book(checked: Checked, asked: ForecastRequest, book: Book, car: str = "") -> Forecast:
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
    shelf: RulebookCache,
    settings: Iterable[TriedValue] = (),
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


def _what_if(forecast: Forecast, shelf: RulebookCache, settings: tuple[TriedValue, ...]) -> WhatIf:
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

"""Predictions and findings on the page, from the same book and the same calls as on the command line."""

from __future__ import annotations

from typing import Final

from bodyshop.app.bench.messages import ConditionsDeed, Data
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.units import QuantityError
from bodyshop.foundation.units.instruments import parse_quantity
from bodyshop.output.words.forecast import FORMULA, NO_PROMISE, cause_label
from bodyshop.physics.air import air_of_the_day
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import Basis, Estimate, Interval, Law
from bodyshop.physics.prediction import Prediction, predict
from bodyshop.records.book.book import Book
from bodyshop.records.findings.prediction_check import freeze
from bodyshop.records.findings.setups import RaceConditions, lane_of, ready

__all__ = ["conditions_of", "foretell", "freeze_all"]

_FAR: Final = 1e9
"""More of anything is on no track."""


def conditions_of(book: Book, given: ConditionsDeed) -> RaceConditions:
    """The race that the page asks about: `length` in m, `temperature`, `pressure`, `cartridge`, each may be
    empty.

    Raises:
        ProblemsError: a figure makes no sense, or nobody says how long the lane is.
    """
    length = _figure("length", given.length, "m")
    temperature, pressure = (
        _figure("temperature", given.temperature, "°C"),
        _figure("pressure", given.pressure, "hPa"),
    )
    cartridge = _figure("cartridge", given.cartridge, "°C")
    gas = None if cartridge is None else Estimate(cartridge, 0.5, "as told", Basis.GIVEN, Law.PLAIN)
    return RaceConditions(lane_of(book, length), air_of_the_day(temperature, pressure), gas)


def _figure(name: str, typed: str, unit: str) -> float | None:
    text = typed.strip()
    if not text:
        return None
    try:
        value = parse_quantity(text, "mm" if unit == "m" else unit)
    except QuantityError as error:
        raise ProblemsError(
            [Problem("race-figure", f"{name}: {error.message}", found=text[:40], expected=error.expected)]
        ) from None
    if not abs(value) < _FAR:
        raise ProblemsError([Problem("race-figure", f"{name} is too large", found=text[:40])])
    if unit != "m":
        return value
    # A bare number is in metres; one with a unit has become mm.
    return value / 1e3 if any(char.isalpha() for char in text) else value


def foretell(book: Book, car: str, given: ConditionsDeed) -> Data:
    """A race of one car: time and speeds with their intervals, what the figures are, what makes it wide.

    Raises:
        ProblemsError: the car cannot be used, or a figure makes no sense.
    """
    found, setup = ready(book, car, conditions_of(book, given))
    prediction = predict(setup)
    return {
        "car": found.name,
        "length_m": setup.lane.length_m,
        "confidence": prediction.finish.confidence,
        "figures": _figures(prediction),
        "causes": [
            {"label": cause_label(cause), "share": cause.share, "spread_s": cause.sd_s}
            for cause in prediction.causes
        ],
        "inputs": [_input(setup, factor) for factor in Factor],
        "formula": FORMULA,
        "promise": NO_PROMISE,
        "cautions": [each.sentence for each in cautions_for(Operation.RACE)],
    }


def _figures(prediction: Prediction) -> Data:
    gates = [(f"time at {gate.at_m:g} m", gate.time, "s", 3) for gate in prediction.gates]
    rows = [
        ("race time", prediction.finish, "s", 3),
        *gates,
        ("top speed", prediction.top, "m/s", 1),
        ("speed at the line", prediction.line, "m/s", 1),
        ("impulse", prediction.impulse, "N s", 2),
    ]
    return [{"label": label, "unit": unit, **_interval(held, places)} for label, held, unit, places in rows]


def _interval(held: Interval, places: int) -> dict[str, Data]:
    def told(value: float) -> str:
        return f"{value:.{places}f}" if value - value == 0.0 else "–"

    return {"value": told(held.value), "low": told(held.low), "high": told(held.high)}


def _input(setup: Setup, factor: Factor) -> Data:
    figure = setup.figure(factor)
    held = figure.interval()
    return {
        "label": factor.label,
        "unit": factor.unit,
        "value": f"{factor.scale * held.value:.4g}",
        "low": f"{factor.scale * held.low:.4g}",
        "high": f"{factor.scale * held.high:.4g}",
        "basis": figure.basis.value,
        "source": figure.source,
    }


def freeze_all(book: Book, given: ConditionsDeed) -> str:
    """Freeze predictions of all cars; what was done, in a sentence.

    Raises:
        ProblemsError: no car can be predicted.
        WriteRefusedError: the book cannot be written.
    """
    frozen = freeze(book, conditions_of(book, given))
    count = len(frozen.entries)
    told = f"{count} {'prediction is' if count == 1 else 'predictions are'} frozen."
    if frozen.passed_over:
        left = "; ".join(f"{name}: {why}" for name, why in frozen.passed_over)
        told += f" Left out: {left}."
    return told

"""A predicted race, and what would change it, for other programs: described by the schemas beside this file.

Every figure is an object with its value, its interval, the share of cases that the interval holds, and its
unit. A time of a car that stops before the line has no value, and an interval may have no upper end: null.
What may change without a new version: keys are added, sentences are worded better.
"""

from __future__ import annotations

import math
from typing import Final

from bodyshop import __version__
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.output.json.plain_data import Data, json_text, number, problem_data
from bodyshop.output.words.forecast import FORMULA, NARROWED_BY, gain_words, headline
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import CONFIDENCE, Interval
from bodyshop.physics.prediction import Cause, Difference, Prediction
from bodyshop.physics.what_if import TimeEffect
from bodyshop.records.findings.forecast import Advice, Forecast, WhatIf, WoodTry
from bodyshop.rules.checking import shown_file

__all__ = [
    "CHANGE_FORMAT",
    "CHANGE_VERSION",
    "PREDICT_FORMAT",
    "PREDICT_VERSION",
    "change_json",
    "figure_data",
    "inputs_data",
    "predict_json",
]

PREDICT_FORMAT: Final = "bodyshop-race-predict"
PREDICT_VERSION: Final = 1

CHANGE_FORMAT: Final = "bodyshop-race-change"
CHANGE_VERSION: Final = 1

_NORMAL_95: Final = 1.959964


def predict_json(forecast: Forecast) -> str:
    """The document of one predicted race."""
    return json_text(
        {
            "format": PREDICT_FORMAT,
            "version": PREDICT_VERSION,
            "program": __version__,
            **_forecast(forecast),
        }
    )


def change_json(advice: Advice) -> str:
    """The document of what would change it."""
    return json_text(
        {
            "format": CHANGE_FORMAT,
            "version": CHANGE_VERSION,
            "program": __version__,
            "prediction": _forecast(advice.forecast),
            "levers": [_effect(effect) for effect in advice.effects],
            "what_if": None if advice.what_if is None else _what_if(advice.what_if),
            "woods": [_wood(each) for each in advice.woods],
        }
    )


def figure_data(held: Interval, unit: str, scale: float = 1.0) -> Data:
    """A figure: never a bare number."""
    return {
        "value": _finite(held.value * scale),
        "interval": [_finite(held.low * scale), _finite(held.high * scale)],
        "confidence": held.confidence,
        "unit": unit,
    }


def _finite(value: float) -> float | None:
    return number(value) if math.isfinite(value) else None


def _forecast(forecast: Forecast) -> dict[str, Data]:
    opened, prediction = forecast.checked.opened, forecast.prediction
    design = opened.design
    return {
        "file": shown_file(design.source.name),
        "name": design.name,
        "bench": design.bench,
        "fingerprint": design.fingerprint,
        "rulebook": opened.rulebook.name,
        "passes": forecast.checked.judgement.passes,
        "book": forecast.book or None,
        "sentence": headline(design.name, prediction),
        "lane": {"length_m": number(prediction.setup.lane.length_m), "source": forecast.lane_source},
        **_outcome(prediction),
        "thrust": prediction.setup.thrust.source,
        "formula": FORMULA,
        "inputs": inputs_data(prediction.setup),
        "causes": [_cause(cause) for cause in prediction.causes],
        "samples": prediction.samples,
        "cautions": [caution.sentence for caution in cautions_for(Operation.CARTRIDGE, Operation.RACE)],
        "problems": [problem_data(problem) for problem in (*opened.warnings, *forecast.doubts)],
    }


def _outcome(prediction: Prediction) -> dict[str, Data]:
    return {
        "time": figure_data(prediction.finish, "s"),
        "top_speed": figure_data(prediction.top, "m/s"),
        "speed_at_line": figure_data(prediction.line, "m/s"),
        "gates": [
            {
                "at_m": number(gate.at_m),
                "time": figure_data(gate.time, "s"),
                "speed": figure_data(gate.speed, "m/s"),
            }
            for gate in prediction.gates
        ],
        "impulse": figure_data(prediction.impulse, "N s"),
        "reached": figure_data(prediction.reached, "m"),
        "share_that_finishes": figure_data(_share(prediction.finishing, prediction.samples), "1"),
    }


def _share(value: float, count: int) -> Interval:
    """A share of draws with its own interval: Wilson, J. Am. Stat. Assoc. 22 (1927) 209."""
    square = _NORMAL_95**2 / count
    middle = (value + 0.5 * square) / (1.0 + square)
    half = math.sqrt(value * (1.0 - value) * square + 0.25 * square**2) / (1.0 + square)
    return Interval(
        value, max(0.0, min(middle - half, value)), min(1.0, max(middle + half, value)), CONFIDENCE
    )


def inputs_data(setup: Setup) -> list[Data]:
    """Everything a prediction was made from."""
    found: list[Data] = []
    for factor in Factor:
        held = setup.figure(factor)
        figure = figure_data(held.interval(), factor.unit or "1", factor.scale)
        assert isinstance(figure, dict)  # noqa: S101 - tells the type checker
        found.append(
            {
                "id": factor.id,
                "label": factor.label,
                **figure,
                "standard_deviation": number(held.sd * factor.scale),
                "law": held.law.value,
                "basis": held.basis.value,
                "source": held.source,
            }
        )
    return found


def _cause(cause: Cause) -> Data:
    return {
        "figures": [factor.id for factor in cause.factors],
        "standard_deviation_s": number(cause.sd_s),
        "share": number(cause.share),
        "narrowed_by": NARROWED_BY[cause.factors[-1]],
    }


def _difference(difference: Difference) -> dict[str, Data]:
    return {
        "difference": figure_data(difference.seconds, "s"),
        "share_faster": number(difference.faster),
        "sentence": gain_words(difference),
    }


def _effect(effect: TimeEffect) -> Data:
    return {
        "id": effect.lever.id,
        "deed": effect.lever.action,
        "whose": effect.lever.reach.value,
        **_difference(effect.difference),
    }


def _what_if(tried: WhatIf) -> Data:
    judgement = tried.checked.judgement
    return {
        "settings": list(tried.settings),
        "fingerprint": tried.checked.opened.design.fingerprint,
        "passes": judgement.passes,
        "failed": [verdict.rule.clause for verdict in judgement.failed],
        **_outcome(tried.prediction),
        **_difference(tried.difference),
    }


def _wood(each: WoodTry) -> Data:
    return {
        "wood": each.name,
        "label": each.label,
        "own": each.own,
        "mass": figure_data(each.mass, "g"),
        "time": figure_data(each.prediction.finish, "s"),
        **_difference(each.difference),
    }

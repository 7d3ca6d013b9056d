"""A predicted race, and what would change it, for other programs.

Every figure is an object with its value, its interval, the share of cases that the interval holds, and its
unit. A time of a car that stops before the line has no value, and an interval may have no upper end: null.
"""

from __future__ import annotations

import math
from typing import Annotated, TypeAlias

from msgspec import Meta

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.foundation.constants import NORMAL_95
from bodyshop.output.json.document import HEAD, Document, JsonRecord, about, number
from bodyshop.output.json.parts import ProblemData, problem_data
from bodyshop.output.words.forecast import FORMULA, NARROWED_BY, gain_words, headline
from bodyshop.physics.factors import Factor, Setup
from bodyshop.physics.model import CONFIDENCE, Basis, Interval, Law
from bodyshop.physics.prediction import Cause, Difference, Prediction
from bodyshop.physics.what_if import Reach
from bodyshop.records.findings.forecast import Advice, Forecast, WhatIf
from bodyshop.rules.checking import shown_file

__all__ = ["ChangeDocument", "PredictDocument", "change_data", "predict_data"]


_Ends: TypeAlias = "tuple[float | None, tuple[float | None, float | None], float, str]"
_Outcome: TypeAlias = (
    "tuple[FigureData, FigureData, FigureData, tuple[GateData, ...], FigureData, FigureData, FigureData]"
)


class FigureData(JsonRecord, frozen=True):
    """A figure with the interval that holds it in the share of cases given by confidence."""

    value: Annotated[float | None, about("Null where there is none: the car stops before the place.")]
    interval: Annotated[
        tuple[float | None, float | None], about("Lower and upper end; null where it has none.")
    ]
    confidence: Annotated[float, Meta(gt=0.0, le=1.0)]
    unit: Annotated[str, Meta(min_length=1)]


class GateData(JsonRecord, frozen=True):
    """Time and speed at a gate."""

    at_m: float
    time: FigureData
    speed: FigureData


class OutcomeData(JsonRecord, frozen=True):
    """How a race goes."""

    time: FigureData
    top_speed: FigureData
    speed_at_line: FigureData
    gates: tuple[GateData, ...]
    impulse: FigureData
    reached: FigureData
    share_that_finishes: FigureData


class InputData(FigureData, frozen=True):
    """A figure that the prediction was made from: how sure it is, and where it comes from."""

    id: str
    label: str
    standard_deviation: float
    law: Law
    basis: Basis
    source: str


class CauseData(JsonRecord, frozen=True):
    """How much of the interval of the time comes from a figure's spread."""

    figures: tuple[str, ...]
    standard_deviation_s: float
    share: float
    narrowed_by: str


class RacedLaneData(JsonRecord, frozen=True):
    """The track."""

    length_m: float
    source: str


class ForecastData(OutcomeData, frozen=True):
    """A predicted race. Times in s, speeds in m/s, masses in g, areas in cm2; all with their intervals."""

    file: str
    name: str
    bench: str
    fingerprint: str
    rulebook: str
    passes: bool
    book: Annotated[str | None, about("The trial book whose figures took the place of estimates.")]
    sentence: str
    lane: RacedLaneData
    thrust: str
    formula: str
    inputs: tuple[InputData, ...]
    causes: Annotated[tuple[CauseData, ...], about("Worst first.")]
    samples: Annotated[int, Meta(ge=1)]
    cautions: tuple[str, ...]
    problems: tuple[ProblemData, ...]


class PredictDocument(Document, frozen=True, tag="race-predict"):
    """A predicted race."""

    prediction: ForecastData


class GainData(JsonRecord, frozen=True):
    """What a change is worth, in pairs of draws; a negative difference is faster."""

    difference: FigureData
    share_faster: float
    sentence: str


class LeverData(GainData, frozen=True):
    """A change of one figure alone."""

    id: str
    deed: str
    whose: Reach


class WhatIfData(OutcomeData, frozen=True):
    """The car with other values in its file."""

    settings: tuple[str, ...]
    fingerprint: str
    passes: bool
    failed: tuple[str, ...]
    difference: FigureData
    share_faster: float
    sentence: str


class WoodData(GainData, frozen=True):
    """The same design in a wood."""

    wood: str
    label: str
    own: bool
    mass: FigureData
    time: FigureData


class ChangeDocument(Document, frozen=True, tag="race-change"):
    """What would change a predicted race."""

    prediction: Annotated[ForecastData, about("The prediction that the changes are told against.")]
    levers: Annotated[tuple[LeverData, ...], about("The strongest first.")]
    what_if: WhatIfData | None
    woods: tuple[WoodData, ...]


def predict_data(forecast: Forecast) -> PredictDocument:
    """One predicted race."""
    return PredictDocument(*HEAD, _forecast(forecast))


def change_data(advice: Advice) -> ChangeDocument:
    """What would change it."""
    return ChangeDocument(
        *HEAD,
        prediction=_forecast(advice.forecast),
        levers=tuple(
            LeverData(
                *_gain(each.difference), id=each.lever.id, deed=each.lever.action, whose=each.lever.reach
            )
            for each in advice.effects
        ),
        what_if=None if advice.what_if is None else _what_if(advice.what_if),
        woods=tuple(
            WoodData(
                *_gain(each.difference),
                wood=each.name,
                label=each.label,
                own=each.own,
                mass=_figure(each.mass, "g"),
                time=_figure(each.prediction.finish, "s"),
            )
            for each in advice.woods
        ),
    )


def _ends(held: Interval, unit: str, scale: float = 1.0) -> _Ends:
    """A figure's value, interval, confidence and unit."""
    ends = _finite(held.low * scale), _finite(held.high * scale)
    return _finite(held.value * scale), ends, held.confidence, unit


def _figure(held: Interval, unit: str) -> FigureData:
    return FigureData(*_ends(held, unit))


def _finite(value: float) -> float | None:
    return number(value) if math.isfinite(value) else None


def _forecast(forecast: Forecast) -> ForecastData:
    opened, prediction = forecast.checked.opened, forecast.prediction
    design = opened.design
    return ForecastData(
        *_outcome(prediction),
        file=shown_file(design.source.name),
        name=design.name,
        bench=design.bench,
        fingerprint=design.fingerprint,
        rulebook=opened.rulebook.name,
        passes=forecast.checked.judgement.passes,
        book=forecast.book or None,
        sentence=headline(design.name, prediction),
        lane=RacedLaneData(number(prediction.setup.lane.length_m), forecast.lane_source),
        thrust=prediction.setup.thrust.source,
        formula=FORMULA,
        inputs=tuple(_input(prediction.setup, factor) for factor in Factor),
        causes=tuple(_cause(cause) for cause in prediction.causes),
        samples=prediction.samples,
        cautions=tuple(caution.sentence for caution in cautions_for(Operation.CARTRIDGE, Operation.RACE)),
        problems=tuple(problem_data(problem) for problem in (*opened.warnings, *forecast.doubts)),
    )


def _outcome(prediction: Prediction) -> _Outcome:
    """Time, top speed, speed at the line, gates, impulse, way and share, as `OutcomeData` has them."""
    return (
        _figure(prediction.finish, "s"),
        _figure(prediction.top, "m/s"),
        _figure(prediction.line, "m/s"),
        tuple(
            GateData(number(gate.at_m), _figure(gate.time, "s"), _figure(gate.speed, "m/s"))
            for gate in prediction.gates
        ),
        _figure(prediction.impulse, "N s"),
        _figure(prediction.reached, "m"),
        _figure(_share(prediction.finishing, prediction.samples), "1"),
    )


def _share(value: float, count: int) -> Interval:
    """A share of draws with its own interval: Wilson, J. Am. Stat. Assoc. 22 (1927) 209."""
    square = NORMAL_95**2 / count
    middle = (value + 0.5 * square) / (1.0 + square)
    half = math.sqrt(value * (1.0 - value) * square + 0.25 * square**2) / (1.0 + square)
    return Interval(
        value, max(0.0, min(middle - half, value)), min(1.0, max(middle + half, value)), CONFIDENCE
    )


def _input(setup: Setup, factor: Factor) -> InputData:
    held = setup.figure(factor)
    return InputData(
        *_ends(held.interval(), factor.unit or "1", factor.scale),
        id=factor.id,
        label=factor.label,
        standard_deviation=number(held.sd * factor.scale),
        law=held.law,
        basis=held.basis,
        source=held.source,
    )


def _cause(cause: Cause) -> CauseData:
    return CauseData(
        figures=tuple(factor.id for factor in cause.factors),
        standard_deviation_s=number(cause.sd_s),
        share=number(cause.share),
        narrowed_by=NARROWED_BY[cause.factors[-1]],
    )


def _gain(difference: Difference) -> tuple[FigureData, float, str]:
    """Difference, share and sentence, as `GainData` has them."""
    return _figure(difference.seconds, "s"), number(difference.faster), gain_words(difference)


def _what_if(tried: WhatIf) -> WhatIfData:
    judgement = tried.checked.judgement
    difference, share, sentence = _gain(tried.difference)
    return WhatIfData(
        *_outcome(tried.prediction),
        settings=tuple(tried.settings),
        fingerprint=tried.checked.opened.design.fingerprint,
        passes=judgement.passes,
        failed=tuple(verdict.rule.clause for verdict in judgement.failed),
        difference=difference,
        share_faster=share,
        sentence=sentence,
    )

"""What records mean, and what each part costs in drag, for other programs."""

from __future__ import annotations

import math
from typing import Annotated

from bodyshop.car.assembly import Car
from bodyshop.foundation.statistics import Repeats
from bodyshop.foundation.toml.rows import Confidence
from bodyshop.output.json.document import HEAD, Document, JsonRecord, about, number
from bodyshop.output.words.findings import finding_words, missing_words
from bodyshop.physics.drag import DragItem, build_up
from bodyshop.physics.model import Air, Basis, Estimate, Interval
from bodyshop.records.findings.classruns import BookFit
from bodyshop.records.findings.model import CM2_PER_M2, CarMeaning, Finding, FindingSubject, scaled
from bodyshop.records.findings.prediction_check import CarComparison, Comparison, FreezeResult

__all__ = [
    "CompareDocument",
    "DragDocument",
    "FitDocument",
    "FreezeDocument",
    "MeaningDocument",
    "comparison_data",
    "drag_data",
    "fit_data",
    "frozen_data",
    "meaning_data",
]


class IntervalData(JsonRecord, frozen=True):
    """What holds the value in `confidence` of all cases; an end is null where it does not end."""

    value: float | None
    low: float | None
    high: float | None
    confidence: float


class EstimateData(IntervalData, frozen=True):
    """A figure as far as it is known, and where it comes from."""

    standard_deviation: float
    basis: Basis
    source: str


class RepeatsData(JsonRecord, frozen=True):
    """Readings, each of them, with the interval of their mean by Student's t."""

    unit: str
    values: tuple[float, ...]
    mean: float
    spread: Annotated[float | None, about("Null for a single reading.")]
    interval: IntervalData | None


class EndsData(JsonRecord, frozen=True):
    """Least and most."""

    low: float
    high: float


class DragAreaData(EndsData, frozen=True):
    """Least and most, and what lies between."""

    middle: float


class DragPartData(JsonRecord, frozen=True):
    """What one kind of part costs."""

    id: str
    label: str
    area_cm2: float
    coefficient: EndsData
    drag_area_cm2: DragAreaData
    share: Annotated[float, about("Of the sum of all middles.")]
    source: str
    confidence: Confidence
    note: str


class DragDocument(Document, frozen=True, tag="race-drag"):
    """What each part of a car costs in drag, from the drawing."""

    name: str
    fingerprint: str
    speed_m_s: float
    reynolds: float
    frontal_cm2: float
    drag_coefficient: float
    drag_area_cm2: IntervalData
    ends_cm2: EndsData
    parts: Annotated[tuple[DragPartData, ...], about("The costliest first.")]


class FindingData(JsonRecord, frozen=True):
    """One thing that the records of a car say."""

    id: str
    subject: FindingSubject
    title: str
    value: float | None
    unit: str
    interval: IntervalData | None
    text: str
    sentence: str
    formula: str
    source: str
    repeats: RepeatsData | None
    notes: tuple[str, ...]
    doubts: tuple[str, ...]
    records: Annotated[tuple[int, ...], about("Their numbers in the book.")]


class MeaningDocument(Document, frozen=True, tag="trial-meaning"):
    """All that the records of a car mean."""

    car: str
    bench: str
    book: str
    findings: tuple[FindingData, ...]
    missing: Annotated[tuple[str, ...], about("What to measure next.")]


class PredictionData(JsonRecord, frozen=True):
    """A prediction that was frozen."""

    car: str
    record: Annotated[int, about("Its number in the book.")]
    made_at: str
    time_s: IntervalData


class LeftOutData(JsonRecord, frozen=True):
    """A car that could not be predicted."""

    car: str
    reason: str


class FreezeDocument(Document, frozen=True, tag="race-freeze"):
    """Predictions frozen in the trial book."""

    predictions: tuple[PredictionData, ...]
    left_out: tuple[LeftOutData, ...]


class CarComparedData(JsonRecord, frozen=True):
    """A car's prediction against its times."""

    car: str
    record: int
    made_at: str
    length_m: float
    predicted_s: IntervalData
    measured_s: RepeatsData
    error_s: float
    error_share: float
    runs_inside: int
    mean_inside: bool


class OrderData(JsonRecord, frozen=True):
    """How well the order of the cars was predicted."""

    cars: int
    kendall: float
    spearman: float
    chance: Annotated[float, about("Probability that chance alone does as well.")]
    chance_counted: bool


class ComparisonData(JsonRecord, frozen=True):
    """How well predictions came true."""

    typical_error_s: float
    mean_error_s: float
    mean_error_interval_s: IntervalData | None
    order: OrderData | None
    winner_told: bool
    expected_inside: float
    cars_inside: IntervalData
    runs_inside: IntervalData


class CompareDocument(Document, frozen=True, tag="race-compare"):
    """Predictions against times."""

    cars: tuple[CarComparedData, ...]
    summary: Annotated[ComparisonData | None, about("Null where there is nothing to compare.")]
    left_out: tuple[str, ...]


class BeforeData(JsonRecord, frozen=True):
    """What was known before the runs."""

    impulse_factor: EstimateData
    hole_mm: EstimateData


class FittedTimeData(JsonRecord, frozen=True):
    """A measured time beside the fit."""

    run: int
    place_m: float
    measured_s: float
    fitted_s: float
    deviations: float


class FarRunData(JsonRecord, frozen=True):
    """A run that does not fit the others."""

    run: int
    error_s: float
    deviations: float


class FitDocument(Document, frozen=True, tag="race-fit"):
    """What all runs of a class say of its cartridges."""

    impulse_ns: EstimateData
    impulse_factor: EstimateData
    hole_mm: EstimateData
    correlation: float
    hole_told: bool
    before: BeforeData
    scatter_s: float
    birge_ratio: float
    runs: tuple[int, ...]
    cars: int
    times: tuple[FittedTimeData, ...]
    far: tuple[FarRunData, ...]
    left_out: tuple[str, ...]
    record: Annotated[int | None, about("Its number in the book; null where it was not kept.")]


def drag_data(car: Car, air: Air, speed_m_s: float) -> DragDocument:
    """What each part costs at a speed."""
    built = build_up(car, air, speed_m_s)
    return DragDocument(
        *HEAD,
        name=car.design.name,
        fingerprint=car.design.fingerprint,
        speed_m_s=number(speed_m_s),
        reynolds=number(built.reynolds),
        frontal_cm2=number(built.frontal_mm2 / 100.0),
        drag_coefficient=number(built.coefficient),
        drag_area_cm2=_interval(scaled(built.estimate.interval(), CM2_PER_M2)),
        ends_cm2=EndsData(number(built.low_m2 * CM2_PER_M2), number(built.high_m2 * CM2_PER_M2)),
        parts=tuple(_drag_part(item, built.share(item)) for item in built.by_cost),
    )


def _drag_part(item: DragItem, share: float) -> DragPartData:
    return DragPartData(
        id=item.id,
        label=item.label,
        area_cm2=number(item.area_mm2 / 100.0),
        coefficient=EndsData(number(item.low), number(item.high)),
        drag_area_cm2=DragAreaData(
            low=number(item.low_m2 * CM2_PER_M2),
            middle=number(item.cda_m2 * CM2_PER_M2),
            high=number(item.high_m2 * CM2_PER_M2),
        ),
        share=number(share),
        source=item.source,
        confidence=item.confidence,
        note=item.note,
    )


def meaning_data(told: CarMeaning) -> MeaningDocument:
    """All findings of a car."""
    findings = tuple(_finding(finding) for finding in told.findings)
    return MeaningDocument(*HEAD, told.car, told.bench, told.book, findings, tuple(missing_words(told)))


def _finding(finding: Finding) -> FindingData:
    words = finding_words(finding)
    return FindingData(
        id=finding.id,
        subject=finding.subject,
        title=words.title,
        value=number(finding.value),
        unit=finding.unit,
        interval=None if finding.interval is None else _interval(finding.interval),
        text=words.figure.replace("\u00a0", " "),
        sentence=words.sentence,
        formula=finding.formula,
        source=finding.source,
        repeats=None if finding.repeats is None else _repeats(finding.repeats, finding.repeats_unit),
        notes=tuple(words.notes),
        doubts=tuple(words.doubts),
        records=tuple(finding.records),
    )


def _interval(held: Interval) -> IntervalData:
    return IntervalData(_finite(held.value), _finite(held.low), _finite(held.high), held.confidence)


def _finite(value: float) -> float | None:
    """A number, or None for one that does not end."""
    return number(value) if math.isfinite(value) else None


def _repeats(series: Repeats, unit: str) -> RepeatsData:
    mean = Interval.of_mean(series)
    return RepeatsData(
        unit=unit.replace("²", "2"),
        values=tuple(number(value) for value in series.values),
        mean=number(series.mean),
        spread=number(series.spread),
        interval=None if mean is None else _interval(mean),
    )


def frozen_data(frozen: FreezeResult) -> FreezeDocument:
    """What was frozen."""
    made = []
    for entry in frozen.entries:
        told = entry.record
        time = Interval(told.time_s, told.time_low_s, told.time_high_s, told.confidence)
        made.append(PredictionData(told.car, entry.id, entry.at.isoformat(), _interval(time)))
    return FreezeDocument(*HEAD, tuple(made), tuple(LeftOutData(*each) for each in frozen.passed_over))


def comparison_data(found: Comparison | None) -> CompareDocument:
    """Predictions against times; None where there is nothing to compare."""
    if found is None:
        return CompareDocument(*HEAD, cars=(), summary=None, left_out=())
    order = found.order
    summary = ComparisonData(
        typical_error_s=number(found.typical_s),
        mean_error_s=number(found.bias_s),
        mean_error_interval_s=None if found.bias is None else _interval(found.bias),
        order=None
        if order is None
        else OrderData(
            order.count, number(order.kendall), number(order.spearman), number(order.chance), order.exact
        ),
        winner_told=found.winner_told,
        expected_inside=found.confidence,
        cars_inside=_interval(found.cars_inside),
        runs_inside=_interval(found.runs_inside),
    )
    return CompareDocument(
        *HEAD, tuple(_car_compared(car) for car in found.cars), summary, tuple(found.passed_over)
    )


def _car_compared(car: CarComparison) -> CarComparedData:
    return CarComparedData(
        car=car.car,
        record=car.prediction.id,
        made_at=car.prediction.at.isoformat(),
        length_m=number(car.length_m),
        predicted_s=_interval(car.predicted),
        measured_s=_repeats(car.times, "s"),
        error_s=number(car.error_s),
        error_share=number(car.error_share),
        runs_inside=car.inside,
        mean_inside=car.mean_inside,
    )


def fit_data(fit: BookFit, stored: int | None) -> FitDocument:
    """The class's fit, and the number of its record where it was kept."""
    found = fit.fitted
    return FitDocument(
        *HEAD,
        impulse_ns=_estimate(found.impulse_ns),
        impulse_factor=_estimate(found.impulse_factor),
        hole_mm=_estimate(found.hole_mm),
        correlation=number(found.coupling),
        hole_told=found.hole_told,
        before=BeforeData(_estimate(fit.prior.impulse_factor), _estimate(fit.prior.hole_mm)),
        scatter_s=number(found.scatter_s),
        birge_ratio=number(found.birge),
        runs=tuple(entry.id for i, entry in enumerate(fit.entries) if i not in found.left_out),
        cars=found.cars,
        times=tuple(
            FittedTimeData(
                fit.entries[each.run].id,
                number(each.place_m),
                number(each.measured_s),
                number(each.fitted_s),
                number(each.deviations),
            )
            for each in found.missed
        ),
        far=tuple(
            FarRunData(fit.entries[each.run].id, number(each.error_s), number(each.deviations))
            for each in found.far
        ),
        left_out=tuple(fit.passed_over),
        record=stored,
    )


def _estimate(estimate: Estimate) -> EstimateData:
    held = estimate.interval()
    return EstimateData(
        _finite(held.value),
        _finite(held.low),
        _finite(held.high),
        held.confidence,
        standard_deviation=number(estimate.sd),
        basis=estimate.basis,
        source=estimate.source,
    )

"""What records mean, and what each part costs in drag, for other programs."""

from __future__ import annotations

from typing import Final

from bodyshop import __version__
from bodyshop.car.assembly import Car
from bodyshop.foundation.statistics import Repeats
from bodyshop.output.json.plain_data import Data, json_text, number
from bodyshop.output.json.plain_data import number as plain_number
from bodyshop.output.words.findings import finding_words, missing_words
from bodyshop.physics.drag import build_up
from bodyshop.physics.model import Air, Estimate, Interval
from bodyshop.records.findings.classruns import BookFit
from bodyshop.records.findings.model import CM2_PER_M2, CarMeaning, Finding, scaled
from bodyshop.records.findings.prediction_check import CarComparison, Comparison, FreezeResult

__all__ = [
    "FINDINGS_VERSION",
    "comparison_json",
    "document",
    "drag_json",
    "fit_json",
    "frozen_json",
    "interval_data",
    "meaning_json",
]


_FORMAT: Final = "bodyshop-race-drag"


def drag_json(car: Car, air: Air, speed_m_s: float) -> str:
    """The same for other programs."""
    built = build_up(car, air, speed_m_s)
    return document(
        _FORMAT,
        {
            "name": car.design.name,
            "fingerprint": car.design.fingerprint,
            "speed_m_s": plain_number(speed_m_s),
            "reynolds": plain_number(built.reynolds),
            "frontal_cm2": plain_number(built.frontal_mm2 / 100.0),
            "drag_coefficient": plain_number(built.coefficient),
            "drag_area_cm2": interval_data(scaled(built.estimate.interval(), CM2_PER_M2)),
            "ends_cm2": {
                "low": plain_number(built.low_m2 * CM2_PER_M2),
                "high": plain_number(built.high_m2 * CM2_PER_M2),
            },
            "parts": [
                {
                    "id": item.id,
                    "label": item.label,
                    "area_cm2": plain_number(item.area_mm2 / 100.0),
                    "coefficient": {"low": plain_number(item.low), "high": plain_number(item.high)},
                    "drag_area_cm2": {
                        "low": plain_number(item.low_m2 * CM2_PER_M2),
                        "middle": plain_number(item.cda_m2 * CM2_PER_M2),
                        "high": plain_number(item.high_m2 * CM2_PER_M2),
                    },
                    "share": plain_number(built.share(item)),
                    "source": item.source,
                    "confidence": item.confidence.value,
                    "note": item.note,
                }
                for item in built.by_cost
            ],
        },
    )


FINDINGS_VERSION: Final = 1

_MEANING: Final = "bodyshop-trial-meaning"
_COMPARISON: Final = "bodyshop-race-compare"
_FROZEN: Final = "bodyshop-race-freeze"
_FIT: Final = "bodyshop-race-fit"


def document(kind: str, body: dict[str, Data]) -> str:
    """A document of a kind, with its head."""
    head: dict[str, Data] = {"format": kind, "version": FINDINGS_VERSION, "program": __version__}
    return json_text({**head, **body})


def meaning_json(told: CarMeaning) -> str:
    """All findings of a car."""
    return document(
        _MEANING,
        {
            "car": told.car,
            "bench": told.bench,
            "book": told.book,
            "findings": [_finding(finding) for finding in told.findings],
            "missing": list(missing_words(told)),
        },
    )


def _finding(finding: Finding) -> Data:
    words = finding_words(finding)
    return {
        "id": finding.id,
        "subject": finding.subject.value,
        "title": words.title,
        "value": number(finding.value),
        "unit": finding.unit,
        "interval": interval_data(finding.interval),
        "text": words.figure.replace("\u00a0", " "),
        "sentence": words.sentence,
        "formula": finding.formula,
        "source": finding.source,
        "repeats": _repeats(finding.repeats, finding.repeats_unit),
        "notes": list(words.notes),
        "doubts": list(words.doubts),
        "records": list(finding.records),
    }


def interval_data(held: Interval | None) -> Data:
    """A value with its interval; null for none."""
    return None if held is None else _plain(held)


def _finite(value: float) -> float | None:
    """A number, or null for one that does not end."""
    return number(value) if value - value == 0.0 else None


def _repeats(series: Repeats | None, unit: str) -> Data:
    if series is None:
        return None
    return {
        "unit": unit.replace("²", "2"),
        "values": [number(value) for value in series.values],
        "mean": number(series.mean),
        "spread": number(series.spread),
        "interval": interval_data(Interval.of_mean(series)),
    }


def frozen_json(frozen: FreezeResult) -> str:
    """What was frozen."""
    return document(
        _FROZEN,
        {
            "predictions": [
                {
                    "car": entry.record.car,
                    "record": entry.id,
                    "made_at": entry.at.isoformat(),
                    "time_s": interval_data(
                        Interval(
                            entry.record.time_s,
                            entry.record.time_low_s,
                            entry.record.time_high_s,
                            entry.record.confidence,
                        )
                    ),
                }
                for entry in frozen.entries
            ],
            "left_out": [{"car": name, "reason": why} for name, why in frozen.passed_over],
        },
    )


def comparison_json(found: Comparison | None) -> str:
    """Predictions against times; everything null where there is nothing to compare."""
    if found is None:
        return document(_COMPARISON, {"cars": [], "summary": None, "left_out": []})
    order = found.order
    return document(
        _COMPARISON,
        {
            "cars": [_car_compared(car) for car in found.cars],
            "summary": {
                "typical_error_s": number(found.typical_s),
                "mean_error_s": number(found.bias_s),
                "mean_error_interval_s": interval_data(found.bias),
                "order": None
                if order is None
                else {
                    "cars": order.count,
                    "kendall": number(order.kendall),
                    "spearman": number(order.spearman),
                    "chance": number(order.chance),
                    "chance_counted": order.exact,
                },
                "winner_told": found.winner_told,
                "expected_inside": found.confidence,
                "cars_inside": interval_data(found.cars_inside),
                "runs_inside": interval_data(found.runs_inside),
            },
            "left_out": list(found.passed_over),
        },
    )


def _car_compared(car: CarComparison) -> Data:
    return {
        "car": car.car,
        "record": car.prediction.id,
        "made_at": car.prediction.at.isoformat(),
        "length_m": number(car.length_m),
        "predicted_s": interval_data(car.predicted),
        "measured_s": _repeats(car.times, "s"),
        "error_s": number(car.error_s),
        "error_share": number(car.error_share),
        "runs_inside": car.inside,
        "mean_inside": car.mean_inside,
    }


def fit_json(fit: BookFit, stored: int | None) -> str:
    """The class's fit, and the number of its record where it was kept."""
    found = fit.fitted
    return document(
        _FIT,
        {
            "impulse_ns": _estimate(found.impulse_ns),
            "impulse_factor": _estimate(found.impulse_factor),
            "hole_mm": _estimate(found.hole_mm),
            "correlation": number(found.coupling),
            "hole_told": found.hole_told,
            "before": {
                "impulse_factor": _estimate(fit.prior.impulse_factor),
                "hole_mm": _estimate(fit.prior.hole_mm),
            },
            "scatter_s": number(found.scatter_s),
            "birge_ratio": number(found.birge),
            "runs": [entry.id for i, entry in enumerate(fit.entries) if i not in found.left_out],
            "cars": found.cars,
            "times": [
                {
                    "run": fit.entries[each.run].id,
                    "place_m": number(each.place_m),
                    "measured_s": number(each.measured_s),
                    "fitted_s": number(each.fitted_s),
                    "deviations": number(each.deviations),
                }
                for each in found.missed
            ],
            "far": [
                {
                    "run": fit.entries[each.run].id,
                    "error_s": number(each.error_s),
                    "deviations": number(each.deviations),
                }
                for each in found.far
            ],
            "left_out": list(fit.passed_over),
            "record": stored,
        },
    )


def _estimate(estimate: Estimate) -> Data:
    return {
        **_plain(estimate.interval()),
        "standard_deviation": number(estimate.sd),
        "basis": estimate.basis.value,
        "source": estimate.source,
    }


def _plain(held: Interval) -> dict[str, Data]:
    return {
        "value": _finite(held.value),
        "low": _finite(held.low),
        "high": _finite(held.high),
        "confidence": held.confidence,
    }

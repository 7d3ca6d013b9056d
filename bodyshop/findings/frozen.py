"""Predictions frozen before the race: what they were made from goes into the book with them."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

from bodyshop.checking import Bookshelf
from bodyshop.findings.setups import RaceConditions, ready
from bodyshop.problems import Problem, ProblemsError
from bodyshop.race.model import Interval
from bodyshop.race.prediction import Prediction, predict
from bodyshop.race.setup import Factor, Setup
from bodyshop.trials.book import Book
from bodyshop.trials.model import Entry, FrozenPrediction

__all__ = ["INPUTS_VERSION", "Frozen", "freeze", "frozen_record", "inputs_json", "lane_length_m"]

INPUTS_VERSION: Final = 1


@dataclass(frozen=True)
class Frozen:
    """What was frozen, and the cars that were not, each with the reason in a clause."""

    entries: tuple[Entry[FrozenPrediction], ...]
    passed_over: tuple[tuple[str, str], ...]


def freeze(
    book: Book, conditions: RaceConditions, cars: Sequence[str] = (), *, by: str = "", note: str = ""
) -> Frozen:
    """Predict cars of the book (all of them unless some are named) and put the predictions into it, all or
    none.

    Raises:
        ProblemsError: a car that was named cannot be predicted, or no car can.
    """
    wanted = list(dict.fromkeys(cars)) or [entry.record.name for entry in book.cars()]
    records: list[FrozenPrediction] = []
    passed_over: list[tuple[str, str]] = []
    faults: list[Problem] = []
    shelf = Bookshelf()
    for name in wanted:
        try:
            found, setup = ready(book, name, conditions, shelf)
            fingerprint = found.design.design.fingerprint if found.design else ""
            records.append(frozen_record(found.name, fingerprint, predict(setup)))
        except ProblemsError as error:
            faults += error.problems
            passed_over.append((name, error.problems[0].sentence))
    if faults and (cars or not records):
        raise ProblemsError(faults)
    if not records:
        raise ProblemsError(
            [Problem("book-no-cars", "there is no car in the book to predict", file=book.name)]
        )
    with book.writing() as writer:
        entries = tuple(writer.add(record, by=by, note=note) for record in records)
    return Frozen(entries, tuple(passed_over))


def frozen_record(car: str, fingerprint: str, prediction: Prediction) -> FrozenPrediction:
    """A prediction as the book keeps it.

    Raises:
        ProblemsError: the car would not come to the line, so there is no time to hold a race against.
    """
    finish = prediction.finish
    if not math.isfinite(finish.high):
        coming = f"{100 * prediction.finishing:.0f} %"
        message = (
            f"{car} may stop short of the line ({coming} of its draws come there), so no time can be frozen"
        )
        raise ProblemsError([Problem("race-stops-short", message, key=car)])
    return FrozenPrediction(
        car=car,
        time_s=finish.value,
        time_low_s=finish.low,
        time_high_s=finish.high,
        confidence=finish.confidence,
        **_ends("top_speed", prediction.top),
        **_ends("line_speed", prediction.line),
        fingerprint=fingerprint,
        inputs=inputs_json(prediction.setup),
    )


def _ends(name: str, held: Interval) -> dict[str, Any]:
    return {f"{name}_m_s": held.value, f"{name}_low_m_s": held.low, f"{name}_high_m_s": held.high}


def inputs_json(setup: Setup) -> str:
    """Everything that a prediction was made from."""
    return json.dumps(
        {
            "version": INPUTS_VERSION,
            "length_m": setup.lane.length_m,
            "gates_m": list(setup.lane.gates_m),
            "air": {"temperature_c": setup.air.temperature_c, "pressure_hpa": setup.air.pressure_hpa},
            "thrust": setup.thrust.source,
            "coupling": setup.cartridge.coupling,
            "figures": {
                factor.id: {
                    "value": (figure := setup.figure(factor)).value,
                    "sd": figure.sd,
                    "law": figure.law.value,
                    "basis": figure.basis.value,
                    "source": figure.source,
                }
                for factor in Factor
            },
        },
        allow_nan=False,
    )


def lane_length_m(record: FrozenPrediction) -> float | None:
    """The length of the lane that a prediction was made for; None where the record does not say."""
    return None if record.length_mm is None else record.length_mm / 1e3

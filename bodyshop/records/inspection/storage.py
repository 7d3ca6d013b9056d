"""Inspections in the trial book: each is kept, and a later one takes nothing away."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import Entry, EyesAnswer, InspectedValue, Inspection
from bodyshop.records.inspection.input import MeasuredValue
from bodyshop.records.inspection.judging import KIND_UNIT, InspectionResult, verdict_word
from bodyshop.rules.rulebook import SIDES_OF_A_WHEEL, CarResult

__all__ = ["EarlierInspection", "keep", "past_inspections"]


@dataclass(frozen=True, slots=True)
class EarlierInspection:
    """An earlier inspection, and the word it had for each clause."""

    entry: Entry[Inspection]
    words: Mapping[str, str]


def keep(
    book: Book,
    car: str,
    inspected: InspectionResult,
    *,
    at: datetime | None = None,
    by: str = "",
    note: str = "",
    doubt: str = "",
) -> Entry[Inspection]:
    """Put an inspection with its values and answers into the book: all of it or nothing.

    Raises:
        ProblemsError: the book has no such car.
        WriteRefusedError: it cannot be written.
    """
    opened = inspected.checked.opened
    record = Inspection(
        car=car,
        rulebook=opened.rulebook.stem,
        result=inspected.standing,
        rulebook_fingerprint=opened.rulebook.fingerprint,
        division=opened.rulebook.division,
        design_fingerprint=opened.design.fingerprint,
        passes=inspected.passes,
        open_points=len(inspected.open_rows),
        points_off=inspected.judgement.points_off,
        verdicts=_verdicts(inspected),
        legal=inspected.judgement.result is not CarResult.NOT_LEGAL,
    )
    with book.writing() as writer:
        entry = writer.add(record, at=at, by=by, note=note, doubt=doubt)
        for name, measured in inspected.found.values.items():
            writer.add(_value(entry.id, name, measured, inspected), at=entry.at, by=by)
        for row in inspected.rows:
            if row.answer is not None and row.rule is not None:
                answer = EyesAnswer(entry.id, row.rule.clause, row.answer, row.rule.item)
                writer.add(answer, at=entry.at, by=by)
    return entry


def past_inspections(book: Book, car: str) -> tuple[EarlierInspection, ...]:
    """The inspections of a car so far, the first one first."""
    return tuple(
        EarlierInspection(entry, _words(entry.record.verdicts)) for entry in book.records(Inspection, car=car)
    )


def _value(
    inspection: int, name: str, measured: MeasuredValue, inspected: InspectionResult
) -> InspectedValue:
    whole = next((name.removesuffix(side) for side in SIDES_OF_A_WHEEL if name.endswith(side)), name)
    reading = inspected.checked.readings.get(whole)
    designed = reading.value if isinstance(reading, Reading) else None
    turn = math.degrees if measured.kind is QuantityKind.ANGLE else float
    return InspectedValue(
        inspection,
        name,
        turn(measured.value),
        KIND_UNIT[measured.kind],
        turn(measured.resolution),
        measured.instrument,
        None if designed is None else turn(designed),
    )


def _verdicts(inspected: InspectionResult) -> str:
    data: list[dict[str, Any]] = [
        {
            "clause": row.rule.clause,
            "verdict": verdict_word(row),
            "points": 0.0 if row.verdict is None else row.verdict.points,
        }
        for row in inspected.rows
        if row.rule is not None
    ]
    return json.dumps(data, ensure_ascii=False)


def _words(verdicts: str) -> dict[str, str]:
    try:
        return {str(each["clause"]): str(each["verdict"]) for each in json.loads(verdicts)}
    except (ValueError, KeyError, TypeError):
        return {}  # written by somebody else's hand: there is nothing to compare with

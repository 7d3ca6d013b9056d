"""An inspection for other programs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from bodyshop.car.measures import NotKnown, QuantityKind, Reading
from bodyshop.output.json.check import part_data
from bodyshop.records.book.model import Answer
from bodyshop.records.inspection.judging import KIND_UNIT, InspectedRow, InspectionResult, verdict_word
from bodyshop.records.inspection.storage import EarlierInspection
from bodyshop.rules.rulebook import BreachEffects

__all__ = ["inspected_data", "row_data"]


def _value(kind: QuantityKind | None, value: float) -> float:
    return round(math.degrees(value), 9) if kind is QuantityKind.ANGLE else value


def row_data(row: InspectedRow) -> dict[str, Any]:
    """One row as plain data. Lengths in mm, masses in g, angles in degrees."""
    designed = row.designed
    return {
        "clause": None if row.rule is None else row.rule.clause,
        "measure": row.measure or None,
        "unit": None if row.kind is None else KIND_UNIT[row.kind],
        "designed": _value(row.kind, designed.value) if isinstance(designed, Reading) else None,
        "why_not_designed": designed.reason if isinstance(designed, NotKnown) else None,
        "measured": None if row.measured is None else _value(row.kind, row.measured.value),
        "resolution": None if row.measured is None else _value(row.kind, row.measured.resolution),
        "instrument": None if row.measured is None else row.measured.instrument,
        "answer": None if row.answer in (None, Answer.OPEN) else row.answer.value,
        "change": None if row.change is None else row.change.value,
        "by": None if row.by is None else round(_value(row.kind, row.by), 9),
        "verdict": None if row.verdict is None else verdict_word(row),
        "open": row.is_open,
        "points": 0.0 if row.verdict is None else row.verdict.points,
        "ballast_g": 0.0 if row.verdict is None else row.verdict.ballast_g,
        "parts": [] if row.verdict is None else [part_data(part) for part in row.verdict.parts],
        "decided": None if row.verdict is None or row.verdict.decided is None else row.verdict.decided.value,
        "from_drawing": row.from_drawing,
        "advice": row.rule is not None and row.rule.fails is BreachEffects.ADVICE,
    }


def inspected_data(
    inspected: InspectionResult, past: Sequence[EarlierInspection] = (), number: int | None = None
) -> dict[str, Any]:
    """The inspection for other programs."""
    opened = inspected.checked.opened
    score = opened.rulebook.score
    return {
        "format": 1,
        "car": opened.design.name,
        "design_fingerprint": opened.design.fingerprint,
        "rulebook": opened.rulebook.stem,
        "rulebook_name": opened.rulebook.name,
        "rulebook_fingerprint": opened.rulebook.fingerprint,
        "division": opened.rulebook.division,
        "inspection": number,
        "standing": inspected.standing,
        "passes": inspected.passes,
        "broken": [verdict.rule.clause for verdict in inspected.judgement.failed],
        "open": [row.rule.clause for row in inspected.open_rows if row.rule is not None],
        "points_off": inspected.judgement.points_off,
        "score": inspected.judgement.score,
        "full_score": None if score is None else score.full,
        "least_score": None if score is None else score.least,
        "from_drawing": [row.rule.clause for row in inspected.from_drawing if row.rule is not None],
        "ballast_g": inspected.judgement.ballast_g,
        "barred": list(inspected.judgement.barred),
        "rows": [row_data(row) for row in inspected.rows],
        "before": [
            {
                "inspection": each.entry.id,
                "at": each.entry.at.isoformat(timespec="seconds"),
                "standing": each.entry.record.result,
                "passes": each.entry.record.passes,
            }
            for each in past
        ],
    }

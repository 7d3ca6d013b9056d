"""An inspection for other programs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated

from bodyshop.car.measures import NotKnown, QuantityKind, Reading
from bodyshop.output.json.document import HEAD, Document, JsonRecord, about
from bodyshop.output.json.parts import PartData, part_data
from bodyshop.records.book.model import Answer
from bodyshop.records.inspection.judging import (
    KIND_UNIT,
    DimensionChange,
    InspectedRow,
    InspectionResult,
    verdict_word,
)
from bodyshop.records.inspection.storage import EarlierInspection
from bodyshop.rules.rulebook import BreachEffects
from bodyshop.rules.rulebook.model import Doubt

__all__ = ["InspectDocument", "inspected_data"]


class InspectedRowData(JsonRecord, frozen=True):
    """One rule, or one measure that no rule is about, on the finished car."""

    clause: Annotated[
        str | None, about("The clause of the rulebook; null for a measure that no rule is about.")
    ]
    measure: Annotated[
        str | None, about("The measure, by its name in the catalogue; null for what eyes tell.")
    ]
    unit: Annotated[str | None, about("The unit of all values of the row; empty for a count.")]
    designed: float | None
    why_not_designed: str | None
    measured: float | None
    resolution: Annotated[float | None, about("The instrument's smallest step.")]
    instrument: str | None
    answer: Annotated[Answer | None, about("What eyes said.")]
    change: DimensionChange | None
    by: Annotated[float | None, about("Measured less designed.")]
    verdict: Annotated[
        str | None,
        about("pass, near, FAIL, advice, too close to tell, not measured, not looked at, none here."),
    ]
    open: Annotated[bool, about("Whether the rule is not settled yet.")]
    points: float
    ballast_g: Annotated[float, about("Ballast to add, g.")]
    parts: Annotated[
        tuple[PartData, ...],
        about("The word on each of several measures, or on each wheel measured apart."),
    ]
    decided: Annotated[
        Doubt | None,
        about("How a reading within its instrument's step of a limit was decided."),
    ]
    from_drawing: Annotated[
        bool, about("The drawing answers it, because a finished car cannot be measured there.")
    ]
    advice: bool


class EarlierInspectionData(JsonRecord, frozen=True):
    """An inspection of the same car before."""

    inspection: int
    at: Annotated[str, about("Date and time, ISO 8601.")]
    standing: str
    passes: bool


class InspectDocument(Document, frozen=True, tag="inspect"):
    """A finished car as inspected. Lengths in mm, masses in g, angles in degrees."""

    car: str
    design_fingerprint: str
    rulebook: str
    rulebook_name: str
    rulebook_fingerprint: str
    division: str
    inspection: Annotated[int | None, about("Its number in the trial book; null where it is not kept.")]
    standing: str
    passes: Annotated[bool, about("Whether no rule is broken and none is open.")]
    broken: tuple[str, ...]
    open: tuple[str, ...]
    points_off: float
    score: Annotated[float | None, about("The points left; null where the rulebook has no score.")]
    full_score: Annotated[float | None, about("The points that a car starts with.")]
    least_score: Annotated[float | None, about("The points that it needs.")]
    from_drawing: Annotated[
        tuple[str, ...],
        about("Clauses that the drawing answers, because a finished car cannot be measured there."),
    ]
    ballast_g: Annotated[float, about("Ballast to add, g.")]
    barred: Annotated[
        tuple[str, ...], about("Awards barred to the car; an empty text for an award without a name.")
    ]
    rows: tuple[InspectedRowData, ...]
    before: tuple[EarlierInspectionData, ...]


def _value(kind: QuantityKind | None, value: float) -> float:
    return round(math.degrees(value), 9) if kind is QuantityKind.ANGLE else value


def _row(row: InspectedRow) -> InspectedRowData:
    designed, measured, verdict = row.designed, row.measured, row.verdict
    return InspectedRowData(
        clause=None if row.rule is None else row.rule.clause,
        measure=row.measure or None,
        unit=None if row.kind is None else KIND_UNIT[row.kind],
        designed=_value(row.kind, designed.value) if isinstance(designed, Reading) else None,
        why_not_designed=designed.reason if isinstance(designed, NotKnown) else None,
        measured=None if measured is None else _value(row.kind, measured.value),
        resolution=None if measured is None else _value(row.kind, measured.resolution),
        instrument=None if measured is None else measured.instrument,
        answer=None if row.answer is Answer.OPEN else row.answer,
        change=row.change,
        by=None if row.by is None else round(_value(row.kind, row.by), 9),
        verdict=None if verdict is None else verdict_word(row),
        open=row.is_open,
        points=0.0 if verdict is None else verdict.points,
        ballast_g=0.0 if verdict is None else verdict.ballast_g,
        parts=() if verdict is None else tuple(part_data(part) for part in verdict.parts),
        decided=None if verdict is None else verdict.decided,
        from_drawing=row.from_drawing,
        advice=row.rule is not None and row.rule.fails is BreachEffects.ADVICE,
    )


def inspected_data(
    inspected: InspectionResult, past: Sequence[EarlierInspection] = (), number: int | None = None
) -> InspectDocument:
    """The inspection for other programs."""
    opened, judgement = inspected.checked.opened, inspected.judgement
    score = opened.rulebook.score
    return InspectDocument(
        *HEAD,
        car=opened.design.name,
        design_fingerprint=opened.design.fingerprint,
        rulebook=opened.rulebook.stem,
        rulebook_name=opened.rulebook.name,
        rulebook_fingerprint=opened.rulebook.fingerprint,
        division=opened.rulebook.division,
        inspection=number,
        standing=inspected.standing,
        passes=inspected.passes,
        broken=tuple(verdict.rule.clause for verdict in judgement.failed),
        open=tuple(row.rule.clause for row in inspected.open_rows if row.rule is not None),
        points_off=judgement.points_off,
        score=judgement.score,
        full_score=None if score is None else score.full,
        least_score=None if score is None else score.least,
        from_drawing=tuple(row.rule.clause for row in inspected.from_drawing if row.rule is not None),
        ballast_g=judgement.ballast_g,
        barred=tuple(judgement.barred),
        rows=tuple(_row(row) for row in inspected.rows),
        before=tuple(
            EarlierInspectionData(
                each.entry.id,
                each.entry.at.isoformat(timespec="seconds"),
                each.entry.record.result,
                each.entry.record.passes,
            )
            for each in past
        ),
    )

"""The signed sheet: the official's inspection form, filled in with what was found."""

from __future__ import annotations

from bodyshop.inspection.judging import Inspected, InspectedRow
from bodyshop.inspection.telling import change_words, measured_words
from bodyshop.inspection.words import verdict_word
from bodyshop.rulebook import Outcome
from bodyshop.ruleprint import AsBuilt, BuiltMark, InspectionOptions, inspection_pdf
from bodyshop.stock.sheets import SheetSize

__all__ = ["as_built_pdf"]


def as_built_pdf(
    inspected: Inspected, sheet: SheetSize, *, owner: str = "", date: str = "", told: str = ""
) -> bytes:
    """The sheet as one PDF. `told` says which inspection it is; what is open stays open, to be filled in."""
    marks = {row.rule.clause: _mark(row, inspected) for row in inspected.rows if row.rule is not None}
    built = AsBuilt(
        marks,
        inspected.standing,
        fails=not inspected.judgement.passes,
        told=told,
        date=date,
        points_off=inspected.judgement.points_off,
        score=inspected.judgement.score,
        so_far=bool(inspected.open_rows),
    )
    checked = inspected.checked
    return inspection_pdf(checked.opened.rulebook, sheet, checked, InspectionOptions(date, owner), built)


def _mark(row: InspectedRow, inspected: Inspected) -> BuiltMark:
    verdict = row.verdict
    if verdict is None or (row.measured is None and row.answer is None and not row.from_drawing):
        return BuiltMark()
    passed: bool | None = None
    if verdict.outcome is Outcome.FAIL:
        passed = False
    elif verdict.outcome in (Outcome.PASS, Outcome.NEAR):
        passed = True
    if row.from_drawing:
        return BuiltMark("as drawn", "not measured", passed)
    value = measured_words(row, inspected) if row.measured is not None else ""
    word = verdict_word(row) if verdict.outcome is Outcome.TOO_CLOSE else change_words(row, inspected)
    return BuiltMark(value, word, passed)

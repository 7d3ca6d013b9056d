"""The short words of an inspection, the same on paper, on the screen and in the book."""

from __future__ import annotations

from typing import Final

from bodyshop.inspection.judging import InspectedRow
from bodyshop.measures import Kind
from bodyshop.rulebook import Outcome

__all__ = ["KIND_UNIT", "verdict_word"]


KIND_UNIT: Final = {
    Kind.LENGTH: "mm",
    Kind.MASS: "g",
    Kind.ANGLE: "deg",
    Kind.COUNT: "",
    Kind.AREA: "mm2",
    Kind.VOLUME: "mm3",
}
_WORDS: Final = {
    Outcome.PASS: "pass",
    Outcome.NEAR: "near",
    Outcome.FAIL: "FAIL",
    Outcome.TOO_CLOSE: "too close to tell",
    Outcome.ADVICE: "advice",
    Outcome.CANNOT_JUDGE: "not measured",
    Outcome.BY_GAUGE: "not looked at",
    Outcome.BY_EYE: "not looked at",
}


def verdict_word(row: InspectedRow) -> str:
    """`pass`, `FAIL`, `too close to tell`, `not measured` ..."""
    verdict = row.verdict
    if verdict is None:
        return ""
    if verdict.outcome is Outcome.PASS and verdict.why_not:
        return "none here"
    word = _WORDS[verdict.outcome]
    return f"{word}, from the drawing" if row.from_drawing else word

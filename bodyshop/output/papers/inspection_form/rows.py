"""What an inspection sheet asks, clause by clause, in words ready to be set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures import QuantityKind, catalogue
from bodyshop.foundation.text.small_words import capital
from bodyshop.output.words.rulebook import sections
from bodyshop.rules.rulebook import (
    CheckedBy,
    Judgement,
    Outcome,
    Rule,
    Rulebook,
    Verdict,
    amount_text,
    doubt_text,
    fails_text,
    limits_text,
    value_text,
)

__all__ = ["FormSection", "BuiltMark", "DrawingAnswer", "ClauseRow", "rows_of"]


@dataclass(frozen=True, slots=True)
class DrawingAnswer:
    """What the program found on the design: the value, the word for it, and whether it is broken."""

    value: str
    word: str
    broken: bool


@dataclass(frozen=True, slots=True)
class BuiltMark:
    """What was found on the finished car: the value, a word on it, and the box to cross, None for neither."""

    value: str = ""
    word: str = ""
    passed: bool | None = None


@dataclass(frozen=True, slots=True)
class ClauseRow:
    """One clause.

    `what` is what is checked and `how` where it is measured or how it is looked at. `low` and `high` are
    the limits; `asked` holds them where they are not two ends (exactly 2). `by` says who checks. `mark`
    is None on a blank sheet and for what a drawing cannot tell; `built` where the car was not inspected.
    """

    clause: str
    what: str
    how: str
    cost: str
    by: str
    low: str = ""
    high: str = ""
    asked: str = ""
    is_measured: bool = False
    mark: DrawingAnswer | None = None
    built: BuiltMark | None = None


@dataclass(frozen=True, slots=True)
class FormSection:
    """A section with its rows."""

    heading: str
    rows: tuple[ClauseRow, ...]


_BY: Final = {CheckedBy.PROGRAM: "", CheckedBy.GAUGE: "gauge", CheckedBy.EYES: "eyes"}
_WORDS: Final = {
    Outcome.PASS: "pass",
    Outcome.NEAR: "near",
    Outcome.FAIL: "FAIL",
    Outcome.TOO_CLOSE: "too close",
    Outcome.ADVICE: "advice",
    Outcome.CANNOT_JUDGE: "not known",
}


def rows_of(
    book: Rulebook, judgement: Judgement | None = None, built: Mapping[str, BuiltMark] | None = None
) -> tuple[FormSection, ...]:
    """The rows of a book by section; with the verdicts on a design where there is a judgement.

    `built` is what was found on the finished car, by clause.
    """
    found = built or {}
    verdicts = {} if judgement is None else {each.rule.clause: each for each in judgement.verdicts}
    return tuple(
        FormSection(
            heading,
            tuple(_row(rule, book, verdicts.get(rule.clause), found.get(rule.clause)) for rule in rules),
        )
        for heading, rules in sections(book).items()
    )


def _row(rule: Rule, book: Rulebook, verdict: Verdict | None, built: BuiltMark | None) -> ClauseRow:
    low, high, asked = _ends(rule)
    return ClauseRow(
        clause=rule.clause,
        what=capital(rule.title or rule.item),
        how=_how(rule, book),
        cost=fails_text(rule),
        by=_BY[rule.checked_by],
        low=low,
        high=high,
        asked=asked,
        is_measured=rule.limits is not None,
        mark=None if verdict is None else _mark(rule, verdict),
        built=built,
    )


def _ends(rule: Rule) -> tuple[str, str, str]:
    limits, kind = rule.limits, rule.kind
    if limits is None or kind is None:
        return "", "", ""
    if limits.one_of or limits.is_point:
        return "", "", limits_text(limits, kind, rule.shown_unit)
    low, high = (
        "" if end is None else amount_text(end, kind, rule.shown_unit) for end in (limits.low, limits.high)
    )
    return low, high, ""


def _how(rule: Rule, book: Rulebook) -> str:
    parts = [rule.item] if rule.title and rule.item else []
    if rule.instruction:
        parts.append(rule.instruction)
    elif rule.measure and rule.kind in (QuantityKind.LENGTH, QuantityKind.ANGLE):
        parts.append("; ".join(_between(name, named=bool(rule.several)) for name in rule.measures))
    if rule.limits is not None and rule.doubt is not book.reads.doubt:
        # What is measured from where to where is no sentence, and needs a stop before the next one.
        parts = [part if part.endswith(".") else f"{part}." for part in parts]
        parts.append(f"{capital(doubt_text(rule.doubt))}.")
    return " ".join(parts)


def _between(name: str, *, named: bool) -> str:
    measure = catalogue()[name]
    return f"{measure.title}: {measure.ends}" if named else measure.ends


def _mark(rule: Rule, verdict: Verdict) -> DrawingAnswer | None:
    if verdict.outcome not in _WORDS:
        return None
    value = "–" if verdict.read is None else value_text(rule, verdict.read)
    word = _WORDS[verdict.outcome]
    if verdict.outcome is Outcome.PASS and verdict.value is None:
        word = "none here"
    return DrawingAnswer(value, word, verdict.outcome is Outcome.FAIL)

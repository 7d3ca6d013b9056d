"""What was measured on a finished car, judged by the rulebook, and the short words of it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bodyshop.car.measures import NotKnown, QuantityKind, Reading, catalogue
from bodyshop.records.book.model import Answer
from bodyshop.records.inspection.input import InspectionInput, MeasuredValue
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import (
    INTERVAL_SD,
    SIDES_OF_A_WHEEL,
    BreachEffects,
    CarResult,
    CountedAs,
    Judgement,
    Outcome,
    Rule,
    Rulebook,
    Verdict,
    barred_text,
    conclude,
    cost_of,
    judge,
    points_text,
    result_text,
    score_text,
)

__all__ = [
    "DimensionChange",
    "InspectedRow",
    "InspectionResult",
    "KIND_UNIT",
    "inspect",
    "odd_values",
    "verdict_word",
]


KIND_UNIT: Final = {
    QuantityKind.LENGTH: "mm",
    QuantityKind.MASS: "g",
    QuantityKind.ANGLE: "deg",
    QuantityKind.COUNT: "",
    QuantityKind.AREA: "mm2",
    QuantityKind.VOLUME: "mm3",
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


_OPEN = (Outcome.TOO_CLOSE, Outcome.CANNOT_JUDGE, Outcome.BY_EYE, Outcome.BY_GAUGE)
_ODD_SHARE = 0.2
_ODD_MM = 3.0
_HAIR = 1e-9


class DimensionChange(Enum):
    """What became of a dimension between drawing and car."""

    SAME = "as drawn"
    GREW = "grew"
    SHRANK = "shrank"


@dataclass(frozen=True, slots=True)
class InspectedRow:
    """One rule, or one measure that no rule is about, on the finished car.

    `rule` and `verdict` are None for a measure without a rule. `by` is measured less designed, in the unit of
    the kind.
    """

    rule: Rule | None
    verdict: Verdict | None
    measure: str
    kind: QuantityKind | None
    designed: Reading | NotKnown | None
    measured: MeasuredValue | None
    answer: Answer | None
    change: DimensionChange | None
    by: float | None
    from_drawing: bool = False
    """Whether the drawing answers it, because a finished car cannot be measured there."""

    @property
    def is_open(self) -> bool:
        """Whether the rule is not settled: not measured, not looked at, too close to tell."""
        verdict = self.verdict
        if verdict is None or (self.rule is not None and self.rule.fails is BreachEffects.ADVICE):
            return False
        if self.rule is not None and self.rule.together is CountedAs.EACH:
            # One that is outside does not settle the others.
            return any(part.outcome in _OPEN for part in verdict.parts or (verdict,))
        return verdict.outcome in _OPEN


@dataclass(frozen=True, slots=True)
class InspectionResult:
    """A finished car judged. `rows` are in the order of the book, then measures without a rule."""

    checked: Checked
    found: InspectionInput
    judgement: Judgement
    rows: tuple[InspectedRow, ...]

    @property
    def open_rows(self) -> tuple[InspectedRow, ...]:
        """Rules that are not settled."""
        return tuple(row for row in self.rows if row.is_open)

    @property
    def passes(self) -> bool:
        """Whether no rule is broken and none is open."""
        return self.judgement.passes and not self.open_rows

    @property
    def from_drawing(self) -> tuple[InspectedRow, ...]:
        """Rules that the drawing answers, because a finished car cannot be measured there."""
        return tuple(row for row in self.rows if row.from_drawing)

    @property
    def too_few_points(self) -> bool:
        """Whether too few points are left by the rulebook, and nothing graver is wrong."""
        judgement, score = self.judgement, self.judgement.rulebook.score
        grave = any(
            fails in (BreachEffects.DISQUALIFY, BreachEffects.SHOW_ONLY, BreachEffects.BALLAST)
            for verdict in judgement.failed
            for fails in verdict.rule.consequences
        )
        return not grave and score is not None and (judgement.score or 0.0) < score.least

    @property
    def standing(self) -> str:
        """What it comes to, in a clause: `not legal: fails B3; 5 checks not done yet`."""
        broken = [verdict.rule.clause for verdict in self.judgement.failed]
        opened = len(self.open_rows)
        left = f"{opened} {'check' if opened == 1 else 'checks'} not done yet" if opened else ""
        if self.too_few_points:
            told = f"not legal: {score_text(self.judgement)}"
            told += f" (fails {', '.join(broken)})"
        elif self.judgement.result is CarResult.NOT_LEGAL:
            told = f"not legal: fails {', '.join(broken)}"
        elif broken:
            points, barred = self.judgement.points_off, barred_text(self.judgement.barred)
            costs = [*([f"{points_text(points)} off"] if points else []), *([barred] if barred else [])]
            told = f"{' and '.join(costs)} for {', '.join(broken)}"
        else:
            told = "" if opened else result_text(self.judgement)
        return "; ".join(part for part in (told, left) if part)


def inspect(checked: Checked, found: InspectionInput) -> InspectionResult:
    """Judge a finished car by the rulebook its design was judged by."""
    book = checked.opened.rulebook
    readings = _readings(checked, found)
    asked = replace(book, rules=tuple(_measurable(rule) for rule in book.rules))
    steps = {name: measured.resolution for name, measured in found.values.items()}
    first = judge(asked, readings, steps)
    by_clause = {verdict.rule.clause: verdict for verdict in first.verdicts}
    verdicts = [
        _answered(by_clause[rule.clause], rule, found.answers.get(rule.clause)) for rule in book.rules
    ]
    judgement = conclude(book, verdicts)
    rows = [_row(rule, by, checked, found) for rule, by in zip(book.rules, verdicts, strict=True)]
    rows += _rest(book, checked, found)
    return InspectionResult(checked, found, judgement, tuple(rows))


def odd_values(inspected: InspectionResult) -> tuple[str, ...]:
    """What has to be asked about the values: one that is far from the design may be a slip."""
    asks: dict[str, str] = {}
    for row in inspected.rows:
        if row.by is None or row.measured is None or not isinstance(row.designed, Reading):
            continue
        designed = row.designed.value
        far = abs(row.by) > _ODD_SHARE * abs(designed)
        if row.kind is QuantityKind.LENGTH:
            far = far and abs(row.by) > _ODD_MM
        elif row.kind is QuantityKind.ANGLE:
            far = abs(row.by) > math.radians(20.0)
        elif row.kind is QuantityKind.COUNT:
            far = False
        if far:
            title = catalogue()[row.measure].title
            asks[row.measure] = f"{title}: {row.measured.value:g} measured, {designed:.5g} on the drawing."
    return tuple(asks.values())


# ---------------------------------------------------------------- below


def _measurable(rule: Rule) -> Rule:
    """The rule with a name for its value, where an item is measured that no drawing tells."""
    return replace(rule, measure=rule.clause) if not rule.measure and rule.limits is not None else rule


def _readings(checked: Checked, found: InspectionInput) -> dict[str, Reading | NotKnown]:
    readings: dict[str, Reading | NotKnown] = {}
    names = [name for rule in checked.opened.rulebook.rules for name in rule.measures or (rule.clause,)]
    for name in names:
        designed = checked.readings.get(name)
        for told in (name, *(name + side for side in SIDES_OF_A_WHEEL)):
            measured = found.values.get(told)
            if measured is not None:
                place = designed.place if isinstance(designed, Reading) else None
                readings[told] = Reading(measured.value, place)
        if name in readings:
            continue
        absent = isinstance(designed, NotKnown) and designed.absent
        drawn = absent or _only_drawn(name)
        readings[name] = designed if designed is not None and drawn else NotKnown("not measured")
    return readings


def _only_drawn(name: str) -> bool:
    measure = catalogue().get(name)
    return measure is not None and measure.only_drawn


def _answered(verdict: Verdict, rule: Rule, answer: Answer | None) -> Verdict:
    """The verdict on an item once somebody has looked."""
    if rule.limits is not None:
        # An item that is measured was judged under its clause, for want of a measure.
        return verdict if rule.measure else replace(verdict, rule=rule)
    if answer is Answer.YES:
        return replace(verdict, outcome=Outcome.PASS)
    if answer is Answer.NO:
        if rule.fails is BreachEffects.ADVICE:
            return replace(verdict, outcome=Outcome.ADVICE)
        return replace(verdict, outcome=Outcome.FAIL, points=cost_of(rule, 0.0)[0])
    return verdict


def _row(rule: Rule, verdict: Verdict, checked: Checked, found: InspectionInput) -> InspectedRow:
    measure = verdict.rule.measure
    designed = checked.readings.get(measure) if measure else None
    measured = found.values.get(measure or rule.clause) or _worse_wheel(verdict, found)
    change, by = _changed(designed, measured)
    return InspectedRow(
        rule,
        verdict,
        measure,
        rule.kind,
        designed,
        measured,
        found.answers.get(rule.clause),
        change,
        by,
        from_drawing=measured is None and _only_drawn(measure) and isinstance(designed, Reading),
    )


def _worse_wheel(verdict: Verdict, found: InspectionInput) -> MeasuredValue | None:
    """The value of the wheel that the verdict is about, where the two of an axle were measured apart."""
    wheels = [found.values.get(verdict.rule.measure + side) for side in SIDES_OF_A_WHEEL]
    told = [wheel for wheel in wheels if wheel is not None]
    return next(
        (
            wheel
            for wheel in told
            if verdict.value is not None and abs(wheel.value - verdict.rule.past - verdict.value) < _HAIR
        ),
        None,
    )


def _rest(book: Rulebook, checked: Checked, found: InspectionInput) -> list[InspectedRow]:
    ruled = {name for rule in book.rules for name in rule.measures or (rule.clause,)}
    ruled |= {name + side for name in ruled for side in SIDES_OF_A_WHEEL}
    rows = []
    for name, measured in found.values.items():
        if name not in ruled:
            designed = checked.readings.get(name)
            change, by = _changed(designed, measured)
            rows.append(InspectedRow(None, None, name, measured.kind, designed, measured, None, change, by))
    return rows


def _changed(
    designed: Reading | NotKnown | None, measured: MeasuredValue | None
) -> tuple[DimensionChange | None, float | None]:
    """What grew or shrank: by more than the instrument's step and what the estimate may be out by."""
    if measured is None or not isinstance(designed, Reading):
        return None, None
    by = measured.value - designed.value
    known_to = measured.resolution + INTERVAL_SD * designed.spread
    if abs(by) <= known_to + 1e-9:
        return DimensionChange.SAME, by
    return (DimensionChange.GREW if by > 0.0 else DimensionChange.SHRANK), by

"""The judgement of a finished car.

A measured value is judged as a drawn one, with one difference: it is known no better than the step of its
instrument. A value that lies within one step of a limit, on either side or on the limit itself, is too close
to tell, and stays open: a guard band (JCGM 106:2012, 8.3) that is one step wide.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum

from bodyshop.checking import Checked
from bodyshop.inspection.found import Found, Measured
from bodyshop.measures import Kind, NotKnown, Reading, catalogue
from bodyshop.rulebook import (
    INTERVAL_SD,
    CarResult,
    Fails,
    Judgement,
    Outcome,
    Rule,
    Rulebook,
    Verdict,
    conclude,
    judge,
    points_text,
    result_text,
)
from bodyshop.trials.model import Answer

__all__ = ["Change", "Inspected", "InspectedRow", "inspect", "odd_values"]

_ODD_SHARE = 0.2
_ODD_MM = 3.0
_HAIR = 1e-9


class Change(Enum):
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
    kind: Kind | None
    designed: Reading | NotKnown | None
    measured: Measured | None
    answer: Answer | None
    change: Change | None
    by: float | None

    @property
    def is_open(self) -> bool:
        """Whether the rule is not settled: not measured, not looked at, too close to tell."""
        verdict = self.verdict
        if verdict is None or (self.rule is not None and self.rule.fails is Fails.ADVICE):
            return False
        return verdict.doubt or verdict.outcome in (Outcome.CANNOT_JUDGE, Outcome.BY_EYE, Outcome.BY_GAUGE)


@dataclass(frozen=True, slots=True)
class Inspected:
    """A finished car judged. `rows` are in the order of the book, then measures without a rule."""

    checked: Checked
    found: Found
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
    def standing(self) -> str:
        """What it comes to, in a clause: `not legal: B3 is broken`, `5 points open`."""
        broken = [verdict.rule.clause for verdict in self.judgement.failed]
        opened = len(self.open_rows)
        left = f"{opened} {'rule is' if opened == 1 else 'rules are'} still open" if opened else ""
        if self.judgement.result is CarResult.NOT_LEGAL:
            told = f"not legal: {', '.join(broken)} {'is' if len(broken) == 1 else 'are'} broken"
        elif broken:
            told = f"{points_text(self.judgement.points_off)} off for {', '.join(broken)}"
        else:
            told = "" if opened else result_text(self.judgement)
        return "; ".join(part for part in (told, left) if part)


def inspect(checked: Checked, found: Found) -> Inspected:
    """Judge a finished car by the rulebook its design was judged by."""
    book = checked.opened.rulebook
    readings = _readings(checked, found)
    asked = replace(book, rules=tuple(_measurable(rule) for rule in book.rules))
    first = judge(asked, readings)
    by_clause = {verdict.rule.clause: verdict for verdict in first.verdicts}
    verdicts = [
        _guarded(
            _answered(replace(by_clause[rule.clause], rule=rule), rule, found.answers.get(rule.clause)),
            found.values.get(rule.measure or rule.clause),
        )
        for rule in book.rules
    ]
    judgement = conclude(book, verdicts)
    rows = [_row(rule, by, checked, found) for rule, by in zip(book.rules, verdicts, strict=True)]
    rows += _rest(book, checked, found)
    return Inspected(checked, found, judgement, tuple(rows))


def odd_values(inspected: Inspected) -> tuple[str, ...]:
    """What has to be asked about the values: one that is far from the design may be a slip."""
    asks: dict[str, str] = {}
    for row in inspected.rows:
        if row.by is None or row.measured is None or not isinstance(row.designed, Reading):
            continue
        designed = row.designed.value
        far = abs(row.by) > _ODD_SHARE * abs(designed)
        if row.kind is Kind.LENGTH:
            far = far and abs(row.by) > _ODD_MM
        elif row.kind is Kind.ANGLE:
            far = abs(row.by) > math.radians(20.0)
        elif row.kind is Kind.COUNT:
            far = False
        if far:
            title = catalogue()[row.measure].title
            asks[row.measure] = f"{title}: {row.measured.value:g} measured, {designed:.5g} drawn."
    return tuple(asks.values())


# ---------------------------------------------------------------- below


def _measurable(rule: Rule) -> Rule:
    """The rule with a name for its value, where an item is measured that no drawing tells."""
    return replace(rule, measure=rule.clause) if not rule.measure and rule.limits is not None else rule


def _readings(checked: Checked, found: Found) -> dict[str, Reading | NotKnown]:
    readings: dict[str, Reading | NotKnown] = {}
    for rule in checked.opened.rulebook.rules:
        name = rule.measure or rule.clause
        designed = checked.readings.get(rule.measure)
        measured = found.values.get(name)
        if measured is not None:
            place = designed.place if isinstance(designed, Reading) else None
            readings[name] = Reading(measured.value, place)
        elif isinstance(designed, NotKnown) and designed.absent:
            readings[name] = designed
        else:
            readings[name] = NotKnown("not measured")
    return readings


def _answered(verdict: Verdict, rule: Rule, answer: Answer | None) -> Verdict:
    """The verdict on an item once somebody has looked."""
    if rule.limits is not None:
        return verdict
    if answer is Answer.YES:
        return replace(verdict, outcome=Outcome.PASS)
    if answer is Answer.NO:
        outcome = Outcome.ADVICE if rule.fails is Fails.ADVICE else Outcome.FAIL
        points = rule.points if rule.fails is Fails.POINTS_ONCE else 0.0
        return replace(verdict, outcome=outcome, points=points)
    return verdict


def _guarded(verdict: Verdict, measured: Measured | None) -> Verdict:
    """The verdict on a measured value, left open where the value is within a step of a limit."""
    limits = verdict.rule.limits
    if measured is None or limits is None or limits.is_point or measured.resolution <= 0.0:
        return verdict
    value = measured.value - verdict.rule.past
    ends = [end for end in (limits.low, limits.high) if end is not None]
    if all(abs(value - end) >= measured.resolution - _HAIR for end in ends):
        return verdict
    advised = verdict.outcome in (Outcome.ADVICE, Outcome.PASS) and verdict.rule.fails is Fails.ADVICE
    outcome = verdict.outcome if advised else Outcome.NEAR
    return replace(verdict, outcome=outcome, doubt=True, points=0.0)


def _row(rule: Rule, verdict: Verdict, checked: Checked, found: Found) -> InspectedRow:
    name = rule.measure or rule.clause
    designed = checked.readings.get(rule.measure) if rule.measure else None
    measured = found.values.get(name)
    change, by = _changed(designed, measured)
    return InspectedRow(
        rule, verdict, rule.measure, rule.kind, designed, measured, found.answers.get(rule.clause), change, by
    )


def _rest(book: Rulebook, checked: Checked, found: Found) -> list[InspectedRow]:
    ruled = {rule.measure or rule.clause for rule in book.rules}
    rows = []
    for name, measured in found.values.items():
        if name not in ruled:
            designed = checked.readings.get(name)
            change, by = _changed(designed, measured)
            rows.append(InspectedRow(None, None, name, measured.kind, designed, measured, None, change, by))
    return rows


def _changed(
    designed: Reading | NotKnown | None, measured: Measured | None
) -> tuple[Change | None, float | None]:
    """What grew or shrank: by more than the instrument's step and what the estimate may be out by."""
    if measured is None or not isinstance(designed, Reading):
        return None, None
    by = measured.value - designed.value
    known_to = measured.resolution + INTERVAL_SD * designed.spread
    if abs(by) <= known_to + 1e-9:
        return Change.SAME, by
    return (Change.GREW if by > 0.0 else Change.SHRANK), by

"""One broken rule as a goal, and whether a change that reaches it may be made."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum, IntEnum
from typing import Final

from bodyshop.car.measures import NotKnown, Reading
from bodyshop.rules.remedies.candidate import Baseline, Candidate
from bodyshop.rules.remedies.model import SideEffect
from bodyshop.rules.rulebook import INTERVAL_SD, LimitSide, Outcome, Rulebook, Verdict, judge

__all__ = ["ChangeOutcome", "Drawback", "Goal", "GoalSide", "VIEWS_DIFFER", "weigh"]


_MET = (Outcome.PASS, Outcome.NEAR)


class GoalSide(Enum):
    """Where a reading lies."""

    SHORT = "still outside on the same side"
    MET = "inside"
    BEYOND = "outside on the other side"
    LOST = "not measurable"


class Goal:
    """A rule that is broken, too close to tell, or whose advice was not met. An estimate meets it with its
    whole range.
    """

    def __init__(self, verdict: Verdict, book: Rulebook) -> None:
        if verdict.limit is None or verdict.side is None or verdict.value is None:
            raise ValueError(f"{verdict.rule.clause} has no value to move")
        self.verdict = verdict
        self.measure = verdict.rule.measure
        self._limit, self._side = verdict.limit, verdict.side
        self._one = replace(book, rules=(verdict.rule,))

    def gap(self, reading: Reading | NotKnown) -> float | None:
        """How far inside the limit that was missed a reading is, below zero outside; of an estimate the
        end of its range that is farthest out.
        """
        if isinstance(reading, NotKnown):
            return None
        half = INTERVAL_SD * reading.spread
        if self._side is LimitSide.UNDER:
            return reading.value - half - self._limit
        return self._limit - (reading.value + half)

    def hit(self, reading: Reading | NotKnown) -> GoalSide:
        """Where a reading lies, as the rulebook reads it."""
        verdict = judge(self._one, {self.measure: reading}).verdicts[0]
        if verdict.outcome in _MET:
            return GoalSide.MET
        if verdict.outcome is Outcome.CANNOT_JUDGE or verdict.side is None:
            return GoalSide.LOST
        beyond = self.gap(reading)
        return GoalSide.SHORT if beyond is None or beyond < 0.0 else GoalSide.BEYOND


VIEWS_DIFFER: Final = "ends-differ"
"""The warning that profile and plan are not of one length: there is such a car, but its papers disagree."""

_SAME: Final = 1e-9


class Drawback(IntEnum):
    """What gets worse by a change that breaks nothing, least first."""

    NONE = 0
    WORSE = 1
    """An advice is no longer met, or a broken rule is broken by more."""
    VIEWS = 2
    """The two views end at different lengths."""


@dataclass(frozen=True, slots=True)
class ChangeOutcome:
    """What a change does beside what it is for.

    `breaks` are clauses that were kept and would not be; `faults` why there would be no such car.
    `effects` are the other rules whose values change, `warnings` new ones that one can live with.
    """

    breaks: tuple[str, ...]
    faults: tuple[str, ...]
    effects: tuple[SideEffect, ...]
    warnings: tuple[str, ...]
    after: dict[str, Verdict]

    @property
    def allowed(self) -> bool:
        """Nothing that was in order is out of order afterwards."""
        return not self.breaks and not self.faults

    @property
    def harm(self) -> Drawback:
        """What gets worse by a change that is allowed."""
        if self.warnings:
            return Drawback.VIEWS
        return Drawback.WORSE if any(effect.is_worse for effect in self.effects) else Drawback.NONE


def weigh(ground: Baseline, trial: Candidate | Baseline, clause: str) -> ChangeOutcome:
    """Everything that a trial does to the rules beside `clause`."""
    faults = tuple(dict.fromkeys(fault.message for fault in trial.faults))
    if trial.design is None:
        return ChangeOutcome((), faults, (), (), {})
    fresh = [w for w in trial.design.warnings if (w.code, w.key) not in ground.warned]
    faults += tuple(w.message for w in fresh if w.code != VIEWS_DIFFER)
    warnings = tuple(w.message for w in fresh if w.code == VIEWS_DIFFER)
    after = {verdict.rule.clause: verdict for verdict in trial.judgement.verdicts}
    breaks: list[str] = []
    effects: list[SideEffect] = []
    for old in ground.judgement.in_order:
        new = after[old.rule.clause]
        if old.rule.clause == clause:
            continue
        if _breaks(old, new):
            breaks.append(old.rule.clause)
        if old.outcome is not new.outcome or _moved(old, new):
            effects.append(SideEffect(old.rule, old, new))
    return ChangeOutcome(tuple(breaks), faults, tuple(effects), warnings, after)


def _breaks(old: Verdict, new: Verdict) -> bool:
    """A rule that was not broken is, or probably is, or can no longer be judged."""
    if new.outcome is Outcome.FAIL:
        return old.outcome is not Outcome.FAIL
    if new.probably_broken:
        return not (old.outcome is Outcome.FAIL or old.probably_broken)
    return new.outcome is Outcome.CANNOT_JUDGE and old.outcome is not Outcome.CANNOT_JUDGE


def _moved(old: Verdict, new: Verdict) -> bool:
    if old.value is None or new.value is None:
        return old.value is not new.value
    return abs(old.value - new.value) > _SAME

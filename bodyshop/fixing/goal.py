"""One broken rule as something to aim at: how far a reading is from it, and whether it is met."""

from __future__ import annotations

from dataclasses import replace
from enum import Enum

from bodyshop.measures import NotKnown, Reading
from bodyshop.rulebook import INTERVAL_SD, Outcome, Rulebook, Side, Verdict, judge

__all__ = ["Goal", "Hit"]

_MET = (Outcome.PASS, Outcome.NEAR)


class Hit(Enum):
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
        """How far inside the limit that was missed a reading is, below nought outside; of an estimate the
        end of its range that is farthest out.
        """
        if isinstance(reading, NotKnown):
            return None
        half = INTERVAL_SD * reading.spread
        if self._side is Side.UNDER:
            return reading.value - half - self._limit
        return self._limit - (reading.value + half)

    def hit(self, reading: Reading | NotKnown) -> Hit:
        """Where a reading lies, as the rulebook reads it."""
        verdict = judge(self._one, {self.measure: reading}).verdicts[0]
        if verdict.outcome in _MET:
            return Hit.MET
        if verdict.outcome is Outcome.CANNOT_JUDGE or verdict.side is None:
            return Hit.LOST
        beyond = self.gap(reading)
        return Hit.SHORT if beyond is None or beyond < 0.0 else Hit.BEYOND

"""Whether a change may be made: what it breaks, what it costs, what else it does."""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum
from typing import Final

from bodyshop.fixing.model import Effect
from bodyshop.fixing.trial import Ground, Trial
from bodyshop.rulebook import Outcome, Verdict

__all__ = ["VIEWS_DIFFER", "Harm", "Trade", "weigh"]

VIEWS_DIFFER: Final = "ends-differ"
"""The warning that profile and plan are not of one length: there is such a car, but its papers disagree."""

_SAME: Final = 1e-9


class Harm(IntEnum):
    """What gets worse by a change that breaks nothing, least first."""

    NONE = 0
    WORSE = 1
    """An advice is no longer met, or a broken rule is broken by more."""
    VIEWS = 2
    """The two views end at different lengths."""


@dataclass(frozen=True, slots=True)
class Trade:
    """What a change does beside what it is for.

    `breaks` are clauses that were kept and would not be; `faults` why there would be no such car.
    `effects` are the other rules whose values change, `warnings` new ones that one can live with.
    """

    breaks: tuple[str, ...]
    faults: tuple[str, ...]
    effects: tuple[Effect, ...]
    warnings: tuple[str, ...]
    after: dict[str, Verdict]

    @property
    def allowed(self) -> bool:
        """Nothing that was in order is out of order afterwards."""
        return not self.breaks and not self.faults

    @property
    def harm(self) -> Harm:
        """What gets worse by a change that is allowed."""
        if self.warnings:
            return Harm.VIEWS
        return Harm.WORSE if any(effect.is_worse for effect in self.effects) else Harm.NONE


def weigh(ground: Ground, trial: Trial | Ground, clause: str) -> Trade:
    """Everything that a trial does to the rules beside `clause`."""
    faults = tuple(dict.fromkeys(fault.message for fault in trial.faults))
    if trial.design is None:
        return Trade((), faults, (), (), {})
    fresh = [w for w in trial.design.warnings if (w.code, w.key) not in ground.warned]
    faults += tuple(w.message for w in fresh if w.code != VIEWS_DIFFER)
    warnings = tuple(w.message for w in fresh if w.code == VIEWS_DIFFER)
    after = {verdict.rule.clause: verdict for verdict in trial.judgement.verdicts}
    breaks: list[str] = []
    effects: list[Effect] = []
    for old in ground.judgement.in_order:
        new = after[old.rule.clause]
        if old.rule.clause == clause:
            continue
        if _breaks(old, new):
            breaks.append(old.rule.clause)
        if old.outcome is not new.outcome or _moved(old, new):
            effects.append(Effect(old.rule, old, new))
    return Trade(tuple(breaks), faults, tuple(effects), warnings, after)


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

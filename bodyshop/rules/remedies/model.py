"""What comes out of a search for remedies: edits of numbers, and why there are none."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.problems import Span
from bodyshop.foundation.toml import KeyPath, Source, dotted
from bodyshop.rules.rulebook import Judgement, Outcome, Rule, Rulebook, Verdict

_MET = (Outcome.PASS, Outcome.NEAR)

__all__ = ["Conflict", "Edit", "SideEffect", "Fix", "Obstacle", "Plan"]


@dataclass(frozen=True, slots=True)
class Edit:
    """One number of the file and what stands there instead.

    Texts are without quotes. `old` and `new` are the numbers in the unit they are written in, `mm` what one
    of it is in mm (a degree and a count are taken for 1 mm); `value` is what the file's reader makes of the
    new text. `span` is the place in the file as it was read.
    """

    path: KeyPath
    span: Span
    old_text: str
    new_text: str
    old: Fraction
    new: Fraction
    value: object
    mm: float
    kind: QuantityKind

    @property
    def key(self) -> str:
        """Its dotted name."""
        return dotted(self.path)

    @property
    def rises(self) -> bool:
        """Whether the number grows."""
        return self.new > self.old


@dataclass(frozen=True, slots=True)
class SideEffect:
    """What a fix does to another rule: the measured value before and after, and the verdict."""

    rule: Rule
    before: Verdict
    after: Verdict

    @property
    def is_better(self) -> bool:
        """A rule that was broken, or probably broken, and is not any more."""
        before = self.before
        was_broken = before.outcome is Outcome.FAIL or before.probably_broken
        return was_broken and self.after.outcome in _MET

    @property
    def is_worse(self) -> bool:
        """An advice no longer met, a rule that has become too close to tell, or one broken by more."""
        if self.after.outcome is Outcome.TOO_CLOSE and self.before.outcome in _MET:
            return True
        return self.after.outcome in (Outcome.FAIL, Outcome.ADVICE) and (
            self.before.outcome is not self.after.outcome or self.after.over > self.before.over + 1e-6
        )


@dataclass(frozen=True, slots=True)
class Fix:
    """A change of one number that makes a rule pass and breaks no other.

    There is one edit, or several where the same number stands in several places. `moved_mm` is how far
    the number moves as written; `least_mm` the least that would do, which would be written `least_text`.
    `before` and `after` are the rule's own verdicts. `effects` are the other rules whose measured value
    changes. `warnings` are what the design will be warned of that it was not before. `makes_room` says that
    the rule does not pass yet: the next change is one that another rule would have forbidden. `cut` says
    that time was up before all other changes were tried, so that there may be a smaller one.
    """

    rule: Rule
    edits: tuple[Edit, ...]
    moved_mm: float
    least_mm: float
    least_text: str
    before: Verdict
    after: Verdict
    effects: tuple[SideEffect, ...] = ()
    warnings: tuple[str, ...] = ()
    makes_room: bool = False
    cut: bool = False

    @property
    def edit(self) -> Edit:
        """The edit, or the first of several alike."""
        return self.edits[0]

    @property
    def slack_mm(self) -> float:
        """How far the number moves beyond what is needed, for the sake of a round one."""
        return self.moved_mm - self.least_mm

    @property
    def mends(self) -> bool:
        """Whether the rule passes after it, and did not before."""
        return self.after.outcome in _MET and self.before.outcome not in _MET

    @property
    def cleared(self) -> tuple[str, ...]:
        """Clauses that were broken and pass now, the rule's own first."""
        own = (self.rule.clause,) if self.mends else ()
        return (*own, *(effect.rule.clause for effect in self.effects if effect.is_better))

    @property
    def price(self) -> tuple[SideEffect, ...]:
        """What gets worse: advice no longer met, broken rules broken by more."""
        return tuple(effect for effect in self.effects if effect.is_worse)


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A change that would pass the rule, and why it may not be made: clauses it would break, or why there
    would be no such car.
    """

    edits: tuple[Edit, ...]
    moved_mm: float
    breaks: tuple[str, ...] = ()
    faults: tuple[str, ...] = ()

    @property
    def edit(self) -> Edit:
        """The edit, or the first of several alike."""
        return self.edits[0]


@dataclass(frozen=True, slots=True)
class Conflict:
    """A broken rule that no single number can make pass.

    `obstacles` are the changes that would, smallest first, each with what stands against it; none where
    no number was found that moves it far enough. `cut` says that time was up before all were tried.
    """

    verdict: Verdict
    obstacles: tuple[Obstacle, ...] = ()
    cut: bool = False

    @property
    def rule(self) -> Rule:
        """The broken rule."""
        return self.verdict.rule

    @property
    def against(self) -> tuple[str, ...]:
        """The clauses that pull the other way, each once."""
        return tuple(dict.fromkeys(clause for each in self.obstacles for clause in each.breaks))


@dataclass(frozen=True, slots=True)
class Plan:
    """Changes one after the other that leave as few rules broken as could be found.

    `clause` is the one rule that it is for, empty for all. `source` is the file as it was read and `text`
    all of it as it will be, with a byte-order mark where it had one. `conflicts` are the rules still broken
    after them. `cut` says that the time allowed was up before every rule had been seen to.
    """

    source: Source = field(repr=False)
    rulebook: Rulebook = field(repr=False)
    clause: str
    fixes: tuple[Fix, ...]
    text: str = field(repr=False)
    before: Judgement = field(repr=False)
    after: Judgement = field(repr=False)
    conflicts: tuple[Conflict, ...]
    cut: bool = False
    trials: int = 0

    @property
    def remaining(self) -> tuple[Verdict, ...]:
        """Rules still broken or probably broken, worst first."""
        return self.after.to_mend

    @property
    def clears_all(self) -> bool:
        """Whether no rule is broken any more."""
        return not self.after.to_mend

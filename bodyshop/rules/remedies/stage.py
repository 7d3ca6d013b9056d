"""A design as it stands in the course of a plan, and how two such stages compare."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cached_property

from bodyshop.foundation.toml import KeyPath
from bodyshop.rules.checking import LoadedCar
from bodyshop.rules.remedies.accept import Goal, weigh
from bodyshop.rules.remedies.candidate import Baseline, Clock
from bodyshop.rules.remedies.knobs import DesignNumber, find_knobs, shared_knobs
from bodyshop.rules.remedies.model import Conflict, Edit, Fix
from bodyshop.rules.remedies.search import Probes, Search
from bodyshop.rules.rulebook import Outcome, Verdict

__all__ = ["PlanStage", "compare"]


class PlanStage:
    """A design, its verdicts, and the search for changes to it."""

    def __init__(self, ground: Baseline, knobs: Sequence[DesignNumber]) -> None:
        self.ground = ground
        self._knobs = knobs
        self._probes: dict[tuple[str, ...], Probes] = {}

    @staticmethod
    def first(opened: LoadedCar, clock: Clock) -> PlanStage:
        """The design as it was read."""
        ground = Baseline(opened.source, opened.rulebook, clock, opened.design, opened.car)
        return PlanStage(ground, find_knobs(opened.source))

    def after(self, edits: Iterable[Edit]) -> PlanStage:
        """The design with some numbers changed. Raises `ProblemsError` where that is no design."""
        by_path = {edit.path: edit for edit in edits}
        ground = self.ground.after(
            {path: edit.value for path, edit in by_path.items()},
            {path: edit.new_text for path, edit in by_path.items()},
        )
        knobs = [
            replace(knob, value=by_path[knob.path].new) if knob.path in by_path else knob
            for knob in self._knobs
        ]
        return PlanStage(ground, knobs)

    def broken(self, clause: str = "") -> list[Verdict]:
        """The numeric rules that are broken or probably broken, worst first; with `clause` that one alone,
        which may then be one of advice, or too close to tell.
        """
        judgement = self.ground.judgement
        asked = (
            judgement.having(Outcome.FAIL, Outcome.TOO_CLOSE, Outcome.ADVICE) if clause else judgement.to_mend
        )
        return [
            verdict for verdict in asked if verdict.value is not None and clause in ("", verdict.rule.clause)
        ]

    def probes(self, verdicts: Sequence[Verdict]) -> Probes:
        """Probes of this design for some rules, kept for the next time."""
        measures = tuple(dict.fromkeys(verdict.rule.measure for verdict in verdicts))
        if measures not in self._probes:
            self._probes[measures] = Probes(self.ground, measures)
        return self._probes[measures]

    def fix(self, verdict: Verdict, probes: Probes) -> Fix | Conflict:
        """The smallest change that passes a rule."""
        return self._search.fix(Goal(verdict, self.ground.book), probes)

    def knob(self, path: KeyPath) -> DesignNumber | None:
        """The number at a path; None where it is none that may be changed."""
        return self._by_path.get(path)

    def placed(self, edits: Iterable[Edit]) -> tuple[Edit, ...]:
        """The edits, with what stands at their places now."""
        found: list[Edit] = []
        for edit in edits:
            knob = self._by_path[edit.path]
            text = self.ground.texts.get(edit.path, knob.marks[0].text)
            found.append(replace(edit, old=knob.value, old_text=text))
        return tuple(found)

    def moved_mm(self, edits: Sequence[Edit]) -> float:
        """How far edits that belong together move the design."""
        return self._search.moved_mm(self._by_path[edits[0].path], edits[0].new)

    @cached_property
    def _by_path(self) -> dict[KeyPath, DesignNumber]:
        return {knob.path: knob for knob in self._knobs}

    @cached_property
    def _search(self) -> Search:
        return Search(self.ground, self._knobs, shared_knobs(self._knobs))


def compare(
    before: PlanStage, after: PlanStage, clause: str, edits: Sequence[Edit], slack_mm: float, least_text: str
) -> Fix | None:
    """The edits as a fix of one rule, from the two stages; None where they break something.

    Where they do not mend that rule but others, it is a fix of the first of those. `slack_mm` is how far
    the numbers move beyond what is needed.
    """
    trade = weigh(before.ground, after.ground, clause)
    if not trade.allowed:
        return None
    placed = before.placed(edits)
    moved = before.moved_mm(placed)
    old = {verdict.rule.clause: verdict for verdict in before.ground.judgement.verdicts}
    fix = Fix(
        rule=old[clause].rule,
        edits=placed,
        moved_mm=moved,
        least_mm=max(moved - slack_mm, 0.0),
        least_text=least_text,
        before=old[clause],
        after=trade.after[clause],
        effects=trade.effects,
        warnings=trade.warnings,
    )
    others = [effect.rule.clause for effect in fix.effects if effect.is_better]
    if not others or (fix.mends and fix.before.over > 0.0):
        return fix
    # What was just enough for one rule says nothing about another.
    return compare(before, after, others[0], edits, 0.0, placed[0].new_text)

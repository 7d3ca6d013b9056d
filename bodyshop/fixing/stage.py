"""A design as it stands in the course of a plan, with what is known about changing it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from functools import cached_property

from bodyshop.checking import Opened
from bodyshop.fixing.goal import Goal
from bodyshop.fixing.knobs import Knob, find_knobs, shared_knobs
from bodyshop.fixing.model import Conflict, Edit, Fix
from bodyshop.fixing.probes import Probes
from bodyshop.fixing.search import Search
from bodyshop.fixing.trial import Clock, Ground
from bodyshop.rulebook import Outcome, Verdict
from bodyshop.source import KeyPath

__all__ = ["Stage"]


class Stage:
    """A design, its verdicts, and the search for changes to it."""

    def __init__(self, ground: Ground, knobs: Sequence[Knob]) -> None:
        self.ground = ground
        self._knobs = knobs
        self._probes: dict[tuple[str, ...], Probes] = {}

    @staticmethod
    def first(opened: Opened, clock: Clock) -> Stage:
        """The design as it was read."""
        ground = Ground(opened.source, opened.rulebook, clock, opened.design, opened.car)
        return Stage(ground, find_knobs(opened.source, opened.design.unit))

    def after(self, edits: Iterable[Edit]) -> Stage:
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
        return Stage(ground, knobs)

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

    def knob(self, path: KeyPath) -> Knob | None:
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
    def _by_path(self) -> dict[KeyPath, Knob]:
        return {knob.path: knob for knob in self._knobs}

    @cached_property
    def _search(self) -> Search:
        return Search(self.ground, self._knobs, shared_knobs(self._knobs))

"""One greedy pass over the broken rules of a design."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bodyshop.fixing.compare import compare
from bodyshop.fixing.model import Conflict, Fix, Obstacle
from bodyshop.fixing.pruning import pruned
from bodyshop.fixing.stage import Stage
from bodyshop.fixing.trial import OutOfTimeError
from bodyshop.problems import ProblemsError
from bodyshop.rulebook import Verdict

__all__ = ["Pass"]

_OBSTACLES_TRIED = 2
_MOST_ROOMS = 2
# Room that needs a number to move farther than this is a new design, not a remedy.
_FARTHEST_MM = 30.0


class Pass:
    """Mends the worst rule that one number can mend, has the design judged again, and so on.

    `first` are clauses to see to before the worse ones. Afterwards `stage` is the design with `fixes` made,
    and `conflicts` tell of each rule still broken why nothing mends it. `cut` says that time was up.
    """

    def __init__(self, start: Stage, clause: str, first: Sequence[str] = ()) -> None:
        self._start = start
        self._clause = clause
        self._first = tuple(first)
        self.stage = start
        self.fixes: list[Fix] = []
        self.conflicts: dict[str, Conflict] = {}
        self.cut = False
        self._put_off: set[str] = set()

    @property
    def score(self) -> tuple[int, int]:
        """Rules left broken, changes made: less is better."""
        return (len(self.stage.broken(self._clause)), len(self.fixes))

    def run(self) -> None:
        """Mend what can be mended."""
        try:
            while broken := self._in_turn():
                if not self._mend(broken):
                    break
        except OutOfTimeError:
            self.cut = True
        self.fixes, self.stage = pruned(self._start, self.fixes, self.stage)

    def _in_turn(self) -> list[Verdict]:
        broken = self.stage.broken(self._clause)
        return sorted(broken, key=lambda verdict: verdict.rule.clause not in self._first)

    def _mend(self, broken: Sequence[Verdict]) -> bool:
        # What could not be mended is put off until the others are done. What small moves do changes little
        # from stage to stage: it is looked at afresh only where nothing else helps.
        later = [verdict for verdict in broken if verdict.rule.clause in self._put_off]
        if self._mend_one([verdict for verdict in broken if verdict not in later], self._start):
            return True
        if later and self._mend_one(later, self._start):
            return True
        if self.stage is not self._start and self._mend_one(broken, self.stage):
            return True
        return self._mend_with_more(broken)

    def _mend_one(self, broken: Sequence[Verdict], probed: Stage) -> bool:
        """Mend the first rule that can be mended."""
        probes = probed.probes(probed.broken(self._clause))
        for verdict in broken:
            found = self.stage.fix(verdict, probes)
            if isinstance(found, Fix):
                self._take([found])
                return True
            self.conflicts[found.rule.clause] = found
            self._put_off.add(found.rule.clause)
            if found.cut:
                raise OutOfTimeError
        return False

    def _take(self, fixes: Sequence[Fix]) -> None:
        for fix in fixes:
            self.stage = self.stage.after(fix.edits)
            self.fixes.append(fix)
        if any(len(fix.cleared) > 1 for fix in fixes):
            # Something done before may have become needless.
            self.fixes, self.stage = pruned(self._start, self.fixes, self.stage)

    # ------------------------------------------------------------ several numbers

    def _mend_with_more(self, broken: Sequence[Verdict]) -> bool:
        for verdict in broken:
            conflict = self.conflicts.get(verdict.rule.clause)
            ways = [o for o in conflict.obstacles if 0 < len(o.breaks) <= _MOST_ROOMS] if conflict else []
            for obstacle in ways[:_OBSTACLES_TRIED]:
                steps = self._make_room(verdict, obstacle)
                if steps is not None:
                    self._take(steps)
                    return True
        return False

    def _make_room(self, verdict: Verdict, obstacle: Obstacle) -> list[Fix] | None:
        """Changes that let another one be made which some rules are against, and that one after them."""
        rooms: list[Fix] = []
        kept = {each.rule.clause for each in self.stage.broken()}
        taken = {edit.path for edit in obstacle.edits}
        try:
            between = self.stage.after(obstacle.edits)
            while against := [v for v in between.broken() if v.rule.clause not in kept]:
                found = between.fix(against[0], between.probes(against)) if len(rooms) < _MOST_ROOMS else None
                if not isinstance(found, Fix) or found.warnings or found.moved_mm > _FARTHEST_MM:
                    return None
                paths = {edit.path for edit in found.edits}
                if not paths.isdisjoint(taken):
                    return None
                taken |= paths
                rooms.append(found)
                between = between.after(found.edits)
            return self._in_order(verdict, rooms, obstacle)
        except ProblemsError:
            return None

    def _in_order(self, verdict: Verdict, rooms: Sequence[Fix], obstacle: Obstacle) -> list[Fix] | None:
        """The steps, each of which breaks nothing; None where one does."""
        clause, stage = verdict.rule.clause, self.stage
        moves = [(room.edits, room.slack_mm, room.least_text) for room in rooms]
        moves.append((obstacle.edits, 0.0, obstacle.edit.new_text))
        steps: list[Fix] = []
        for edits, slack_mm, least_text in moves:
            following = stage.after(edits)
            step = compare(stage, following, clause, edits, slack_mm, least_text)
            if step is None:
                return None
            steps.append(replace(step, makes_room=not step.mends))
            stage = following
        return steps if clause in steps[-1].cleared else None

"""All broken rules of a car at once: one greedy pass, pruned, and the text that comes of it."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.design import read_design
from bodyshop.foundation.files.safe_writing import write_file
from bodyshop.foundation.problems import ProblemsError, WriteRefusedError
from bodyshop.foundation.toml import Source
from bodyshop.foundation.toml.splice import spliced_source
from bodyshop.rules.checking import LoadedCar
from bodyshop.rules.remedies.candidate import Baseline, Clock, OutOfTimeError
from bodyshop.rules.remedies.model import Conflict, Edit, Fix, Obstacle, Plan
from bodyshop.rules.remedies.stage import PlanStage, compare
from bodyshop.rules.rulebook import Outcome, Verdict

__all__ = ["Pass", "SECONDS", "diff", "edited", "fix_each", "make_plan", "pruned", "write"]


def edited(source: Source, edits: Iterable[Edit]) -> Source:
    """The file with some numbers replaced, read again. Nothing but those numbers differs.

    Raises `ValueError` where a number cannot stand there.
    """
    return spliced_source(source, {edit.path: edit.new_text for edit in edits})


def diff(plan: Plan, *, context: int = 2) -> str:
    """What the plan changes, as a unified diff of the file; empty when it changes nothing."""
    name = plan.source.name
    lines = difflib.unified_diff(
        plan.source.text.splitlines(),
        plan.text.removeprefix("\ufeff").splitlines(),
        name,
        f"{name} (changed)",
        n=context,
        lineterm="",
    )
    return "".join(f"{line}\n" for line in lines)


def write(plan: Plan, path: Path | str | None = None) -> bool:
    """Put the plan's text into the file it was read from, whole or not at all; False when nothing changes.

    `path` is another place to write to. Raises `WriteRefusedError` when the file cannot be written, or is
    no longer as it was when it was read: then it is left alone.
    """
    if not plan.fixes:
        return False
    place = Path(plan.source.name if path is None else path)
    if path is None and _on_disk(place) != plan.source.whole.encode("utf-8"):
        raise WriteRefusedError(str(place), "it was changed while the remedies were searched for; try again")
    write_file(place, plan.text.encode("utf-8"))
    return True


def _on_disk(place: Path) -> bytes:
    try:
        return place.read_bytes()
    except OSError:
        raise WriteRefusedError(str(place), "it cannot be read any more") from None


def pruned(start: PlanStage, fixes: Sequence[Fix], end: PlanStage) -> tuple[list[Fix], PlanStage]:
    """The changes without those that are not needed for the end they come to, and that end.

    A number that is changed twice is changed once, to its last value, where no step then breaks a rule.
    """
    kept = list(fixes)
    for fix in fixes:
        for shorter in _shorter(kept, fix):
            if _as_good(start, shorter, end) and (told := _replayed(start, shorter)) is not None:
                kept, end = told
                break
    return kept, end


def _shorter(fixes: Sequence[Fix], fix: Fix) -> list[list[Fix]]:
    """Lists with one change less than `fixes`: without `fix`, or with what becomes of its number later."""
    here = next((i for i, each in enumerate(fixes) if _paths(each) == _paths(fix)), None)
    if here is None or len(fixes) == 1:
        return []
    ways = [[*fixes[:here], *fixes[here + 1 :]]]
    later = [i for i in range(here + 1, len(fixes)) if _paths(fixes[i]) == _paths(fix)]
    if later:
        last = fixes[later[-1]]
        joined = replace(
            fixes[here],
            edits=last.edits,
            moved_mm=last.moved_mm,
            least_mm=last.least_mm,
            least_text=last.least_text,
        )
        rest = [each for i, each in enumerate(fixes) if i > here and i not in later]
        ways.append([*fixes[:here], joined, *rest])
    return ways


def _paths(fix: Fix) -> tuple[object, ...]:
    return tuple(edit.path for edit in fix.edits)


def _as_good(start: PlanStage, fixes: Sequence[Fix], end: PlanStage) -> bool:
    """Whether these changes leave no more rules broken than there are at the end of all of them."""
    try:
        ground = start.after([edit for fix in fixes for edit in fix.edits]).ground
    except ProblemsError:
        return False
    then, now = ground.judgement, end.ground.judgement
    for left, allowed in (
        (then.failed, now.failed),
        (then.to_mend, now.to_mend),
        (then.having(Outcome.CANNOT_JUDGE), now.having(Outcome.CANNOT_JUDGE)),
    ):
        if not {verdict.rule.clause for verdict in left} <= {verdict.rule.clause for verdict in allowed}:
            return False
    return not ground.faults and ground.warned <= end.ground.warned


def _replayed(start: PlanStage, fixes: Sequence[Fix]) -> tuple[list[Fix], PlanStage] | None:
    """The changes one after the other, with what each does now; None where a step breaks something."""
    told: list[Fix] = []
    stage = start
    for fix in fixes:
        try:
            following = stage.after(fix.edits)
        except ProblemsError:
            return None
        each = compare(stage, following, fix.rule.clause, fix.edits, fix.slack_mm, fix.least_text)
        if each is None:
            return None
        told.append(replace(each, makes_room=not each.mends, cut=fix.cut))
        stage = following
    return told, stage


_OBSTACLES_TRIED = 2
_MOST_ROOMS = 2
# Room that needs a number to move farther than this is a new design, not a remedy.
_FARTHEST_MM = 30.0


class Pass:
    """Mends the worst rule that one number can mend, has the design judged again, and so on.

    `first` are clauses to see to before the worse ones. Afterwards `stage` is the design with `fixes` made,
    and `conflicts` tell of each rule still broken why nothing mends it. `cut` says that time was up.
    """

    def __init__(self, start: PlanStage, clause: str, first: Sequence[str] = ()) -> None:
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

    def _mend_one(self, broken: Sequence[Verdict], probed: PlanStage) -> bool:
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


SECONDS: Final = 2.0
"""Time that a search may take."""


def fix_each(
    opened: LoadedCar, *, clause: str = "", seconds: float | None = SECONDS
) -> tuple[Fix | Conflict, ...]:
    """For each broken numeric rule, worst first, the smallest change that passes it, the others aside.

    With `clause` that rule alone, which may then be one of advice. `seconds` None searches to the end.
    Empty where nothing of the kind is broken.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.rules.checking import open_car
    >>> fix_each(open_car(samples_folder() / "kestrel.toml"))  # it keeps every rule
    ()
    """
    stage = PlanStage.first(opened, Clock(seconds))
    verdicts = stage.broken(clause)
    probes = stage.probes(verdicts)
    return tuple(stage.fix(verdict, probes) for verdict in verdicts)


def make_plan(
    opened: LoadedCar, *, clause: str = "", seconds: float | None = SECONDS, passes: int = 2
) -> Plan:
    """Changes that leave as few rules broken as can be found in the time.

    The plan is greedy, the worst rule first. Where rules stay broken it is made again with these first, in
    what time is left, up to so many `passes`, and the better one is kept. With `clause` only that rule is
    seen to, which may then be one of advice. `seconds` None searches to the end.
    """
    clock = Clock(seconds)
    start = PlanStage.first(opened, clock)
    best = Pass(start, clause)
    best.run()
    first = list(best.conflicts)
    cut, more = best.cut, passes - 1
    while more > 0 and first and not cut and best.score[0] > 0:
        other = Pass(start, clause, first)
        other.run()
        more = 0 if other.cut else more - 1
        fresh = [each for each in other.conflicts if each not in first]
        first = [*fresh, *first] if fresh else []
        if other.score < best.score:
            best = other
    return _plan(start, best, clause, clock, cut=cut)


def _plan(start: PlanStage, best: Pass, clause: str, clock: Clock, *, cut: bool) -> Plan:
    ground = start.ground
    last = {edit.path: edit for fix in best.fixes for edit in fix.edits}
    source = edited(ground.source, last.values())
    # The last word is that of the text itself.
    design = read_design(source, ground.book.kit, ground.design.rulebook)
    after = Baseline(source, ground.book, clock, design, Car(design)).judgement
    return Plan(
        source=ground.source,
        rulebook=ground.book,
        clause=clause,
        fixes=tuple(best.fixes),
        text=source.whole,
        before=ground.judgement,
        after=after,
        conflicts=tuple(
            best.conflicts.get(verdict.rule.clause, Conflict(verdict, cut=cut))
            for verdict in best.stage.broken(clause)
        ),
        cut=cut,
        trials=clock.trials,
    )

"""All broken rules of a car at once: each by itself, or one after the other until none is left."""

from __future__ import annotations

from typing import Final

from bodyshop.assembly import Car
from bodyshop.checking import Opened
from bodyshop.design import read_design
from bodyshop.fixing.model import Conflict, Fix, Plan
from bodyshop.fixing.planner import Pass
from bodyshop.fixing.stage import Stage
from bodyshop.fixing.text import edited, whole_text
from bodyshop.fixing.trial import Clock, Ground

__all__ = ["SECONDS", "fix_each", "make_plan"]

SECONDS: Final = 2.0
"""Time that a search may take."""


def fix_each(
    opened: Opened, *, clause: str = "", seconds: float | None = SECONDS
) -> tuple[Fix | Conflict, ...]:
    """For each broken numeric rule, worst first, the smallest change that passes it, the others aside.

    With `clause` that rule alone, which may then be one of advice. `seconds` None searches to the end.
    Empty where nothing of the kind is broken.
    """
    stage = Stage.first(opened, Clock(seconds))
    verdicts = stage.broken(clause)
    probes = stage.probes(verdicts)
    return tuple(stage.fix(verdict, probes) for verdict in verdicts)


def make_plan(opened: Opened, *, clause: str = "", seconds: float | None = SECONDS, passes: int = 2) -> Plan:
    """Changes that leave as few rules broken as can be found in the time.

    The plan is greedy, the worst rule first. Where rules stay broken it is made again with these first, in
    what time is left, up to so many `passes`, and the better one is kept. With `clause` only that rule is
    seen to, which may then be one of advice. `seconds` None searches to the end.
    """
    clock = Clock(seconds)
    start = Stage.first(opened, clock)
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


def _plan(start: Stage, best: Pass, clause: str, clock: Clock, *, cut: bool) -> Plan:
    ground = start.ground
    last = {edit.path: edit for fix in best.fixes for edit in fix.edits}
    source = edited(ground.source, last.values())
    # The last word is that of the text itself.
    design = read_design(source, ground.book.kit, ground.design.rulebook)
    after = Ground(source, ground.book, clock, design, Car(design)).judgement
    return Plan(
        source=ground.source,
        rulebook=ground.book,
        clause=clause,
        fixes=tuple(best.fixes),
        text=whole_text(source),
        before=ground.judgement,
        after=after,
        conflicts=tuple(
            best.conflicts.get(verdict.rule.clause, Conflict(verdict, cut=cut))
            for verdict in best.stage.broken(clause)
        ),
        cut=cut,
        trials=clock.trials,
    )

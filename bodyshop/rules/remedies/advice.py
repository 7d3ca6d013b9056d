"""What a report says of several broken rules at once: changes that pull against each other, and the one that
mends most.

The search is bounded by a number of trials, not by time, so that a report is the same wherever it is made.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures import catalogue
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml import KeyPath
from bodyshop.rules.checking import LoadedCar
from bodyshop.rules.remedies.accept import Goal
from bodyshop.rules.remedies.candidate import Clock, OutOfTimeError
from bodyshop.rules.remedies.model import Fix
from bodyshop.rules.remedies.stage import PlanStage
from bodyshop.rules.rulebook import Verdict, driver_path

__all__ = ["TRIALS", "Opposed", "best_single", "opposed"]

TRIALS: Final = 240
"""Designs tried at most for each question: which change mends most, which order mends these rules."""


@dataclass(frozen=True, slots=True)
class Opposed:
    """Broken rules that pull one number both ways.

    `number` is its place in the design; `up` and `down` are the clauses that want it larger and smaller.
    `steps` mend them all in this order, each without breaking what is kept; empty where no such order was
    found.
    """

    number: KeyPath
    up: tuple[str, ...]
    down: tuple[str, ...]
    steps: tuple[Fix, ...] = ()

    @property
    def clauses(self) -> tuple[str, ...]:
        """All the rules that pull."""
        return (*self.up, *self.down)


def best_single(opened: LoadedCar, trials: int = TRIALS) -> Fix | None:
    """The single change that mends most of several broken rules and breaks none; None where none was found
    that mends more than one.
    """
    stage = PlanStage.first(opened, Clock(None, trials))
    broken = stage.broken()
    if len(broken) < 2:
        return None
    best: Fix | None = None
    with suppress(OutOfTimeError):
        probes = stage.probes(broken)
        for verdict in broken:
            found = stage.fix(verdict, probes)
            if isinstance(found, Fix) and (best is None or len(found.cleared) > len(best.cleared)):
                best = found
    return best if best is not None and len(best.cleared) > 1 else None


def opposed(opened: LoadedCar, trials: int = TRIALS) -> tuple[Opposed, ...]:
    """Broken rules that pull the same number of the design both ways, and the order that mends them."""
    stage = PlanStage.first(opened, Clock(None))
    found: list[Opposed] = []
    told: set[str] = set()
    broken = [verdict for verdict in stage.broken() if verdict.side is not None]
    for path, wanting in _by_number(stage, broken).items():
        up, down = _pulls(stage, path, [each for each in wanting if each.rule.clause not in told])
        if not (up and down):
            continue
        steps: tuple[Fix, ...] = ()
        with suppress(OutOfTimeError):
            steps = _steps(PlanStage.first(opened, Clock(None, trials)), (*up, *down))
        clauses = [tuple(verdict.rule.clause for verdict in side) for side in (up, down)]
        found.append(Opposed(path, clauses[0], clauses[1], steps))
        told.update((*clauses[0], *clauses[1]))
    return tuple(found)


def _by_number(stage: PlanStage, broken: Sequence[Verdict]) -> dict[KeyPath, list[Verdict]]:
    """The broken rules by the number that sets their measure most directly, which a report names."""
    design, known = stage.ground.design, catalogue()
    wanting: dict[KeyPath, list[Verdict]] = {}
    for verdict in broken:
        for driver in known[verdict.rule.measure].drivers[:1]:
            wanting.setdefault(driver_path(driver, design), []).append(verdict)
    return {path: verdicts for path, verdicts in wanting.items() if len(verdicts) > 1}


def _pulls(
    stage: PlanStage, path: KeyPath, verdicts: Sequence[Verdict]
) -> tuple[tuple[Verdict, ...], tuple[Verdict, ...]]:
    """The rules that a larger number brings nearer, and those that a smaller one does."""
    knob = stage.knob(path)
    if knob is None or len(verdicts) < 2:
        return (), ()
    probes = stage.probes(verdicts)
    seen = probes.seen(knob, 1)
    if seen is None:
        return (), ()
    up: list[Verdict] = []
    down: list[Verdict] = []
    for verdict in verdicts:
        goal = Goal(verdict, stage.ground.book)
        before, after = goal.gap(probes.base(goal.measure)), goal.gap(seen[goal.measure])
        if before is not None and after is not None and abs(after - before) > 1e-9:
            (up if after > before else down).append(verdict)
    return tuple(up), tuple(down)


def _steps(stage: PlanStage, verdicts: Sequence[Verdict]) -> tuple[Fix, ...]:
    """Changes that mend these rules one after the other; empty where they do not mend all."""
    for order in (verdicts, tuple(reversed(verdicts))):
        steps: list[Fix] = []
        now, left = stage, {verdict.rule.clause for verdict in verdicts}
        for wanted in order:
            verdict = next((v for v in now.broken() if v.rule.clause == wanted.rule.clause), None)
            if verdict is None:
                left.discard(wanted.rule.clause)
                continue
            found = now.fix(verdict, now.probes([verdict]))
            if not isinstance(found, Fix):
                break
            try:
                now = now.after(found.edits)
            except ProblemsError:
                break
            steps.append(found)
            left.discard(wanted.rule.clause)
        if not left:
            return tuple(steps)
    return ()

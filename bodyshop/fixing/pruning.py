"""A plan without the changes that turn out not to be needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bodyshop.fixing.compare import compare
from bodyshop.fixing.model import Fix
from bodyshop.fixing.stage import Stage
from bodyshop.problems import ProblemsError
from bodyshop.rulebook import Outcome

__all__ = ["pruned"]


def pruned(start: Stage, fixes: Sequence[Fix], end: Stage) -> tuple[list[Fix], Stage]:
    """The changes without those that are not needed for the end they come to, and that end.

    A number that is changed twice is changed once, to its last value, where no step then breaks a rule.
    """
    kept = list(fixes)
    for fix in fixes:
        for shorter in _shorter(kept, fix):
            if _as_good(start, shorter, end) and (told := _told_again(start, shorter)) is not None:
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


def _as_good(start: Stage, fixes: Sequence[Fix], end: Stage) -> bool:
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


def _told_again(start: Stage, fixes: Sequence[Fix]) -> tuple[list[Fix], Stage] | None:
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

"""One stage against the next one, which some edits make of it."""

from __future__ import annotations

from collections.abc import Sequence

from bodyshop.fixing.accept import weigh
from bodyshop.fixing.model import Edit, Fix
from bodyshop.fixing.stage import Stage

__all__ = ["compare"]


def compare(
    before: Stage, after: Stage, clause: str, edits: Sequence[Edit], slack_mm: float, least_text: str
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

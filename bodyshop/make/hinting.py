"""Hints for the report on one car that breaks several rules, from the search for remedies.

The search takes seconds, so it is loaded and run for a car that breaks several rules, and for no other. Who
writes several reports on one car works the hints out once and hands them to each.
"""

from __future__ import annotations

from bodyshop.checking import Checked
from bodyshop.report.hints import Hints, Together

__all__ = ["hints_of"]


def hints_of(checked: Checked) -> Hints:
    """The hints for a car; none where it breaks fewer than two rules."""
    if len(checked.judgement.to_mend) < 2:
        return Hints()
    from bodyshop.fixing import best_single, fix_sentence, opposed
    from bodyshop.fixing.words import name_of

    together = []
    for each in opposed(checked.opened):
        up, down = " and ".join(each.up), " and ".join(each.down)
        more, less = _asks(each.up), _asks(each.down)
        said = [f"{up} {more} for more of {name_of(each.number)}, {down} {less} for less"]
        words = ["first", *["then"] * len(each.steps)]
        said += [f"{word}: {fix_sentence(step)}" for word, step in zip(words, each.steps, strict=False)]
        if not each.steps:
            said.append("no order of single changes was found: bodyshop fix looks further")
        together.append(Together(each.clauses, tuple(said)))
    best = best_single(checked.opened)
    if best is None:
        return Hints(tuple(together))
    mends = tuple(best.cleared)
    return Hints(tuple(together), f"{fix_sentence(best)}; that mends {', '.join(mends)}", mends)


def _asks(clauses: tuple[str, ...]) -> str:
    return "asks" if len(clauses) == 1 else "ask"

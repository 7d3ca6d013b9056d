"""What a report says of several broken rules at once, from the search for remedies."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.small_words import capital
from bodyshop.rules.checking import Checked

__all__ = ["HintBlock", "Hints", "OpposedRules", "against_sentence", "hint_blocks", "hints_of"]


@dataclass(frozen=True, slots=True)
class OpposedRules:
    """Broken rules whose changes pull against each other, with the order that works."""

    clauses: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hints:
    """`together` are rules that pull against each other; `best` the one change that fixes most, or empty, and
    `mends` the clauses that it fixes.
    """

    together: tuple[OpposedRules, ...] = ()
    best: str = ""
    mends: tuple[str, ...] = ()

    def against(self, clause: str) -> tuple[str, ...]:
        """The clauses that a clause pulls against."""
        for each in self.together:
            if clause in each.clauses:
                return tuple(other for other in each.clauses if other != clause)
        return ()


@dataclass(frozen=True, slots=True)
class HintBlock:
    """A heading and the sentences under it, each with its capital and its full stop."""

    heading: str
    sentences: tuple[str, ...]


def against_sentence(others: tuple[str, ...]) -> str:
    """What stands for the remedy of a rule that pulls against others."""
    return f"This works against {printable(', '.join(others))}: see below for the order to follow."


def hint_blocks(hints: Hints) -> tuple[HintBlock, ...]:
    """The hints in the order in which a report tells them."""
    blocks = [
        HintBlock(
            f"These pull against each other: {printable(', '.join(each.clauses))}",
            tuple(_sentence(words) for words in each.sentences),
        )
        for each in hints.together
    ]
    if hints.best:
        blocks.append(HintBlock("The one change that fixes most", (_sentence(hints.best),)))
    return tuple(blocks)


def _sentence(words: str) -> str:
    return f"{capital(printable(words))}."


def hints_of(checked: Checked) -> Hints:
    """The hints for a car; none where it breaks fewer than two rules."""
    if len(checked.judgement.to_mend) < 2:
        return Hints()
    from bodyshop.output.words.remedies import fix_sentence, name_of
    from bodyshop.rules.remedies import best_single, opposed

    together = []
    for each in opposed(checked.opened):
        up, down = " and ".join(each.up), " and ".join(each.down)
        more, less = _asks(each.up), _asks(each.down)
        said = [f"{up} {more} a larger {name_of(each.number)}, {down} {less} a smaller one"]
        words = ["first", *["then"] * len(each.steps)]
        said += [f"{word}: {fix_sentence(step)}" for word, step in zip(words, each.steps, strict=False)]
        if not each.steps:
            said.append("no single changes, one after the other, fix them: try bodyshop fix")
        together.append(OpposedRules(each.clauses, tuple(said)))
    best = best_single(checked.opened)
    if best is None:
        return Hints(tuple(together))
    mends = tuple(best.cleared)
    return Hints(tuple(together), f"{fix_sentence(best)}; this fixes {', '.join(mends)}", mends)


def _asks(clauses: tuple[str, ...]) -> str:
    return "needs" if len(clauses) == 1 else "need"

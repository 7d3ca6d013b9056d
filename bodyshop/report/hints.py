"""What a report can say of several broken rules at once, in sentences ready to be set.

Terminal, JSON, page and paper take their words from here.
"""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.report.columns import printable
from bodyshop.report.words import capital

__all__ = ["HintBlock", "Hints", "Together", "against_sentence", "hint_blocks"]


@dataclass(frozen=True, slots=True)
class Together:
    """Broken rules whose changes act against each other: they are told once, with the order that works."""

    clauses: tuple[str, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Hints:
    """`together` are rules that pull against each other; `best` the one change that mends most, or empty, and
    `mends` the clauses that it mends.
    """

    together: tuple[Together, ...] = ()
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
    return f"It pulls against {printable(', '.join(others))}: see below for the order that works."


def hint_blocks(hints: Hints) -> tuple[HintBlock, ...]:
    """The hints in the order in which a report tells them."""
    blocks = [
        HintBlock(
            f"Together: {printable(', '.join(each.clauses))}",
            tuple(_sentence(words) for words in each.sentences),
        )
        for each in hints.together
    ]
    if hints.best:
        blocks.append(HintBlock("The one change that mends most", (_sentence(hints.best),)))
    return tuple(blocks)


def _sentence(words: str) -> str:
    return f"{capital(printable(words))}."

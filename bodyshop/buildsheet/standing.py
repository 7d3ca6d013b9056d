"""What every sheet says of the verdict that the car had when it was printed."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.rulebook import CarResult, Judgement

__all__ = ["Standing", "standing_of"]


@dataclass(frozen=True, slots=True)
class Standing:
    """The word for the title block, the sentence at the head of each sheet (empty for a car that passes),
    whether a rule is broken, and the rulebook's name.
    """

    word: str
    warning: str
    fails: bool
    rulebook: str


def standing_of(judgement: Judgement) -> Standing:
    """The standing that a judgement comes to. A rule that only takes points fails too."""
    book = judgement.rulebook
    name = f"{book.name}, {book.division}" if book.division else book.name
    count = len(judgement.failed)
    if count:
        word = f"FAILS {count} rule{'' if count == 1 else 's'}"
        return Standing(word, f"{word} – do not cut before the faults are put right", True, name)
    if judgement.result is CarResult.NEEDS_INSPECTOR:
        word = "NEEDS AN INSPECTOR"
        return Standing(word, f"{word} – some rules could not be judged from the drawing", False, name)
    return Standing("PASSES", "", False, name)

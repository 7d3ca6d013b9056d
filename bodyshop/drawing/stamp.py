"""The verdict that a car had when its papers were printed, in as many words as a sheet has room for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bodyshop.rulebook import (
    CarResult,
    Judgement,
    Outcome,
    limits_text,
    probably_text,
    value_text,
)

__all__ = ["UNCHECKED", "Standing", "VerdictStamp", "stamp_of"]


class Standing(Enum):
    """What the papers must say of a car before its wood is cut."""

    PASSES = "passes"
    FAILS = "fails"
    OPEN = "open"
    """Some rules could not be judged from the drawing."""
    DOUBTFUL = "doubtful"
    """An estimate is outside a limit, but not with its whole range."""
    UNCHECKED = "unchecked"


@dataclass(frozen=True, slots=True)
class VerdictStamp:
    """A verdict as printed on every sheet.

    `word` goes into the title block ("FAILS 3 rules"), `rulebook` is the book's name, `failed` the
    number of rules broken, and `lines` tell what is wrong, one rule a line.
    """

    word: str
    standing: Standing
    rulebook: str = ""
    failed: int = 0
    lines: tuple[str, ...] = ()

    @property
    def fails(self) -> bool:
        """Whether a rule is broken."""
        return self.standing is Standing.FAILS

    @property
    def warning(self) -> str:
        """The sentence that stands at the head of every sheet; empty for a car that passes."""
        match self.standing:
            case Standing.PASSES:
                return ""
            case Standing.FAILS:
                return f"{_fails(self.failed)} – do not cut before the faults are put right"
            case Standing.OPEN:
                return "NEEDS AN INSPECTOR – some rules could not be judged from the drawing"
            case Standing.DOUBTFUL:
                return f"{self.word} – weigh the blank and check the design again before you cut"
            case Standing.UNCHECKED:
                return "NOT CHECKED – this design has not been held against a rulebook"


UNCHECKED = VerdictStamp("NOT CHECKED", Standing.UNCHECKED)
"""The stamp of a car that no rulebook was read against."""


def stamp_of(judgement: Judgement) -> VerdictStamp:
    """The stamp that a judgement comes to.

    A rule that only takes points fails too: the fault can be put right before the wood is cut.
    """
    failed = judgement.failed
    rulebook = judgement.rulebook.name
    if judgement.rulebook.division:
        rulebook = f"{rulebook}, {judgement.rulebook.division}"
    lines: list[str] = []
    told = judgement.having(Outcome.FAIL, Outcome.TOO_CLOSE, Outcome.CANNOT_JUDGE)
    for verdict in told:
        rule = verdict.rule
        words = f"{rule.clause}  {rule.title}"
        if verdict.read is not None:
            asked = limits_text(rule.limits, rule.kind, rule.shown_unit)
            words += f": {value_text(rule, verdict.read)}, {asked} is asked"
            words += ", too close to tell" if verdict.outcome is Outcome.TOO_CLOSE else ""
        elif verdict.why_not:
            words += f": {verdict.why_not}"
        lines.append(words)
    if failed:
        return VerdictStamp(_fails(len(failed)), Standing.FAILS, rulebook, len(failed), tuple(lines))
    if judgement.result is CarResult.NEEDS_INSPECTOR:
        return VerdictStamp("NEEDS AN INSPECTOR", Standing.OPEN, rulebook, 0, tuple(lines))
    if judgement.result is CarResult.PROBABLY_BROKEN:
        word = probably_text(judgement.probably_broken).upper()
        return VerdictStamp(word, Standing.DOUBTFUL, rulebook, 0, tuple(lines))
    close = len(judgement.too_close)
    word = f"PASSES, {close} TOO CLOSE TO TELL" if close else "PASSES"
    return VerdictStamp(word, Standing.PASSES, rulebook, 0, tuple(lines))


def _fails(count: int) -> str:
    return f"FAILS {count} rule{'' if count == 1 else 's'}"

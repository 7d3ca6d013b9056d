"""Names of papers, and the verdict stamped on them."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from bodyshop.car.design import Design
from bodyshop.drawing.sheet.lettering import MISSING, lacking, showable
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.problems import Problem, Severity
from bodyshop.foundation.text.small_words import listed
from bodyshop.rules.rulebook import CarResult, Judgement, Outcome, limits_text, probably_text, value_text

__all__ = [
    "UNCHECKED",
    "PrintedVerdict",
    "VerdictStamp",
    "bench_name",
    "lettering_warnings",
    "paper_name",
    "stamp_of",
    "words_warning",
]


class PrintedVerdict(Enum):
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
    standing: PrintedVerdict
    rulebook: str = ""
    failed: int = 0
    lines: tuple[str, ...] = ()

    @property
    def fails(self) -> bool:
        """Whether a rule is broken."""
        return self.standing is PrintedVerdict.FAILS

    @property
    def warning(self) -> str:
        """The sentence that stands at the head of every sheet; empty for a car that passes."""
        match self.standing:
            case PrintedVerdict.PASSES:
                return ""
            case PrintedVerdict.FAILS:
                return f"{_fails(self.failed)} – DO NOT CUT: fix the design first"
            case PrintedVerdict.OPEN:
                return "NEEDS AN INSPECTOR – some rules could not be checked on the drawing"
            case PrintedVerdict.DOUBTFUL:
                return f"{self.word} – weigh the block and check the design again before you cut"
            case PrintedVerdict.UNCHECKED:
                return "NOT CHECKED – this design has not been checked against a rulebook"


UNCHECKED = VerdictStamp("NOT CHECKED", PrintedVerdict.UNCHECKED)
"""The stamp of a car that no rulebook was checked against."""


def _fails(count: int) -> str:
    return f"FAILS {count} rule{'' if count == 1 else 's'}"


_CODE = "lettering"
_TOLD = 6
# A few question marks say as much as many.
_RUN = re.compile(rf"(?:{re.escape(MISSING)} ?){{4,}}")


def paper_name(design: Design) -> str:
    """The car's name as papers print it.

    Where a letter is missing from the lettering, the name of the design's file stands with it, so that the
    paper can be matched with its car.
    """
    if not lacking(design.name):
        return design.name
    return f"{_readable(design.name)} ({_stem(design)})"


def bench_name(design: Design) -> str:
    """The builder's bench as papers print it."""
    return _readable(design.bench) if lacking(design.bench) else design.bench


def lettering_warnings(design: Design) -> tuple[Problem, ...]:
    """A warning for each name of a design that papers cannot print letter by letter, at its place."""
    found: list[Problem] = []
    for key, text in (("name", design.name), ("bench", design.bench)):
        missing = lacking(text)
        if missing:
            message = f"papers print {_missing_words(missing)} as {MISSING}: our lettering does not have it"
            if key == "name":
                message += f"; the name of the file, {_stem(design)}, stands beside it"
            found.append(
                design.problem(
                    [key],
                    _CODE,
                    message,
                    expected="letters of the Latin, Greek or Cyrillic alphabet",
                    severity=Severity.WARNING,
                )
            )
    return tuple(found)


def words_warning(text: str, what: str) -> Problem | None:
    """The same for words that come from no file, such as the owner; None when all letters are there."""
    missing = lacking(text)
    if not missing:
        return None
    message = f"papers print {_missing_words(missing)} in {what} as {MISSING}: our lettering does not have it"
    return Problem(_CODE, message, severity=Severity.WARNING)


def _readable(text: str) -> str:
    return _RUN.sub(3 * MISSING + " ", showable(text)).strip()


def _stem(design: Design) -> str:
    """The file's stem, if papers can print that; else the word for any car."""
    stem = safe_stem(design.stem)
    return stem if not lacking(stem) else design.fingerprint


def _missing_words(missing: Iterable[str]) -> str:
    """The characters by themselves and, for eyes that cannot tell them apart, by their Unicode names."""
    letters = list(missing)
    words = [_named(letter) for letter in letters[:_TOLD]]
    if len(letters) > _TOLD:
        words.append(f"{len(letters) - _TOLD} more")
    return listed(words)


def _named(character: str) -> str:
    name = unicodedata.name(character, "").lower()
    code = f"U+{ord(character):04X}"
    if not character.isprintable():
        return f"{code}"
    return f'"{character}" ({name or code})'


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
            words += f": {value_text(rule, verdict.read)}; the rule says {asked}"
            words += "; too close to tell" if verdict.outcome is Outcome.TOO_CLOSE else ""
        elif verdict.why_not:
            words += f": {verdict.why_not}"
        lines.append(words)
    if failed:
        return VerdictStamp(_fails(len(failed)), PrintedVerdict.FAILS, rulebook, len(failed), tuple(lines))
    if judgement.result is CarResult.NEEDS_INSPECTOR:
        return VerdictStamp("NEEDS AN INSPECTOR", PrintedVerdict.OPEN, rulebook, 0, tuple(lines))
    if judgement.result is CarResult.PROBABLY_BROKEN:
        word = probably_text(judgement.probably_broken).upper()
        return VerdictStamp(word, PrintedVerdict.DOUBTFUL, rulebook, 0, tuple(lines))
    close = len(judgement.too_close)
    word = f"PASSES, {close} TOO CLOSE TO TELL" if close else "PASSES"
    return VerdictStamp(word, PrintedVerdict.PASSES, rulebook, 0, tuple(lines))

"""Names as they stand on papers, and warnings of letters that the papers' lettering does not have."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable

from bodyshop.design import Design
from bodyshop.drawing.lettering import MISSING, lacking, showable
from bodyshop.problems import Problem, Severity
from bodyshop.source.names import safe_stem

__all__ = ["bench_name", "lettering_warnings", "paper_name", "words_warning"]

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
            message = f"papers print {_told(missing)} as {MISSING}: their lettering does not have it"
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
    message = f"papers print {_told(missing)} in {what} as {MISSING}: their lettering does not have it"
    return Problem(_CODE, message, severity=Severity.WARNING)


def _readable(text: str) -> str:
    return _RUN.sub(3 * MISSING + " ", showable(text)).strip()


def _stem(design: Design) -> str:
    """The file's stem, if papers can print that; else the word for any car."""
    stem = safe_stem(design.stem)
    return stem if not lacking(stem) else design.fingerprint


def _told(missing: Iterable[str]) -> str:
    """The characters by themselves and, for eyes that cannot tell them apart, by their Unicode names."""
    listed = list(missing)
    words = [_named(character) for character in listed[:_TOLD]]
    if len(listed) > _TOLD:
        words.append(f"{len(listed) - _TOLD} more")
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _named(character: str) -> str:
    name = unicodedata.name(character, "").lower()
    code = f"U+{ord(character):04X}"
    if not character.isprintable():
        return f"{code}"
    return f'"{character}" ({name or code})'

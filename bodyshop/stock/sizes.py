"""Sizes of paper as a person types them: the name of a sheet, `500x900`, `20x30in`, `roll:24in`."""

from __future__ import annotations

import re
from typing import Final

from bodyshop.lengths import LengthUnit, QuantityError, format_number, parse_length
from bodyshop.problems import Problem, ProblemsError, nearest
from bodyshop.stock.sheets import (
    FREE_FORMS,
    LEAST_SIDE_MM,
    MOST_SIDE_MM,
    SheetSize,
    Side,
    sheet_sizes,
)
from bodyshop.stock.tables import Confidence

__all__ = ["sheet_size"]

_ROLL: Final = "roll"
_TIMES: Final = re.compile(r"\s*[x×*]\s*")
_UNIT: Final = re.compile(r"(mm|cm|in|inch|inches|\"|″)\s*$")
_LONGEST: Final = 60
_SOURCE: Final = "given by the user"


def sheet_size(text: str) -> SheetSize:
    """The sheet that a text means: a size of the table, two sides, or the width of a roll.

    Two sides are parted by an x; `roll:` comes before a roll's width, and behind it may stand the most
    that is to be cut off it, `roll:610x1200` (without it 2 m). Lengths may carry a unit, which goes for
    all of them where only the last has one; without one they are mm.

    Raises:
        ProblemsError: there is no such sheet, or it is too small or too large.
    """
    word = text.strip().casefold()
    known = sheet_sizes()
    if word in known:
        return known[word]
    if len(word) > _LONGEST:
        raise ProblemsError([_unknown(text[:_LONGEST] + "…")])
    head, colon, rest = word.partition(":")
    if head.strip() == _ROLL and not colon:
        raise ProblemsError(
            [Problem("sheet-roll", "a roll needs its width", expected="roll:610 or roll:24in")]
        )
    if colon and head.strip() == _ROLL:
        return _roll(text, rest)
    sides = _TIMES.split(word)
    if colon or len(sides) != 2 or not all(side[:1].isdigit() for side in sides):
        raise ProblemsError([_unknown(text)])
    width, height = _lengths(text, sides)
    unit = _unit_of(word)
    for side in (width, height):
        _in_reach(side, unit, "a side of the sheet")
    width, height = min(width, height), max(width, height)
    printed = f"{format_number(width, unit)} × {format_number(height, unit)} {unit.symbol}"
    inches = (width / unit.mm, height / unit.mm) if unit is LengthUnit.IN else None
    return SheetSize(word, printed, width, height, inches, _SOURCE, Confidence.READ)


def _roll(text: str, sizes: str) -> SheetSize:
    given = _TIMES.split(sizes.strip())
    if len(given) > 2 or not all(given):
        raise ProblemsError(
            [Problem("sheet-roll", f'"{text}" is no size of a roll', expected="roll:610 or roll:24in")]
        )
    width, *rest = _lengths(text, given)
    most = rest[0] if rest else MOST_SIDE_MM
    unit = _unit_of(sizes)
    _in_reach(width, unit, "the width of the roll")
    _in_reach(most, unit, "the most that is cut off the roll")
    name = f"a roll {format_number(width, unit)} {unit.symbol} wide"
    word = f"{_ROLL}:{sizes.strip()}"
    return SheetSize(word, name, width, most, None, _SOURCE, Confidence.READ, free=Side.HEIGHT)


def _lengths(text: str, given: list[str]) -> list[float]:
    last = _UNIT.search(given[-1].strip())
    found: list[float] = []
    for each in given:
        word = each.strip()
        if last is not None and not _UNIT.search(word):
            word += f" {last.group(1)}"
        try:
            found.append(parse_length(word, LengthUnit.MM))
        except QuantityError as error:
            told = f'"{text}" is no size of paper: {error}'
            raise ProblemsError([Problem("sheet-size", told, expected=FREE_FORMS)]) from None
    return found


def _unit_of(text: str) -> LengthUnit:
    found = _UNIT.search(text.strip())
    if found is None or found.group(1) == "mm":
        return LengthUnit.MM
    return LengthUnit.CM if found.group(1) == "cm" else LengthUnit.IN


def _in_reach(length_mm: float, unit: LengthUnit, what: str) -> None:
    if LEAST_SIDE_MM <= length_mm <= MOST_SIDE_MM:
        return
    least, most = (format_number(limit, unit) for limit in (LEAST_SIDE_MM, MOST_SIDE_MM))
    small = length_mm < LEAST_SIDE_MM
    reason = "the title block and the check bars do not fit" if small else "no sheet is so large"
    message = f"{what} is {format_number(length_mm, unit)} {unit.symbol}: {reason}"
    inches = length_mm / LengthUnit.MM.mm * LengthUnit.IN.mm
    meant = unit is LengthUnit.MM and LEAST_SIDE_MM <= inches <= MOST_SIDE_MM
    raise ProblemsError(
        [
            Problem(
                "sheet-small" if small else "sheet-large",
                message,
                expected=f"{least} to {most} {unit.symbol}",
                nearest=f"{length_mm:g} in" if meant else "",
            )
        ]
    )


def _unknown(text: str) -> Problem:
    names = list(sheet_sizes())
    close = nearest(text, names)
    return Problem(
        "sheet-unknown",
        f'there is no sheet "{text}"',
        expected="" if close else f"{', '.join(names)}, or a size such as {FREE_FORMS}",
        nearest=close,
    )

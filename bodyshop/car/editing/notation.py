"""How a number is written in a design file, and how another one would be written in its place.

A number keeps its notation: its unit if it has one of its own, its quotes, tape fractions where they are
used, and the zeros behind the point that its writer liked.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Final

from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.units import LengthUnit, QuantityError, length_from_number, parse_angle, parse_length

__all__ = ["DECIMAL_GRIDS", "Notation", "DigitStyle", "factor_grids", "read_notation", "value_of"]


class DigitStyle(Enum):
    """How the digits are written."""

    DECIMAL = "decimal"
    TAPE = "tape fraction"
    WHOLE = "whole number"


# Steps that a person writes, from the handiest to the finest; the second is what the search works in.
DECIMAL_GRIDS: Final = {
    LengthUnit.MM: (Fraction(1, 2), Fraction(1, 10), Fraction(1, 20), Fraction(1, 100)),
    LengthUnit.CM: (Fraction(1, 20), Fraction(1, 100), Fraction(1, 200), Fraction(1, 1000)),
    LengthUnit.IN: (Fraction(1, 50), Fraction(1, 100), Fraction(1, 200), Fraction(1, 1000)),
}
_TAPE_GRIDS: Final = (Fraction(1, 32), Fraction(1, 64), Fraction(1, 128), Fraction(1, 1000))
_DEGREE_GRIDS: Final = (Fraction(1, 2), Fraction(1, 10), Fraction(1, 20), Fraction(1, 100))
_COUNT_GRIDS: Final = (Fraction(1),)

_TAPE_MARKS: Final = 128
_PLAIN: Final = re.compile(r"[+-]?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
_WORD: Final = re.compile(r"[\s\u00a0\u2009\u202f]*(?:[^\W\d_]\w*\.?|''|′′|’’|[\"″”“°º])\s*$")
_MIXED: Final = re.compile(r"\d(\s*[-\u2010-\u2013]\s*|\s+)\d+\s*[/\u2044\u2215]")
_FRACTION: Final = re.compile(r"[/\u2044\u2215\u00bc-\u00be\u2150-\u215e]")
_MOST_PLACES: Final = 6


@dataclass(frozen=True, slots=True)
class Notation:
    """The way one number is written.

    Values are in the unit of the number as written: mm, in, degrees, a count. `mm_per_unit` is what one
    of it counts for, in mm; `suffix` its unit with the space before it; `joint` stands between the whole
    inches and the fraction; at least `places` digits stand behind the point. `grids` are the steps, from
    the handiest to the finest.
    """

    kind: QuantityKind
    style: DigitStyle
    quoted: bool
    suffix: str
    joint: str
    places: int
    mm_per_unit: float
    grids: tuple[Fraction, ...]

    def text(self, value: Fraction) -> str:
        """The value as it would stand in the file, without quotes."""
        sign = "-" if value < 0 else ""
        size = abs(value)
        if self.style is DigitStyle.TAPE and _TAPE_MARKS % size.denominator == 0:
            whole, rest = divmod(size, 1)
            part = f"{rest.numerator}/{rest.denominator}"
            body = str(whole) if rest == 0 else f"{whole}{self.joint}{part}" if whole else part
        else:
            body = _decimal(size, self.places)
        return f"{sign}{body}{self.suffix}"

    def parsed(self, text: str) -> object:
        """What the file's reader makes of that text in the place of the old one."""
        if self.quoted or not _PLAIN.fullmatch(text):
            return text
        return float(text) if "." in text else int(text)


def read_notation(
    raw: str, value: object, kind: QuantityKind, unit: LengthUnit, *, tape: bool
) -> Notation | None:
    """The notation of a value: `raw` as it stands in the file, quotes and all, `value` as it was read.

    None where it is worked out from other numbers, or is no number at all. `tape` says that the file
    writes inches as tape fractions where nothing else tells.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    quoted = isinstance(value, str)
    inner = raw[1:-1] if quoted else raw
    if value_of(value, kind, unit) is None:
        return None
    word = _WORD.search(inner) if quoted else None
    suffix = word[0].rstrip() if word else ""
    digits = inner[: word.start()] if word else inner
    if kind is QuantityKind.COUNT:
        return Notation(kind, DigitStyle.WHOLE, quoted, "", "", 0, 1.0, _COUNT_GRIDS)
    _, point, behind = digits.partition(".")
    behind = behind.split("e")[0].split("E")[0].strip()
    places = len(behind) if point and behind.endswith("0") and len(behind) <= _MOST_PLACES else 0
    if kind is QuantityKind.ANGLE:
        if suffix.strip().casefold() in ("rad", "rads", "radian", "radians"):
            return None  # nobody sets a drill by those
        return Notation(kind, DigitStyle.DECIMAL, quoted, suffix, "", places, 1.0, _DEGREE_GRIDS)
    own = _unit_of(suffix, unit)
    has_fraction = _FRACTION.search(digits) is not None
    style = DigitStyle.DECIMAL
    if own is LengthUnit.IN and (has_fraction or (tape and not point)):
        style = DigitStyle.TAPE
    joint = match[1] if (match := _MIXED.search(digits)) else " "
    grids = _TAPE_GRIDS if style is DigitStyle.TAPE else DECIMAL_GRIDS[own]
    return Notation(kind, style, quoted, suffix, joint, places, own.mm, grids)


def value_of(value: object, kind: QuantityKind, unit: LengthUnit) -> Fraction | None:
    """The number written, in its own unit: `"1 5/8"` is 13/8; None where it is not one number."""
    try:
        if isinstance(value, str):
            return _quoted_value(value, kind, unit)
        if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
            return None
        if kind is QuantityKind.LENGTH:
            length_from_number(value, unit)
        return Fraction(repr(value))
    except QuantityError:
        return None


def _quoted_value(text: str, kind: QuantityKind, unit: LengthUnit) -> Fraction | None:
    """Raises `QuantityError`."""
    if kind is QuantityKind.ANGLE:
        return _nearby(math.degrees(parse_angle(text)))
    if kind is not QuantityKind.LENGTH:
        return None
    length = parse_length(text, unit)
    word = _WORD.search(text)
    return _nearby(length / _unit_of(word[0] if word else "", unit).mm)


def factor_grids(mm_per_unit: float) -> tuple[Fraction, ...]:
    """Steps for a bare number that stands for a ratio: tenfold finer until one moves no more than 0.5 mm."""
    steps = [Fraction(part, 10**power) for power in range(5) for part in (5, 1)]
    fine = [step for step in steps if float(step) * mm_per_unit <= 0.5]
    return tuple(fine[:4]) or (steps[-1],)


def _unit_of(suffix: str, unit: LengthUnit) -> LengthUnit:
    """The unit that a suffix names; the file's where it names none."""
    word = suffix.strip()
    if not word:
        return unit
    one = parse_length(f"1 {word}", unit)
    return min(LengthUnit, key=lambda each: abs(each.mm - one))


def _nearby(value: float) -> Fraction:
    """The plain fraction or decimal that a float was made from."""
    return Fraction(value).limit_denominator(100_000)


def _decimal(value: Fraction, places: int) -> str:
    """Exactly, where the value has no more than six decimals; else to the nearest of them."""
    for count in range(places, _MOST_PLACES + 1):
        scaled = value * 10**count
        if scaled.denominator == 1 or count == _MOST_PLACES:
            digits = str(round(scaled)).rjust(count + 1, "0")
            return f"{digits[:-count]}.{digits[-count:]}" if count else digits
    raise AssertionError("unreachable")

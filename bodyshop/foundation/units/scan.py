"""Numbers as people write them: decimals, tape fractions, and a number with its unit in a longer text."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.units.units import (
    FOOT_WORDS,
    FRACTION_MARKS,
    LITERAL_NAMES,
    AngleUnit,
    DensityUnit,
    LengthUnit,
    MassUnit,
    QuantityError,
)

__all__ = [
    "MAX_DIGITS",
    "NUMBER",
    "SIGN",
    "UNIT_WORD",
    "Literal",
    "ambiguous_error",
    "decimal_ratio",
    "foot_error",
    "fraction_ratio",
    "gap_kind",
    "scaled",
    "scan_literal",
]

MAX_DIGITS: Final = 30
_MAX_EXPONENT: Final = 400

_SPACE: Final = r"[ \t\u00a0\u2009\u202f]"
_DASHES: Final = "-\u2010\u2011\u2012\u2013\u2212"  # hyphens, figure dash, en dash, minus sign
_DASH: Final = f"[{_DASHES}]"
_SLASH: Final = "[/\u2044\u2215]"
NUMBER: Final = re.compile(
    rf"(?P<whole>[0-9]+)(?P<gap>{_SPACE}*{_DASH}{_SPACE}*|{_SPACE}+)"
    rf"(?P<num>[0-9]+){_SPACE}*{_SLASH}{_SPACE}*(?P<den>[0-9]+)(?![0-9.])"
    rf"|(?:(?P<vwhole>[0-9]+)(?P<vgap>{_SPACE}*{_DASH}?{_SPACE}*))?(?P<vulgar>[{''.join(FRACTION_MARKS)}])"
    rf"|(?P<fnum>[0-9]+){_SPACE}*{_SLASH}{_SPACE}*(?P<fden>[0-9]+)(?![0-9.])"
    r"|(?P<dec>(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)"
)
UNIT_WORD: Final = re.compile(rf"{_SPACE}*(?P<unit>[^\W\d]\w*|''|′′|’’|[\"″”“'′’°º])(?P<dot>(?<=in)\.)?")
SIGN: Final = re.compile(rf"{_SPACE}*(?P<sign>[{_DASHES}+]?){_SPACE}*")


@dataclass(frozen=True, slots=True)
class Literal:
    """A number as written in a longer text, with its unit when it has one.

    `value` is in mm for a length, rad for an angle, and plain when `unit` is None. `tape` marks a
    number written as a tape fraction (`3/4 in`, `2 3/4`).
    """

    value: float
    unit: LengthUnit | AngleUnit | None
    start: int
    end: int
    tape: bool = False


def decimal_ratio(text: str, start: int = 0) -> tuple[int, int]:
    """A decimal such as `12.5` or `1e-07` as a ratio of whole numbers."""
    mantissa, _, exponent = text.lower().partition("e")
    before, _, after = mantissa.partition(".")
    if len(before) + len(after) > MAX_DIGITS or len(exponent) > MAX_DIGITS:
        raise _too_many_digits(text, start)
    power = int(exponent or "0") - len(after)
    if abs(power) > _MAX_EXPONENT:
        raise _too_large(text, start)
    digits = int(before + after)
    return (digits * 10**power, 1) if power >= 0 else (digits, 10**-power)


def _too_many_digits(text: str, start: int) -> QuantityError:
    shown = shortened(text, 24)
    return QuantityError(
        "number-digits",
        f'"{shown}" has more digits than any ruler shows',
        start=start,
        end=start + len(text),
        found=shown,
        expected=f"at most {MAX_DIGITS} digits",
    )


def fraction_ratio(match: re.Match[str]) -> tuple[int, int]:
    """The ratio of a matched tape fraction; refuses a zero or improper one."""
    whole = match["whole"] or match["vwhole"] or "0"
    if match["vulgar"]:
        num, den = FRACTION_MARKS[match["vulgar"]]
    else:
        texts = (match["num"] or match["fnum"], match["den"] or match["fden"])
        if max(len(whole), *map(len, texts)) > MAX_DIGITS:
            raise _too_many_digits(match[0], match.start())
        num, den = int(texts[0]), int(texts[1])
    if den == 0:
        raise QuantityError(
            "number-fraction",
            f'"{match[0]}" divides by zero',
            start=match.start(),
            end=match.end(),
            found=match[0],
            expected="a fraction such as 3/4",
        )
    if match["whole"] and num >= den:
        raise QuantityError(
            "number-fraction",
            f'"{match[0]}" is not a mixed number: its fraction is 1 or more',
            start=match.start(),
            end=match.end(),
            found=match[0],
            expected="a fraction less than 1, such as 2 3/4",
        )
    return int(whole) * den + num, den


def gap_kind(match: re.Match[str]) -> str:
    """What stands between the whole number and its fraction.

    One of `space`, `hyphen` (close on both sides), `minus` (a space on both sides), `unclear`.
    """
    gap = match["gap"] or match["vgap"] or ""
    dash = gap.strip(" \t\u00a0\u2009\u202f")
    if not dash:
        return "space"
    if gap == dash:
        return "hyphen"
    return "minus" if gap[0] != dash and gap[-1] != dash else "unclear"


def ambiguous_error(match: re.Match[str]) -> QuantityError:
    """The error for `2-3/4`, which a reader could take two ways."""
    whole = match["whole"] or match["vwhole"]
    part = match["vulgar"] or f"{match['num']}/{match['den']}"
    return QuantityError(
        "number-ambiguous",
        f'"{match[0]}" can be read as a mixed number or as a subtraction',
        start=match.start(),
        end=match.end(),
        found=match[0],
        expected=f"{whole} {part} for the mixed number, or {whole} - {part} for the subtraction",
    )


def scan_literal(text: str, start: int) -> Literal | None:
    """The number that begins at `start` with the length or angle unit behind it, or None.

    A fraction without a whole number and without a unit is not taken (`3/4` is a division); neither
    is a subtraction (`2 - 3/4 in`): then the whole number alone is the literal. A unit word that is
    not known is left unread. Raises `QuantityError` where a reader could take it two ways (`2-3/4`
    without a unit), for a foot mark, for a nonsense fraction and for digits without end.
    """
    match = NUMBER.match(text, start)
    if match is None:
        return None
    after = UNIT_WORD.match(text, match.end())
    unit: LengthUnit | AngleUnit | None = None
    end = match.end()
    if after is not None:
        word = after["unit"]
        unit = LITERAL_NAMES.get(word) or LITERAL_NAMES.get(word.casefold())
        if unit is not None:
            end = after.end()
        elif word.casefold() in FOOT_WORDS:
            raise foot_error(text, after.start("unit"), after.end("unit"))
    if match["dec"] is not None:
        return _literal(match["dec"], unit, match.start(), end)
    if match["fnum"] is not None and unit is None:
        return _literal(match["fnum"], None, match.start(), match.end("fnum"))
    kind = gap_kind(match)
    if kind != "space" and unit is None and match["num"] and int(match["num"]) >= int(match["den"]):
        kind = "minus"  # 10-6/2 cannot be a mixed number
    if kind == "minus":
        whole = "whole" if match["whole"] else "vwhole"
        return _literal(match[whole], None, match.start(), match.end(whole))
    if kind == "unclear" or (kind == "hyphen" and unit is None):
        raise ambiguous_error(match)
    return Literal(
        scaled(fraction_ratio(match), unit, match[0], match.start()), unit, match.start(), end, tape=True
    )


def _literal(number: str, unit: LengthUnit | AngleUnit | None, start: int, end: int) -> Literal:
    return Literal(scaled(decimal_ratio(number, start), unit, number, start), unit, start, end)


def scaled(
    ratio: tuple[int, int],
    unit: LengthUnit | MassUnit | DensityUnit | AngleUnit | None,
    text: str,
    start: int,
) -> float:
    """The ratio times the unit as the nearest float; refuses what a float cannot hold."""
    num, den = ratio
    try:
        if unit is None:
            return num / den
        if isinstance(unit, AngleUnit):
            return num / den * unit.rad
        return (num * unit.ratio[0]) / (den * unit.ratio[1])
    except OverflowError:
        raise _too_large(text, start) from None


def _too_large(text: str, start: int) -> QuantityError:
    return QuantityError(
        "number-range",
        f'"{text}" is too large or too small to be measured',
        start=start,
        end=start + len(text),
        found=text,
    )


def foot_error(text: str, start: int, end: int) -> QuantityError:
    """The error for a foot mark or word at `text[start:end]`."""
    return QuantityError(
        "length-foot",
        f"{text[start:end]} is a foot mark, and lengths here are never in feet",
        start=start,
        end=end,
        found=text[start:end],
        expected='inches, written in or "',
        nearest="in",
    )

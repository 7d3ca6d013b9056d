"""Whole texts to quantities: `12.5 mm`, `1 5/8 in`, `52 g`, `5 deg`, `160 kg/m3`."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Final, TypeVar

from bodyshop.foundation.problems import nearest
from bodyshop.foundation.text.values import kind_of_value, shortened
from bodyshop.foundation.units.scan import (
    NUMBER,
    SIGN,
    UNIT_WORD,
    ambiguous_error,
    decimal_ratio,
    foot_error,
    fraction_ratio,
    gap_kind,
    scaled,
)
from bodyshop.foundation.units.units import (
    ANGLE_NAMES,
    DENSITY_NAMES,
    FOOT_WORDS,
    LENGTH_NAMES,
    MASS_NAMES,
    MAX_LENGTH_MM,
    AngleUnit,
    DensityUnit,
    LengthUnit,
    MassUnit,
    QuantityError,
)

__all__ = ["length_from_number", "parse_angle", "parse_density", "parse_length", "parse_mass", "parse_unit"]

_MAX_TEXT: Final = 100
_SIMPLE: Final = re.compile(r"([0-9]+(?:\.[0-9]+)?) ?(mm|cm|in)?")
_Unit = TypeVar("_Unit", LengthUnit, MassUnit, AngleUnit, DensityUnit)


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What is being read: words for messages, and an example that would be right."""

    kind: str
    article: str
    units: str
    example: str

    def fail(self, code: str, message: str, text: str, start: int, end: int, **more: str) -> QuantityError:
        more.setdefault("found", shortened(text[start:end]))
        return QuantityError(f"{self.kind}-{code}", message, start=start, end=end, **more)


_A_LENGTH: Final = _Wanted("length", "a length", "mm, cm or in", "12.5 mm or 1 5/8 in")
_A_MASS: Final = _Wanted("mass", "a mass", "g, kg or oz", "52 g")
_AN_ANGLE: Final = _Wanted("angle", "an angle", "deg or rad", "5 deg")
_A_DENSITY: Final = _Wanted("density", "a density", "kg/m3, g/cm3 or lb/ft3", "160 kg/m3")


def parse_unit(text: str) -> LengthUnit:
    """The length unit that a word names, as in `units = "in"`. Raises `QuantityError`."""
    word = text.strip()
    unit = LENGTH_NAMES.get(word.casefold())
    if unit is not None:
        return unit
    if word.casefold() in FOOT_WORDS:
        raise foot_error(text, text.index(word), text.index(word) + len(word))
    shown = shortened(word)
    raise QuantityError(
        "length-unit",
        f'"{shown}" is not a unit of length',
        end=len(text),
        found=shown,
        expected=_A_LENGTH.units,
        nearest=_nearest_symbol(word, LENGTH_NAMES),
    )


def parse_length(text: str, default: LengthUnit | None) -> float:
    """A length in mm from text such as `12`, `12.5 mm`, `2 3/4 in` or `2-3/4"`.

    A number without a unit is in `default`, or refused when that is None. Raises `QuantityError`.

    >>> parse_length("1 5/8 in", None)
    41.275
    >>> parse_length("12.5", LengthUnit.MM)
    12.5
    """
    simple = _SIMPLE.fullmatch(text) if len(text) <= 16 else None
    if simple is not None:
        number, symbol = simple.groups()
        named = LENGTH_NAMES[symbol] if symbol else default
        if named is not None:
            return _in_range(scaled(decimal_ratio(number), named, text, 0), text)
    ratio, unit = _read(text, LENGTH_NAMES, default, _A_LENGTH)
    return _in_range(scaled(ratio, unit, text.strip(), 0), text)


def length_from_number(value: object, unit: LengthUnit) -> float:
    """A length in mm from a number that the file gives without quotes, in the unit of the file.

    Raises `QuantityError` for anything but a finite number within reach (a truth value is not one).
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise QuantityError(
            "length-type",
            f"{kind_of_value(value)} is not a length",
            found=kind_of_value(value),
            expected=f"a number, or text such as {_A_LENGTH.example}",
        )
    if isinstance(value, int):
        if abs(value) > MAX_LENGTH_MM:
            raise _beyond_reach(shortened(_int_text(value)), 0, 0)
        return _in_range((value * unit.ratio[0]) / unit.ratio[1], str(value))
    if not math.isfinite(value):
        raise QuantityError(
            "length-finite",
            f"{value} is not a length",
            found=str(value),
            expected=f"a number, or text such as {_A_LENGTH.example}",
        )
    if abs(value) > MAX_LENGTH_MM:
        raise _beyond_reach(str(value), 0, 0)
    if unit is LengthUnit.MM:
        return value + 0.0
    num, den = decimal_ratio(repr(abs(value)))
    length = (num * unit.ratio[0]) / (den * unit.ratio[1])
    return _in_range(length if value >= 0 else -length, str(value))


def parse_mass(text: str, default: MassUnit | None = MassUnit.G) -> float:
    """A mass in g from text such as `52 g` or `1 3/4 oz`. Never below zero. Raises `QuantityError`."""
    ratio, unit = _read(text, MASS_NAMES, default, _A_MASS)
    return _not_negative(scaled(ratio, unit, text.strip(), 0), text, _A_MASS, 1e6, "1000 kg")


def parse_density(text: str, default: DensityUnit | None = None) -> float:
    """A density in g/mm3 from text such as `160 kg/m3` or `10 lb/ft³`. Raises `QuantityError`."""
    ratio, unit = _read(text, DENSITY_NAMES, default, _A_DENSITY)
    return _not_negative(scaled(ratio, unit, text.strip(), 0), text, _A_DENSITY, 0.1, "100 g/cm3")


def parse_angle(text: str) -> float:
    """An angle in rad from text such as `5 deg`, `5°` or `0.1 rad`; a bare number is degrees.

    Raises `QuantityError`, also beyond ten turns.
    """
    ratio, unit = _read(text, ANGLE_NAMES, AngleUnit.DEG, _AN_ANGLE)
    angle = scaled(ratio, unit, text.strip(), 0)
    if abs(angle) > 20 * math.pi:
        raise _AN_ANGLE.fail(
            "range", f'"{shortened(text.strip())}" is more than ten turns', text, 0, len(text)
        )
    return angle


def _read(
    text: str, names: Mapping[str, _Unit], default: _Unit | None, wanted: _Wanted
) -> tuple[tuple[int, int], _Unit]:
    """Number and unit of one quantity that is the whole of `text`."""
    if len(text) > _MAX_TEXT:
        raise wanted.fail(
            "number",
            f"this is far too long for {wanted.article}",
            text,
            0,
            len(text),
            found=shortened(text),
            expected=f"text such as {wanted.example}",
        )
    end = len(text.rstrip())
    sign = SIGN.match(text)
    begin = sign.end() if sign else 0
    match = NUMBER.match(text, begin, end)
    if match is None:
        raise _no_number(text, begin, end, wanted)
    unit_start = match.end() + len(text[match.end() : end]) - len(text[match.end() : end].lstrip())
    unit = _unit_at(text, unit_start, end, match, names, default, wanted)
    if match["dec"] is not None:
        ratio = decimal_ratio(match["dec"], match.start())
    else:
        kind = gap_kind(match)
        if kind in ("minus", "unclear") or (kind == "hyphen" and unit_start == end):
            raise ambiguous_error(match)
        ratio = fraction_ratio(match)
    if sign is not None and sign["sign"] not in ("", "+"):
        ratio = (-ratio[0], ratio[1])
    return ratio, unit


def _unit_at(
    text: str,
    start: int,
    end: int,
    number: re.Match[str],
    names: Mapping[str, _Unit],
    default: _Unit | None,
    wanted: _Wanted,
) -> _Unit:
    """The unit written in `text[start:end]`, which is all that follows the number."""
    word = text[start:end]
    if not word:
        if default is None:
            raise wanted.fail(
                "no-unit",
                f'"{number[0]}" has no unit',
                text,
                number.start(),
                number.end(),
                expected=wanted.units,
            )
        return default
    key = word.casefold()
    if names is DENSITY_NAMES:
        key = re.sub(r"[\s^.]", "", key).replace("³", "3")
    elif key.endswith("in."):
        key = key[:-1]
    unit = names.get(key)
    if unit is not None:
        return unit
    raise _bad_unit(text, start, end, number, names, wanted)


def _bad_unit(
    text: str, start: int, end: int, number: re.Match[str], names: Mapping[str, Enum], wanted: _Wanted
) -> QuantityError:
    word = text[start:end]
    if re.match(r",[0-9]", word) and number["dec"] is not None:
        digits = re.match(r",([0-9]+)", word)
        after = digits[1] if digits else ""
        return wanted.fail(
            "comma",
            f'"{number[0]},{after}" has a comma in it',
            text,
            number.start(),
            start + 1 + len(after),
            expected=f"a point before decimals, {number[0]}.{after}",
        )
    first = UNIT_WORD.match(text, start, end)
    if wanted is _A_LENGTH and first is not None and first["unit"].casefold() in FOOT_WORDS:
        return foot_error(text, first.start("unit"), first.end("unit"))
    if first is not None and names is not DENSITY_NAMES:
        known = first["unit"].casefold() in names
        if known and first.end() < end:
            rest = len(text[first.end() : end]) - len(text[first.end() : end].lstrip())
            return wanted.fail(
                "extra",
                f'"{shortened(text[first.end() + rest : end])}" is left over behind {wanted.article}',
                text,
                first.end() + rest,
                end,
                expected=f"{wanted.article} alone, such as {wanted.example}",
            )
    if word[:1].isdigit() or word[:1] in ".,/":
        return wanted.fail(
            "number",
            f'"{shortened(text.strip())}" is not {wanted.article}',
            text,
            start,
            end,
            expected=f"one number, as in {wanted.example}",
        )
    return wanted.fail(
        "unit",
        f'"{shortened(text.strip())}" is not {wanted.article}',
        text,
        start,
        end,
        found=shortened(word),
        expected=wanted.units,
        nearest=_nearest_symbol(word, names),
    )


def _no_number(text: str, begin: int, end: int, wanted: _Wanted) -> QuantityError:
    if begin >= end:
        what = "a sign with no number" if text.strip() else "nothing is written here"
        return wanted.fail("empty", what, text, 0, len(text), expected=f"text such as {wanted.example}")
    word = text[begin:end]
    if word.casefold() in ("nan", "inf", "infinity"):
        message = f"{word} is not {wanted.article}"
    elif word.casefold() in LENGTH_NAMES or word.casefold() in MASS_NAMES:
        message = f'"{word}" is a unit without a number'
    else:
        message = f'"{shortened(text.strip())}" is not {wanted.article}'
    return wanted.fail(
        "number", message, text, begin, end, found=shortened(word), expected=f"text such as {wanted.example}"
    )


def _nearest_symbol(word: str, names: Mapping[str, Enum]) -> str:
    """The plain symbol of the unit whose name is most like `word`."""
    close = nearest(word, [name for name in names if name.isascii() and name[0].isalpha()])
    if not close and names is LENGTH_NAMES and word.casefold() in ("m", "metre", "meter"):
        close = "mm"
    return str(names[close].value[0]) if close else ""


def _in_range(length_mm: float, text: str) -> float:
    if abs(length_mm) > MAX_LENGTH_MM:
        raise _beyond_reach(shortened(text.strip()), 0, len(text))
    return length_mm + 0.0


def _beyond_reach(shown: str, start: int, end: int) -> QuantityError:
    return QuantityError(
        "length-range",
        f"{shown} is too long to be a length here",
        start=start,
        end=end,
        found=shown,
        expected=f"at most {MAX_LENGTH_MM / 1e6:g} km",
    )


def _not_negative(value: float, text: str, wanted: _Wanted, most: float, most_text: str) -> float:
    if value < 0:
        raise wanted.fail("sign", f"{wanted.article} cannot be below zero", text, 0, len(text))
    if value > most:
        raise wanted.fail(
            "range",
            f'"{shortened(text.strip())}" is too large to be {wanted.article} here',
            text,
            0,
            len(text),
            expected=f"at most {most_text}",
        )
    return value + 0.0


def _int_text(value: int) -> str:
    return str(value) if abs(value) < 10**50 else "a number of more than 50 digits"

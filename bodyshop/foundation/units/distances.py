"""Distances in m, km, ft or yd, and the length of a lane in words."""

from __future__ import annotations

import re
from typing import Final

from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.units.reading import parse_length
from bodyshop.foundation.units.scan import decimal_ratio
from bodyshop.foundation.units.units import FOOT_WORDS, MAX_LENGTH_MM, LengthUnit, QuantityError

__all__ = ["lane_words", "parse_distance"]


_IN_PER_FT: Final = 12
_MM_PER_M: Final = 1000
_METRE_WORDS: Final = ("m", "metre", "metres", "meter", "meters")
_NUMBER: Final = r"[0-9]{1,9}(?:\.[0-9]{1,9})?"
_FOOT: Final = "|".join(sorted(FOOT_WORDS, key=len, reverse=True))
_METRE: Final = "|".join(sorted(_METRE_WORDS, key=len, reverse=True))
_FEET: Final = re.compile(
    rf"\s*(?P<feet>{_NUMBER})\s*(?:{_FOOT})\.?(?![^\W\d])\s*(?P<rest>.*?)\s*", re.IGNORECASE | re.DOTALL
)
_METRES: Final = re.compile(rf"\s*(?P<metres>{_NUMBER})\s*(?:{_METRE})\s*", re.IGNORECASE)
_EXAMPLE: Final = '"20 m", "40 ft" or "65 ft 7 in"'


def parse_distance(text: str, default: LengthUnit | None) -> float:
    """A distance in mm: feet, feet and inches, or metres, and all that `parse_length` reads.

    A foot is 12 in, 304.8 mm exactly. Raises `QuantityError`.
    """
    metres = _METRES.fullmatch(text)
    if metres is not None:
        number, divisor = decimal_ratio(metres["metres"])
        return _in_reach(number * _MM_PER_M / divisor, text)
    feet = _FEET.fullmatch(text)
    if feet is None:
        return parse_length(text, default)
    number, divisor = decimal_ratio(feet["feet"])
    whole = number * _IN_PER_FT * LengthUnit.IN.ratio[0] / (divisor * LengthUnit.IN.ratio[1])
    return _in_reach(whole + _inches(feet), text)


def _inches(feet: re.Match[str]) -> float:
    """What stands behind the feet: inches, less than a foot of them."""
    rest = feet["rest"]
    if not rest:
        return 0.0
    start = feet.start("rest")
    try:
        inches = parse_length(rest, LengthUnit.IN)
    except QuantityError as error:
        raise QuantityError(
            error.code,
            error.message,
            start=start + error.start,
            end=start + error.end,
            found=error.found,
            expected=error.expected,
            nearest=error.nearest,
        ) from None
    if (
        "." in feet["feet"]
        or not 0.0 <= inches < _IN_PER_FT * MM_PER_IN
        or re.search("mm|cm", rest, re.IGNORECASE)
    ):
        raise QuantityError(
            "length-foot",
            f'"{rest}" does not go with the feet before it',
            start=start,
            end=start + len(rest),
            found=rest,
            expected=f"whole feet and less than 12 inches, as in {_EXAMPLE}",
        )
    return inches


def _in_reach(length_mm: float, text: str) -> float:
    if length_mm > MAX_LENGTH_MM:
        raise QuantityError(
            "length-range",
            "this is too long to be a track",
            end=len(text),
            found=text.strip(),
            expected=f"at most {MAX_LENGTH_MM / 1e6:g} km",
        )
    return length_mm


_FOOT_M: Final = 0.3048


def lane_words(length_m: float) -> str:
    """`20 m`; whole feet as feet, `65 ft`."""
    feet = length_m / _FOOT_M
    if abs(feet - round(feet)) < 1e-6 and abs(length_m - round(length_m)) > 1e-6:
        return f"{round(feet)} ft"
    return f"{length_m:.4g} m"

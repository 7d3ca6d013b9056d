"""Quantities to text. Rounding is of the decimal that Python shows for a float, halves to even."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from bodyshop.foundation.units.scan import decimal_ratio
from bodyshop.foundation.units.units import DensityUnit, LengthUnit, MassUnit

__all__ = [
    "format_angle",
    "format_density",
    "format_estimate",
    "format_length",
    "format_mass",
    "format_number",
]

_PLACES: Final[Mapping[LengthUnit, int]] = {LengthUnit.MM: 2, LengthUnit.CM: 3, LengthUnit.IN: 4}
_TAPE: Final = 64


def format_number(
    length_mm: float, unit: LengthUnit, decimals: int | None = None, fraction: int | None = None
) -> str:
    """A length in `unit`, without the unit's name.

    With `decimals` it has exactly that many places. With `fraction` it is the nearest tape fraction of
    that denominator, in lowest terms. With neither: inches to the nearest 1/64, other units to 0.01 mm
    without needless zeros. Halves go to the even neighbour. Raises `ValueError` unless finite.
    """
    num, den = _exact(length_mm)
    num, den = num * unit.ratio[1], den * unit.ratio[0]
    if decimals is None and (fraction is not None or unit is LengthUnit.IN):
        return _fraction_text(num, den, fraction or _TAPE)
    if decimals is None:
        return _trim(_decimal_text(num, den, _PLACES[unit]))
    return _decimal_text(num, den, decimals)


def format_length(
    length_mm: float, unit: LengthUnit, decimals: int | None = None, fraction: int | None = None
) -> str:
    """A length with its unit, such as `12.5 mm` or `1 5/8 in`; the number as in `format_number`.

    >>> format_length(41.275, LengthUnit.IN, fraction=64)
    '1 5/8 in'
    """
    return f"{format_number(length_mm, unit, decimals, fraction)} {unit.symbol}"


def format_mass(mass_g: float, decimals: int | None = None, unit: MassUnit = MassUnit.G) -> str:
    """A mass with its unit: one place by default (`52.3 g`), without a needless zero."""
    return (
        _measured(mass_g, unit.ratio, decimals, {"g": 1, "kg": 4, "oz": 2}[unit.symbol]) + f" {unit.symbol}"
    )


_ESTIMATE_PLACES: Final = {MassUnit.G: 0, MassUnit.KG: 3, MassUnit.OZ: 2}


def format_estimate(mass_g: float, unit: MassUnit) -> str:
    """An estimated mass, no finer than it is worth: whole grams, hundredths of an ounce."""
    return format_mass(mass_g, decimals=_ESTIMATE_PLACES[unit], unit=unit)


def format_density(
    density_g_per_mm3: float, decimals: int | None = None, unit: DensityUnit = DensityUnit.KG_M3
) -> str:
    """A density with its unit: `160 kg/m3`."""
    places = {"kg/m3": 0, "g/cm3": 3, "lb/ft3": 1}[unit.symbol]
    return _measured(density_g_per_mm3, unit.ratio, decimals, places) + f" {unit.symbol}"


def format_angle(angle_rad: float, decimals: int | None = None) -> str:
    """An angle in degrees: `5°`; at most two places by default."""
    return _measured(math.degrees(angle_rad), (1, 1), decimals, 2) + "°"


def _measured(value: float, ratio: tuple[int, int], decimals: int | None, most: int) -> str:
    num, den = _exact(value)
    num, den = num * ratio[1], den * ratio[0]
    return _trim(_decimal_text(num, den, most)) if decimals is None else _decimal_text(num, den, decimals)


def _exact(value: float) -> tuple[int, int]:
    """The decimal that Python shows for a float, as a ratio: what a person takes the float to be."""
    if not math.isfinite(value):
        raise ValueError(f"cannot print {value}")
    num, den = decimal_ratio(repr(abs(float(value))))
    return (-num, den) if value < 0 else (num, den)


def _round_half_even(num: int, den: int) -> int:
    quotient, rest = divmod(num, den)
    up = 2 * rest > den or (2 * rest == den and quotient % 2 == 1)
    return quotient + up


def _decimal_text(num: int, den: int, places: int) -> str:
    scaled = _round_half_even(num * 10**places, den)
    digits = str(abs(scaled)).rjust(places + 1, "0")
    text = f"{digits[:-places]}.{digits[-places:]}" if places else digits
    return f"-{text}" if scaled < 0 else text


def _trim(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _fraction_text(num: int, den: int, parts: int) -> str:
    scaled = _round_half_even(num * parts, den)
    sign = "-" if scaled < 0 else ""
    whole, rest = divmod(abs(scaled), parts)
    if rest == 0:
        return f"{sign}{whole}"
    common = math.gcd(rest, parts)
    text = f"{rest // common}/{parts // common}"
    return f"{sign}{whole} {text}" if whole else f"{sign}{text}"

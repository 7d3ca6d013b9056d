"""What people read off instruments and write down, to the units of the book: `12,5 gf`, `21 °C`."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bodyshop.foundation.constants import GRAVITY_M_S2, MM_PER_IN, OUNCE_G, ZERO_C_K
from bodyshop.foundation.problems import nearest
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.units import QuantityError

__all__ = [
    "FORCE_N",
    "ForceUnit",
    "force_text",
    "force_unit_of",
    "parse_quantity",
    "plain_number",
    "units_for",
]


class ForceUnit(Enum):
    """The unit that a balance shows; values are kept in newtons."""

    N = "N"
    GF = "gf"
    OZ = "oz"


FORCE_N: Final[Mapping[ForceUnit, float]] = {
    ForceUnit.N: 1.0,
    ForceUnit.GF: GRAVITY_M_S2 / 1000.0,
    ForceUnit.OZ: OUNCE_G * GRAVITY_M_S2 / 1000.0,
}
"""Size of each unit of force, N. The ounce is the ounce-force."""


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit: value in the book's unit = number * size + offset."""

    size: float
    offset: float = 0.0


_LENGTH: Final = {
    "mm": _Unit(1.0),
    "cm": _Unit(10.0),
    "m": _Unit(1000.0),
    "in": _Unit(MM_PER_IN),
    '"': _Unit(MM_PER_IN),
    "ft": _Unit(304.8),
    "'": _Unit(304.8),
    "yd": _Unit(914.4),
}
_MASS: Final = {"g": _Unit(1.0), "kg": _Unit(1000.0), "mg": _Unit(0.001), "oz": _Unit(OUNCE_G)}
_TIME: Final = {"s": _Unit(1.0), "sec": _Unit(1.0), "ms": _Unit(0.001), "min": _Unit(60.0)}
_FORCE: Final = {
    "n": _Unit(1.0),
    "mn": _Unit(0.001),
    "gf": _Unit(FORCE_N[ForceUnit.GF]),
    "g": _Unit(FORCE_N[ForceUnit.GF]),  # what a balance in grams shows is a force in grams
    "kgf": _Unit(GRAVITY_M_S2),
    "kg": _Unit(GRAVITY_M_S2),
    "oz": _Unit(FORCE_N[ForceUnit.OZ]),
    "ozf": _Unit(FORCE_N[ForceUnit.OZ]),
}
_SPEED: Final = {
    "m/s": _Unit(1.0),
    "km/h": _Unit(1.0 / 3.6),
    "kph": _Unit(1.0 / 3.6),
    "mph": _Unit(0.44704),
    "ft/s": _Unit(0.3048),
}
_TEMPERATURE: Final = {
    "°c": _Unit(1.0),
    "c": _Unit(1.0),
    "°f": _Unit(5.0 / 9.0, -160.0 / 9.0),
    "f": _Unit(5.0 / 9.0, -160.0 / 9.0),
    "k": _Unit(1.0, -ZERO_C_K),
}
_PRESSURE: Final = {
    "hpa": _Unit(1.0),
    "mbar": _Unit(1.0),
    "mb": _Unit(1.0),
    "kpa": _Unit(10.0),
    "pa": _Unit(0.01),
    "bar": _Unit(1000.0),
    "mmhg": _Unit(1.33322387415),
    "inhg": _Unit(33.86388640341),
}
_PERCENT: Final = {"%": _Unit(1.0), "percent": _Unit(1.0)}
_ANGLE: Final = {"deg": _Unit(1.0), "°": _Unit(1.0)}

_UNITS: Final[Mapping[str, Mapping[str, _Unit]]] = {
    "mm": _LENGTH,
    "g": _MASS,
    "s": _TIME,
    "N": _FORCE,
    "m/s": _SPEED,
    "°C": _TEMPERATURE,
    "hPa": _PRESSURE,
    "%": _PERCENT,
    "deg": _ANGLE,
    "": {},
}

_SPELT: Final = {
    **dict.fromkeys(("gram", "grams"), "g"),
    **dict.fromkeys(("inch", "inches"), "in"),
    **dict.fromkeys(("foot", "feet"), "ft"),
    **dict.fromkeys(("metre", "metres", "meter", "meters"), "m"),
    **dict.fromkeys(("second", "seconds"), "s"),
    "g-f": "gf",
    "″": '"',
    "′": "'",
}
_NUMBER: Final = re.compile(r"\s*([+\-−–]?)\s*(\d+(?:[.,]\d*)?|[.,]\d+)((?:[eE][+-]?\d{1,3})?)\s*")
_TAPE: Final = re.compile(r"\s*(\d+)?(?:\s+|\s*-)?(\d+)\s*/\s*(\d+)\s*(.*)")
_THOUSANDS: Final = re.compile(r"\d{1,3}(?:[.,]\d{3}){2,}|\d{1,3}(?:,\d{3})+\.\d*|\d{1,3}(?:\.\d{3})+,\d*")
_MOST: Final = 60


def units_for(unit: str) -> tuple[str, ...]:
    """The units that a quantity of the book's unit `unit` may be given in."""
    return tuple(_UNITS.get(unit, {}))


def parse_quantity(text: str, unit: str) -> float:
    """A quantity in the book's unit `unit` (mm, g, s, N, m/s, °C, hPa, %, deg; empty for a bare number).

    Raises `QuantityError`.
    """
    shown = text.strip()
    if not shown or len(text) > _MOST:
        raise _no_number(text, unit)
    tape = _TAPE.fullmatch(shown) if unit == "mm" else None
    if tape is not None and int(tape[3]) > 0:
        number = int(tape[1] or 0) + int(tape[2]) / int(tape[3])
        return number * _unit(tape[4], unit, text).size
    value, end = _number(shown, unit, text)
    found = _unit(shown[end:], unit, text)
    return value * found.size + found.offset


def plain_number(text: str) -> float:
    """A number without a unit. Raises `QuantityError`."""
    return parse_quantity(text, "")


def _number(shown: str, unit: str, text: str) -> tuple[float, int]:
    match = _NUMBER.match(shown)
    if match is None or _THOUSANDS.match(shown):
        raise _no_number(text, unit)
    number = float(match[2].replace(",", ".") + match[3])
    return (-number if match[1] in ("-", "−", "–") and match[1] else number), match.end()


def _unit(word: str, unit: str, text: str) -> _Unit:
    known = _UNITS[unit]
    word = word.strip()
    if not word:
        return _Unit(1.0)
    folded = re.sub(r"\s", "", word).casefold().rstrip(".")
    folded = _SPELT.get(folded, folded)
    if folded in known:
        return known[folded]
    shown = shortened(word)
    raise QuantityError(
        "trial-unit",
        f'"{shown}" is no unit here' if known else f'"{shown}" is too much behind a number',
        start=max(0, text.find(word)),
        end=len(text),
        found=shown,
        expected=", ".join(known) if known else "a bare number",
        nearest=nearest(folded, known),
    )


def _no_number(text: str, unit: str) -> QuantityError:
    shown = shortened(text.strip())
    return QuantityError(
        "trial-number",
        f'"{shown}" is not a number' if shown else "there is no number",
        end=len(text),
        found=shown,
        expected=f"a number in {unit}" if unit else "a number",
    )


def force_unit_of(text: str) -> ForceUnit | None:
    """The unit that a force is written in, None where it is written without."""
    word = re.sub(r"[\s\d.,+\-−–]|[eE][+-]?\d+", "", text).casefold()
    if word in ("oz", "ozf"):
        return ForceUnit.OZ
    if word in ("gf", "g", "kg", "kgf"):
        return ForceUnit.GF
    return ForceUnit.N if word in ("n", "mn") else None


def force_text(force_n: float, unit: ForceUnit) -> str:
    """A force in a unit, with as many places as balances of that unit show."""
    places: Callable[[ForceUnit], int] = {ForceUnit.N: 4, ForceUnit.GF: 2, ForceUnit.OZ: 3}.__getitem__
    return f"{force_n / FORCE_N[unit]:.{places(unit)}f}".rstrip("0").rstrip(".") + f" {unit.value}"

"""The units themselves: their sizes, the words for them, and the error for text that is none of them."""

from __future__ import annotations

import math
from collections.abc import Mapping
from enum import Enum
from typing import Final

from bodyshop.foundation.constants import MM_PER_IN

__all__ = [
    "ANGLE_NAMES",
    "DENSITY_NAMES",
    "FOOT_WORDS",
    "FRACTION_MARKS",
    "LENGTH_NAMES",
    "LITERAL_NAMES",
    "MASS_NAMES",
    "MAX_LENGTH_MM",
    "AngleUnit",
    "DensityUnit",
    "LengthUnit",
    "MassUnit",
    "QuantityError",
    "is_unit_word",
]

MAX_LENGTH_MM: Final = 1e6
"""Longest length that is believed: one kilometre. No race track of ours is longer."""

_IN_TENTHS: Final = round(MM_PER_IN * 10)
_LB_UG: Final = 453_592_370  # one pound in micrograms, exact by definition (same agreement)


class LengthUnit(Enum):
    """A unit in which lengths are written. `ratio` is its size in mm as a whole-number ratio."""

    MM = ("mm", (1, 1))
    CM = ("cm", (10, 1))
    IN = ("in", (_IN_TENTHS, 10))

    def __init__(self, symbol: str, ratio: tuple[int, int]) -> None:
        self.symbol = symbol
        self.ratio = ratio
        self.mm: float = ratio[0] / ratio[1]
        """Size of the unit, mm."""


class MassUnit(Enum):
    """A unit in which masses are written; `ratio` is its size in g. The ounce is avoirdupois, lb/16."""

    G = ("g", (1, 1))
    KG = ("kg", (1000, 1))
    OZ = ("oz", (_LB_UG, 16_000_000))

    def __init__(self, symbol: str, ratio: tuple[int, int]) -> None:
        self.symbol = symbol
        self.ratio = ratio
        self.g: float = ratio[0] / ratio[1]
        """Size of the unit, g."""


class AngleUnit(Enum):
    """A unit in which angles are written."""

    DEG = ("deg", math.pi / 180)
    RAD = ("rad", 1.0)

    def __init__(self, symbol: str, rad: float) -> None:
        self.symbol = symbol
        self.rad = rad
        """Size of the unit, rad."""


class DensityUnit(Enum):
    """A unit in which densities are written; `ratio` is its size in g/mm3."""

    KG_M3 = ("kg/m3", (1, 1_000_000))
    G_CM3 = ("g/cm3", (1, 1000))
    LB_FT3 = ("lb/ft3", (_LB_UG * 1000, 1_000_000 * (12 * _IN_TENTHS) ** 3))

    def __init__(self, symbol: str, ratio: tuple[int, int]) -> None:
        self.symbol = symbol
        self.ratio = ratio


class QuantityError(ValueError):
    """Text that is not the quantity it should be.

    `start` and `end` are offsets in characters inside the text that was read, so that the caller can
    point at the very part; `code`, `message`, `found`, `expected` and `nearest` are as in `Problem`.
    """

    def __init__(
        self,
        code: str,
        message: str,
        *,
        start: int = 0,
        end: int = 0,
        found: str = "",
        expected: str = "",
        nearest: str = "",
    ) -> None:
        self.code = code
        self.message = message
        self.start = start
        self.end = max(start, end)
        self.found = found
        self.expected = expected
        self.nearest = nearest
        super().__init__(message)


LENGTH_NAMES: Final[Mapping[str, LengthUnit]] = {
    **dict.fromkeys(("mm", "mms", "millimetre", "millimetres", "millimeter", "millimeters"), LengthUnit.MM),
    **dict.fromkeys(("cm", "cms", "centimetre", "centimetres", "centimeter", "centimeters"), LengthUnit.CM),
    **dict.fromkeys(("in", "ins", "inch", "inches", '"', "″", "”", "“", "''", "′′", "’’"), LengthUnit.IN),
}
MASS_NAMES: Final[Mapping[str, MassUnit]] = {
    **dict.fromkeys(("g", "gm", "gms", "gram", "grams", "gramme", "grammes"), MassUnit.G),
    **dict.fromkeys(("kg", "kgs", "kilo", "kilos", "kilogram", "kilograms", "kilogramme"), MassUnit.KG),
    **dict.fromkeys(("oz", "ozs", "ounce", "ounces"), MassUnit.OZ),
}
ANGLE_NAMES: Final[Mapping[str, AngleUnit]] = {
    **dict.fromkeys(("deg", "degs", "degree", "degrees", "°", "º"), AngleUnit.DEG),
    **dict.fromkeys(("rad", "rads", "radian", "radians"), AngleUnit.RAD),
}
DENSITY_NAMES: Final[Mapping[str, DensityUnit]] = {
    **dict.fromkeys(("kg/m3", "kg/cum"), DensityUnit.KG_M3),
    **dict.fromkeys(("g/cm3", "g/cc", "g/ml"), DensityUnit.G_CM3),
    **dict.fromkeys(("lb/ft3", "lbs/ft3", "lb/cuft", "lbs/cuft"), DensityUnit.LB_FT3),
}
FOOT_WORDS: Final = frozenset(("ft", "foot", "feet", "'", "′", "’"))
LITERAL_NAMES: Final[Mapping[str, LengthUnit | AngleUnit]] = {**LENGTH_NAMES, **ANGLE_NAMES}

FRACTION_MARKS: Final[Mapping[str, tuple[int, int]]] = {
    "½": (1, 2),
    "⅓": (1, 3),
    "⅔": (2, 3),
    "¼": (1, 4),
    "¾": (3, 4),
    "⅕": (1, 5),
    "⅖": (2, 5),
    "⅗": (3, 5),
    "⅘": (4, 5),
    "⅙": (1, 6),
    "⅚": (5, 6),
    "⅐": (1, 7),
    "⅛": (1, 8),
    "⅜": (3, 8),
    "⅝": (5, 8),
    "⅞": (7, 8),
    "⅑": (1, 9),
    "⅒": (1, 10),
}
"""Fractions written as one character, which word processors make out of 3/4."""


def is_unit_word(word: str) -> bool:
    """Whether a word, in any case, is a unit of length or angle and so cannot name a dimension."""
    return word.casefold() in LITERAL_NAMES or word.casefold() in FOOT_WORDS

"""Lengths, masses, angles and densities: from text to numbers and back. Nothing else knows units.

Inside the program everything is mm, g, s, N, rad (density g/mm3). A number without a unit takes the
unit its caller names as the default, or is refused when there is none; nothing is guessed.

Terms: a *tape fraction* is a length as read off an inch tape, `1 5/8 in` or `1-5/8"`. Conversions go
through whole-number ratios, so a result is the nearest float to the exact value.
"""

from bodyshop.foundation.units.distances import parse_distance
from bodyshop.foundation.units.printing import (
    format_angle,
    format_density,
    format_estimate,
    format_length,
    format_mass,
    format_number,
)
from bodyshop.foundation.units.reading import (
    length_from_number,
    parse_angle,
    parse_density,
    parse_length,
    parse_mass,
    parse_unit,
)
from bodyshop.foundation.units.scan import Literal, scan_literal
from bodyshop.foundation.units.units import (
    FRACTION_MARKS,
    MAX_LENGTH_MM,
    AngleUnit,
    DensityUnit,
    LengthUnit,
    MassUnit,
    QuantityError,
    is_unit_word,
)

__all__ = [
    "FRACTION_MARKS",
    "MAX_LENGTH_MM",
    "AngleUnit",
    "DensityUnit",
    "LengthUnit",
    "Literal",
    "MassUnit",
    "QuantityError",
    "format_angle",
    "format_density",
    "format_length",
    "format_estimate",
    "format_mass",
    "format_number",
    "is_unit_word",
    "length_from_number",
    "parse_angle",
    "parse_density",
    "parse_distance",
    "parse_length",
    "parse_mass",
    "parse_unit",
    "scan_literal",
]

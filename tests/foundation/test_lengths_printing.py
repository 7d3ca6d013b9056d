"""Printing quantities: fixed examples, round trips, and no negative zero."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.units import (
    LengthUnit,
    MassUnit,
    format_angle,
    format_density,
    format_length,
    format_mass,
    format_number,
    parse_angle,
    parse_density,
    parse_length,
    parse_mass,
)

MM, CM, IN = LengthUnit.MM, LengthUnit.CM, LengthUnit.IN


@pytest.mark.parametrize(
    ("length_mm", "unit", "decimals", "fraction", "text"),
    [
        (12.0, MM, None, None, "12 mm"),
        (12.5, MM, None, None, "12.5 mm"),
        (12.345, MM, None, None, "12.34 mm"),  # half to even
        (12.335, MM, None, None, "12.34 mm"),
        (12.3450001, MM, None, None, "12.35 mm"),
        (12.0, MM, 1, None, "12.0 mm"),
        (12.0, MM, 0, None, "12 mm"),
        (0.5, MM, 0, None, "0 mm"),
        (1.5, MM, 0, None, "2 mm"),
        (-12.25, MM, 1, None, "-12.2 mm"),
        (-0.001, MM, None, None, "0 mm"),
        (-0.001, MM, 2, None, "0.00 mm"),
        (-0.0, IN, None, None, "0 in"),
        (-0.1, IN, None, None, "0 in"),
        (12.0, CM, None, None, "1.2 cm"),
        (41.275, IN, None, None, "1 5/8 in"),
        (41.275, IN, 3, None, "1.625 in"),
        (41.275, IN, None, 4, "1 1/2 in"),  # 1.625 is half way between 1 1/2 and 1 3/4: to even
        (19.05, IN, None, None, "3/4 in"),
        (-69.85, IN, None, None, "-2 3/4 in"),
        (25.4, IN, None, None, "1 in"),
        (25.399, IN, None, None, "1 in"),
        (0.1984375, IN, None, None, "0 in"),  # 1/128 in: half way, to even
        (0.5953125, IN, None, None, "1/32 in"),  # 3/128 in: half way, to even
        (305.0, IN, None, None, "12 1/64 in"),
        (19.05, MM, None, 8, "19 mm"),
        (1e-7, MM, None, None, "0 mm"),
        (123456.789, MM, None, None, "123456.79 mm"),
    ],
)
def test_lengths_print(
    length_mm: float, unit: LengthUnit, decimals: int | None, fraction: int | None, text: str
) -> None:
    assert format_length(length_mm, unit, decimals, fraction) == text
    assert format_number(length_mm, unit, decimals, fraction) == text.rsplit(" ", 1)[0]


def test_other_quantities_print() -> None:
    assert format_mass(52.34) == "52.3 g"
    assert format_mass(52.0) == "52 g"
    assert format_mass(52.0, 1) == "52.0 g"
    assert format_mass(-0.01) == "0 g"
    assert format_mass(28.349523125, unit=MassUnit.OZ) == "1 oz"
    assert format_mass(1234.5, unit=MassUnit.KG) == "1.2345 kg"
    assert format_angle(math.radians(5)) == "5°"
    assert format_angle(-1e-9) == "0°"
    assert format_angle(math.radians(2.5), 2) == "2.50°"
    assert format_density(0.00016) == "160 kg/m3"
    assert format_density(0.00016, 2) == "160.00 kg/m3"


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_is_printed_for_none(value: float) -> None:
    for show in (lambda v: format_length(v, MM), format_mass, format_angle, format_density):
        with pytest.raises(ValueError, match="cannot print"):
            show(value)


LENGTHS = st.floats(-9e5, 9e5, allow_nan=False)


@given(LENGTHS, st.sampled_from(LengthUnit), st.integers(0, 6))
def test_decimals_come_back(length_mm: float, unit: LengthUnit, decimals: int) -> None:
    text = format_length(length_mm, unit, decimals)
    # Halves are those of the printed decimal, a hair from the float's own.
    reach = Fraction(*unit.ratio) / 10**decimals / 2 + Fraction(1, 10**9)
    assert abs(Fraction(parse_length(text, None)) - Fraction(length_mm)) <= reach
    assert text.split()[0].strip("-0.") or not text.startswith("-")


@given(LENGTHS, st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_tape_fractions_come_back(length_mm: float, parts: int) -> None:
    text = format_length(length_mm, IN, fraction=parts)
    assert abs(parse_length(text, None) - length_mm) <= 25.4 / parts / 2 + 1e-9
    assert format_length(parse_length(text, None), IN, fraction=parts) == text


@given(LENGTHS, st.sampled_from(LengthUnit))
def test_default_print_comes_back(length_mm: float, unit: LengthUnit) -> None:
    reach = 25.4 / 128 if unit is IN else 0.005
    text = format_length(length_mm, unit)
    assert abs(parse_length(text, None) - length_mm) <= reach + 1e-9


@given(st.floats(0, 1e5), st.floats(0, 0.02), st.floats(-6, 6))
def test_other_quantities_come_back(mass: float, density: float, angle: float) -> None:
    assert abs(parse_mass(format_mass(mass)) - mass) <= 0.05 + 1e-9
    assert abs(parse_density(format_density(density, 3)) - density) <= 0.5e-9 + 1e-15
    assert abs(parse_angle(format_angle(angle, 6)) - angle) <= math.radians(0.5e-6) + 1e-12

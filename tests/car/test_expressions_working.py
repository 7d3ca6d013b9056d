"""What expressions come to: against pint, against exact fractions, and by the rules for bare numbers."""

import math
from dataclasses import dataclass
from fractions import Fraction

import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bodyshop.car.expressions import ExpressionError, Quantity, as_length, length_value, parse
from bodyshop.foundation.units import LengthUnit

MM, CM, IN = LengthUnit.MM, LengthUnit.CM, LengthUnit.IN


@pytest.mark.parametrize(
    ("text", "unit", "length_mm"),
    [
        ("12", MM, 12.0),
        ("12", IN, 304.8),
        ("2 3/4", IN, 69.85),
        ("3/4", IN, 19.05),
        ("3/4 in", MM, 19.05),
        ('2-3/4"', MM, 69.85),
        ("-2 3/4 in", MM, -69.85),
        ("-2-3/4 in", MM, -69.85),
        ("10-6/2", MM, 7.0),  # no mixed number could be meant
        ("60/4 mm", MM, 15.0),
        ("2 * 3/4 in", MM, 38.1),
        ("1 in + 1", MM, 26.4),
        ("1 in + 1", IN, 50.8),  # beside a length a bare number is in the unit of the file
        ("1 + 1 in", IN, 50.8),
        ("max(1, 30 mm)", IN, 30.0),
        ("max(2, 30 mm)", IN, 50.8),
        ("2 * wall", IN, 6.0),  # in a product it is a factor
        ("wall / 2", IN, 1.5),
        ("2 * (wall + 1)", IN, 2 * 28.4),
        ("n * wall", IN, 6.0),
        ("n + wall", IN, 53.8),
        ("n", IN, 50.8),
        ("wall / wall * 2", MM, 2.0),  # a bare number times a ratio stays bare
        ("wall / body * body", MM, 3.0),
        ("body * (wall / body)", MM, 3.0),
        ("sqrt(3 mm * 3 mm + 4 mm * 4 mm)", MM, 5.0),
        ("sqrt(wall * wall + 16)", MM, 5.0),
        ("sqrt(wall * wall + 4 * 4)", IN, math.hypot(3, 4 * 25.4)),  # 4 * 4 is in square inches here
        ("sqrt(16)", MM, 4.0),
        ("abs(wall - body)", MM, 302.0),
        ("abs(-3)", MM, 3.0),
        ("min(body, wall, 2 mm)", MM, 2.0),
        ("- (wall)", MM, -3.0),
        ("--wall", MM, 3.0),
        ("+wall", MM, 3.0),
        ("wall * -2", MM, -6.0),
        ("2 - 3 - 4", MM, -5.0),
        ("24 / 4 / 3", MM, 2.0),
        ("2 + 3 * 4", MM, 14.0),
        ("(2 + 3) * 4", MM, 20.0),
        ("wall × 2 ÷ 3", MM, 2.0),
        ("wall − 1", MM, 2.0),
        ("wall\n + 2", MM, 5.0),
        ("1e1 mm", MM, 10.0),
        ("body * sin(30 deg)", MM, 152.5),
        ("body * cos(60°)", MM, 152.5),
        ("body * tan(45 deg)", MM, 305.0),
        ("wall * cos(tilt * 2)", MM, 3 * math.cos(1.0)),
        ("wall * sin(0.5 rad + tilt)", MM, 3 * math.sin(1.0)),
        ("wall * (tilt / 0.25 rad)", MM, 6.0),
    ],
)
def test_what_expressions_come_to(text: str, unit: LengthUnit, length_mm: float | None) -> None:
    env = {
        "wall": Quantity(3.0),
        "body": Quantity(305.0),
        "n": Quantity(2.0, None),
        "tilt": Quantity(0.5, None, True),
    }
    if length_mm is None:
        with pytest.raises(ExpressionError, match="ratio"):
            length_value(text, env, unit)
    else:
        assert length_value(text, env, unit) == pytest.approx(length_mm, rel=1e-14, abs=1e-14)


def test_minus_zero_is_zero() -> None:
    assert math.copysign(1.0, length_value("-0", {}, MM)) == 1.0
    assert math.copysign(1.0, length_value("-(2 mm - 2 mm)", {}, IN)) == 1.0


# Outside source: pint reads and works out the same sums.
UREG: pint.UnitRegistry = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("ours", "outside"),
    [
        ("305 mm / 2 - 3/4 in", "305 mm / 2 - (3/4) inch"),
        ("2 3/4 in + 1.5 cm - 3 mm", "(2 + 3/4) inch + 1.5 cm - 3 mm"),
        ("sqrt(3 in * 2 cm)", "(3 inch * 2 cm) ** 0.5"),
        ("12 in * (42 mm / 70 mm)", "12 inch * (42 mm / (70 mm))"),
        ("(1 in * 1 cm * 1 mm) / (2 mm * 3 in)", "(1 inch * 1 cm * 1 mm) / (2 mm * 3 inch)"),
        ("-(1 in - 5 cm) / 3", "-(1 inch - 5 cm) / 3"),
        ("7 * 1/64 in", "7 * (1/64) inch"),
        ("2 cm / (3 in) * 1 mm", "2 cm / (3 inch) * 1 mm"),
    ],
)
@pytest.mark.parametrize("unit", LengthUnit)
def test_mixed_units_agree_with_pint(ours: str, outside: str, unit: LengthUnit) -> None:
    expected = UREG.parse_expression(outside).to("millimeter").magnitude
    assert length_value(ours, {}, unit) == pytest.approx(expected, rel=1e-13)


@pytest.mark.parametrize("text", ["3 mm + 2 mm * 2 mm", "1 in * 1 in", "3 deg + 2 mm", "2 mm / (3 mm)"])
def test_pint_finds_no_length_either(text: str) -> None:
    with pytest.raises(pint.DimensionalityError):
        UREG.parse_expression(text.replace("in", "inch")).to("millimeter")
    with pytest.raises(ExpressionError, match=r"cannot be|comes to"):
        length_value(text, {}, MM)


# --- against exact fractions -------------------------------------------------------------------------


@dataclass(frozen=True)
class Sum:
    """An expression as text, its exact value, its kind, and how large its parts are."""

    text: str
    value: Fraction
    power: int | None
    size: Fraction


def literals(units: st.SearchStrategy[LengthUnit | None]) -> st.SearchStrategy[Sum]:
    def build(number: Fraction, unit: LengthUnit | None) -> Sum:
        value = number if unit is None else number * Fraction(*unit.ratio)
        text = f"{number.numerator / number.denominator}" + (f" {unit.symbol}" if unit else "")
        return Sum(text, value, None if unit is None else 1, abs(value))

    # Eighths are exact as decimals and as floats.
    numbers = st.integers(1, 4000).map(lambda n: Fraction(n, 8))
    return st.builds(build, numbers, units)


def combined(inner: st.SearchStrategy[Sum]) -> st.SearchStrategy[Sum]:
    return st.builds(combine, st.sampled_from("+-*/"), inner, inner)


def combine(operator: str, left: Sum, right: Sum) -> Sum:
    text = f"({left.text}) {operator} ({right.text})"
    if operator in "+-":
        kinds = {left.power, right.power} - {None}
        assume(len(kinds) <= 1)
        kind = kinds.pop() if kinds else None
        scale = Fraction(127, 5) ** (kind or 0)  # the file is in inches
        sides = [
            s if s.power == kind else Sum(s.text, s.value * scale, kind, s.size * scale)
            for s in (left, right)
        ]
        value = sides[0].value + sides[1].value * (1 if operator == "+" else -1)
        return Sum(text, value, kind, sides[0].size + sides[1].size)
    if operator == "*":
        power = sum_of(left.power, right.power)
        assume(power is None or abs(power) <= 6)
        return Sum(text, left.value * right.value, power, left.size * right.size)
    # Dividing by the outcome of a near cancellation has no error bound worth testing.
    assume(abs(right.value) * 1000 > right.size)
    power = left.power if right.power is None else (left.power or 0) - right.power
    if left.power is None and right.power == 0:
        power = None
    assume(power is None or abs(power) <= 6)
    return Sum(text, left.value / right.value, power, left.size / abs(right.value) * 1000)


def sum_of(one: int | None, other: int | None) -> int | None:
    if one is None or other is None:
        # A bare number times a ratio stays bare.
        return (other if one is None else one) or None
    return one + other


SUMS = st.recursive(literals(st.sampled_from([None, MM, CM, IN])), combined, max_leaves=8)


@given(SUMS)
def test_sums_agree_with_exact_fractions(exact: Sum) -> None:
    found = parse(exact.text).evaluate({}, IN)
    assert found.power == exact.power
    assert not found.angle
    assert abs(Fraction(found.value) - exact.value) <= exact.size * Fraction(1, 10**12)
    if exact.power in (None, 1) and abs(exact.value) < 1000:
        length = exact.value if exact.power == 1 else exact.value * Fraction(127, 5)
        reach = exact.size * Fraction(254, 10**13)
        assert abs(Fraction(as_length(found, IN)) - length) <= reach


def test_a_bare_number_times_a_ratio_counts_in_file_units() -> None:
    env = {"run": Quantity(120.0, None)}
    mm = as_length(parse("5 + run * tan(45 deg)").evaluate(env, LengthUnit.MM), LengthUnit.MM)
    assert mm == pytest.approx(125.0, abs=1e-9)
    assert as_length(parse("run / cos(60 deg)").evaluate(env, LengthUnit.MM), LengthUnit.MM) == pytest.approx(
        240.0
    )

"""Expressions that are refused: each with its code, what is said, and the part pointed at."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.car.expressions import (
    FUNCTIONS,
    MAX_DEPTH,
    MAX_TEXT,
    ExpressionError,
    Quantity,
    as_length,
    length_value,
    parse,
)
from bodyshop.foundation.units import LengthUnit, QuantityError

ENV = {
    "wall": Quantity(3.0),
    "body_length": Quantity(305.0),
    "count": Quantity(2.0, None),
    "tilt": Quantity(0.5, None, angle=True),
    "face": Quantity(9.0, 2),
}

# (text, code, pieces of what is said, nearest, the part pointed at)
REFUSED = [
    ("", "expression-empty", ("nothing", "12.5 mm"), "", ""),
    ("  ", "expression-empty", ("nothing",), "", "  "),
    ("x" * 1001, "expression-length", ("too long", str(MAX_TEXT)), "", "x" * 1001),
    ("(" * 60 + "1" + ")" * 60, "expression-depth", ("too deep", str(MAX_DEPTH)), "", "("),
    ("-" * 60 + "1", "expression-depth", ("too deep",), "", "-"),
    ("max(1, " * 60 + "1" + ")" * 60, "expression-depth", ("too deep",), "", "("),
    ("wal", "expression-name", ("no dimension", '"wal"', "one of wall"), "wall", "wal"),
    ("body_lenght / 2", "expression-name", ("body_lenght",), "body_length", "body_lenght"),
    ("Wall", "expression-name", ("Wall",), "wall", "Wall"),
    ("größe", "expression-name", ("größe",), "", "größe"),
    ("nan", "expression-name", ("nan",), "", "nan"),
    ("3 inchs", "expression-unit", ("not a unit", "mm, cm, in or deg"), "in", "inchs"),
    ("2 wall", "expression-unit", ("not a unit", "a * before wall"), "", "wall"),
    ("2wall", "expression-unit", ("not a unit",), "", "wall"),
    ("1_000", "expression-unit", ("_000",), "", "_000"),
    ("0x10", "expression-unit", ("x10",), "", "x10"),
    ("in", "expression-unit", ("no number before",), "", "in"),
    ("wall + mm", "expression-unit", ("no number before", "12 mm"), "", "mm"),
    ("5 ft", "length-foot", ("foot mark", "inches"), "in", "ft"),
    ("wall + 5'", "length-foot", ("foot mark",), "in", "'"),
    ("2-3/4", "number-ambiguous", ("2 3/4", "2 - 3/4"), "", "2-3/4"),
    ("wall * 2-3/4", "number-ambiguous", ("2 3/4",), "", "2-3/4"),
    ("2 -3/4 in", "number-ambiguous", ("2 - 3/4",), "", "2 -3/4"),
    ("10-6/2 in", "number-fraction", ("1 or more",), "", "10-6/2"),
    ("3/0 in", "number-fraction", ("zero",), "", "3/0"),
    ("wall / 3/4 in", "expression-fraction", ("two ways", "/(3/4 in)"), "", "3/4 in"),
    ("1e400", "number-range", ("too large",), "", "1e400"),
    ("9" * 40, "number-digits", ("more digits",), "", "9" * 40),
    ("wall wall", "expression-operator", ("no operator", "+, -, * or /"), "", "wall"),
    ("wall 2", "expression-operator", ('before "2"',), "", "2"),
    ("1.2.3", "expression-operator", ('before ".3"',), "", ".3"),
    ("3 mm mm", "expression-operator", ('before "mm"',), "", "mm"),
    ("1 if wall else 2", "expression-unit", ('"if"',), "", "if"),
    ("(wall", "expression-bracket", ("never closed",), "", "("),
    ("max(wall, 2", "expression-bracket", ("never closed",), "", "("),
    ("wall)", "expression-bracket", ("a ) too many",), "", ")"),
    ("(wall 2)", "expression-operator", ("no operator",), "", "2"),
    ("(wall, 2)", "expression-comma", ("a comma stands here",), "", ","),
    ("2,5 mm", "expression-comma", ("decimals have a point", "2.5"), "", ","),
    ("wall, 2", "expression-comma", ("a comma stands here",), "", ","),
    ("()", "expression-operand", ("where a value should",), "", ")"),
    ("max()", "expression-operand", ("where a value should",), "", ")"),
    ("* 2", "expression-operand", ("where a value should",), "", "*"),
    ("wall**2", "expression-operand", ("a * a",), "", "*"),
    ("wall // 2", "expression-operand", ("where a value should",), "", "/"),
    ("wall +", "expression-end", ("stops short",), "", "+"),
    ("max(wall,", "expression-end", ("stops short",), "", ","),
    ("max(1)", "expression-function", ("max has 1 value here", "2 values or more"), "", "max(1)"),
    ("1 + sqrt(1, 2)", "expression-function", ("2 values here", "1 value"), "", "sqrt(1, 2)"),
    ("sqrt", "expression-function", ("is a function", "sqrt(...)"), "", "sqrt"),
    ("sine(30 deg)", "expression-function", ("no function", "sin, cos, tan"), "sin", "sine"),
    ('__import__("os")', "expression-function", ("no function",), "", "__import__"),
    ("Max(1, 2)", "expression-function", ("no function",), "max", "Max"),
    ("wall ^ 2", "expression-character", ("a * a",), "", "^"),
    ("wall = 2", "expression-character", ("= has no meaning",), "", "="),
    ("wall.real", "expression-character", ("without digits",), "", "."),
    ("wall;2", "expression-character", ("; has no meaning",), "", ";"),
    ("5%", "expression-character", ("% has no meaning",), "", "%"),
    ("wall\x1b", "expression-character", ("\\x1b has no meaning",), "", "\x1b"),
    ("wall[0]", "expression-character", ("[ has no meaning",), "", "["),
    ("٣", "expression-character", ("not a number",), "", "٣"),
    ("wall + face", "expression-kind", ("a length and an area cannot be added",), "", "wall + face"),
    ("1 + (face - wall)", "expression-kind", ("cannot be subtracted",), "", "face - wall"),
    ("max(wall, face)", "expression-kind", ("cannot be compared",), "", "max(wall, face)"),
    ("tilt + 5", "expression-kind", ("an angle and a plain number", "5 deg"), "", "tilt + 5"),
    ("tilt * wall", "expression-kind", ("cannot be multiplied", "sin, cos or tan"), "", "tilt * wall"),
    ("wall / tilt", "expression-kind", ("cannot be divided", "sin, cos or tan"), "", "wall / tilt"),
    ("wall * sin(30)", "expression-kind", ("needs an angle", "sin(30 deg)"), "", "sin(30)"),
    ("cos(wall)", "expression-kind", ("needs an angle", "a length"), "", "cos(wall)"),
    ("sqrt(wall)", "expression-kind", ("sqrt of a length",), "", "sqrt(wall)"),
    ("sqrt(tilt)", "expression-kind", ("sqrt of an angle",), "", "sqrt(tilt)"),
    ("face*face*face*wall", "expression-kind", ("too many lengths",), "", "face*face*face*wall"),
    ("1 + 2 / (wall - 3 mm)", "expression-zero", ("divides by zero",), "", "2 / (wall - 3 mm)"),
    ("sqrt(2 - 3)", "expression-negative", ("below zero",), "", "sqrt(2 - 3)"),
    ("tan(90 deg)", "expression-range", ("right angle",), "", "tan(90 deg)"),
    ("1e200 * 1e200", "expression-range", ("any number here",), "", "1e200 * 1e200"),
    # The answer is of the wrong kind: the whole text is shown.
    ("face", "expression-kind", ("comes to an area", "sqrt"), "", "face"),
    ("tilt", "expression-kind", ("comes to an angle",), "", "tilt"),
    ("wall / wall", "expression-kind", ("comes to a ratio",), "", "wall / wall"),
    ("1 / wall", "expression-kind", ("power -1",), "", "1 / wall"),
    ("face * wall", "expression-kind", ("comes to a volume",), "", "face * wall"),
    ("1e9 * wall", "expression-range", ("more than any length", "1 km"), "", "1e9 * wall"),
]


@pytest.mark.parametrize(
    ("text", "code", "pieces", "near", "part"), REFUSED, ids=[row[0][:20] or "empty" for row in REFUSED]
)
def test_refused_expressions(text: str, code: str, pieces: tuple[str, ...], near: str, part: str) -> None:
    with pytest.raises(ExpressionError) as caught:
        length_value(text, ENV, LengthUnit.MM)
    error = caught.value
    said = f"{error.message}; {error.expected}"
    assert error.code == code
    assert [piece for piece in pieces if piece not in said] == []
    assert error.nearest == near
    assert text[error.start : error.end] == part
    assert len(said) < 250
    assert said.isprintable()


def test_a_long_sum_is_no_deep_one() -> None:
    text = "1" + "+1" * 450
    assert as_length(parse(text).evaluate({}, LengthUnit.MM), LengthUnit.MM) == 451.0
    brackets = "(" * MAX_DEPTH + "1" + ")" * MAX_DEPTH
    assert parse(brackets).evaluate({}, LengthUnit.MM) == Quantity(1.0, None)


def test_names_and_their_places() -> None:
    expression = parse("max(wall, count * wall) - é")
    assert expression.names == {"wall", "count", "é"}
    assert list(expression.name_places()) == [
        ("wall", 4, 8),
        ("count", 10, 15),
        ("wall", 18, 22),
        ("é", 26, 27),
    ]
    assert parse("12 mm").names == frozenset()


def test_letters_may_be_composed_or_not() -> None:
    env = {"\u00e9": Quantity(4.0)}
    assert parse("e\u0301 * 2").evaluate(env, LengthUnit.MM) == Quantity(8.0)


def test_values_that_are_not_text() -> None:
    assert length_value(12, {}, LengthUnit.IN) == 304.8
    assert length_value(1.5, {}, LengthUnit.IN) == 38.1
    for value in (True, None, [1], math.nan, math.inf, 1e308):
        with pytest.raises(QuantityError):
            length_value(value, {}, LengthUnit.MM)


@given(st.text(max_size=40))
def test_any_text_is_read_or_refused(text: str) -> None:
    assert_read_or_refused(text)


WORDS = ["wall", "count", "tilt", "face", "1", "2.5", "3/4", "2-3/4", " in", " mm", " deg", '"', "'"]
PIECES = st.sampled_from([*FUNCTIONS, *WORDS, *"+-*/(),. ^0¾−"])


@given(st.lists(PIECES, max_size=12).map("".join))
def test_near_expressions_are_read_or_refused(text: str) -> None:
    assert_read_or_refused(text)


def assert_read_or_refused(text: str) -> None:
    refusal = None
    try:
        assert math.isfinite(length_value(text, ENV, LengthUnit.IN))
    except QuantityError as error:
        refusal = error
    if refusal is not None:
        assert 0 <= refusal.start <= refusal.end <= len(text)
        assert refusal.message

"""Reading lengths, masses, angles and densities, against pairs that must be equal and against pint."""

import math
import unicodedata
from collections.abc import Callable
from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.units import (
    FRACTION_MARKS,
    AngleUnit,
    DensityUnit,
    LengthUnit,
    MassUnit,
    QuantityError,
    is_unit_word,
    length_from_number,
    parse_angle,
    parse_density,
    parse_length,
    parse_mass,
    parse_unit,
)

MM, CM, IN = LengthUnit.MM, LengthUnit.CM, LengthUnit.IN

# Outside source: pint's unit registry (units by definition of the international yard and pound, 1959).
UREG: pint.UnitRegistry = pint.UnitRegistry(non_int_type=Fraction)
PLAIN: pint.UnitRegistry = pint.UnitRegistry()


def outside(number: str, unit: str, to: str) -> Fraction:
    value = UREG.Quantity(Fraction(number), unit).to(to).magnitude
    assert isinstance(value, Fraction)
    return value


SAME = [
    ("12 mm", "12mm"),
    ("12 mm", "12"),
    ("12 mm", " 12\tmm "),
    ("12 mm", "12.000 mm"),
    ("12 mm", "1.2 cm"),
    ("12 mm", "1.2cm"),
    ("12 mm", "12 MM"),
    ("12 mm", "+12 mm"),
    ("12 mm", "12 millimetres"),
    ("12 mm", "12 millimeters"),
    ("12 mm", "12 millimeter"),
    ("12 mm", "1.2e1 mm"),
    ("12 mm", "12\u00a0mm"),
    ("1 cm", "1 centimetre"),
    ("1 cm", "1 centimeters"),
    ("1/2 in", "12.7 mm"),
    ("1 in", "2.54 cm"),
    ("2 in", "50.8 mm"),
    ("2 in", '2"'),
    ("2 in", "2 ″"),
    ("2 in", "2”"),
    ("2 in", "2''"),
    ("2 in", "2 in."),
    ("2 in", "2 inches"),
    ("2 in", "2 Inch"),
    ("2 3/4 in", "69.85 mm"),
    ("2 3/4 in", '2-3/4"'),
    ("2 3/4 in", "2-3/4 in"),
    ("2 3/4 in", "2\u20133/4 in"),
    ("2 3/4 in", "2 3 / 4 in"),
    ("2 3/4 in", "2\u20443/4 in".replace("2\u20443/4", "2 3\u20444")),
    ("2 3/4 in", "2¾ in"),
    ("2 3/4 in", "2 ¾ in"),
    ("2 3/4 in", '2-¾"'),
    ("2 3/4 in", "2.75 in"),
    ("3/4 in", '3/4"'),
    ("3/4 in", "¾″"),
    ("3/4 in", ".75 in"),
    ("3/4 in", "19.05 mm"),
    ("5 in", "5. in"),
    ("13/8 in", "1 5/8 in"),
    ("1 5/8 in", "41.275 mm"),
    ("-2 3/4 in", "-69.85 mm"),
    ("-2 3/4 in", "\u22122 3/4 in"),
    ("-5 mm", "- 5 mm"),
    ("0 mm", "-0 in"),
    ("1/3 in", "⅓ in"),
]


@pytest.mark.parametrize(("one", "other"), SAME)
def test_two_ways_to_write_one_length(one: str, other: str) -> None:
    assert parse_length(one, MM) == parse_length(other, MM)


def test_zero_is_never_negative() -> None:
    assert math.copysign(1.0, parse_length("-0 mm", None)) == 1.0
    assert math.copysign(1.0, length_from_number(-0.0, IN)) == 1.0


def test_a_bare_number_takes_the_unit_of_the_file() -> None:
    assert parse_length("1.5", IN) == 38.1
    assert parse_length("1 1/2", IN) == 38.1
    assert parse_length("3/4", CM) == 7.5
    assert length_from_number(1.5, IN) == 38.1
    assert length_from_number(2, CM) == 20.0
    assert length_from_number(305, MM) == 305.0


# (text, code, pieces of the message and what was expected, nearest, the part pointed at)
REFUSED = [
    ("", "length-empty", ("nothing", "12.5 mm"), "", ""),
    ("   ", "length-empty", ("nothing",), "", "   "),
    ("-", "length-empty", ("sign",), "", "-"),
    ("mm", "length-number", ("unit without a number",), "", "mm"),
    ("two inches", "length-number", ("two inches", "12.5 mm"), "", "two inches"),
    ("nan", "length-number", ("nan is not a length",), "", "nan"),
    ("-inf", "length-number", ("inf is not a length",), "", "inf"),
    ("NaN mm", "length-number", ("NaN mm",), "", "NaN mm"),
    ("1e308", "length-range", ("too long", "1 km"), "", "1e308"),
    ("1e999 mm", "number-range", ("too large",), "", "1e999"),
    ("1e-999 mm", "number-range", ("too small",), "", "1e-999"),
    ("1000001 mm", "length-range", ("too long", "1 km"), "", "1000001 mm"),
    ("9" * 60, "number-digits", ("more digits", "30"), "", "9" * 60),
    ("1 " + "9" * 60 + "/64 in", "number-digits", ("more digits",), "", "1 " + "9" * 60 + "/64"),
    ("x" * 300, "length-number", ("too long",), "", "x" * 300),
    ("3 inchs", "length-unit", ("3 inchs", "mm, cm or in"), "in", "inchs"),
    ("3 milimetres", "length-unit", ("3 milimetres",), "mm", "milimetres"),
    ("12 m", "length-unit", ("12 m",), "mm", "m"),
    ("5 deg", "length-unit", ("5 deg", "mm, cm or in"), "", "deg"),
    ("12 g", "length-unit", ("12 g",), "", "g"),
    ("1_000 mm", "length-unit", ("1_000 mm",), "", "_000 mm"),
    ("2,5 mm", "length-comma", ("comma", "2.5"), "", "2,5"),
    ("2,5", "length-comma", ("comma", "2.5"), "", "2,5"),
    ("2-3/4", "number-ambiguous", ("mixed number", "2 3/4", "2 - 3/4"), "", "2-3/4"),
    ("2-¾", "number-ambiguous", ("2 ¾",), "", "2-¾"),
    ("2 - 3/4 in", "number-ambiguous", ("subtraction", "2 3/4"), "", "2 - 3/4"),
    ("2 -3/4 in", "number-ambiguous", ("subtraction",), "", "2 -3/4"),
    ("5'", "length-foot", ("foot mark", 'inches, written in or "'), "in", "'"),
    ("5' 3\"", "length-foot", ("foot mark",), "in", "'"),
    ("5 ft", "length-foot", ("feet",), "in", "ft"),
    ("5 feet", "length-foot", ("feet",), "in", "feet"),
    ("1.5′", "length-foot", ("foot mark",), "in", "′"),
    ("12 mm 3", "length-extra", ("left over", '"3"'), "", "3"),
    ("12 mm!", "length-extra", ("left over",), "", "!"),
    ("12 mm x 3 mm", "length-extra", ("left over", "x 3 mm"), "", "x 3 mm"),
    ("1.2.3 mm", "length-number", ("1.2.3 mm",), "", ".3 mm"),
    ("2 5/4 in", "number-fraction", ("1 or more", "2 3/4"), "", "2 5/4"),
    ("3/0 in", "number-fraction", ("zero",), "", "3/0"),
    ("1/2/3 in", "length-number", ("1/2/3 in",), "", "/3 in"),
    ("١٢ mm", "length-number", ("١٢ mm",), "", "١٢ mm"),
    ("12\x1b[1mmm", "length-unit", (r'"12\x1b[1mmm" is not a length',), "", "\x1b[1mmm"),
]


@pytest.mark.parametrize(("text", "code", "pieces", "near", "part"), REFUSED)
def test_refused_lengths(text: str, code: str, pieces: tuple[str, ...], near: str, part: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_length(text, MM)
    error = caught.value
    assert error.code == code
    said = f"{error.message} {error.expected}"
    assert [piece for piece in pieces if piece not in said] == []
    assert error.nearest == near
    assert text[error.start : error.end] == part
    assert len(said) < 300
    assert said.isprintable()


def test_no_default_means_a_unit_is_needed() -> None:
    for text in ("12", "1 1/2", "¾", "12.5"):
        with pytest.raises(QuantityError, match="has no unit") as caught:
            parse_length(text, None)
        assert caught.value.code == "length-no-unit"
        assert caught.value.expected == "mm, cm or in"


@pytest.mark.parametrize(
    ("value", "code", "shown"),
    [
        (True, "length-type", "true"),
        (False, "length-type", "false"),
        (math.nan, "length-finite", "nan"),
        (math.inf, "length-finite", "inf"),
        (-math.inf, "length-finite", "-inf"),
        (1e308, "length-range", "1e+308"),
        (10**9, "length-range", "1000000000"),
        pytest.param(10**5000, "length-range", "digits", id="endless"),
        (50_000.0, "length-range", "50000.0"),
        ([1.0], "length-type", "a list"),
        ({}, "length-type", "a table"),
        (None, "length-type", "a date or time"),
    ],
)
def test_refused_values(value: object, code: str, shown: str) -> None:
    with pytest.raises(QuantityError) as caught:
        length_from_number(value, IN)
    assert caught.value.code == code
    assert shown in caught.value.message


@pytest.mark.parametrize(
    ("text", "unit"),
    [("mm", MM), (" IN ", IN), ("inches", IN), ('"', IN), ("centimetres", CM), ("Millimeter", MM)],
)
def test_unit_words(text: str, unit: LengthUnit) -> None:
    assert parse_unit(text) is unit


@pytest.mark.parametrize(
    ("text", "near", "piece"),
    [
        ("inchs", "in", "inchs"),
        ("m", "mm", "not a unit"),
        ("feet", "in", "foot mark"),
        ("", "", "not a unit"),
    ],
)
def test_refused_unit_words(text: str, near: str, piece: str) -> None:
    with pytest.raises(QuantityError, match=piece) as caught:
        parse_unit(text)
    assert caught.value.nearest == near


def test_unit_words_cannot_name_dimensions() -> None:
    assert is_unit_word("in")
    assert is_unit_word("deg")
    assert is_unit_word("Feet")
    assert not is_unit_word("wall")
    assert not is_unit_word("g")


# --- against pint ------------------------------------------------------------------------------------

PINT_LENGTHS = {MM: "millimeter", CM: "centimeter", IN: "inch"}
PINT_MASSES = {MassUnit.G: "gram", MassUnit.KG: "kilogram", MassUnit.OZ: "ounce"}
PINT_DENSITIES = {
    DensityUnit.KG_M3: "kilogram/meter**3",
    DensityUnit.G_CM3: "gram/centimeter**3",
    DensityUnit.LB_FT3: "pound/foot**3",
}


def test_every_unit_has_an_outside_check() -> None:
    assert set(PINT_LENGTHS) == set(LengthUnit)
    assert set(PINT_MASSES) == set(MassUnit)
    assert set(PINT_DENSITIES) == set(DensityUnit)
    assert {unit.symbol for unit in AngleUnit} == {"deg", "rad"}


@pytest.mark.parametrize("unit", LengthUnit)
@pytest.mark.parametrize("number", ["1", "0.1", "12.7", "1.625", "305", "0.0625", "123.456789"])
def test_lengths_agree_with_pint(unit: LengthUnit, number: str) -> None:
    exact = outside(number, PINT_LENGTHS[unit], "millimeter")
    assert parse_length(f"{number} {unit.symbol}", None) == float(exact)
    assert length_from_number(float(number), unit) == float(exact)
    assert Fraction(*unit.ratio) == outside("1", PINT_LENGTHS[unit], "millimeter")


@pytest.mark.parametrize("unit", MassUnit)
@pytest.mark.parametrize("number", ["1", "0.1", "52.3", "1.75"])
def test_masses_agree_with_pint(unit: MassUnit, number: str) -> None:
    exact = outside(number, PINT_MASSES[unit], "gram")
    assert parse_mass(f"{number} {unit.symbol}") == float(exact)
    assert unit.g == float(outside("1", PINT_MASSES[unit], "gram"))


@pytest.mark.parametrize("unit", DensityUnit)
@pytest.mark.parametrize("number", ["1", "0.16", "16", "10"])
def test_densities_agree_with_pint(unit: DensityUnit, number: str) -> None:
    exact = outside(number, PINT_DENSITIES[unit], "gram/millimeter**3")
    assert parse_density(f"{number} {unit.symbol}") == float(exact)


@pytest.mark.parametrize(("unit", "name"), [("deg", "degree"), ("rad", "radian")])
@pytest.mark.parametrize("number", ["1", "0.5", "30", "-2.5"])
def test_angles_agree_with_pint(unit: str, name: str, number: str) -> None:
    exact = PLAIN.Quantity(float(number), name).to("radian").magnitude
    assert parse_angle(f"{number} {unit}") == pytest.approx(exact, rel=1e-15)


def test_the_ounce_is_avoirdupois() -> None:
    # NIST Handbook 44, appendix C: 1 oz avdp = 28.349 523 125 g exactly.
    assert parse_mass("1 oz") == 28.349523125
    assert parse_mass("1 3/4 ounces") == 49.61166546875


def test_the_inch_is_exact() -> None:
    # NIST Handbook 44, appendix C: 1 inch = 25.4 mm exactly.
    assert MM_PER_IN == 25.4
    assert IN.mm == 25.4


def test_balsa_by_the_cubic_foot() -> None:
    # Trade mean of balsa, 10 lb/ft3, printed by dealers as 160 kg/m3 (righteouswoods.com/Balsa.html).
    assert parse_density("10 lb/ft3") * 1e6 == pytest.approx(160, abs=0.5)
    for text in ("160 kg/m³", "160 kg/m^3", "160 kg / m3", "0.16 g/cm³", "0.16 g/cc"):
        assert parse_density(text) == 0.00016


def test_bare_masses_and_angles() -> None:
    assert parse_mass("52.3") == 52.3
    assert parse_angle("180") == math.pi
    assert parse_angle("180°") == parse_angle("180 degrees") == math.pi


@pytest.mark.parametrize(
    ("read", "text", "code", "near"),
    [
        (parse_mass, "-3 g", "mass-sign", ""),
        (parse_mass, "3 grm", "mass-unit", "g"),
        (parse_mass, "3 mm", "mass-unit", ""),
        (parse_mass, "1e30 kg", "mass-range", ""),
        (parse_mass, "", "mass-empty", ""),
        (parse_density, "160", "density-no-unit", ""),
        (parse_density, "160 kg/m2", "density-unit", "kg/m3"),
        (parse_density, "-1 g/cm3", "density-sign", ""),
        (parse_density, "1e9 kg/m3", "density-range", ""),
        (parse_density, "heavy", "density-number", ""),
        (parse_angle, "5 dge", "angle-unit", "deg"),
        (parse_angle, "5 mm", "angle-unit", ""),
        (parse_angle, "1e6 deg", "angle-range", ""),
        (parse_angle, "nan", "angle-number", ""),
        (parse_angle, "5,5 deg", "angle-comma", ""),
    ],
)
def test_refused_other_quantities(read, text: str, code: str, near: str) -> None:
    with pytest.raises(QuantityError) as caught:
        read(text)
    assert caught.value.code == code
    assert caught.value.nearest == near


# --- properties --------------------------------------------------------------------------------------


@given(
    whole=st.integers(0, 400),
    power=st.integers(1, 6),
    data=st.data(),
    join=st.sampled_from([" ", "-", "\u2013"]),
    mark=st.sampled_from([" in", '"', "″", " inches"]),
)
def test_tape_fractions_are_exact(whole: int, power: int, data: st.DataObject, join: str, mark: str) -> None:
    parts = 2**power
    num = data.draw(st.integers(1, parts - 1))
    exact = (whole + Fraction(num, parts)) * Fraction(127, 5)
    assert parse_length(f"{whole}{join}{num}/{parts}{mark}", None) == float(exact)


@given(number=st.decimals(-10_000, 10_000, places=4), unit=st.sampled_from(LengthUnit))
def test_decimals_are_exact(number, unit: LengthUnit) -> None:
    exact = Fraction(number) * Fraction(*unit.ratio)
    assert parse_length(f"{number:f} {unit.symbol}", None) == float(exact)


@pytest.mark.parametrize("mark", FRACTION_MARKS)
def test_fraction_marks_mean_what_unicode_says(mark: str) -> None:
    # Outside source: the numeric value in the Unicode character database.
    num, den = FRACTION_MARKS[mark]
    assert num / den == unicodedata.numeric(mark)


def assert_read_or_refused(read: Callable[[str], float], text: str) -> None:
    refusal = None
    try:
        assert math.isfinite(read(text))
    except QuantityError as error:
        refusal = error
    if refusal is not None:
        assert 0 <= refusal.start <= refusal.end <= len(text)
        assert refusal.message


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text: str) -> None:
    for read in (lambda t: parse_length(t, MM), parse_mass, parse_angle, parse_density):
        assert_read_or_refused(read, text)


@given(st.text(alphabet="0123456789./-' \"einmc,¾⁄−", max_size=14))
def test_near_lengths_are_read_or_refused(text: str) -> None:
    assert_read_or_refused(lambda t: parse_length(t, IN), text)

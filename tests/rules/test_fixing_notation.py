"""Numbers keep their notation: units, quotes, tape fractions, zeros."""

from __future__ import annotations

import tomllib
from fractions import Fraction

import pint
import pytest

from bodyshop.car.editing.notation import factor_grids, read_notation, value_of
from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.units import LengthUnit

MM, CM, IN = LengthUnit.MM, LengthUnit.CM, LengthUnit.IN

KEPT = [
    # as it stands in the file, unit of the file, its value, another value, how that is written
    ("25", MM, "25", "25.7", "25.7"),
    ("25.5", MM, "25.5", "26", "26"),
    ("25.0", MM, "25", "26", "26.0"),
    ("25.00", MM, "25", "25.5", "25.50"),
    ("-3", MM, "-3", "-2.5", "-2.5"),
    ('"0.5 mm"', IN, "0.5", "1", "1 mm"),
    ('"0.5mm"', IN, "0.5", "0.75", "0.75mm"),
    ('"2.5 cm"', MM, "2.5", "2.55", "2.55 cm"),
    ("8", IN, "8", "257/32", "8 1/32"),
    ('"1 5/8"', IN, "13/8", "53/32", "1 21/32"),
    ('"1 5/8"', IN, "13/8", "2", "2"),
    ('"7/16"', IN, "7/16", "13/32", "13/32"),
    ('"1-5/8 in"', MM, "13/8", "27/16", "1-11/16 in"),
    ('"2 3/4\\""', IN, "11/4", "45/16", '2 13/16\\"'),
    ("'2 3/4\"'", IN, "11/4", "45/16", '2 13/16"'),
    ('"1½ in"', MM, "3/2", "25/16", "1 9/16 in"),
    ("0.75", IN, "3/4", "0.78", "0.78"),
    ('"0.75 in"', MM, "3/4", "0.8", "0.8 in"),
]


@pytest.mark.parametrize(("raw", "unit", "old", "new", "written"), KEPT)
def test_notation_is_kept(raw: str, unit: LengthUnit, old: str, new: str, written: str) -> None:
    value = tomllib.loads(f"v = {raw}")["v"]
    assert value_of(value, QuantityKind.LENGTH, unit) == Fraction(old)
    notation = read_notation(raw, value, QuantityKind.LENGTH, unit, tape=True)
    assert notation is not None
    text = notation.text(Fraction(new))
    assert text == written.replace('\\"', '"')
    # Read back, it is the value meant.
    assert value_of(notation.parsed(text), QuantityKind.LENGTH, unit) == Fraction(new)


@pytest.mark.parametrize(("raw", "unit"), [(raw, unit) for raw, unit, *_ in KEPT])
def test_one_of_its_units_in_mm_by_an_independent_converter(raw: str, unit: LengthUnit) -> None:
    # pint: the units it defines from the international yard and pound agreement of 1959.
    value = tomllib.loads(f"v = {raw}")["v"]
    notation = read_notation(raw, value, QuantityKind.LENGTH, unit, tape=True)
    assert notation is not None
    word = notation.suffix.strip().replace('"', "in") or unit.symbol
    by_pint = (
        pint.UnitRegistry().Quantity(1, {"in": "inch", "\\in": "inch"}.get(word, word)).to("mm").magnitude
    )
    assert notation.mm_per_unit == pytest.approx(by_pint, rel=1e-12)


@pytest.mark.parametrize(
    ("raw", "kind"),
    [
        ('"length / 2"', QuantityKind.LENGTH),
        ('"1/2 + 1/8"', QuantityKind.LENGTH),
        ('"half_width"', QuantityKind.LENGTH),
        ('"12 ft"', QuantityKind.LENGTH),
        ("true", QuantityKind.LENGTH),
        ("nan", QuantityKind.LENGTH),
        ('"three"', QuantityKind.COUNT),
        ('"0.1 rad"', QuantityKind.ANGLE),
        ('"steep"', QuantityKind.ANGLE),
        ("[1, 2]", QuantityKind.LENGTH),
    ],
)
def test_what_is_worked_out_or_no_number_has_no_notation(raw: str, kind: QuantityKind) -> None:
    value = tomllib.loads(f"v = {raw}")["v"]
    assert read_notation(raw, value, kind, MM, tape=True) is None


def test_angles_and_counts() -> None:
    angle = read_notation('"1.5 deg"', "1.5 deg", QuantityKind.ANGLE, MM, tape=False)
    assert angle is not None
    assert angle.text(Fraction(-2)) == "-2 deg"
    count = read_notation("2", 2, QuantityKind.COUNT, MM, tape=False)
    assert count is not None
    assert count.text(Fraction(3)) == "3"
    assert count.grids == (Fraction(1),)


def test_inches_without_a_fraction_follow_the_rest_of_the_file() -> None:
    tape = read_notation("8", 8, QuantityKind.LENGTH, IN, tape=True)
    decimal = read_notation("8", 8, QuantityKind.LENGTH, IN, tape=False)
    assert tape is not None
    assert decimal is not None
    assert tape.text(Fraction(33, 4)) == "8 1/4"
    assert decimal.text(Fraction(33, 4)) == "8.25"


def test_steps_of_a_factor_move_no_more_than_half_a_millimetre() -> None:
    grids = factor_grids(272.0)
    assert float(grids[0]) * 272 <= 0.5
    assert list(grids) == sorted(grids, reverse=True)
    assert factor_grids(1e9)

"""Limits and values in words; limits of every kind, read by pint as well."""

from __future__ import annotations

import math
from pathlib import Path

import pint
import pytest

from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.rulebook import Limits, amount_text, limits_text, value_text
from tests.rules.books import HEAD, INCH_HEAD, book_of, rule_text

UNITS: pint.UnitRegistry = pint.UnitRegistry()
MM, IN, CM = LengthUnit.MM, LengthUnit.IN, LengthUnit.CM


@pytest.mark.parametrize(
    ("value", "kind", "unit", "text"),
    [
        (26.0, QuantityKind.LENGTH, MM, "26 mm"),
        (100.0, QuantityKind.LENGTH, MM, "100 mm"),
        (0.0, QuantityKind.LENGTH, MM, "0 mm"),
        (-0.5, QuantityKind.LENGTH, MM, "-0.5 mm"),
        (41.275, QuantityKind.LENGTH, MM, "41.275 mm"),
        (41.275, QuantityKind.LENGTH, IN, "1 5/8 in"),
        (3.0, QuantityKind.LENGTH, IN, "0.1181 in"),
        (254.0, QuantityKind.LENGTH, IN, "10 in"),
        (26.0, QuantityKind.LENGTH, CM, "2.6 cm"),
        (45.0, QuantityKind.MASS, MM, "45 g"),
        (45.25, QuantityKind.MASS, MM, "45.25 g"),
        (math.radians(3.0), QuantityKind.ANGLE, MM, "3°"),
        (math.radians(-0.25), QuantityKind.ANGLE, MM, "-0.25°"),
        (2.0, QuantityKind.COUNT, MM, "2"),
        (120.0, QuantityKind.AREA, MM, "120 mm²"),
        (645.16, QuantityKind.AREA, IN, "1 in²"),
        (16387.064, QuantityKind.VOLUME, IN, "1 in³"),
    ],
)
def test_amounts(value: float, kind: QuantityKind, unit: LengthUnit, text: str) -> None:
    assert amount_text(value, kind, unit) == text


@pytest.mark.parametrize(
    ("limits", "kind", "unit", "text"),
    [
        (Limits(low=3.0), QuantityKind.LENGTH, MM, "at least 3 mm"),
        (Limits(high=75.0), QuantityKind.LENGTH, MM, "at most 75 mm"),
        (Limits(low=35.0, high=42.0), QuantityKind.LENGTH, MM, "35 to 42 mm"),
        (Limits(low=34.925, high=41.275), QuantityKind.LENGTH, IN, "1 3/8 to 1 5/8 in"),
        (Limits(low=45.0, high=170.0), QuantityKind.MASS, MM, "45 to 170 g"),
        (Limits(low=2.0, high=2.0, exact=2.0), QuantityKind.COUNT, MM, "exactly 2"),
        (Limits(low=5.0, high=5.0), QuantityKind.LENGTH, MM, "exactly 5 mm"),
        (Limits(low=19.3, high=19.7, exact=19.5, tolerance=0.2), QuantityKind.LENGTH, MM, "19.5 mm ± 0.2 mm"),
        (
            Limits(low=-0.05, high=0.05, exact=0.0, tolerance=math.radians(3)),
            QuantityKind.ANGLE,
            MM,
            "0° ± 3°",
        ),
        (Limits(low=math.radians(-3), high=math.radians(3)), QuantityKind.ANGLE, MM, "-3° to 3°"),
        (Limits(one_of=(2.0, 3.0, 4.0)), QuantityKind.COUNT, MM, "2, 3 or 4"),
        (Limits(one_of=(2.0,)), QuantityKind.COUNT, MM, "2"),
        (None, None, MM, ""),
    ],
)
def test_limits(limits: Limits | None, kind: QuantityKind | None, unit: LengthUnit, text: str) -> None:
    assert limits_text(limits, kind, unit) == text


@pytest.mark.parametrize(
    ("head", "body", "measure", "value", "text"),
    [
        (HEAD, "max = 305", "body.length", 304.96, "305.0 mm"),
        (HEAD, 'max = 305\nresolution = "1 mm"', "body.length", 304.96, "305 mm"),
        (HEAD, 'max = 305\nresolution = "0.25 mm"', "body.length", 304.96, "304.96 mm"),
        (INCH_HEAD, 'max = "1 5/8"', "front_axle.body_width", 41.275, "1 5/8 in"),
        (INCH_HEAD, 'max = "42 mm"', "front_axle.body_width", 41.275, "41.28 mm"),
        (HEAD, "max = 170", "car.mass", 122.84, "122.8 g"),
        (HEAD, "max = 3", "bore.angle", math.radians(0.26), "0.3°"),
    ],
)
def test_values_show_as_many_decimals_as_are_read(
    tmp_path: Path, head: str, body: str, measure: str, value: float, text: str
) -> None:
    (rule,) = book_of(tmp_path, head + rule_text(body, measure=measure)).rules
    assert value_text(rule, value) == text


@pytest.mark.parametrize(
    ("head", "written", "measure", "quantity"),
    [
        (HEAD, "26", "body.length", UNITS.Quantity(26, "mm")),
        (HEAD, "26.5", "body.length", UNITS.Quantity(26.5, "mm")),
        (HEAD, '"2.6 cm"', "body.length", UNITS.Quantity(2.6, "cm")),
        (HEAD, '"10 1/2 in"', "body.length", UNITS.Quantity(10.5, "in")),
        (INCH_HEAD, "10.5", "body.length", UNITS.Quantity(10.5, "in")),
        (INCH_HEAD, '"10 1/2"', "body.length", UNITS.Quantity(10.5, "in")),
        (INCH_HEAD, '"265 mm"', "body.length", UNITS.Quantity(265, "mm")),
        (HEAD, "45", "car.mass", UNITS.Quantity(45, "g")),
        (INCH_HEAD, "45", "car.mass", UNITS.Quantity(45, "g")),
        (HEAD, '"1 5/8 oz"', "car.mass", UNITS.Quantity(1.625, "oz")),
        (HEAD, '"0.045 kg"', "car.mass", UNITS.Quantity(0.045, "kg")),
        (HEAD, "3", "bore.angle", UNITS.Quantity(3, "degree")),
        (HEAD, '"3 deg"', "bore.angle", UNITS.Quantity(3, "degree")),
        (HEAD, '"0.05 rad"', "bore.angle", UNITS.Quantity(0.05, "radian")),
        (HEAD, "120", "body.base_area", UNITS.Quantity(120, "mm^2")),
        (INCH_HEAD, "1.5", "body.base_area", UNITS.Quantity(1.5, "in^2")),
        (HEAD, '"1.5 in2"', "body.base_area", UNITS.Quantity(1.5, "in^2")),
        (HEAD, '"9 cm²"', "body.base_area", UNITS.Quantity(9, "cm^2")),
        (HEAD, '"3 in^3"', "body.volume", UNITS.Quantity(3, "in^3")),
        (INCH_HEAD, "3", "body.volume", UNITS.Quantity(3, "in^3")),
    ],
)
def test_limits_are_what_pint_makes_of_them(
    tmp_path: Path, head: str, written: str, measure: str, quantity: pint.Quantity
) -> None:
    (rule,) = book_of(tmp_path, head + rule_text(f"max = {written}", measure=measure)).rules
    unit = {
        QuantityKind.LENGTH: "mm",
        QuantityKind.MASS: "g",
        QuantityKind.ANGLE: "radian",
        QuantityKind.AREA: "mm^2",
        QuantityKind.VOLUME: "mm^3",
    }
    assert rule.kind is not None
    assert rule.limits is not None
    assert rule.limits.high == pytest.approx(quantity.to(unit[rule.kind]).magnitude, rel=1e-12)


def test_the_rules_own_numbers_stand_in_its_sentences(tmp_path: Path) -> None:
    body = 'min = 200\nmax = "12 in"\npoints = 2\nper = "1 mm"\n'
    text = HEAD + rule_text(body, fails="points per unit").replace(
        "Because.", "From {min} to {max}, that is {limits}; {points} points for each {per}."
    )
    (rule,) = book_of(tmp_path, text).rules
    assert rule.reason == "From 200 mm to 304.8 mm, that is 200 to 304.8 mm; 2 points for each 1 mm."


def test_a_title_of_the_catalogue_is_taken_where_the_rule_has_none(tmp_path: Path) -> None:
    text = HEAD + rule_text("max = 305") + rule_text('max = 75\ntitle = "height"', "X2", "car.height")
    assert [rule.title for rule in book_of(tmp_path, text).rules] == ["body length", "height"]


def test_defaults_are_those_that_are_documented(tmp_path: Path) -> None:
    text = (HEAD + rule_text("max = 305")).replace("near = 0\n", "")
    book = book_of(tmp_path, text)
    assert book.reads.near == {QuantityKind.LENGTH: 0.5}
    assert book.reads.resolution[QuantityKind.LENGTH] == pytest.approx(0.1)
    assert book.reads.resolution[QuantityKind.MASS] == pytest.approx(0.1)
    assert book.reads.resolution[QuantityKind.ANGLE] == pytest.approx(math.radians(0.1))

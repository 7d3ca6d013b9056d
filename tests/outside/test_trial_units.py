"""Units of the instruments against pint; Student's t against scipy and a printed table."""

from __future__ import annotations

import numpy as np
import pint
import pytest
from scipy import stats

from bodyshop.foundation.statistics import repeats, t_cdf, t_quantile
from bodyshop.foundation.units import QuantityError
from bodyshop.foundation.units.instruments import (
    FORCE_N,
    ForceUnit,
    force_text,
    force_unit_of,
    parse_quantity,
    units_for,
)

REGISTRY: pint.UnitRegistry = pint.UnitRegistry(autoconvert_offset_to_baseunit=True)
BASE = {"mm": "mm", "g": "g", "s": "s", "N": "newton", "m/s": "m/s", "°C": "degC", "hPa": "hPa"}
PINT = {
    ("mm", "'"): "ft", ("mm", '"'): "in", ("mm", "yd"): "yard", ("s", "sec"): "s",
    ("N", "n"): "newton", ("N", "mn"): "millinewton", ("N", "gf"): "gram_force", ("N", "g"): "gram_force",
    ("N", "kgf"): "kilogram_force", ("N", "kg"): "kilogram_force", ("N", "oz"): "ounce_force",
    ("N", "ozf"): "ounce_force", ("m/s", "kph"): "km/h", ("m/s", "ft/s"): "ft/s",
    ("°C", "°c"): "degC", ("°C", "c"): "degC", ("°C", "°f"): "degF", ("°C", "f"): "degF",
    ("°C", "k"): "kelvin",
    ("hPa", "hpa"): "hPa", ("hPa", "mbar"): "mbar", ("hPa", "mb"): "mbar", ("hPa", "kpa"): "kPa",
    ("hPa", "pa"): "Pa", ("hPa", "mmhg"): "mmHg", ("hPa", "inhg"): "inHg",
}  # fmt: skip


@pytest.mark.parametrize(("base", "unit"), [(base, unit) for base in BASE for unit in units_for(base)])
def test_units_are_those_of_pint(base: str, unit: str) -> None:
    for number in (0.25, 12.5, 300.0):
        theirs = REGISTRY.Quantity(number, PINT.get((base, unit), unit)).to(BASE[base]).magnitude
        assert parse_quantity(f"{number} {unit}", base) == pytest.approx(theirs, rel=2e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "unit", "value"),
    [
        ("12,5", "mm", 12.5), ("12.5mm", "mm", 12.5), ("20 m", "mm", 20000.0), ("1 5/8 in", "mm", 41.275),
        ('5/8"', "mm", 15.875), ("65.6ft", "mm", 19994.88), ("-0,2 gf", "N", -0.00196133), ("−3", "N", -3.0),
        ("72 km/h", "m/s", 20.0), ("68 °F", "°C", 20.0), ("293.15 K", "°C", 20.0), ("1043 ms", "s", 1.043),
        ("45 %", "%", 45.0), ("1e3", "mm", 1000.0), (".5", "s", 0.5), ("2.", "s", 2.0),
    ],
)  # fmt: skip
def test_quantities_as_people_write_them(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "unit", "near"),
    [("", "g", ""), ("heavy", "g", ""), ("12 mn", "g", ""), ("12 hpaa", "hPa", "hpa"), ("1.2.3", "g", ""),
     ("1,234.5", "g", ""), ("1.234.567", "g", ""), ("nan", "s", ""), ("5 g", "", ""), ("1 5/0 in", "mm", "")],
)  # fmt: skip
def test_what_is_no_quantity_is_refused(text: str, unit: str, near: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_quantity(text, unit)
    assert not near or caught.value.nearest == near


@pytest.mark.parametrize("unit", ForceUnit)
def test_a_force_is_told_in_the_unit_it_was_read_in(unit: ForceUnit) -> None:
    text = force_text(12.5 * FORCE_N[unit], unit)
    assert text == f"12.5 {unit.value}"
    assert force_unit_of(text) is unit
    assert parse_quantity(text, "N") == pytest.approx(12.5 * FORCE_N[unit])


# NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, upper critical values of Student's t.
NIST = {
    1: (3.078, 6.314, 12.706, 63.657), 2: (1.886, 2.920, 4.303, 9.925), 4: (1.533, 2.132, 2.776, 4.604),
    9: (1.383, 1.833, 2.262, 3.250), 29: (1.311, 1.699, 2.045, 2.756), 100: (1.290, 1.660, 1.984, 2.626),
}  # fmt: skip


@pytest.mark.parametrize("dof", NIST)
def test_t_is_that_of_a_printed_table(dof: int) -> None:
    for probability, value in zip((0.90, 0.95, 0.975, 0.995), NIST[dof], strict=True):
        assert t_quantile(probability, dof) == pytest.approx(value, abs=5.1e-4)


def test_t_is_that_of_scipy() -> None:
    for dof in (1, 2, 3, 5, 7.5, 12, 40, 200, 1e4):
        for probability in (0.001, 0.1, 0.5, 0.6, 0.975, 0.9995):
            ours = t_quantile(probability, dof)
            assert ours == pytest.approx(float(stats.t.ppf(probability, dof)), rel=1e-9, abs=1e-12)
            assert t_cdf(ours, dof) == pytest.approx(probability, abs=1e-12)
    for probability, dof in ((0.0, 3.0), (1.0, 3.0), (0.5, 0.0)):
        with pytest.raises(ValueError, match="0"):
            (t_quantile if dof else t_cdf)(probability, dof)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    chance = np.random.default_rng(3)
    held = 0
    for _ in range(1500):
        found = repeats([float(value) for value in chance.normal(1.05, 0.02, 4)])
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 1.05 <= found.high
    assert 0.935 <= held / 1500 <= 0.965

"""Distances along a track: feet, feet and inches, metres."""

from __future__ import annotations

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.foundation.units import LengthUnit, QuantityError, parse_distance, parse_length

UNITS: pint.UnitRegistry = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "mm", "worked"),
    [
        ("40 ft", 12192.0, "40 * 304.8"),
        ("40ft", 12192.0, "40 * 304.8"),
        ("45.5 feet", 13868.4, "45.5 * 304.8"),
        ("65 ft 7 in", 19989.8, "65 * 304.8 + 7 * 25.4: 787 inches"),
        ("65 ft. 7", 19989.8, "inches behind feet need no unit"),
        ("65' 7\"", 19989.8, "the same in marks"),
        ("65′ 7 1/2″", 20002.5, "787.5 * 25.4"),
        ("1 foot", 304.8, "one foot"),
        ("20 m", 20000.0, "20 * 1000"),
        ("18.288 m", 18288.0, "60 ft in metres"),
        ("20000", 20000.0, "the unit of the file"),
        ("20000 mm", 20000.0, "its own unit"),
        ("720 in", 18288.0, "720 * 25.4"),
    ],
)
def test_a_distance_worked_by_hand(text: str, mm: float, worked: str) -> None:
    assert parse_distance(text, LengthUnit.MM) == pytest.approx(mm, abs=1e-9), worked


@given(st.integers(0, 3000), st.integers(0, 11), st.sampled_from((0, 1, 3, 5, 7)))
def test_feet_and_inches_agree_with_another_library(feet: int, inches: int, eighths: int) -> None:
    # pint, which has the foot of the international agreement of 1959.
    want = (feet * UNITS.foot + (inches + eighths / 8) * UNITS.inch).to("mm").magnitude
    fraction = f" {eighths}/8" if eighths else ""
    text = f"{feet} ft {inches}{fraction} in"
    assert parse_distance(text, None) == pytest.approx(want, rel=1e-12, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "start", "piece"),
    [
        ("65 ft 12 in", 6, "does not go with the feet"),
        ("65 ft 7 mm", 6, "does not go with the feet"),
        ("65.5 ft 7 in", 8, "does not go with the feet"),
        ("65 ft -1 in", 6, "does not go with the feet"),
        ("65 ft seven", 6, "is not a length"),
        ("9999999 ft", 0, "too long to be a track"),
        ("2 km", 0, "is not a length"),
        ("40 fx", 0, "is not a length"),
        ("", 0, "nothing is written"),
    ],
)
def test_what_is_no_distance_is_told_at_its_place(text: str, start: int, piece: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_distance(text, LengthUnit.MM)
    assert piece in caught.value.message
    assert caught.value.start >= start
    assert caught.value.end <= len(text)


def test_a_length_on_a_car_is_never_in_feet() -> None:
    with pytest.raises(QuantityError, match="never in feet"):
        parse_length("40 ft", LengthUnit.MM)

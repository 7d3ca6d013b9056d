"""Words and columns: quantities as people write them, wrapping by width, sentences for every result."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.foundation.place import Place, View
from bodyshop.foundation.text.columns import clip, pad, printable, width_of, wrap
from bodyshop.foundation.units import LengthUnit
from bodyshop.output.words.verdict import (
    headline,
    measured_sentence,
    place_label,
    quantity,
    result_words,
    roughly,
)
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import CarResult
from tests.output.cars import changed, sample


@pytest.mark.parametrize(
    ("value", "kind", "unit", "text"),
    [
        (26.0, QuantityKind.LENGTH, LengthUnit.MM, "26.00 mm"),
        (-0.001, QuantityKind.LENGTH, LengthUnit.MM, "0.00 mm"),
        (26.0, QuantityKind.LENGTH, LengthUnit.CM, "2.600 cm"),
        # 1 5/8 in is 41.275 mm exactly (25.4 mm to the inch, ISO 80000-3).
        (41.275, QuantityKind.LENGTH, LengthUnit.IN, "1.625 in (1 5/8)"),
        (45.04, QuantityKind.MASS, LengthUnit.IN, "45.0 g"),
        (0.0524, QuantityKind.ANGLE, LengthUnit.MM, "3.0°"),
        (-1e-16, QuantityKind.ANGLE, LengthUnit.MM, "0.0°"),
        (2.0, QuantityKind.COUNT, LengthUnit.MM, "2"),
        (645.16, QuantityKind.AREA, LengthUnit.IN, "1.00 in²"),
        (250_000.0, QuantityKind.VOLUME, LengthUnit.MM, "250.00 cm³"),
    ],
)
def test_quantities(value: float, kind: QuantityKind, unit: LengthUnit, text: str) -> None:
    assert quantity(value, kind, unit) == text


def test_a_finger_on_the_car_knows_whole_mm() -> None:
    assert roughly(177.64, LengthUnit.MM) == "178 mm"
    assert roughly(177.64, LengthUnit.CM) == "178 mm"
    assert roughly(41.3, LengthUnit.IN) == "1 5/8 in"
    assert roughly(-0.2, LengthUnit.MM) == "0 mm"


def test_places_are_told_in_the_unit_of_the_design() -> None:
    place = Place(View.SIDE, ((254.0, 0.0, 0.0),), "left, x = 254.0 mm")
    assert place_label(place, LengthUnit.MM) == "left, x = 254.0 mm"
    assert place_label(place, LengthUnit.IN) == "left, x = 10.00 in"
    assert place_label(None, LengthUnit.IN) == ""


def test_a_rounded_figure_is_never_converted() -> None:
    # 262.4 mm is 10.331 in; the label's 262 mm would be 10.315 (25.4 mm to the inch, ISO 80000-3).
    place = Place(View.SIDE, ((100.0, 0.0, 0.0), (262.4, 0.0, 0.0)), "lowest at x = 262 mm")
    assert place_label(place, LengthUnit.IN) == "lowest at x = 10.33 in"
    # A figure that no point stands for stays as it is; one that is no rounded one is converted.
    place = Place(View.SIDE, ((1.0, 0.0, 0.0),), "at x = 262 mm, 12.7 mm of it not counted")
    assert place_label(place, LengthUnit.IN) == "at x = 262 mm, 0.50 in of it not counted"


def test_a_hole_of_52_mm_is_never_told_as_51_99(tmp_path: Path) -> None:
    checked = changed(tmp_path, "wren", ("depth = 52", "depth = 58"), rulebook="quarry-lane-inch")
    (verdict,) = (v for v in checked.judgement.failed if v.rule.measure == "bore.depth")
    # 58 mm is 2.2835 in, nearest 64th 2 9/32 in, which is 57.94 mm.
    assert measured_sentence(verdict, LengthUnit.MM).startswith("2 9/32 in (58.00 mm); ")


def test_every_place_of_an_inch_car_is_told_in_inches() -> None:
    checked = sample("dipper")
    places = [r.place for r in checked.readings.values() if isinstance(r, Reading) and r.place is not None]
    told = [place_label(place, LengthUnit.IN) for place in places]
    assert sum(" in" in text for text in told) > 10
    assert not [text for text in told if " mm" in text]


@pytest.fixture(scope="module")
def wren() -> Checked:
    return sample("wren")


@pytest.mark.parametrize(
    ("result", "show_only", "words"),
    [
        (CarResult.LEGAL, False, "passes"),
        (CarResult.POINTS_OFF, False, "points"),
        (CarResult.NEEDS_INSPECTOR, False, "cannot be judged"),
        (CarResult.PROBABLY_BROKEN, False, " is "),
        (CarResult.NOT_LEGAL, False, "does not pass"),
        (CarResult.NOT_LEGAL, True, "shown but not raced"),
    ],
)
def test_every_result_has_its_sentence(wren: Checked, result: CarResult, show_only: bool, words: str) -> None:
    judgement = replace(wren.judgement, result=result, show_only=show_only, points_off=2.0)
    checked = replace(wren, judgement=judgement)
    sentence = headline(checked)
    assert words in sentence
    assert sentence.startswith("Wren ")
    assert sentence.endswith(".")
    assert result is CarResult.PROBABLY_BROKEN or result_words(checked)  # this car is not outside anywhere


def test_all_results_are_told_apart(wren: Checked) -> None:
    told = {headline(replace(wren, judgement=replace(wren.judgement, result=result))) for result in CarResult}
    assert len(told) == len(CarResult)


# ---------------------------------------------------------------- columns

letters = st.text(alphabet="ab é車\u0301\t\x1b-", max_size=60)


@given(letters, st.integers(10, 40))
def test_wrapped_text_fits_and_loses_nothing(text: str, width: int) -> None:
    text = printable(text)
    lines = wrap(text, width, "> ", "  ")
    assert all(width_of(line) <= width for line in lines)
    assert "".join("".join(line[2:].split()) for line in lines) == "".join(text.split())


@given(letters, st.integers(4, 40))
def test_clipped_text_fits(text: str, width: int) -> None:
    text = printable(text)
    clipped = clip(text, width)
    assert width_of(clipped) <= width
    assert clipped == text or clipped.endswith("...")


@given(letters)
def test_printable_text_is_printable(text: str) -> None:
    assert printable(text).isprintable()


def test_widths() -> None:
    # Unicode Standard Annex 11: wide letters take two columns, combining marks none.
    assert width_of("abc") == 3
    assert width_of("車輪") == 4
    assert width_of("e\u0301") == 1
    assert pad("車", 4) == "車  "


def test_a_no_break_space_holds_words_together() -> None:
    assert wrap("aaaa bb\u00a0cc", 8) == ["aaaa", "bb cc"]

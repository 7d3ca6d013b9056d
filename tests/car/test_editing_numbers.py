"""One number of a design, changed by the search for remedies, by a hand on the bench and by what is tried."""

from __future__ import annotations

import pytest

from bodyshop.car.editing.numbers import Numbers, RefusedError
from bodyshop.car.editing.quantities import WorkedOut, quantities_of
from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import dotted, parse_source, read_source
from bodyshop.foundation.toml.splice import spliced_source
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.remedies.knobs import find_knobs

SAMPLES = sorted(samples_folder().glob("*.toml"))

TEXT = """\
units = "in"
[dimensions]
deck = "1 5/8"  # as the sketch has it
tail = "deck + 1/4"
[bore]
height = "deck - 1/2"
depth = '52 mm'
[blank]
stock = "larkfield-block"
[profile]
points = [[0, "tail"], [10.50, "deck + tail"], [3, "1/2 + 1/4"]]
"""


@pytest.mark.parametrize("file", SAMPLES, ids=lambda path: path.stem)
def test_three_ways_to_change_a_number_write_one_text(file) -> None:
    source = read_source(file)
    seen = 0
    for knob in find_knobs(source):
        (mark,) = knob.marks
        value = knob.value + knob.grids[0]
        text = mark.notation.text(value)
        by_search = spliced_source(source, {mark.path: text})
        tried = Numbers(source)
        tried.put_text(mark.path, text)
        assert tried.changed().whole == by_search.whole
        assert by_search.values == parse_source(by_search.text, "again").values
        if mark.notation.kind is QuantityKind.LENGTH:
            by_hand = Numbers(source)
            by_hand.put_typed(mark.path, text)
            assert by_hand.changed().whole == by_search.whole, dotted(mark.path)
            seen += 1
    assert seen > 10


def numbers() -> Numbers:
    return Numbers(parse_source(TEXT, "wren.toml"))


def test_a_length_that_rests_on_one_dimension_is_changed_through_it() -> None:
    at = numbers()
    before = numbers()
    at.put_typed(("bore", "height"), "1 1/4")
    assert at.texts == {("dimensions", "deck"): "1 3/4"}
    assert 'deck = "1 3/4"  # as the sketch has it' in at.changed().whole
    assert at.mm(("bore", "height")) == pytest.approx(1.25 * 25.4)
    # The tail and the point that has both follow.
    assert at.followers(before, [("bore", "height")]) == 2


@pytest.mark.parametrize(
    ("path", "why"),
    [
        (("profile", "points", 2, 1), "This is arithmetic"),
        (("profile", "points", 0, 9), "There is no"),
        (("blank", "wood"), "There is no"),
    ],
)
def test_what_cannot_be_changed_says_why(path, why: str) -> None:
    with pytest.raises(RefusedError, match=why):
        numbers().put_typed(path, "1")


def test_a_unit_of_its_own_stays_and_another_one_is_as_typed() -> None:
    at = numbers()
    at.put_typed(("bore", "depth"), "50 mm")
    assert "depth = '50 mm'" in at.changed().whole
    at.put_typed(("bore", "depth"), "2 in")
    assert "depth = '2 in'" in at.changed().whole
    at.put_typed(("profile", "points", 1, 0), "11")
    assert '[11.00, "deck + tail"]' in at.changed().whole


def test_a_text_put_where_the_file_says_nothing_is_a_value_alone() -> None:
    at = numbers()
    at.put_text(("edges", "round"), "3")
    at.put_text(("edges", "round"), "4.5")
    at.put_text(("bore", "tilt"), "2 deg")
    changed = at.changed()
    assert changed.whole == TEXT
    assert changed.values["edges"] == {"round": 4.5}
    assert changed.values["bore"] == {"height": "deck - 1/2", "depth": "52 mm", "tilt": "2 deg"}


@pytest.mark.parametrize(
    "path", [("profile",), ("profile", "points", 0), ("profile", "points", 7, 0), ("bore", "depth", "mm")]
)
def test_no_text_goes_where_a_table_or_a_list_is(path) -> None:
    with pytest.raises(RefusedError):
        numbers().put_text(path, "3")


def test_only_lengths_that_are_worked_out_move_with_a_dimension() -> None:
    source = parse_source(TEXT, "wren.toml")
    moved = WorkedOut(source.values, LengthUnit.IN).moved_mm(
        {**source.values, "dimensions": {"deck": 2, "tail": 3}}
    )
    assert set(moved) == {
        ("bore", "height"),
        ("profile", "points", 0, 1),
        ("profile", "points", 1, 1),
        ("profile", "points", 2, 1),
    }
    assert moved[("bore", "height")] == pytest.approx(0.375 * 25.4)
    assert moved[("profile", "points", 2, 1)] == 0.0
    kinds = {dotted(path): kind for path, _, kind in quantities_of(source.values)}
    assert kinds["bore.depth"] is QuantityKind.LENGTH
    assert "blank.stock" not in kinds

"""A wall over the first stretch of the cartridge hole, from the rulebook to the verdict."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.car.measures import Reading, catalogue
from bodyshop.rules.checking import check_car, open_car
from bodyshop.rules.rulebook import Outcome
from bodyshop.rules.rulebook.lint import lint_rulebook
from tests.car.hand_cases import car_from
from tests.rules.books import HEAD, INCH_HEAD, book_of, rule_text, write_book

FIRST = rule_text('first = "20 mm"\nmin = 9', measure="bore.wall_top")

# Dunlin's bore: 20 wide, its middle 22 up, its top at 32, from x = 240 in to x = 190. This roof falls from 44
# at the tail to 34 at x = 215, and runs level ahead of it.
ROOF = "[profile]\npoints = [[0, 0], [240, 0], [240, 44], [215, 34], [0, 34]]\n"


def test_the_first_stretch_worked_by_hand() -> None:
    car = car_from(ROOF)
    # The roof is the line from (215, 34) to (240, 44). Over the first 10 mm, to x = 230, the bore's end at
    # (230, 32) is nearest: |10 (230 - 215) - 25 (32 - 34)| / hypot(25, 10) = 200 / 26.926 = 7.428.
    first = catalogue()["bore.wall_top[first 10 mm]"].take(car)
    assert isinstance(first, Reading)
    assert first.value == pytest.approx(200 / 725**0.5, abs=1e-6)
    # Over all of it, the level roof is 34 - 32 = 2 above the bore.
    whole = catalogue()["bore.wall_top"].take(car)
    assert isinstance(whole, Reading)
    assert whole.value == pytest.approx(2.0, abs=1e-6)


def test_a_stretch_as_long_as_the_bore_is_all_of_it() -> None:
    car = car_from(ROOF)
    for name in ("bore.wall", "bore.wall_top", "bore.wall_bottom", "bore.wall_sides", "bore.wall_axle"):
        whole, long = catalogue()[name].take(car), catalogue()[f"{name}[first 50 mm]"].take(car)
        assert whole == long, name


def test_only_walls_of_the_bore_have_a_stretch() -> None:
    assert "bore.wall[first 20 mm]" in catalogue()
    for name in ("body.length[first 20 mm]", "bore.wall_blind_end[first 20 mm]", "bore.wall[first mm]"):
        assert name not in catalogue(), name
    # It is found by name, and is not one more measure of the list.
    assert all("[" not in name for name in catalogue())


def test_the_rule_says_its_stretch_in_the_books_unit(tmp_path: Path) -> None:
    rule = book_of(tmp_path, HEAD + FIRST).rules[0]
    assert (rule.measure, rule.first) == ("bore.wall_top[first 20 mm]", 20.0)
    assert rule.title == "wood over the cartridge hole, first 20 mm from the mouth"
    inches = (
        FIRST.replace('"20 mm"', '"3/4"')
        .replace("min = 9", 'min = "3/8"')
        .replace('reason = "Because."', 'reason = "Over the first {first} it is thin."')
    )
    rule = book_of(tmp_path, INCH_HEAD + inches).rules[0]
    assert rule.title == "wood over the cartridge hole, first 3/4 in from the mouth"
    assert rule.reason == "Over the first 3/4 in it is thin."
    assert rule.first == pytest.approx(19.05)


def test_a_car_is_judged_by_it(tmp_path: Path) -> None:
    write_book(tmp_path, 'format = 1\nname = "X"\ninherits = "quarry-lane"\n\n' + FIRST, "own.toml")
    wren = """
format = 1
name = "Wren"
bench = "Bench 2"
rulebook = "own.toml"
[blank]
wood = "basswood"
[profile]
points = [[0, 0], [260, 0], [260, 48], [225, 38], [120, 22], [0, 10]]
[plan]
points = [[0, 12], [40, 18.5], [260, 18.5]]
[bore]
diameter = 19.5
depth = 52
height = 25
[axles.front]
x = 50
height = 7
[axles.rear]
x = 218
height = 8
"""
    checked = check_car(open_car(write_book(tmp_path, wren, "wren.toml")))
    (verdict,) = [each for each in checked.judgement.verdicts if each.rule.clause == "X1"]
    assert verdict.outcome is Outcome.FAIL
    # Over the first 20 mm, to x = 240: from (240, 34.75) to the line from (225, 38) to (260, 48).
    assert verdict.value == pytest.approx((10 * 15 + 35 * 3.25) / 1325**0.5, abs=1e-6)
    assert checked.remedies["X1"].command


def test_lint_knows_that_a_stretch_is_no_thinner_than_the_whole(tmp_path: Path) -> None:
    whole = rule_text("min = 3", "W1", "bore.wall")
    stretch = rule_text('first = "20 mm"\nmin = 2.5', "W2", "bore.wall")
    (finding,) = lint_rulebook(write_book(tmp_path, HEAD + whole + stretch))
    assert finding.code == "lint-never-fails"
    closer = stretch.replace("2.5", "3.5")
    assert lint_rulebook(write_book(tmp_path, HEAD + whole + closer)) == ()

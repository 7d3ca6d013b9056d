"""What a student reads: each sentence whole, with the line, the number and what comes of it."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.output.words.remedies import conflict_sentences, fix_sentence, headline, side_sentences
from bodyshop.rules.checking import open_car
from bodyshop.rules.remedies import diff, fix_each, make_plan
from bodyshop.rules.remedies.model import Conflict, Fix
from tests.rules.cases import DESIGNS, changed, opened_with, rule


def fixed(path: Path, clause: str) -> Fix:
    (found,) = fix_each(open_car(path), clause=clause, seconds=None)
    assert isinstance(found, Fix)
    return found


@pytest.mark.parametrize(
    ("design", "change", "clause", "sentence"),
    [
        (
            "straight",
            ("depth = 52", "depth = 48"),
            "C2",
            (
                "line 27: bore.depth 48 → 51 drills the cartridge hole deeper"
                " so that the cartridge hole depth is 51.0 mm"
            ),
        ),
        (
            "straight",
            ("x = 218", "x = 152"),
            "A1",
            (
                "line 34: axles.rear.x 152 → 155 moves the rear axle towards the tail "
                "so that the wheelbase is 105.0 mm"
            ),
        ),
        (
            "named",
            ("half_width = 18.5", "half_width = 17"),
            "B3",
            (
                "line 14: dimensions.half_width 17 → 17.5 makes this dimension larger "
                "so that the body width at the front axle is 35.0 mm"
            ),
        ),
        (
            "tape",
            ("depth = 2\n", 'depth = "1 7/8"\n'),
            "C2",
            (
                "line 41: bore.depth 1 7/8 → 2 drills the cartridge hole deeper"
                " so that the cartridge hole depth is 2 in"
            ),
        ),
    ],
)
def test_a_change_in_a_sentence(
    tmp_path: Path, design: str, change: tuple[str, str], clause: str, sentence: str
) -> None:
    fix = fixed(changed(tmp_path, design, change), clause)
    told = fix_sentence(fix)
    assert told.partition(":")[2] == sentence.partition(":")[2]
    # The line is where the editor shows the number.
    line = int(told.partition(":")[0].removeprefix("line "))
    text = (tmp_path / f"{design}.toml").read_text(encoding="utf-8").splitlines()[line - 1]
    assert fix.edit.old_text in text


def test_wood_that_stays_and_what_would_just_do(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight")
    opened = opened_with(tmp_path, path, rule("W", "bore.wall_bottom", "min = 15.6"))
    (fix,) = fix_each(opened, seconds=None)
    assert isinstance(fix, Fix)
    assert (fix.edit.key, fix.edit.new_text) == ("bore.height", "25.5")
    assert fix_sentence(fix).endswith(
        " lifts the cartridge hole so that 15.8 mm of wood stays under the cartridge hole"
        " (25.3 is just enough)"
    )


def test_several_places_and_other_rules(tmp_path: Path) -> None:
    path = changed(
        tmp_path,
        "straight",
        ("[260, 0],\n  [260, 42]", "[312, 0],\n  [312, 42]"),
        ("[260, 18.5]", "[312, 18.5]"),
    )
    fix = fixed(path, "K1")
    assert fix_sentence(fix).startswith("lines 15, 16 and 23: x 312 → 305, in all 3 places, moves this end")
    assert "this also fixes B1 and B9" in side_sentences(fix) or "this also fixes B9 and B1" in (
        side_sentences(fix)
    )


def test_rules_that_pull_are_named(tmp_path: Path) -> None:
    rules = (
        rule("H", "bore.height_over_body", "min = 30")
        + rule("O", "bore.wall_top", "min = 3")
        + rule("D", "bore.diameter", "min = 19")
        + rule("B", "body.height", "max = 42")
    )
    plan = make_plan(opened_with(tmp_path, changed(tmp_path, "straight"), rules), seconds=None)
    first, *rest = conflict_sentences(plan.conflicts[0])
    assert first.startswith("no single change fixes it: ")
    assert first.endswith(" it would break O and B")
    assert "O" in first
    assert any(each.endswith("bore.height 25 → 30 would fix it, but breaks O") for each in rest)
    assert headline(plan, "Wren") == "Wren: no change fixes the broken rule."


def test_a_rule_that_no_number_reaches(tmp_path: Path) -> None:
    opened = opened_with(tmp_path, changed(tmp_path, "straight"), rule("E", "eyes.count", "count = 3"))
    (found,) = fix_each(opened, seconds=None)
    assert isinstance(found, Conflict)
    assert conflict_sentences(found) == ("no single number moves it far enough",)


def test_headlines(tmp_path: Path) -> None:
    whole = open_car(DESIGNS / "straight.toml")
    assert headline(make_plan(whole), "Wren") == "Wren breaks no rule: there is nothing to change."
    assert headline(make_plan(whole, clause="C2"), "Wren") == "Wren: C2 is met: there is nothing to change."
    assert (
        headline(make_plan(whole, clause="I1"), "Wren")
        == "Wren: I1 does not depend on a number of the drawing."
    )
    path = changed(tmp_path, "straight", ("depth = 52", "depth = 48"), ("diameter = 19.5", "diameter = 18.2"))
    plan = make_plan(open_car(path), seconds=None)
    assert headline(plan, "Wren") == "Wren: 2 changes would fix both broken rules."
    one = make_plan(open_car(path), clause="C2", seconds=None)
    assert headline(one, "Wren") == "Wren: 1 change would fix C2."


def test_the_difference_shows_the_numbers_and_their_neighbours(tmp_path: Path) -> None:
    plan = make_plan(open_car(changed(tmp_path, "straight", ("depth = 52", "depth = 48"))), seconds=None)
    lines = diff(plan).splitlines()
    assert lines[0] == f"--- {plan.source.name}"
    assert lines[1] == f"+++ {plan.source.name} (changed)"
    assert [line for line in lines[3:] if line[0] in "+-"] == ["-depth = 48", "+depth = 51"]

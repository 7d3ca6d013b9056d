"""A finished car under rules over several measures, for every wheel, and with edges decided."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml import read_source
from bodyshop.output.json.inspection import inspected_data
from bodyshop.output.terminal.inspection import inspected_text
from bodyshop.records.book.model import InspectedValue
from bodyshop.records.inspection import InspectedRow, InspectionResult, inspect, keep, read_words
from bodyshop.records.inspection.judging import verdict_word
from bodyshop.rules.checking import Checked, check_car, open_car
from bodyshop.rules.rulebook import Outcome, Verdict
from tests.documents import valid
from tests.records.trial_books import small_book
from tests.rules.books import write_book

RULES = """
format = 1
name = "Lane"
units = "mm"
inherits = "quarry-lane"

[reading]
doubt = "for the car"

[[rule]]
clause = "X1"
measure = ["front_wheel.width", "rear_wheel.width"]
min = 3
times = "wheel"
fails = ["points once", "no award"]
points = 2
most_points = 6
award = "design prize"
doubt = "fail"
reason = "Each wheel is at least {min} wide, or {points} points go, {most_points} at most."

[[rule]]
clause = "X2"
measure = "front_eye.behind_axle"
min = -12
max = -2
fails = "disqualify"
reason = "The front screw eye leads its axle."
"""


def lane(folder: Path) -> Checked:
    write_book(folder, RULES, "lane.toml")
    text = read_source(samples_folder() / "wren.toml").text.replace("quarry-lane", "lane.toml")
    return check_car(open_car(write_book(folder, text, "wren.toml")))


def found(checked: Checked, *words: str) -> InspectionResult:
    return inspect(checked, read_words(checked, words))


def row_of(inspected: InspectionResult, clause: str) -> InspectedRow:
    return next(row for row in inspected.rows if row.rule is not None and row.rule.clause == clause)


def verdict(inspected: InspectionResult, clause: str) -> Verdict:
    found = row_of(inspected, clause).verdict
    assert found is not None
    return found


def test_wheels_measured_apart_cost_one_by_one_worked_by_hand(tmp_path: Path) -> None:
    # Steps of 0.01 mm. Two of four wheels are under 3 mm: 2 * 2 points.
    one = found(lane(tmp_path), "X1=2.9mm@0.01mm;3.2mm@0.01mm;2.5mm@0.01mm;12mm@0.01mm")
    row = row_of(one, "X1")
    assert row.verdict is not None
    assert (row.verdict.points, row.verdict.rule.measure) == (4.0, "rear_wheel.width")
    assert row.measured is not None
    assert row.measured.value == 2.5
    assert "no design prize" in one.standing
    # The drawing's two values stand for two wheels each: all four are too narrow, and 6 is the most.
    assert verdict(found(lane(tmp_path), "X1=2;2"), "X1").points == 6.0


def test_an_edge_is_decided_as_the_clause_says_and_told(tmp_path: Path) -> None:
    checked = lane(tmp_path)
    # The wheels' clause fails what its gauge cannot tell from the limit; the book decides for the car.
    one = found(checked, "X1=3.05mm@0.1mm;12mm@0.1mm", "X2=-12.3mm@0.5mm")
    assert verdict(one, "X1").outcome is Outcome.FAIL
    assert verdict(one, "X2").outcome is Outcome.NEAR
    told = " ".join(inspected_text(one).split())
    assert "under this rulebook that fails: X1" in told
    assert "under this rulebook that passes: X2" in told
    # Outside by more than the step, it is outside.
    assert verdict(found(checked, "X2=-12.6mm@0.5mm"), "X2").outcome is Outcome.FAIL


def test_a_wheel_nobody_measured_leaves_the_clause_open(tmp_path: Path) -> None:
    checked = lane(tmp_path)
    one = found(checked, "front_wheel.width.left=2mm", "rear_wheel.width=12mm")
    row = row_of(one, "X1")
    assert (verdict(one, "X1").outcome, row.is_open) == (Outcome.FAIL, True)
    done = found(checked, "X1=2;3.5;12;12")
    assert not row_of(done, "X1").is_open
    assert verdict_word(row_of(done, "X1")) == "FAIL"


@pytest.mark.parametrize(
    ("word", "piece"),
    [
        ("X1=3", "X1 needs 2 values with ; between them, or 4, left and right of each"),
        ("X1=3;3;3", "X1 needs 2 values"),
        ("X1=3;thick", "thick"),
        ("body.length.left=3", "no clause and no measure"),
    ],
)
def test_a_number_of_values_that_makes_no_sense_is_told(tmp_path: Path, word: str, piece: str) -> None:
    checked = lane(tmp_path)
    with pytest.raises(ProblemsError) as caught:
        read_words(checked, [word])
    assert piece in " ".join(problem.sentence for problem in caught.value.problems)


def test_all_values_are_kept_and_the_data_follow_the_schema(tmp_path: Path) -> None:
    one = found(lane(tmp_path), "X1=2.9;3.2;12;11.5", "X2=-8")
    with small_book(tmp_path / "lane.trials") as book:
        entry = keep(book, "Wren", one)
        values = book.records(InspectedValue, inspection=entry.id)
    kept = {each.record.measure: each.record.value for each in values}
    assert kept == {
        "front_wheel.width.left": 2.9,
        "front_wheel.width.right": 3.2,
        "rear_wheel.width.left": 12.0,
        "rear_wheel.width.right": 11.5,
        "front_eye.behind_axle": -8.0,
    }
    data = valid(inspected_data(one))
    (row,) = [each for each in data["rows"] if each["clause"] == "X1"]
    assert [part["points"] for part in row["parts"]] == [2.0, 0.0, 0.0, 0.0]
    assert data["barred"] == ["design prize"]

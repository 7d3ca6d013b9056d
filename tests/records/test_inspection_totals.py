"""What an inspection adds up to, which rulebook judged, and what the drawing answers."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.output.json.inspection import inspected_data
from bodyshop.output.terminal.inspection import inspected_text
from bodyshop.records.inspection import InspectionResult, inspect, read_words
from bodyshop.records.inspection.judging import verdict_word
from bodyshop.rules.checking import Checked, RulebookCache, check_car, find_design, open_car
from bodyshop.rules.rulebook import CarResult, Outcome
from bodyshop.rules.rulebook.words import score_text
from tests.documents import valid
from tests.output.test_inspection_sheet import A4, squeezed, text_of
from tests.rules.books import HEAD, rule_text, write_book

RULES = (
    rule_text("max = 290\npoints = 2\nper = 1", fails="points per unit")
    + rule_text("min = 3", "X2", "bore.wall_top")
    + rule_text("min = 0", "X3", "blank.fit")
)


def judged(folder: Path, score: str = "", rules: str = RULES) -> Checked:
    path = write_book(folder, HEAD + rules + score)
    return check_car(open_car(find_design("kestrel")[0], shelf=RulebookCache(str(path))))


def found(checked: Checked, *words: str) -> InspectionResult:
    return inspect(checked, read_words(checked, words))


@pytest.mark.parametrize(
    ("score", "length", "passes", "told"),
    [
        ("[score]\nfull = 20\nleast = 16\n", "292mm@0.1mm", True, "16 of 20 points are left (4 points off)"),
        ("[score]\nfull = 20\nleast = 16\n", "293mm@0.1mm", False, "14 of 20 points are left (6 points off)"),
        ("[score]\nfull = 20\n", "293mm@0.1mm", True, "14 of 20 points are left (6 points off)"),
        ("", "293mm@0.1mm", True, "6 points off"),
        ("", "285mm@0.1mm", True, "0 points off"),
    ],
)
def test_an_inspection_ends_with_its_points(
    tmp_path: Path, score: str, length: str, passes: bool, told: str
) -> None:
    done = found(judged(tmp_path, score), f"X1={length}")
    last = " ".join(inspected_text(done, width=100).split("\n\n")[-1].split())
    assert last.startswith(f"Points: {told}")
    assert ("which is too few" in last) is not passes
    assert (done.judgement.result is not CarResult.NOT_LEGAL) is passes
    assert ("too few" in done.standing) is not passes


def test_the_points_of_an_inspection_that_is_not_done_are_so_far(tmp_path: Path) -> None:
    assert "Points so far: 0 points off." in inspected_text(found(judged(tmp_path)))


def test_the_json_of_an_inspection_holds_the_score_and_what_is_needed(tmp_path: Path) -> None:
    data = valid(
        inspected_data(found(judged(tmp_path, "[score]\nfull = 20\nleast = 16\n"), "X1=293mm@0.1mm"))
    )
    assert (data["points_off"], data["score"], data["full_score"], data["least_score"]) == (6, 14, 20, 16)
    data = valid(inspected_data(found(judged(tmp_path), "X1=293mm@0.1mm")))
    assert (data["points_off"], data["score"], data["full_score"], data["least_score"]) == (
        6,
        None,
        None,
        None,
    )


def test_a_disqualified_car_is_not_told_to_have_too_few_points(tmp_path: Path) -> None:
    checked = judged(
        tmp_path, "[score]\nfull = 20\nleast = 16\n", RULES + rule_text("max = 60", "X4", "body.width")
    )
    done = found(checked, "X1=293mm@0.1mm", "X4=70mm@0.1mm")
    assert done.standing == "not legal: fails X4, X1"


def test_what_a_finished_car_does_not_show_is_answered_by_the_drawing(tmp_path: Path) -> None:
    done = found(judged(tmp_path), "X1=285mm@0.1mm")
    words = {row.rule.clause: verdict_word(row) for row in done.rows if row.rule is not None}
    assert words == {"X1": "pass", "X2": "pass, from the drawing", "X3": "pass, from the drawing"}
    assert not done.open_rows
    assert done.passes
    assert "cannot measure these on a finished car: X2, X3." in " ".join(inspected_text(done).split())
    assert inspected_data(done).from_drawing == ("X2", "X3")


def test_a_wall_that_was_measured_all_the_same_is_judged_as_measured(tmp_path: Path) -> None:
    done = found(judged(tmp_path), "X2=2.5mm@0.1mm")
    row = done.rows[1]
    assert row.verdict is not None
    assert row.verdict.outcome is Outcome.FAIL
    assert not row.from_drawing
    assert [each.rule.clause for each in done.open_rows if each.rule] == ["X1"]


def test_a_wall_that_the_drawing_breaks_fails_the_finished_car(tmp_path: Path) -> None:
    done = found(judged(tmp_path, rules=rule_text("min = 15", "X2", "bore.wall_top")))
    assert verdict_word(done.rows[0]) == "FAIL, from the drawing"
    assert not done.passes


def test_an_inspection_names_the_rulebook_that_judged(tmp_path: Path) -> None:
    assert "Checked against Test (book)." in inspected_text(found(judged(tmp_path)))
    assert inspected_data(found(judged(tmp_path))).rulebook_name == "Test"


def test_the_filled_sheet_holds_the_sum_and_what_is_needed(tmp_path: Path) -> None:
    from bodyshop.output.papers.inspection_form.document import as_built_pdf

    done = found(judged(tmp_path, "[score]\nfull = 20\nleast = 16\n"), "X1=292mm@0.1mm")
    text = squeezed(text_of(as_built_pdf(done, A4)))
    assert squeezed("score: 20 less points off, least 16") in text
    assert squeezed("A car starts with 20 points and needs at least 16.") in text
    assert squeezed("not measured") in text
    without = squeezed(text_of(as_built_pdf(found(judged(tmp_path), "X1=292mm@0.1mm"), A4)))
    assert "lesspointsoff" not in without


def test_the_score_in_words_says_when_it_is_too_low(tmp_path: Path) -> None:
    rules = rule_text("max = 280\npoints = 2\nper = 1", fails="points per unit")
    few = judged(tmp_path, "[score]\nfull = 20\nleast = 16\n", rules).judgement
    assert (
        score_text(few)
        == "10 of 20 points are left (10 points off); at least 16 are needed, which is too few"
    )


def test_the_points_total_of_a_sheet_is_that_worked_by_hand(tmp_path: Path) -> None:
    """Worked by hand, as a scorer does on paper: common practice, no published source.

    Length 292.3 mm, at most 290: 2.3 mm over, 3 mm started, 2 points each          6
    Height 61.0 mm, at most 60: 1 mm over, 1 point for each full half millimetre    2
    Width 34.2 mm, at least 36: 1.8 mm under, nearest mm 2, 5 points each, 8 at most    8
    A crack is seen: 4 points, once                                              4
    Mass 52.0 g, at least 50                                                     0
                                                                        in all  20 of 50, 30 are left
    """
    rules = (
        rule_text("max = 290\npoints = 2\nper = 1", "L", fails="points per unit")
        + rule_text(
            'max = 60\npoints = 1\nper = 0.5\nrounding = "down"', "H", "body.height", "points per unit"
        )
        + rule_text(
            'min = 36\npoints = 5\nper = 1\nrounding = "nearest"\nmost_points = 8',
            "W",
            "body.width",
            "points per unit",
        )
        + '[[rule]]\nclause = "C"\nitem = "No cracks."\nfails = "points once"\npoints = 4\n'
        + 'reason = "It splits."\n\n'
        + rule_text("min = 50\npoints = 7", "M", "car.mass", "points once")
    )
    done = found(
        judged(tmp_path, "[score]\nfull = 50\nleast = 31\n", rules),
        "L=292.3mm@0.1mm",
        "H=61mm@0.1mm",
        "W=34.2mm@0.1mm",
        "C=no",
        "M=52g@0.1g",
    )
    each = {row.rule.clause: row.verdict.points for row in done.rows if row.rule and row.verdict}
    assert each == {"L": 6.0, "H": 2.0, "W": 8.0, "C": 4.0, "M": 0.0}
    assert (done.judgement.points_off, done.judgement.score) == (20.0, 30.0)
    assert done.judgement.result is CarResult.NOT_LEGAL  # 30 are fewer than the 31 that are needed

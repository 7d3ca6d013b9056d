"""What all verdicts come to in words; readings past a plane; the books that change and divide others."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from bodyshop.car.assembly import Car
from bodyshop.car.design import read_design
from bodyshop.car.measures import Reading, catalogue
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.place import Place, View
from bodyshop.foundation.toml import parse_source
from bodyshop.rules.rulebook import (
    BreachEffects,
    CarResult,
    Judgement,
    Limits,
    Rounding,
    Rule,
    Rulebook,
    Verdict,
    fails_text,
    find_rulebook,
    judge,
    points_text,
    read_rulebook,
    remedy,
    result_reason,
    result_text,
)
from tests.rules.books import HEAD, INCH_HEAD, book_of, rule_text

POINTS = 'points = 2\nper = "1 mm"'
SCORED = HEAD + "[score]\nfull = 20\nleast = 15\n\n"


@cache
def book(name: str, division: str = "") -> Rulebook:
    return read_rulebook(find_rulebook(name), division=division)


def rule_in(one: Rulebook, clause: str) -> Rule:
    (rule,) = [rule for rule in one.rules if rule.clause == clause]
    return rule


def judged(folder: Path, text: str, **values: float) -> Judgement:
    readings = {name.replace("_", ".", 1): Reading(value, None) for name, value in values.items()}
    return judge(book_of(folder, text), readings)


# ---------------------------------------------------------------- the whole car in words


def test_legal(tmp_path: Path) -> None:
    found = judged(tmp_path, HEAD + rule_text("max = 305"), body_length=305.0)
    assert (found.result, result_text(found), result_reason(found)) == (CarResult.LEGAL, "legal", "")


@pytest.mark.parametrize(
    ("length", "words"),
    [
        (305.04, "legal"),
        (305.1, "legal with 2 points off"),
        (306.0, "legal with 2 points off"),
        (306.1, "legal with 4 points off"),
        (310.0, "legal with 10 points off"),
    ],
)
def test_each_started_millimetre_costs(tmp_path: Path, length: float, words: str) -> None:
    text = HEAD + rule_text(f"max = 305\n{POINTS}", fails="points per unit")
    found = judged(tmp_path, text, body_length=length)
    assert result_text(found) == words
    assert result_reason(found) == ""


def test_not_legal_by_one_rule_and_by_two(tmp_path: Path) -> None:
    text = HEAD + rule_text("max = 305") + rule_text("max = 75", "X2", "car.height")
    one = judged(tmp_path, text, body_length=306.0, car_height=75.0)
    assert (result_text(one), result_reason(one)) == ("not legal", "1 rule is broken")
    two = judged(tmp_path, text, body_length=306.0, car_height=76.0)
    assert result_reason(two) == "2 rules are broken"


def test_show_only(tmp_path: Path) -> None:
    found = judged(tmp_path, HEAD + rule_text("max = 305", fails="show only"), body_length=306.0)
    assert (result_text(found), result_reason(found)) == ("not legal", "it may be shown, not raced")


def test_ballast_tells_how_much(tmp_path: Path) -> None:
    text = HEAD + rule_text('min = "45 g"', measure="car.mass", fails="ballast")
    found = judged(tmp_path, text, car_mass=41.8)
    assert (result_text(found), result_reason(found)) == (
        "not legal",
        "3.2 g of ballast would fix it",
    )


def test_a_score_below_the_least(tmp_path: Path) -> None:
    text = SCORED + rule_text(f"max = 305\n{POINTS}", fails="points per unit")
    low = judged(tmp_path, text, body_length=307.5)
    assert (low.points_off, low.score) == (6.0, 14.0)
    assert (result_text(low), result_reason(low)) == ("not legal", "14 points left of 20, and 15 are needed")
    enough = judged(tmp_path, text, body_length=306.5)
    assert (enough.score, result_text(enough)) == (16.0, "legal with 4 points off")


def test_needs_an_inspector(tmp_path: Path) -> None:
    found = judge(book_of(tmp_path, HEAD + rule_text("max = 305")), {})
    assert result_text(found) == "needs an inspector"
    assert result_reason(found) == "1 rule could not be checked on the drawing"


def test_every_result_has_its_words(tmp_path: Path) -> None:
    # The four of the brief, and no others.
    seen = set()
    for values in ({"body_length": 305.0}, {"body_length": 306.0}, {"body_length": 320.0}, {}):
        text = (
            HEAD
            + rule_text(f"max = 305\n{POINTS}", fails="points per unit")
            + rule_text("max = 315", "X2", fails="disqualify")
        )
        seen.add(result_text(judged(tmp_path, text, **values)))
    assert seen == {"legal", "legal with 2 points off", "not legal", "needs an inspector"}


# ---------------------------------------------------------------- one rule's consequence in words


@pytest.mark.parametrize(
    ("head", "body", "fails", "words"),
    [
        (HEAD, "max = 305", "disqualify", "disqualify"),
        (HEAD, "max = 305", "show only", "show only"),
        (HEAD, "max = 305", "advice", "advice"),
        (HEAD, "max = 305\npoints = 1", "points once", "1 point"),
        (HEAD, "max = 305\npoints = 2.5", "points once", "2.5 points"),
        (HEAD, "max = 305\npoints = 2\nper = 1", "points per unit", "2 points for each mm or part of it"),
        (HEAD, "max = 305\npoints = 2\nper = 5", "points per unit", "2 points for each 5 mm or part of it"),
        (
            HEAD,
            'max = 305\npoints = 2\nper = 1\nrounding = "down"',
            "points per unit",
            "2 points for each full mm",
        ),
        (
            INCH_HEAD,
            'max = 12\npoints = 2\nper = "1/16"\nrounding = "nearest"',
            "points per unit",
            "2 points for each 1/16 in",
        ),
    ],
)
def test_what_a_broken_rule_costs(tmp_path: Path, head: str, body: str, fails: str, words: str) -> None:
    (rule,) = book_of(tmp_path, head + rule_text(body, fails=fails)).rules
    assert fails_text(rule) == words


def test_what_too_little_mass_costs(tmp_path: Path) -> None:
    (rule,) = book_of(tmp_path, HEAD + rule_text("min = 45", measure="car.mass", fails="ballast")).rules
    assert fails_text(rule) == "ballast up to the limit"


def test_points_words() -> None:
    assert [points_text(n) for n in (0.5, 1.0, 2.0)] == ["0.5 points", "1 point", "2 points"]


# ---------------------------------------------------------------- past a plane

PAST = rule_text("past = 16\nmax = 40", measure="car.nose_overhang")


def past_verdict(folder: Path, value: float, place: Place | None = None) -> Verdict:
    (verdict,) = judge(book_of(folder, HEAD + PAST), {"car.nose_overhang": Reading(value, place)}).verdicts
    return verdict


@pytest.mark.parametrize(
    ("value", "over"), [(40.0, 0.0), (56.0, 0.0), (56.04, 0.0), (56.1, 0.1), (60.0, 4.0), (10.0, 0.0)]
)
def test_only_what_lies_past_the_plane_counts(tmp_path: Path, value: float, over: float) -> None:
    verdict = past_verdict(tmp_path, value)
    assert verdict.value == pytest.approx(value - 16.0)
    assert verdict.over == pytest.approx(over)


def test_the_title_tells_of_the_plane(tmp_path: Path) -> None:
    (rule,) = book_of(tmp_path, HEAD + PAST).rules
    assert (rule.title, rule.past) == ("nose overhang, past 16 mm", 16.0)
    (inch,) = book_of(
        tmp_path, INCH_HEAD + rule_text('past = "5/8"\nmax = 2', measure="car.nose_overhang")
    ).rules
    assert inch.title == "nose overhang, past 5/8 in"
    assert inch.past == pytest.approx(15.875)


def test_the_place_keeps_its_ends_and_says_what_is_not_counted(tmp_path: Path) -> None:
    ends = ((0.0, 0.0, 7.0), (60.0, 0.0, 7.0))
    found = past_verdict(tmp_path, 60.0, Place(View.SIDE, ends, "ahead of the front axle")).place
    assert found is not None
    assert found.points == ends
    assert found.label == "ahead of the front axle, 16 mm of it not counted"


def test_the_remedy_counts_from_the_plane_too(tmp_path: Path) -> None:
    text = (samples_folder() / "wren.toml").read_text(encoding="utf-8").replace("x = 50", "x = 60.3")
    design = read_design(parse_source(text, "car.toml"), book("quarry-lane").kit)
    one = book_of(tmp_path, HEAD + rule_text("past = 16\nmax = 40", measure="front_axle.from_nose"))
    measure = catalogue()["front_axle.from_nose"]
    (verdict,) = judge(one, {measure.id: measure.take(Car(design))}).verdicts
    found = remedy(verdict, measure, design)
    assert found is not None
    assert found.amount == pytest.approx(4.3)
    assert found.target == pytest.approx(40.0)
    # Wren's nose stands at 0, so the key of the axle is the very quantity: 56 less 16 is 40.
    assert found.drivers[0].new_text == "56"


def test_a_source_is_kept(tmp_path: Path) -> None:
    (rule,) = book_of(tmp_path, HEAD + rule_text('max = 305\nsource = "this year\'s sheet"')).rules
    assert rule.source == "this year's sheet"


# ---------------------------------------------------------------- the shipped books over others


def test_the_second_year_changes_three_limits_and_says_why() -> None:
    first, second = book("quarry-lane"), book("quarry-lane-2")
    assert [change.clause for change in second.changes] == ["B1", "B6", "M1"]
    assert all(len(change.because.split()) > 5 for change in second.changes)
    differ = [
        a.clause
        for a, b in zip(first.rules, second.rules, strict=True)
        if (a.limits, a.fails) != (b.limits, b.fails)
    ]
    assert differ == ["B1", "B6", "M1"]
    assert rule_in(second, "B1").limits == Limits(low=200.0, high=290.0)
    assert second.kit == first.kit
    assert second.parents == ("quarry-lane",)


def test_divisions_switch_limits() -> None:
    plain, beginner, open_ = (book("quarry-lane-league", name) for name in ("", "beginner", "open"))
    assert plain.divisions == ("beginner", "open")
    low = {one.division: rule_in(one, "B3").limits for one in (plain, beginner, open_)}
    assert low == {
        "": Limits(35.0, 42.0),
        "beginner": Limits(32.0, 42.0),
        "open": Limits(35.0, 42.0),
    }
    assert rule_in(plain, "B3").fails is BreachEffects.DISQUALIFY
    assert rule_in(beginner, "B3").fails is BreachEffects.POINTS_PER_UNIT
    assert rule_in(open_, "B2").limits == Limits(high=65.0)
    assert rule_in(open_, "M1").limits == Limits(low=48.0)
    assert rule_in(beginner, "M1").limits == Limits(low=55.0)
    assert "I4" not in [rule.clause for rule in beginner.rules]
    assert "L1" in [rule.clause for rule in open_.rules]
    assert rule_in(open_, "L1").rounding is Rounding.NEAREST


@pytest.mark.parametrize(("width", "points"), [(32.0, 0.0), (31.9, 2.0), (31.0, 2.0), (30.9, 4.0)])
def test_a_narrow_beginner_pays_in_points(width: float, points: float) -> None:
    found = judge(book("quarry-lane-league", "beginner"), {"front_axle.body_width": Reading(width, None)})
    (verdict,) = [v for v in found.verdicts if v.rule.clause == "B3"]
    assert verdict.points == points


def test_the_league_has_a_least_score() -> None:
    score = book("quarry-lane-league").score
    assert score is not None
    assert (score.full, score.least) == (100.0, 80.0)

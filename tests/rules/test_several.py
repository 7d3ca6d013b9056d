"""Rules over several measures, for every wheel, and with more than one consequence: cases worked by hand.

The arithmetic is in the comments; each figure is a sum of the readings above it.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.car.measures import NotKnown, Reading
from bodyshop.rules.rulebook import (
    BreachEffects,
    CarResult,
    CountedAs,
    Doubt,
    Judgement,
    Outcome,
    Verdict,
    fails_text,
    judge,
    result_text,
)
from bodyshop.rules.rulebook.lint import lint_rulebook
from tests.rules.books import HEAD, book_of, rule_text, write_book

WIDTHS = '[[rule]]\nclause = "W1"\nmeasure = ["front_wheel.width", "rear_wheel.width"]\nmin = 15\n'


def judged(folder: Path, text: str, steps: dict[str, float] | None = None, /, **values: float) -> Judgement:
    readings: dict[str, Reading | NotKnown] = {
        name.replace("__", "."): Reading(value, None) for name, value in values.items()
    }
    return judge(book_of(folder, HEAD + text), readings, steps)


def only(judgement: Judgement) -> Verdict:
    (verdict,) = judgement.verdicts
    return verdict


def widths(more: str) -> str:
    return WIDTHS + more + '\nreason = "Because."\n'


# ---------------------------------------------------------------- several measures


def test_the_worst_of_several_measures_counts_once_worked_by_hand(tmp_path: Path) -> None:
    text = widths('fails = "points per unit"\npoints = 2\nper = "1 mm"')
    judgement = judged(tmp_path, text, front_wheel__width=14.2, rear_wheel__width=12.6)
    verdict = only(judgement)
    # The rear wheel is 15 - 12.6 = 2.4 mm too narrow: three started mm, 6 points; the front one 0.8 mm.
    assert (verdict.rule.measure, verdict.points, verdict.over) == ("rear_wheel.width", 6.0, 2.4)
    assert [part.rule.measure for part in verdict.parts] == ["front_wheel.width", "rear_wheel.width"]
    assert judgement.points_off == 6.0


def test_each_of_several_measures_counts_worked_by_hand(tmp_path: Path) -> None:
    text = widths('together = "each"\nfails = "points per unit"\npoints = 2\nper = "1 mm"')
    verdict = only(judged(tmp_path, text, front_wheel__width=14.2, rear_wheel__width=12.6))
    # Front: 0.8 mm, one started mm, 2 points. Rear: three, 6 points.
    assert verdict.points == 2.0 + 6.0
    assert [part.points for part in verdict.parts] == [2.0, 6.0]


def test_points_count_for_every_wheel_worked_by_hand(tmp_path: Path) -> None:
    text = widths('times = "wheel"\nfails = "points per unit"\npoints = 2\nper = "1 mm"')
    book = book_of(tmp_path, HEAD + text)
    assert book.rules[0].together is CountedAs.EACH
    verdict = only(judged(tmp_path, text, front_wheel__width=14.2, rear_wheel__width=15.0))
    # Both front wheels are 0.8 mm too narrow: 2 points each. The rear ones are on the limit.
    assert verdict.points == 2 * 2.0
    assert fails_text(book.rules[0]) == "2 points for each mm or part of it for each wheel"


def test_wheels_measured_apart_count_one_by_one_worked_by_hand(tmp_path: Path) -> None:
    text = widths('times = "wheel"\nfails = "points once"\npoints = 5')
    readings = {
        "front_wheel.width.left": Reading(14.0, None),
        "front_wheel.width.right": Reading(15.0, None),
        "rear_wheel.width": Reading(14.0, None),
    }
    verdict = only(judge(book_of(tmp_path, HEAD + text), readings))
    # One front wheel, and both rear ones, which were given as one: 5 + 2 * 5.
    assert verdict.points == 15.0
    assert [part.times for part in verdict.parts] == [1, 1, 2]


def test_one_wheel_that_is_too_narrow_fails_a_rule_that_counts_once(tmp_path: Path) -> None:
    text = rule_text("min = 15", measure="front_wheel.width")
    readings = {
        "front_wheel.width.left": Reading(15.0, None),
        "front_wheel.width.right": Reading(14.8, None),
    }
    assert only(judge(book_of(tmp_path, HEAD + text), readings)).outcome is Outcome.FAIL
    readings["front_wheel.width.right"] = Reading(15.0, None)
    assert only(judge(book_of(tmp_path, HEAD + text), readings)).outcome is Outcome.PASS


def test_a_measure_that_is_not_known_keeps_the_whole_rule_open_unless_another_fails(tmp_path: Path) -> None:
    text = widths('fails = "disqualify"')
    book = book_of(tmp_path, HEAD + text)
    unknown = NotKnown("nobody looked")
    verdict = only(judge(book, {"front_wheel.width": unknown, "rear_wheel.width": Reading(20.0, None)}))
    assert verdict.outcome is Outcome.CANNOT_JUDGE
    verdict = only(judge(book, {"front_wheel.width": unknown, "rear_wheel.width": Reading(10.0, None)}))
    assert (verdict.outcome, verdict.rule.measure) == (Outcome.FAIL, "rear_wheel.width")
    gone = NotKnown("there is none", absent=True)
    verdict = only(judge(book, {"front_wheel.width": gone, "rear_wheel.width": Reading(20.0, None)}))
    assert verdict.outcome is Outcome.PASS


# ---------------------------------------------------------------- consequences


def test_points_are_capped_worked_by_hand(tmp_path: Path) -> None:
    text = rule_text('max = 305\npoints = 2\nper = "1 mm"\nmost_points = 15', fails="points per unit")
    # 3.0 mm too long: 6 points. 20 mm: 40 points, but 15 at most.
    assert judged(tmp_path, text, body__length=308.0).points_off == 6.0
    assert judged(tmp_path, text, body__length=325.0).points_off == 15.0
    assert fails_text(book_of(tmp_path, HEAD + text).rules[0]) == (
        "2 points for each mm or part of it, 15 points at most"
    )


def test_the_cap_is_on_all_measures_of_a_rule_together_worked_by_hand(tmp_path: Path) -> None:
    text = widths('times = "wheel"\nfails = "points once"\npoints = 5\nmost_points = 12')
    # Four wheels at 5 points are 20, and 12 are taken.
    assert judged(tmp_path, text, front_wheel__width=1.0, rear_wheel__width=1.0).points_off == 12.0


def test_points_and_an_award_barred_worked_by_hand(tmp_path: Path) -> None:
    text = rule_text("max = 305\npoints = 3").replace(
        'fails = "disqualify"', 'fails = ["no award", "points once"]\naward = "design prize"'
    )
    judgement = judged(tmp_path, text, body__length=306.0)
    assert (judgement.points_off, judgement.barred) == (3.0, ("design prize",))
    assert judgement.result is CarResult.POINTS_OFF
    assert result_text(judgement) == "legal with 3 points off and no design prize"
    assert only(judgement).rule.consequences == (BreachEffects.POINTS_ONCE, BreachEffects.NO_AWARD)
    assert fails_text(only(judgement).rule) == "3 points, and no design prize"
    # The counter-case: the rule met, nothing is barred.
    assert judged(tmp_path, text, body__length=305.0).barred == ()


def test_an_award_barred_alone_leaves_the_car_legal(tmp_path: Path) -> None:
    judgement = judged(tmp_path, rule_text("max = 305", fails="no award"), body__length=306.0)
    assert (judgement.result, judgement.passes) == (CarResult.LEGAL, False)
    assert result_text(judgement) == "legal, but no award"


def test_ballast_with_a_factor_worked_by_hand(tmp_path: Path) -> None:
    text = rule_text('min = "60 g"\nballast = "0.2 g"\nper = "0.1 g"', measure="car.mass", fails="ballast")
    # 60 - 58.7 = 1.3 g missing: thirteen tenths at 0.2 g are 2.6 g.
    judgement = judged(tmp_path, text, car__mass=58.7)
    assert judgement.ballast_g == pytest.approx(2.6)
    assert judgement.result is CarResult.NOT_LEGAL
    assert fails_text(only(judgement).rule) == "0.2 g of ballast for each 0.1 g or part of it"


def test_ballast_without_a_factor_lifts_the_car_to_the_limit_worked_by_hand(tmp_path: Path) -> None:
    text = rule_text('min = "60 g"', measure="car.mass", fails="ballast")
    assert judged(tmp_path, text, car__mass=58.7).ballast_g == pytest.approx(1.3)


def test_ballast_for_every_wheel_comes_on_top_worked_by_hand(tmp_path: Path) -> None:
    mass = rule_text('min = "60 g"', "M1", "car.mass", "ballast")
    wheels = widths('times = "wheel"\nfails = "ballast"\nballast = "0.5 g"\nper = "1 mm"')
    judgement = judged(
        tmp_path, mass + wheels, car__mass=58.0, front_wheel__width=13.0, rear_wheel__width=15.0
    )
    # 2 g up to the limit; both front wheels are 2 mm too narrow: 2 * 2 * 0.5 g on top.
    assert judgement.ballast_g == pytest.approx(2.0 + 2.0)


def test_a_division_may_change_what_a_broken_rule_costs(tmp_path: Path) -> None:
    first = (
        'format = 1\nname = "Test"\nunits = "mm"\ndivisions = ["open"]\n[reading]\nresolution = "0.1 mm"\n\n'
    )
    rule = rule_text('max = 305\npoints = 2\nper = "1 mm"\nmost_points = 8', fails="points per unit")
    change = (
        '[[change]]\nclause = "X1"\ndivision = "open"\nfails = ["points once", "no award"]\npoints = 4\n'
        'because = "Open cars lose a flat sum."\n'
    )
    beginner = book_of(tmp_path, first + rule + change).rules[0]
    opened = book_of(tmp_path, first + rule + change, "open").rules[0]
    assert fails_text(beginner) == "2 points for each mm or part of it, 8 points at most"
    # The cap and the unit of the old consequence mean nothing under the new one.
    assert fails_text(opened) == "4 points, and no award"


# ---------------------------------------------------------------- readings on the edge


@pytest.mark.parametrize(
    ("doubt", "value", "outcome", "points"),
    [
        ("open", 305.3, Outcome.TOO_CLOSE, 0.0),
        ("open", 304.8, Outcome.TOO_CLOSE, 0.0),
        ("for the car", 305.3, Outcome.NEAR, 0.0),
        ("for the car", 304.8, Outcome.NEAR, 0.0),
        ("for the car", 305.5, Outcome.FAIL, 2.0),
        ("fail", 305.3, Outcome.FAIL, 2.0),
        ("fail", 305.0, Outcome.FAIL, 2.0),
        ("fail", 304.8, Outcome.FAIL, 2.0),
        ("fail", 304.5, Outcome.PASS, 0.0),
    ],
)
def test_a_reading_within_the_step_is_decided_as_the_book_says_worked_by_hand(
    tmp_path: Path, doubt: str, value: float, outcome: Outcome, points: float
) -> None:
    # A ruler of 0.5 mm and a greatest length of 305 mm: it cannot tell from 304.5 to 305.5, both left out.
    text = rule_text(f'max = 305\npoints = 2\nper = "1 mm"\ndoubt = "{doubt}"', fails="points per unit")
    verdict = only(judged(tmp_path, text, {"body.length": 0.5}, body__length=value))
    assert (verdict.outcome, verdict.points) == (outcome, points)
    assert verdict.doubt == (doubt == "open")


def test_the_book_says_how_to_decide_and_a_clause_may_differ(tmp_path: Path) -> None:
    head = HEAD.replace("near = 0\n", 'near = 0\ndoubt = "for the car"\n')
    text = rule_text("max = 305") + rule_text('max = 40\ndoubt = "fail"', "X2", "body.width")
    book = book_of(tmp_path, head + text)
    assert [rule.doubt for rule in book.rules] == [Doubt.FOR_THE_CAR, Doubt.FAIL]
    # Without an instrument's step, on a drawing, there is nothing to decide.
    verdicts = judge(book, {"body.length": Reading(305.0, None), "body.width": Reading(40.0, None)}).verdicts
    assert {verdict.outcome for verdict in verdicts} == {Outcome.PASS}
    assert {verdict.decided for verdict in verdicts} == {None}


# ---------------------------------------------------------------- lint


def test_lint_sees_every_measure_of_a_rule(tmp_path: Path) -> None:
    text = rule_text("max = 200") + (
        '[[rule]]\nclause = "X2"\nmeasure = ["car.wheelbase", "eyes.spacing"]\nmin = 210\n'
        'fails = "disqualify"\nreason = "Because."\n'
    )
    codes = [finding.code for finding in lint_rulebook(write_book(tmp_path, HEAD + text))]
    assert codes == ["lint-conflict", "lint-conflict"]
    sound = [
        finding.code for finding in lint_rulebook(write_book(tmp_path, HEAD + text.replace("210", "90")))
    ]
    assert sound == []

"""The finished car judged as measured: the same rules, the instrument's step, the drawing beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.foundation.problems import ProblemsError
from bodyshop.output.json.inspection import inspected_data
from bodyshop.output.terminal.inspection import inspected_text
from bodyshop.records.book.model import Answer, EyesAnswer, InspectedValue, Inspection
from bodyshop.records.inspection import (
    DimensionChange,
    InspectedRow,
    InspectionResult,
    inspect,
    keep,
    past_inspections,
    read_values_csv,
    read_words,
)
from bodyshop.records.inspection.input import read_steps
from bodyshop.records.inspection.judging import odd_values, verdict_word
from bodyshop.rules.checking import Checked, RulebookCache, check_car, find_design, open_car
from bodyshop.rules.rulebook import CarResult, Outcome, judge
from tests.documents import valid
from tests.records.trial_books import small_book


@cache
def kestrel(rules: str = "quarry-lane") -> Checked:
    return check_car(open_car(find_design("kestrel")[0], shelf=RulebookCache(rules)))


def inspected(*words: str) -> InspectionResult:
    return inspect(kestrel(), read_words(kestrel(), words))


def row(found: InspectionResult, clause: str) -> InspectedRow:
    return next(each for each in found.rows if each.rule is not None and each.rule.clause == clause)


def as_drawn(changed: Sequence[str] = ()) -> list[str]:
    """Everything measured just as it is drawn, to a hundredth, and every item found in order."""
    words = {}
    for rule in kestrel().opened.rulebook.rules:
        designed = kestrel().readings.get(rule.measure)
        if rule.limits is None:
            words[rule.clause] = "yes"
        elif not rule.measure:
            words[rule.clause] = "0.2 mm" if rule.clause == "I7" else "12 mm"
        elif isinstance(designed, Reading):
            value = math.degrees(designed.value) if rule.kind is QuantityKind.ANGLE else designed.value
            step = "" if rule.kind is QuantityKind.COUNT else "@0.01"
            words[rule.clause] = f"{max(0.0, round(value, 6))!r}{step}"
    for each in changed:
        clause, _, told = each.partition("=")
        words[clause] = told
    return [f"{clause}={value}" for clause, value in words.items()]


def test_a_car_built_as_drawn_is_judged_as_the_drawing() -> None:
    found = inspected(*as_drawn())
    drawn = judge(kestrel().opened.rulebook, kestrel().readings)
    by_clause = {verdict.rule.clause: verdict for verdict in drawn.verdicts}
    for each in found.rows:
        assert each.rule is not None
        verdict = by_clause[each.rule.clause]
        assert each.verdict is not None
        if each.measured is not None and verdict.value is not None and not each.verdict.doubt:
            assert each.verdict.outcome is verdict.outcome or verdict.doubt
            assert each.change is DimensionChange.SAME
    # K1 and C3 are drawn on their very limit, or turned: all else is settled.
    assert {each.rule.clause for each in found.open_rows if each.rule} <= {"K1", "K2"}
    assert found.judgement.result is CarResult.LEGAL


def test_nothing_told_leaves_everything_open() -> None:
    found = inspected()
    assert not found.passes
    assert found.judgement.passes
    words = {verdict_word(each) for each in found.rows}
    assert words <= {"not measured", "not looked at", "none here", "pass, from the drawing"}
    assert "not done yet" in found.standing


@pytest.mark.parametrize(
    ("value", "word"),
    [
        # B3: 35 to 42 mm, disqualify. One step of the instrument on either side of a limit is too close.
        ("35.2mm@0.1mm", "near"),
        ("35.1mm@0.1mm", "near"),
        ("35.05mm@0.1mm", "too close to tell"),
        ("35mm@0.1mm", "too close to tell"),
        ("34.95mm@0.1mm", "too close to tell"),
        ("34.9mm@0.1mm", "FAIL"),
        ("34.8mm@0.1mm", "FAIL"),
        ("36mm@0.1mm", "pass"),
        ("36mm@2mm", "too close to tell"),
        ("33.5mm@2mm", "too close to tell"),
        ("42mm@0.5mm", "too close to tell"),
        ("42.6mm@0.5mm", "FAIL"),
        ("41.4mm@0.5mm", "pass"),
    ],
)
def test_a_value_within_a_step_of_a_limit_is_too_close_to_tell(value: str, word: str) -> None:
    found = inspected(f"B3={value}")
    assert verdict_word(row(found, "B3")) == word
    assert row(found, "B3").is_open is (word == "too close to tell")
    assert found.judgement.passes is (word != "FAIL")


def test_points_are_not_taken_for_what_is_too_close() -> None:
    # B1: at most 305 mm, 2 points for each mm or part of it.
    assert inspected("B1=305.3@0.5").judgement.points_off == 0.0
    assert inspected("B1=306.2@0.1").judgement.points_off == 4.0


def test_a_step_that_is_not_told_is_that_of_the_rulebook() -> None:
    assert row(inspected("B3=34.95"), "B3").measured.resolution == pytest.approx(0.1)  # type: ignore[union-attr]
    assert verdict_word(row(inspected("B3=34.95"), "B3")) == "too close to tell"


@pytest.mark.parametrize(
    ("word", "change", "by"),
    [
        ("B1=285.0@0.5", DimensionChange.SAME, 0.0),
        ("B1=285.5@0.5", DimensionChange.SAME, 0.5),
        ("B1=285.6@0.5", DimensionChange.GREW, 0.6),
        ("B1=284.4@0.5", DimensionChange.SHRANK, -0.6),
        ("B7=1", DimensionChange.SAME, 0.0),
    ],
)
def test_what_grew_or_shrank_is_told_beyond_the_step(word: str, change: DimensionChange, by: float) -> None:
    found = row(inspected(word), word.split("=", maxsplit=1)[0])
    assert found.change is change
    assert found.by == pytest.approx(by)


def test_a_mass_is_held_against_its_estimate() -> None:
    designed = kestrel().readings["car.mass"]
    assert isinstance(designed, Reading)
    assert designed.spread > 1.0
    near, far = designed.value + designed.spread, designed.value + 2.0 * designed.spread + 0.2
    assert row(inspected(f"M1={near:.1f}g@0.1g"), "M1").change is DimensionChange.SAME
    assert row(inspected(f"M1={far:.1f}g@0.1g"), "M1").change is DimensionChange.GREW


def test_what_eyes_saw_is_a_verdict() -> None:
    found = inspected("I1=yes", "I2=no", "I3=open", "I7=0.9mm", "I8=12")
    words = {clause: verdict_word(row(found, clause)) for clause in ("I1", "I2", "I3", "I4", "I7", "I8")}
    assert words == {
        "I1": "pass", "I2": "FAIL", "I3": "not looked at", "I4": "not looked at", "I7": "FAIL", "I8": "pass",
    }  # fmt: skip
    assert row(found, "I7").verdict.points == 5.0  # type: ignore[union-attr]
    assert found.judgement.result is CarResult.NOT_LEGAL


def test_a_measure_without_a_rule_is_held_against_the_drawing() -> None:
    assert "body.volume" not in {rule.measure for rule in kestrel().opened.rulebook.rules}
    found = inspected("body.volume=300000")
    (extra,) = [each for each in found.rows if each.rule is None]
    assert (extra.measure, extra.verdict, extra.change) == ("body.volume", None, DimensionChange.SHRANK) or (
        extra.change is DimensionChange.GREW
    )


def test_a_measure_and_its_clause_are_one_value() -> None:
    assert inspected("body.length=284").found == inspected("B1=284").found
    inspected("M1=120", "M2=120")
    with pytest.raises(ProblemsError) as caught:
        inspected("M1=120", "M2=121")
    assert caught.value.problems[0].code == "inspect-twice"


@pytest.mark.parametrize(
    ("word", "code", "near"),
    [
        ("B99=1", "inspect-name", "B9"),
        ("body.lenght=1", "inspect-name", "body.length"),
        ("B1", "inspect-word", ""),
        ("B1=long", "inspect-value", ""),
        ("B1=12 g", "inspect-value", ""),
        ("M1=12 mm", "inspect-value", ""),
        ("B1=-3", "inspect-value", ""),
        ("body.length=-3", "inspect-value", ""),
        ("M1=-1", "inspect-value", ""),
        ("B1=300@-1", "inspect-value", ""),
        ("B1=300@fine", "inspect-value", ""),
        ("B7=1.5", "inspect-value", ""),
        ("I1=perhaps", "inspect-answer", ""),
        ("I1=12 mm", "inspect-answer", ""),
    ],
)
def test_a_word_that_makes_no_sense_is_told(word: str, code: str, near: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        inspected(word)
    (problem,) = caught.value.problems
    assert problem.code == code
    assert not near or problem.nearest == near


@pytest.mark.parametrize(
    ("name", "value"), [("bore.lowest_over_track", -1.5), ("front_axle.wall", -0.4), ("blank.fit", -2.0)]
)
def test_only_what_can_lie_below_zero_is_taken_below_zero(name: str, value: float) -> None:
    assert inspected(f"{name}={value}").found.values[name].value == value
    with pytest.raises(ProblemsError) as caught:
        inspected(f"bore.depth={value}")
    assert caught.value.problems[0].code == "inspect-value"


def test_a_table_of_values_is_read(tmp_path: Path) -> None:
    table = (
        "clause;value;resolution;instrument;answer\n"
        "B1;284,5 mm;0,5 mm;steel rule;\n"
        "I1;;;;yes\n"
        "B2;;;;\n"
        "M1;124,4;0,1;balance 2;\n"
    )
    found = read_values_csv(kestrel(), table.encode(), "values.csv")
    assert {name: (each.value, each.resolution, each.instrument) for name, each in found.values.items()} == {
        "body.length": (284.5, 0.5, "steel rule"),
        "car.mass": (124.4, 0.1, "balance 2"),
    }
    assert found.answers == {"I1": Answer.YES}


def test_every_wrong_row_of_a_table_is_told() -> None:
    table = "clause,value,answer\nB1,long,\nB99,3,\nI1,,perhaps\nB2,50,yes\n,50,\n"
    with pytest.raises(ProblemsError) as caught:
        read_values_csv(kestrel(), table.encode(), "v.csv")
    places = [(each.span.line, each.span.column) for each in caught.value.problems if each.span is not None]
    assert places == [(2, 4), (3, 5), (4, 5), (5, 4), (6, 1)]
    with pytest.raises(ProblemsError) as caught:
        read_values_csv(kestrel(), b"clause,valu\nB1,3\n", "v.csv")
    assert caught.value.problems[0].nearest == "value"


def test_a_value_far_from_the_drawing_is_asked_about() -> None:
    assert odd_values(inspected("B1=284", "B3=36.5", "M1=120")) == ()
    (ask,) = odd_values(inspected("B1=30.45"))
    assert "30.45 measured, 285 on the drawing" in ask


def test_an_inspection_is_kept_whole_and_a_later_one_takes_nothing_away(tmp_path: Path) -> None:
    with small_book(tmp_path / "a.trials") as book:
        first = keep(book, "kestrel", inspected("B1=306.2@0.1", "I1=yes", "C3=2@0.5"), by="Bench 2")
        second = keep(book, "Kestrel", inspected("B1=304.0@0.1"))
        assert [each.entry.id for each in past_inspections(book, "Kestrel")] == [first.id, second.id]
        kept = book.records(InspectedValue, inspection=first.id)
        values = {each.record.measure: each.record for each in kept}
        assert values["body.length"] == InspectedValue(1, "body.length", 306.2, "mm", 0.1, "", 285.0)
        assert values["bore.angle"].value == pytest.approx(2.0)
        assert values["bore.angle"].unit == "deg"
        (answer,) = book.records(EyesAnswer)
        assert (answer.record.clause, answer.record.answer) == ("I1", Answer.YES)
        assert answer.record.item.startswith("The body is one piece")
        record = book.records(Inspection)[0].record
        assert (record.points_off, record.passes, record.rulebook) == (4.0, False, "quarry-lane")
        past = past_inspections(book, "Kestrel")
        assert (past[0].words["B1"], past[1].words["B1"]) == ("FAIL", "pass")
        told = inspected_text(inspected("B1=304.0@0.1", "I1=no"), past[:1])
        assert "B1 was FAIL, is pass" in " ".join(told.split())
        assert "I1 was pass, is FAIL" in " ".join(told.split())


def test_the_words_fit_the_page_and_call_nothing_safe() -> None:
    found = inspected(*as_drawn(["B1=306.2@0.1", "B3=35.0@0.5", "I1=no"]))
    for width in (60, 80, 100):
        text = inspected_text(found, width=width, full=True)
        assert max(len(line) for line in text.splitlines()) <= width
        assert " safe" not in text.casefold()
    text = inspected_text(found, full=True)
    assert "too close to tell" in text
    assert "grew 21.2 mm" in text


def test_the_json_tells_the_same() -> None:
    data = valid(inspected_data(inspected("B1=306.2@0.1", "C3=2@0.5", "I1=no", "body.volume=300000")))
    rows = {each["clause"]: each for each in data["rows"]}
    assert data["broken"] == ["I1", "B1"]
    assert rows["B1"]["measured"] == 306.2
    assert rows["B1"]["designed"] == pytest.approx(285.0)
    assert rows["B1"]["by"] == pytest.approx(21.2)
    assert (rows["B1"]["unit"], rows["B1"]["verdict"], rows["B1"]["points"]) == ("mm", "FAIL", 4.0)
    assert (rows["C3"]["unit"], rows["C3"]["measured"]) == ("deg", pytest.approx(2.0))
    assert rows["I1"]["answer"] == "no"
    assert set(data["open"]) == {each["clause"] for each in data["rows"] if each["open"]}


def test_a_tape_fraction_is_shown_as_it_was_read() -> None:
    checked = kestrel("quarry-lane-inch")
    found = inspect(checked, read_words(checked, ["B3=1 7/16 in@1/32 in", "B1=11.6"]))
    text = inspected_text(found)
    assert "1 7/16 in" in text
    assert "11.6 in" in text
    assert row(found, "B3").measured.resolution == pytest.approx(25.4 / 32)  # type: ignore[union-attr]


def test_advice_is_never_open_nor_broken() -> None:
    found = inspected("C16=1.0@0.1")  # at least 4 mm, advice
    assert row(found, "C16").verdict.outcome is Outcome.ADVICE  # type: ignore[union-attr]
    assert not row(found, "C16").is_open
    assert found.judgement.passes


def test_rules_of_points_alone_stay_as_they_are() -> None:
    found = inspected("B7=1")
    rule = row(found, "B7").rule
    assert rule is not None
    assert rule.limits is not None
    assert rule.limits.is_point
    assert verdict_word(row(found, "B7")) == "pass"
    assert replace(rule) == rule


def test_steps_of_instruments_are_read_in_one_place() -> None:
    steps = read_steps("0.5 mm", "-0.1g", "calliper 2")
    assert steps.by_kind == {QuantityKind.LENGTH: 0.5, QuantityKind.MASS: pytest.approx(0.1)}
    assert steps.instrument == "calliper 2"
    assert read_steps(" ", "").by_kind == {}
    for length, mass, found in (("wide", "", "wide"), ("", "5 mm", "5 mm")):
        with pytest.raises(ProblemsError, match="the instrument's step") as told:
            read_steps(length, mass)
        assert told.value.problems[0].found == found

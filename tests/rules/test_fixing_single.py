"""One broken rule: the smallest change mends it, breaks nothing, and touches nothing else in the file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pytest
from scipy.optimize import brentq

from bodyshop.car.assembly import Car
from bodyshop.car.design import read_design
from bodyshop.car.measures import NotKnown, Reading, catalogue
from bodyshop.foundation.toml import parse_source
from bodyshop.rules.checking import LoadedCar, open_car
from bodyshop.rules.remedies import Conflict, Fix, fix_each
from bodyshop.rules.remedies.accept import Goal, GoalSide, weigh
from bodyshop.rules.remedies.candidate import Baseline, Candidate, Clock
from bodyshop.rules.remedies.knobs import find_knobs
from bodyshop.rules.remedies.stage import PlanStage
from bodyshop.rules.rulebook import Outcome
from tests.rules.cases import (
    KIT,
    MET,
    assert_sound,
    changed,
    marked,
    opened_with,
    rule,
    text_after,
    value_at,
)


@dataclass(frozen=True)
class Case:
    """A sample with one number spoilt; the rule that breaks, and the change expected."""

    sample: str
    old: str
    new: str
    clause: str
    key: str
    written: str
    places: int = 1

    @property
    def id(self) -> str:
        return f"{self.sample}-{self.clause}"


CASES = [
    Case("curved", "depth = 52", "depth = 48", "C2", "bore.depth", "51"),
    Case("curved", "depth = 52", "depth = 55", "C2", "bore.depth", "53"),
    Case("curved", "diameter = 19.5", "diameter = 18.4", "C1", "bore.diameter", "19"),
    Case("curved", "behind = 10", "behind = 10\noffset = 2.25", "S5", "screw_eye[0].offset", "1"),
    Case("curved", "x = 55", "x = 8.5", "A6", "axles.front.x", "9"),
    Case("straight", "x = 218", "x = 152", "A1", "axles.rear.x", "155"),
    Case("straight", "ahead = 8", "ahead = 13", "S2", "screw_eye[1].ahead", "10"),
    Case("named", "half_width = 18.5", "half_width = 17", "B3", "dimensions.half_width", "17.5"),
    Case("named", "length = 272", "length = 308", "B1", "dimensions.length", "305"),
    Case("tape", "depth = 2\n", 'depth = "1 7/8"\n', "C2", "bore.depth", "2"),
]


def find(opened: LoadedCar, clause: str) -> Fix | Conflict:
    found = fix_each(opened, clause=clause, seconds=None)
    assert len(found) == 1, f"{clause} is not broken"
    return found[0]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.id)
def test_the_rule_passes_and_nothing_else_changes(tmp_path: Path, case: Case) -> None:
    opened = open_car(changed(tmp_path, case.sample, (case.old, case.new)))
    fix = find(opened, case.clause)
    assert isinstance(fix, Fix)
    assert fix.edit.key == case.key
    if case.written:
        assert fix.edit.new_text == case.written
    text = text_after(opened, fix)
    assert_sound(opened, text, [case.clause])
    source = opened.source.text
    assert marked(text, fix.edits, new=True) == marked(source, fix.edits, new=False)
    # The span told is that of the number told.
    line = source.splitlines()[fix.edit.span.line - 1]
    assert line[fix.edit.span.column - 1 : fix.edit.span.end_column - 1].strip("\"'") == fix.edit.old_text
    assert value_at(text, fix.edit.path) == fix.edit.value
    assert fix.moved_mm >= fix.least_mm > 0.0
    assert not _passes_a_step_short(opened, fix)


def _passes_a_step_short(opened: LoadedCar, fix: Fix) -> bool:
    """Whether the rule passes one step of the search's grid before the least change that was found."""
    ground = PlanStage.first(opened, Clock(None)).ground
    knob = {knob.key: knob for knob in find_knobs(opened.source)}[fix.edit.key]
    far = Fraction(fix.least_mm / knob.mm_per_unit).limit_denominator(6400) - knob.grids[1]
    trial = ground.trial(knob.changes(knob.value + (far if fix.edit.rises else -far)))
    outcomes = {v.rule.clause: v.outcome for v in trial.judgement.verdicts}
    return outcomes[fix.rule.clause] in MET


def test_a_length_that_stands_in_several_places_is_changed_in_all(tmp_path: Path) -> None:
    # This car says its tail in three points.
    path = changed(
        tmp_path,
        "straight",
        ("[260, 0],\n  [260, 42]", "[312, 0],\n  [312, 42]"),
        ("[260, 18.5]", "[312, 18.5]"),
    )
    opened = open_car(path)
    fix = find(opened, "K1")
    assert isinstance(fix, Fix)
    assert [edit.key for edit in fix.edits] == [
        "profile.points[1][0]",
        "profile.points[2][0]",
        "plan.points[2][0]",
    ]
    assert {edit.new_text for edit in fix.edits} == {"305"}
    assert set(fix.cleared) == {"K1", "B1", "B9"}
    assert not fix.warnings
    assert_sound(opened, text_after(opened, fix), fix.cleared)


def test_fractions_stay_fractions(tmp_path: Path) -> None:
    path = changed(tmp_path, "tape", ('x = "9 1/8"', "x = 4"), ("x = 2\n", 'x = "7/8"\n'))
    opened = open_car(path)
    fixes = [fix for fix in fix_each(opened, seconds=None) if isinstance(fix, Fix)]
    assert fixes
    for fix in fixes:
        for edit in fix.edits:
            text = edit.new_text.split()
            assert all(part.isdigit() or "/" in part for part in text), edit.new_text
            assert edit.new.denominator in (1, 2, 4, 8, 16, 32, 64)
        assert_sound(opened, text_after(opened, fix), fix.cleared)


def test_no_smaller_single_change_passes(tmp_path: Path) -> None:
    # By brute force over every number of the file and every tenth of a millimetre up to the one found.
    opened = open_car(changed(tmp_path, "straight", ("[260, 18.5]", "[260, 17]")))
    fix = find(opened, "B4")
    assert isinstance(fix, Fix)
    assert len(fix.edits) == 1
    ground = PlanStage.first(opened, Clock(None)).ground
    kept = {v.rule.clause for v in ground.judgement.verdicts if v.outcome is not Outcome.FAIL}
    tenth = Fraction(1, 10)
    for knob in find_knobs(opened.source):
        for steps in range(1, round(fix.least_mm * 10)):
            for way in (1, -1):
                trial = ground.trial(knob.changes(knob.value + way * steps * tenth))
                assert not _passes(trial, "B4", kept), (knob.key, way * steps)


def _passes(trial: Candidate, clause: str, kept: set[str]) -> bool:
    if trial.faults:
        return False
    outcomes = {v.rule.clause: v.outcome for v in trial.judgement.verdicts}
    return outcomes[clause] in MET and all(outcomes[each] is not Outcome.FAIL for each in kept)


def test_the_least_move_is_where_a_root_finder_sees_the_limit(tmp_path: Path) -> None:
    # scipy's brentq finds the same limit on the measure itself, without the rounding of the rulebook.
    opened = open_car(changed(tmp_path, "curved", ("[160, 12.5]", "[160, 5.1]")))
    fix = find(opened, "B5")
    assert isinstance(fix, Fix)
    assert len(fix.edits) == 1
    take = catalogue()["body.least_width"].take
    low = fix.before.rule.limits
    assert low is not None
    assert low.low is not None

    def gap(value: float) -> float:
        text = opened.source.text.replace("[160, 5.1]", f"[160, {value!r}]")
        reading = take(Car(read_design(parse_source(text, "t"), opened.rulebook.kit)))
        assert isinstance(reading, Reading)
        return reading.value - (low.low or 0.0)

    assert fix.edit.key == "plan.points[4].to[1]"
    root = brentq(gap, 5.1, 9.0, xtol=1e-4)
    assert 5.1 + fix.least_mm == pytest.approx(root, abs=0.1)


def test_counts_and_angles(tmp_path: Path) -> None:
    path = changed(
        tmp_path,
        "straight",
        ("x = 50\n", "x = 50\nwashers = 4\n"),
        ("height = 25\n", "height = 25\nangle = 5\n"),
    )
    rules = rule("W", "front_wheel.gap", "max = 43") + rule("T", "bore.angle_to_underside", 'max = "3 deg"')
    opened = opened_with(tmp_path, path, rules)
    washers, angle = find(opened, "W"), find(opened, "T")
    assert isinstance(angle, Fix)
    assert (angle.edit.key, angle.edit.new_text, angle.moved_mm) == ("bore.angle", "3", 2.0)
    assert isinstance(washers, Fix)
    assert_sound(opened, text_after(opened, washers), ["W"])
    assert_sound(opened, text_after(opened, angle), ["T"])


def test_limits_between_two_marks_are_met_on_a_finer_grid(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight")
    fine = KIT.replace('resolution = "0.1 mm"', 'resolution = "0.01 mm"')
    opened = opened_with(tmp_path, path, rule("E", "bore.depth", "exact = 52.34"), fine)
    fix = find(opened, "E")
    assert isinstance(fix, Fix)
    assert (fix.edit.key, fix.edit.new_text) == ("bore.depth", "52.34")
    assert_sound(opened, text_after(opened, fix), ["E"])


def test_an_inch_rule_and_a_mm_design(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight", ("depth = 52", "depth = 50"))
    opened = opened_with(tmp_path, path, rule("D", "bore.depth", 'min = "2 1/16 in"'))
    fix = find(opened, "D")
    assert isinstance(fix, Fix)
    # 2 1/16 in are 52.3875 mm; a tenth is what the book reads to.
    assert fix.edit.new_text == "52.5"
    assert fix.least_mm == pytest.approx(2.4)


def test_advice_is_seen_to_when_it_is_asked_for(tmp_path: Path) -> None:
    path = changed(tmp_path, "straight", ("behind = 8", "behind = 27"))
    opened = opened_with(tmp_path, path, rule("S", "front_eye.from_axle", "max = 25", "advice"))
    assert fix_each(opened, seconds=None) == ()
    fix = find(opened, "S")
    assert isinstance(fix, Fix)
    assert (fix.edit.key, fix.edit.new_text) == ("screw_eye[0].behind", "25")


def test_what_is_bought_comes_last(tmp_path: Path) -> None:
    # The block is 2 mm too short. Shortening the car by three numbers comes before buying another block.
    path = changed(
        tmp_path,
        "straight",
        ('wood = "basswood"', 'wood = "basswood"\nlength = 258\nwidth = 44\nheight = 50'),
    )
    fix = find(open_car(path), "K1")
    assert isinstance(fix, Fix)
    assert fix.edit.path[0] == "profile"
    assert len(fix.edits) == 3
    assert {edit.new_text for edit in fix.edits} == {"258"}


def test_what_makes_a_rule_unjudgeable_is_no_cure(tmp_path: Path) -> None:
    opened = open_car(changed(tmp_path, "curved", ("depth = 52", "depth = 48")))
    stage = PlanStage.first(opened, Clock(None))
    ground, trial = stage.ground, stage.ground.trial({("bore", "depth"): 51})
    assert weigh(ground, trial, "C2").allowed
    judgement, blind = trial.judgement, SimpleNamespace()
    for of in ("C2", "C1"):
        # The very same change, but another rule (or the rule itself) can be judged no longer.
        lost = [
            replace(v, outcome=Outcome.CANNOT_JUDGE, value=None, side=None) if v.rule.clause == of else v
            for v in trial.judgement.verdicts
        ]
        judgement = replace(trial.judgement, verdicts=tuple(lost))
        blind = SimpleNamespace(design=trial.design, faults=(), judgement=judgement)
        assert weigh(ground, cast(Candidate, blind), "C2").breaks == (() if of == "C2" else ("C1",))
    # What was not judged before is not broken by staying so.
    before = SimpleNamespace(warned=ground.warned, judgement=judgement)
    assert weigh(cast(Baseline, before), cast(Candidate, blind), "C2").breaks == ()
    broken = {v.rule.clause: v for v in ground.judgement.verdicts}["C2"]
    goal = Goal(broken, opened.rulebook)
    assert goal.hit(NotKnown("nothing there to measure")) is GoalSide.LOST
    assert goal.gap(NotKnown("nothing there to measure")) is None


def test_side_effects_are_told(tmp_path: Path) -> None:
    opened = open_car(changed(tmp_path, "named", ("half_width = 18.5", "half_width = 17")))
    fix = find(opened, "B3")
    assert isinstance(fix, Fix)
    moved = {effect.rule.clause: effect for effect in fix.effects}
    assert moved["B4"].is_better
    assert "B4" in fix.cleared
    assert moved["M1"].after.value > moved["M1"].before.value  # type: ignore[operator]
    assert "C2" not in moved


def test_a_measure_that_jumps(tmp_path: Path) -> None:
    # The hood has one hollow corner, and no small move changes how many there are.
    path = changed(tmp_path, "straight")
    opened = opened_with(tmp_path, path, rule("H", "body.hollow_corners", "max = 0"))
    fix = find(opened, "H")
    assert isinstance(fix, Fix)
    assert_sound(opened, text_after(opened, fix), ["H"])

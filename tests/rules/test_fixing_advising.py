"""Several broken rules at once: what pulls both ways, in which order it is mended, what mends most."""

from __future__ import annotations

import pytest

from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.output.terminal.verdict import terminal_report
from bodyshop.output.words.hints import hints_of
from bodyshop.rules.checking import check_car, open_car
from bodyshop.rules.remedies import Opposed, best_single, opposed
from bodyshop.rules.remedies.candidate import Clock
from bodyshop.rules.remedies.stage import PlanStage

LAPWING = samples_folder() / "lapwing.toml"


@pytest.fixture(scope="module")
def pulls() -> tuple[Opposed, ...]:
    return opposed(open_car(LAPWING))


def test_a_hole_that_is_too_low_and_too_near_the_deck_is_told_once(pulls: tuple[Opposed, ...]) -> None:
    (hole,) = (each for each in pulls if each.number == ("bore", "height"))
    assert (hole.up, hole.down) == (("C4", "C6"), ("C7",))
    clauses = [clause for each in pulls for clause in each.clauses]
    assert len(clauses) == len(set(clauses))


def test_the_order_that_is_told_works(pulls: tuple[Opposed, ...]) -> None:
    (hole,) = (each for each in pulls if each.number == ("bore", "height"))
    assert hole.steps
    stage = PlanStage.first(open_car(LAPWING), Clock(None))
    for step in hole.steps:
        before = {verdict.rule.clause for verdict in stage.broken()}
        stage = stage.after(step.edits)
        assert {verdict.rule.clause for verdict in stage.broken()} <= before
    assert not {verdict.rule.clause for verdict in stage.broken()} & set(hole.clauses)


def test_the_one_change_mends_more_than_one_rule_and_breaks_none() -> None:
    opened = open_car(LAPWING)
    best = best_single(opened)
    assert best is not None
    stage = PlanStage.first(opened, Clock(None))
    before = {verdict.rule.clause for verdict in stage.broken()}
    after = {verdict.rule.clause for verdict in stage.after(best.edits).broken()}
    assert after < before
    assert before - after == set(best.cleared)
    assert len(best.cleared) > 1


def test_only_cars_that_break_several_rules_get_hints() -> None:
    assert hints_of(check_car(open_car(samples_folder() / "wren.toml"))).together == ()
    assert best_single(open_car(samples_folder() / "wren.toml")) is None


def test_the_page_tells_them_together_instead_of_each_remedy() -> None:
    checked = check_car(open_car(LAPWING))
    told = " ".join(terminal_report(checked, hints=hints_of(checked), full=True).split())
    pulled = "C4, C6, C7 C4 and C6 need a larger bore.height, C7 needs a smaller one. First: line"
    assert f"These pull against each other: {pulled}" in told
    assert "This works against C4, C6: see below for the order to follow." in told
    assert "Raise the cartridge hole" not in told
    assert "The one change that fixes most" in told

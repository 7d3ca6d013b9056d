"""The shop's advice as a rulebook: its blades against the table of blades, and what it says of cars."""

from __future__ import annotations

from functools import cache

import pint
import pytest

from bodyshop.car.measures import Reading
from bodyshop.car.stock.blades import blades
from bodyshop.car.stock.cautions import Operation
from bodyshop.rules.checking import Checked, RulebookCache, check_car, find_design, open_car
from bodyshop.rules.rulebook import (
    BreachEffects,
    Outcome,
    Rule,
    Rulebook,
    find_rulebook,
    judge,
    read_rulebook,
    result_text,
)

UNITS: pint.UnitRegistry = pint.UnitRegistry()

# The largest radius that three published tables (two bandsaw manuals and a blade guide) print for a blade, in
# inches, as read; pint makes millimetres of it.
PUBLISHED = {
    "bandsaw-1-8": "3/16",
    "bandsaw-3-16": "3/8",
    "bandsaw-1-4": "5/8",
    "bandsaw-3-8": "3/2",
    "bandsaw-1-2": "5/2",
}


@cache
def book(division: str = "") -> Rulebook:
    return read_rulebook(find_rulebook("shop-bandsaw"), division=division)


@cache
def checked(design: str, division: str = "") -> Checked:
    return check_car(open_car(find_design(design)[0], shelf=RulebookCache("shop-bandsaw", division)))


def rule_of(clause: str, division: str = "") -> Rule:
    (rule,) = [rule for rule in book(division).rules if rule.clause == clause]
    return rule


def least_radius(division: str) -> float:
    limits = rule_of("SB1", division).limits
    assert limits is not None
    assert limits.low is not None
    return limits.low


@pytest.mark.parametrize("blade", PUBLISHED)
def test_the_radius_is_the_published_one_and_that_of_the_table(blade: str) -> None:
    published: float = UNITS.Quantity(f"({PUBLISHED[blade]}) * inch").to("mm").magnitude
    assert least_radius(blade) == pytest.approx(published, abs=0.05)
    assert least_radius(blade) == blades()[blade].least_radius_mm


def test_every_division_is_a_blade_of_the_table_and_its_title_tells_which() -> None:
    assert len(book().divisions) == 6
    for division in book().divisions:
        assert least_radius(division) == blades()[division].least_radius_mm
        width = blades()[division].label.removeprefix("bandsaw blade, ").split(" ")[0]
        title = rule_of("SB1", division).title
        assert width in title or division == "scroll-saw"
    assert least_radius("") == least_radius("bandsaw-1-4")


def test_all_of_it_is_advice_and_says_where_its_figures_come_from() -> None:
    assert book().only_advises
    for division in ("", *book().divisions):
        for rule in book(division).rules:
            assert rule.fails is BreachEffects.ADVICE
            assert len(rule.source.split()) >= 1, rule.clause
            assert rule.reason.endswith(".")
            assert bool(rule.instruction) == rule.by_inspector
    text = find_rulebook("shop-bandsaw").read_text(encoding="utf-8")
    assert "safe" not in text.casefold()
    assert text.count("common practice, no published source") >= 6


def test_the_machines_have_their_cautions() -> None:
    assert {Operation.WORKSHOP, Operation.DRILL_PRESS, Operation.BANDSAW} <= set(book().cautions)
    assert Operation.CARTRIDGE not in book().cautions


@pytest.mark.parametrize(
    ("radius", "division", "outcome"),
    [
        (15.9, "", Outcome.PASS),
        (15.8, "", Outcome.ADVICE),
        (15.8, "bandsaw-1-8", Outcome.PASS),
        (4.7, "bandsaw-1-8", Outcome.ADVICE),
        (4.7, "scroll-saw", Outcome.PASS),
        (40.0, "bandsaw-3-8", Outcome.PASS),
        (40.0, "bandsaw-1-2", Outcome.ADVICE),
    ],
)
def test_curves_and_blades(radius: float, division: str, outcome: Outcome) -> None:
    judged = judge(book(division), {"body.least_hollow_radius": Reading(radius, None)})
    (verdict,) = [each for each in judged.verdicts if each.rule.clause == "SB1"]
    assert verdict.outcome is outcome


def test_no_car_is_put_out_by_advice() -> None:
    for design in ("wren", "heron", "lapwing"):
        judged = checked(design).judgement
        assert judged.passes
        assert "legal" not in result_text(judged)
    assert result_text(checked("heron").judgement) == "advice on 1 point"
    assert len(checked("lapwing").judgement.having(Outcome.ADVICE)) > 2


def test_a_wide_blade_is_advised_against_where_the_car_curves_tightly() -> None:
    # Heron's tightest inside curve has the 40 mm of its file.
    assert "SB1" not in {
        v.rule.clause for v in checked("heron", "bandsaw-3-8").judgement.having(Outcome.ADVICE)
    }
    assert "SB1" in {v.rule.clause for v in checked("heron", "bandsaw-1-2").judgement.having(Outcome.ADVICE)}

"""The rulebooks that come with the program: their limits at, just inside and just outside; their words."""

from __future__ import annotations

import tomllib
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path

import pint
import pytest

from bodyshop.car.measures import QuantityKind, Reading, catalogue
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.rulebook import (
    BreachEffects,
    Outcome,
    Rule,
    Rulebook,
    find_rulebook,
    judge,
    read_rulebook,
    shipped_rulebooks,
)
from bodyshop.rules.rulebook.plausible import believed

ROOT = Path(__file__).resolve().parents[2]
BOOKS = ("quarry-lane", "quarry-lane-inch")
UNITS: pint.UnitRegistry = pint.UnitRegistry()
OUTSIDE = {
    fails: Outcome.ADVICE if fails is BreachEffects.ADVICE else Outcome.FAIL for fails in BreachEffects
}

# The core of the catalogue: what an event sheet mostly limits.
CORE = [
    "body.length",
    "body.least_width",
    "body.least_thickness",
    "body.pieces",
    "front_axle.body_width",
    "rear_axle.body_width",
    "car.height",
    "car.width",
    "car.wheelbase",
    "car.track_clearance",
    "car.mass",
    "blank.fit",
    "front_axle.hole_diameter",
    "rear_axle.hole_diameter",
    "front_axle.hole_height",
    "rear_axle.hole_height",
    "front_axle.from_nose",
    "rear_axle.from_tail",
    "front_axle.wall",
    "rear_axle.wall",
    "bore.diameter",
    "bore.depth",
    "bore.angle",
    "bore.offset",
    "bore.height_over_body",
    "bore.height_over_track",
    "bore.wall",
    "bore.wall_top",
    "bore.wall_bottom",
    "bore.wall_sides",
    "bore.wall_corners",
    "bore.wall_blind_end",
    "bore.wall_axle",
    "bore.wall_window",
    "bore.wall_eye",
    "eyes.count",
    "eyes.spacing",
    "front_eye.from_axle",
    "rear_eye.from_axle",
    "front_eye.offset",
    "rear_eye.offset",
    "front_eye.track_clearance",
    "rear_eye.track_clearance",
    "front_wheel.diameter",
    "front_wheel.width",
    "rear_wheel.diameter",
    "rear_wheel.width",
]


@cache
def book(name: str) -> Rulebook:
    return read_rulebook(find_rulebook(name))


def measured(name: str) -> list[Rule]:
    return [rule for rule in book(name).rules if rule.measure]


CASES = [(name, rule) for name in BOOKS for rule in measured(name)]
IDS = [f"{name}-{rule.clause}" for name, rule in CASES]


def outcome_of(name: str, rule: Rule, value: float) -> Outcome:
    judged = judge(book(name), {rule.measure: Reading(value, None)})
    (verdict,) = [verdict for verdict in judged.verdicts if verdict.rule is rule]
    return verdict.outcome


def step_of(rule: Rule) -> float:
    return 1.0 if rule.kind is QuantityKind.COUNT else rule.resolution


def test_the_two_are_there() -> None:
    assert set(BOOKS) <= set(shipped_rulebooks())


@pytest.mark.parametrize("name", BOOKS)
def test_they_read_without_a_warning(name: str) -> None:
    assert book(name).warnings == ()


@pytest.mark.parametrize(("name", "rule"), CASES, ids=IDS)
def test_at_a_limit_passes_and_a_step_outside_does_not(name: str, rule: Rule) -> None:
    limits, step = rule.limits, step_of(rule)
    assert limits is not None
    ends = [(limits.low, -1), (limits.high, 1)]
    tried = 0
    for limit, outward in ends:
        if limit is None:
            continue
        tried += 1
        assert outcome_of(name, rule, limit) in (Outcome.PASS, Outcome.NEAR)
        assert outcome_of(name, rule, limit + outward * step) is OUTSIDE[rule.fails]
        if rule.kind is QuantityKind.COUNT:
            continue
        assert outcome_of(name, rule, limit + outward * 0.49 * step) in (Outcome.PASS, Outcome.NEAR)
        assert outcome_of(name, rule, limit + outward * 0.51 * step) is OUTSIDE[rule.fails]
    assert tried
    middle = [end for end, _ in ends if end is not None]
    inside = (
        sum(middle) / 2
        if len(middle) == 2
        else middle[0] + (10 * step if limits.high is None else -10 * step)
    )
    if rule.kind is not QuantityKind.COUNT:
        assert outcome_of(name, rule, inside) in (Outcome.PASS, Outcome.NEAR)


@pytest.mark.parametrize("name", BOOKS)
def test_limits_are_those_of_the_file_by_pint(name: str) -> None:
    text = find_rulebook(name).read_text(encoding="utf-8")
    raw = {row["clause"]: row for row in tomllib.loads(text)["rule"]}
    tried = 0
    for rule in measured(name):
        for key in ("min", "max"):
            if key not in raw[rule.clause] or rule.limits is None:
                continue
            got = rule.limits.low if key == "min" else rule.limits.high
            assert got == pytest.approx(by_pint(raw[rule.clause][key], book(name).unit), rel=1e-12, abs=1e-12)
            tried += 1
    assert tried > 40


def by_pint(value: float | str, unit: LengthUnit) -> float:
    """mm or g. pint multiplies what a blank stands between, so a mixed number is added up here."""
    if not isinstance(value, str):
        return UNITS.Quantity(value, unit.symbol).to("mm").magnitude
    if value.endswith(" g"):
        return UNITS.Quantity(value).to("g").magnitude
    parts = value.split()
    return sum(UNITS.Quantity(f"({part}) * {unit.symbol}").to("mm").magnitude for part in parts)


@pytest.mark.parametrize("name", BOOKS)
def test_the_core_of_the_catalogue_is_covered(name: str) -> None:
    assert len(CORE) > 40
    assert set(CORE) <= set(book(name).measures)


@pytest.mark.parametrize("name", BOOKS)
def test_every_rule_names_a_live_measure(name: str) -> None:
    assert set(book(name).measures) <= set(catalogue())


def test_the_two_have_the_same_clauses_and_not_the_same_figures() -> None:
    mm, inch = book("quarry-lane"), book("quarry-lane-inch")
    assert [(r.clause, r.measure, r.item) for r in mm.rules] == [
        (r.clause, r.measure, r.item) for r in inch.rules
    ]
    same = [
        a.clause
        for a, b in zip(mm.rules, inch.rules, strict=True)
        if a.kind is QuantityKind.LENGTH and a.limits == b.limits and a.limits and a.limits.low
    ]
    assert same == []


def test_inch_limits_are_marks_of_a_tape() -> None:
    for rule in measured("quarry-lane-inch"):
        if rule.kind is not QuantityKind.LENGTH or rule.limits is None:
            continue
        for end in (rule.limits.low, rule.limits.high):
            assert end is None or (end / 25.4 * 64) == pytest.approx(round(end / 25.4 * 64), abs=1e-9)


@pytest.mark.parametrize("name", BOOKS)
def test_they_teach(name: str) -> None:
    for rule in book(name).rules:
        assert len(rule.reason.split()) >= 6, rule.clause
        assert rule.reason.endswith("."), rule.clause
        assert "{" not in rule.reason + rule.instruction, rule.clause
        assert bool(rule.instruction) == rule.by_inspector, rule.clause
        assert rule.section, rule.clause


@pytest.mark.parametrize("name", BOOKS)
def test_no_reason_repeats_a_limit_as_a_figure(name: str) -> None:
    # Limits in sentences are filled in from the rule, so the raw text has none.
    text = find_rulebook(name).read_text(encoding="utf-8")
    for row in tomllib.loads(text)["rule"]:
        assert not any(mark.isdigit() for mark in row["reason"]), row["clause"]


@pytest.mark.parametrize("name", BOOKS)
def test_figures_are_marked_as_invented_and_nothing_is_promised(name: str) -> None:
    text = find_rulebook(name).read_text(encoding="utf-8")
    assert "invented" in text.splitlines()[1]
    assert "made up" in book(name).note
    assert "safe" not in text.casefold()


@pytest.mark.parametrize("name", BOOKS)
def test_every_way_of_checking_and_most_consequences_are_shown(name: str) -> None:
    fails = {rule.fails for rule in book(name).rules}
    assert fails == set(BreachEffects) - {BreachEffects.NO_AWARD}
    assert {rule.checked_by.value for rule in book(name).rules} == {"program", "gauge", "eyes"}


def test_every_row_of_the_plausible_table_fits_a_measure() -> None:
    for row in believed():
        assert any(
            fnmatchcase(name, row.pattern) and entry.kind is row.kind for name, entry in catalogue().items()
        ), row

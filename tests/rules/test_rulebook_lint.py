"""Lint: what it tells of spoilt books, and that what it holds to be impossible is so.

Outside checks: SciPy's linear programming (HiGHS) decides whether claims can be kept together at all; and
the relations are held against cars as they are measured.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from bodyshop.car.assembly import Car
from bodyshop.car.design import read_design
from bodyshop.car.design.model import AxleSet, Design
from bodyshop.car.design.starters import starter_text, starters
from bodyshop.car.measures import QuantityKind, Reading, catalogue, take_all
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import ProblemsError, Severity
from bodyshop.foundation.toml import parse_source
from bodyshop.rules.rulebook import find_rulebook, read_rulebook, shipped_rulebooks
from bodyshop.rules.rulebook.lint import lint_rulebook
from bodyshop.rules.rulebook.lint.checks import reach_of
from bodyshop.rules.rulebook.lint.claims import (
    SLACK,
    Claim,
    Relation,
    carried,
    first_conflict,
    needed,
    possible,
    relation_of,
    relations,
    usual_side,
)
from tests.rules.books import HEAD, assert_told, expected_of, rule_text, write_book

ROOT = Path(__file__).resolve().parents[2]
HOSTILE = ROOT / "tests" / "hostile" / "rulebooks"
FILES = sorted((HOSTILE / "lint").glob("*.toml"))
BROKEN = sorted(HOSTILE.glob("*.toml"))
CLEAN = {"both-sides-are-fine", "changes-one-of-two", "points-before-the-end", "wheelbase-just-fits"}
REACH = reach_of(catalogue())


# ---------------------------------------------------------------- what is told, and where


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_finding_is_told_at_its_place(path: Path) -> None:
    assert bool(expected_of(path)) == (path.stem not in CLEAN)
    assert_told(path, lint_rulebook(path))


def test_there_are_enough_of_them() -> None:
    assert len(FILES) >= 45
    assert len(FILES) + len(BROKEN) >= 150


def test_every_code_of_lint_has_a_file() -> None:
    folder = ROOT / "bodyshop" / "rules" / "rulebook" / "lint"
    source = "\n".join(file.read_text(encoding="utf-8") for file in folder.glob("*.py"))
    codes = set(re.findall(r'"(lint-[a-z-]+)"', source))
    assert len(codes) >= 6
    assert codes <= {one.code for path in FILES for one in expected_of(path)}


@pytest.mark.parametrize("path", BROKEN, ids=lambda path: path.stem)
def test_lint_tells_all_that_keeps_a_book_from_being_read(path: Path) -> None:
    try:
        told = lint_rulebook(path)
    except ProblemsError as error:
        told = error.problems
    try:
        problems = read_rulebook(path).warnings
    except ProblemsError as error:
        problems = error.problems
    assert set(problems) <= set(told)


@pytest.mark.parametrize("name", shipped_rulebooks())
def test_what_is_shipped_is_clean(name: str) -> None:
    assert lint_rulebook(find_rulebook(name)) == ()


def test_findings_are_clauses_that_fit_a_sentence() -> None:
    for path in FILES[::4]:
        for finding in lint_rulebook(path):
            assert not finding.message.endswith("."), finding.message
            assert finding.sentence.isprintable()
            assert finding.expected or finding.nearest, finding.message


def test_a_conflict_is_an_error_unless_one_of_them_is_only_advised(tmp_path: Path) -> None:
    def severity(fails: str) -> Severity:
        text = HEAD + rule_text("max = 250") + rule_text("min = 260", "X2", fails=fails)
        (finding,) = lint_rulebook(write_book(tmp_path, text))
        return finding.severity

    assert severity("disqualify") is Severity.ERROR
    assert severity("show only") is Severity.ERROR
    assert severity("advice") is Severity.WARNING


def test_the_other_clauses_are_shown_with_their_limits() -> None:
    (finding,) = lint_rulebook(HOSTILE / "lint" / "wheelbase-too-long-for-body.toml")
    assert [(label, span.line) for label, span in finding.related] == [
        ("clause B1 (at most 280 mm)", 9),
        ("clause A1 (at least 250 mm)", 16),
        ("clause A2 (at least 20 mm)", 23),
    ]


def test_a_conflict_with_what_is_inherited_is_told_in_the_book_itself() -> None:
    (finding,) = lint_rulebook(HOSTILE / "lint" / "change-against-an-inherited-clause.toml")
    assert Path(finding.file).name == "change-against-an-inherited-clause.toml"
    assert finding.related == ()


@pytest.mark.parametrize(("least", "told"), [(250.0, False), (250.4, True), (251.0, True)])
def test_a_conflict_is_told_from_the_very_point(tmp_path: Path, least: float, told: bool) -> None:
    text = (
        HEAD
        + rule_text("max = 290")
        + rule_text(f"min = {least}", "X2", "car.wheelbase")
        + rule_text("min = 20", "X3", "front_axle.from_nose")
        + rule_text("min = 20", "X4", "rear_axle.from_tail")
    )
    assert bool(lint_rulebook(write_book(tmp_path, text))) is told


# ---------------------------------------------------------------- the table of relations


def test_every_relation_names_live_measures_of_one_kind() -> None:
    for relation in relations():
        kinds = {catalogue()[name].kind for name, _ in relation.terms}
        assert len(kinds) == 1, relation
        assert len(relation.terms) > 1, relation


def test_relations_are_read_as_they_stand() -> None:
    (one,) = relation_of("a.b >= c.d + 2 * e.f - g.h / 4 + 0.5", "why")
    assert dict(one.terms) == {"a.b": 1.0, "c.d": -1.0, "e.f": -2.0, "g.h": 0.25}
    assert one.constant == -0.5
    both = relation_of("a.b = c.d + 1", "why")
    assert [(dict(each.terms), each.constant) for each in both] == [
        ({"a.b": 1.0, "c.d": -1.0}, -1.0),
        ({"a.b": -1.0, "c.d": 1.0}, 1.0),
    ]


@pytest.mark.parametrize("text", ["a.b", "a.b <= c.d", "a.b >= ?", "a.b >= 2 * * c.d"])
def test_what_is_no_relation(text: str) -> None:
    with pytest.raises(ValueError, match=r"relation|understood"):
        relation_of(text, "why")


def test_every_pattern_of_the_table_fits_a_measure() -> None:
    names = list(catalogue())
    sides = [usual_side(name) for name in names]
    assert {"min", "max", ""} == set(sides)
    assert sides.count("min") > 15
    assert sum(1 for name in names if possible(name, catalogue()[name].kind)[0] == 0.0) > 50
    assert possible("bore.wall", QuantityKind.LENGTH) == (-math.inf, math.inf)
    assert possible("body.pieces", QuantityKind.COUNT) == (1.0, math.inf)


# ---------------------------------------------------------------- cars as they are measured


@cache
def designs() -> tuple[Design, ...]:
    kit = read_rulebook(find_rulebook("quarry-lane")).kit
    texts = [file.read_text(encoding="utf-8") for file in sorted(samples_folder().glob("*.toml"))]
    texts += [starter_text(name, "Wren") for name in starters()]
    return tuple(read_design(parse_source(text, "car.toml"), kit) for text in texts)


def broken_relations(design: Design) -> list[tuple[Relation, float]]:
    readings = take_all(Car(design))
    values = {name: each.value for name, each in readings.items() if isinstance(each, Reading)}
    found = []
    for relation in relations():
        if all(name in values for name, _ in relation.terms):
            rest = relation.constant + sum(factor * values[name] for name, factor in relation.terms)
            if rest < -0.01:  # thicknesses are found to 0.01 mm
                found.append((relation, rest))
    for name, value in values.items():
        low, high = possible(name, catalogue()[name].kind)
        assert low - SLACK <= value <= high + SLACK, name
    return found


def test_relations_hold_for_every_sample_and_starter() -> None:
    assert len(designs()) >= 8
    held: set[Relation] = set()
    for design in designs():
        assert broken_relations(design) == [], design.name
        values = {name for name, each in take_all(Car(design)).items() if isinstance(each, Reading)}
        held |= {each for each in relations() if all(name in values for name, _ in each.terms)}
    assert held == set(relations())


def _shifted(axle: AxleSet, dx: float, dz: float) -> AxleSet:
    return replace(axle, x_mm=axle.x_mm + dx, height_mm=axle.height_mm + dz)


@settings(max_examples=40)
@given(
    pick=st.integers(0, 99),
    height=st.floats(-4.0, 4.0),
    depth=st.floats(-10.0, 10.0),
    tilt=st.floats(-3.0, 3.0),
    front=st.tuples(st.floats(-6.0, 10.0), st.floats(-1.5, 6.0)),
    rear=st.tuples(st.floats(-10.0, 6.0), st.floats(-1.5, 6.0)),
)
def test_relations_hold_for_cars_with_their_holes_elsewhere(
    pick: int,
    height: float,
    depth: float,
    tilt: float,
    front: tuple[float, float],
    rear: tuple[float, float],
) -> None:
    design = designs()[pick % len(designs())]
    bore = design.bore
    moved = replace(
        design,
        bore=replace(
            bore,
            height_mm=bore.height_mm + height,
            depth_mm=bore.depth_mm + depth,
            tilt_rad=math.radians(tilt),
        ),
        axles=(_shifted(design.front, *front), _shifted(design.rear, *rear)),
    )
    assert broken_relations(moved) == []


# ---------------------------------------------------------------- against linear programming

NAMES = sorted({name for relation in relations() for name, _ in relation.terms})


def possible_together(claims: list[Claim]) -> bool:
    """Whether any values at all keep the claims and the relations: SciPy, method HiGHS."""
    rows = np.zeros((len(relations()), len(NAMES)))
    limit = np.zeros(len(relations()))
    for number, relation in enumerate(relations()):
        for name, factor in relation.terms:
            rows[number, NAMES.index(name)] = -factor
        limit[number] = relation.constant
    bounds = []
    for name in NAMES:
        low, high = REACH(name)
        for claim in claims:
            if claim.measure == name:
                low, high = max(low, claim.low), min(high, claim.high)
        if low > high:
            return False
        bounds.append((None if low == -math.inf else low, None if high == math.inf else high))
    status = linprog(np.zeros(len(NAMES)), A_ub=rows, b_ub=limit, bounds=bounds, method="highs").status
    assert status in (0, 2)
    return bool(status == 0)


# Tight bands of whole numbers, so that claims clash often and never by a hair.
CLAIMS = st.lists(
    st.tuples(st.sampled_from(NAMES), st.integers(1, 60), st.integers(0, 40), st.integers(0, 2)),
    min_size=3,
    max_size=14,
    unique_by=lambda row: row[0],
).map(
    lambda rows: [
        Claim(
            f"R{number}",
            name,
            -math.inf if side == 1 else float(low),
            math.inf if side == 2 else float(low + wide),
        )
        for number, (name, low, wide, side) in enumerate(rows)
    ]
)


@settings(max_examples=150)
@given(CLAIMS)
def test_what_is_called_impossible_is_so(claims: list[Claim]) -> None:
    clash = first_conflict(claims, relations(), REACH)
    if clash:
        assert not possible_together(list(clash))
        for one in clash:
            rest = [each for each in clash if each is not one]
            assert carried(rest, relations(), REACH)[1] == ""


def test_few_impossible_sets_are_missed() -> None:
    # Interval by interval is not all that linear programming knows; nearly all is found all the same.
    chance = np.random.default_rng(20)
    impossible = found = 0
    for _ in range(150):
        names = chance.choice(NAMES, size=14, replace=False)
        claims = []
        for number, name in enumerate(names):
            low = float(chance.integers(1, 60))
            high = low + float(chance.integers(0, 40))
            side = chance.integers(0, 3)
            claims.append(
                Claim(
                    f"R{number}", str(name), -math.inf if side == 1 else low, math.inf if side == 2 else high
                )
            )
        if not possible_together(claims):
            impossible += 1
            found += bool(first_conflict(claims, relations(), REACH))
    assert impossible > 50
    assert found / impossible > 0.95


def test_needed_leaves_nothing_that_can_be_left_out() -> None:
    claims = [Claim(str(n), "a.b", float(n), 9.0) for n in range(6)]
    kept = needed(claims, lambda some: sum(each.low for each in some) >= 9.0)
    assert [each.low for each in kept] == [4.0, 5.0]

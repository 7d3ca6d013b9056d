"""A remedy followed makes the rule pass, on real designs."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bodyshop.car.assembly import Car
from bodyshop.car.design import Design, read_design
from bodyshop.car.measures import Reading, catalogue
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import parse_source
from bodyshop.foundation.toml.splice import spliced_source
from bodyshop.foundation.units import LengthUnit, format_number, parse_length
from bodyshop.rules.rulebook import (
    Driver,
    Judgement,
    LimitSide,
    Outcome,
    Remedy,
    Rulebook,
    Verdict,
    driver_path,
    find_rulebook,
    judge,
    read_rulebook,
    remedy,
)
from tests.rules.books import HEAD, INCH_HEAD, book_of, rule_text

PASSES = (Outcome.PASS, Outcome.NEAR)


@cache
def book(name: str) -> Rulebook:
    return read_rulebook(find_rulebook(name))


def sample(name: str, *changes: tuple[str, str]) -> str:
    text = (samples_folder() / f"{name}.toml").read_text(encoding="utf-8")
    for old, new in changes:
        assert text.count(old) == 1, (old, text.count(old))
        text = text.replace(old, new)
    return text


def design_of(text: str, rules: str) -> Design:
    return read_design(parse_source(text, "car.toml"), book(rules).kit)


def judged(design: Design, rules: str) -> Judgement:
    car = Car(design)
    needed = book(rules).measures
    return judge(book(rules), {name: catalogue()[name].take(car) for name in needed})


def on_clause(judgement: Judgement, clause: str) -> Verdict:
    (verdict,) = [verdict for verdict in judgement.verdicts if verdict.rule.clause == clause]
    return verdict


def remedy_for(design: Design, rules: str, clause: str) -> Remedy:
    verdict = on_clause(judged(design, rules), clause)
    found = remedy(verdict, catalogue()[verdict.rule.measure], design)
    assert found is not None
    return found


# A car, what is spoilt in it, the clause that then fails, the command, and the number to write.
DIRECT = [
    ("wren", [("depth = 52", "depth = 50.9")], "C2", "drill the cartridge hole deeper", "bore.depth", "51"),
    (
        "wren",
        [("depth = 52", "depth = 53.47")],
        "C2",
        "drill the cartridge hole less deep",
        "bore.depth",
        "53",
    ),
    (
        "kestrel",
        [("diameter = 19.5", 'diameter = "21/32 in"')],
        "C1",
        "make the cartridge hole larger",
        "bore.diameter",
        "19",
    ),
    (
        "wren",
        [("height = 8\n", "height = 4.13\n")],
        "A5",
        "raise the rear axle hole",
        "axles.rear.height",
        "5",
    ),
    ("dipper", [], "C2", "drill the cartridge hole deeper", "bore.depth", "2 1/64"),
]


@pytest.mark.parametrize(("name", "changes", "clause", "command", "key", "text"), DIRECT)
def test_the_number_to_write_passes(
    name: str, changes: Sequence[tuple[str, str]], clause: str, command: str, key: str, text: str
) -> None:
    # Dipper, an inch car, is judged by the sheet in millimetres here
    design = design_of(sample(name, *changes), "quarry-lane")
    found = remedy_for(design, "quarry-lane", clause)
    driver = found.drivers[0]
    assert (found.command, driver.key, driver.new_text) == (command, key, text)
    assert driver.span == design.source.span(driver.path)
    mended = design_of(spliced_source(design.source, {driver.path: text}).whole, "quarry-lane")
    assert on_clause(judged(mended, "quarry-lane"), clause).outcome in PASSES


# As above, but the key only moves the measure: by as much, in the same sense or (-1) the other.
INDIRECT = [
    ("wren", [("height = 25", "height = 28.43")], "C4", "lower the cartridge hole", "bore.height", 1),
    ("wren", [("height = 25", "height = 21.7")], "C4", "raise the cartridge hole", "bore.height", 1),
    ("wren", [("height = 25", "height = 20.1")], "C6", "raise the cartridge hole", "bore.height", 1),
    ("wren", [("x = 50", "x = 8.25")], "A6", "move the front axle towards the tail", "axles.front.x", 1),
    ("kestrel", [("x = 235", "x = 159.93")], "A1", "move the axles apart", "axles.rear.x", 1),
    ("kestrel", [("x = 235", "x = 276.3")], "A7", "move the rear axle towards the nose", "axles.rear.x", -1),
    (
        "wren",
        [("x = 218", "x = 190"), ("height = 25", "height = 13.04")],
        "C17",
        "raise the cartridge hole",
        "bore.height",
        1,
    ),
]


@pytest.mark.parametrize(("name", "changes", "clause", "command", "key", "sense"), INDIRECT)
def test_moving_by_the_amount_passes(
    name: str, changes: Sequence[tuple[str, str]], clause: str, command: str, key: str, sense: int
) -> None:
    design = design_of(sample(name, *changes), "quarry-lane")
    found = remedy_for(design, "quarry-lane", clause)
    driver = found.drivers[0]
    assert (found.command, driver.key) == (command, key)
    assert found.amount / 0.1 == pytest.approx(round(found.amount / 0.1), abs=1e-6)
    before = parse_length(
        design.source.text[slice(*(design.source.value_range(driver.path) or (0, 0)))], design.unit
    )
    up = sense * (1 if found.side is LimitSide.UNDER else -1)
    for amount, outcomes in ((found.amount, PASSES), (found.amount - 0.2, (Outcome.FAIL,))):
        text = format_number(before + up * amount, LengthUnit.MM, decimals=4)
        mended = design_of(spliced_source(design.source, {driver.path: text}).whole, "quarry-lane")
        assert on_clause(judged(mended, "quarry-lane"), clause).outcome in outcomes


def test_every_failure_of_the_faulty_sample_has_a_remedy_in_the_file() -> None:
    design = design_of(sample("lapwing"), "quarry-lane")
    failed = [v for v in judged(design, "quarry-lane").failed if v.rule.measure]
    assert len(failed) >= 8
    for verdict in failed:
        found = remedy(verdict, catalogue()[verdict.rule.measure], design)
        assert found is not None, verdict.rule.clause
        assert found.command, verdict.rule.clause
        assert found.amount > 0.0
        assert any(driver.span is not None for driver in found.drivers), verdict.rule.clause


def test_a_car_that_passes_needs_none() -> None:
    design = design_of(sample("wren"), "quarry-lane")
    for verdict in judged(design, "quarry-lane").verdicts:
        if verdict.rule.measure:
            assert remedy(verdict, catalogue()[verdict.rule.measure], design) is None


def test_a_key_the_file_leaves_out_is_named_without_a_place() -> None:
    design = design_of(
        sample("wren", ("height = 8\n", 'height = 8\nhole = 5.5\nbearing = "none"\n')), "quarry-lane"
    )
    assert remedy_for(design, "quarry-lane", "A3").drivers[0].new_text == "5"
    silent = silent_driver(design)
    assert (silent.key, silent.span, silent.new_text) == ("axles.front.hole", None, "")


def silent_driver(design: Design) -> Driver:
    measure = catalogue()["front_axle.hole_diameter"]
    rule = next(rule for rule in book("quarry-lane").rules if rule.clause == "A2")
    (verdict,) = [
        v for v in judge(book("quarry-lane"), {measure.id: Reading(6.0, None)}).verdicts if v.rule is rule
    ]
    found = remedy(verdict, measure, design)
    assert found is not None
    return found.drivers[0]


def test_a_number_worked_out_from_dimensions_is_not_overwritten() -> None:
    text = sample("wren", ("depth = 52", 'depth = "deep - 1.5"')) + "\n[dimensions]\ndeep = 52\n"
    found = remedy_for(design_of(text, "quarry-lane"), "quarry-lane", "C2")
    assert found.drivers[0].span is not None
    assert found.drivers[0].new_text == ""


def test_without_a_design_the_amount_is_in_the_rules_unit(tmp_path: Path) -> None:
    one = book_of(tmp_path, INCH_HEAD + rule_text('max = "1 5/8"', measure="front_axle.body_width"))
    measure = catalogue()["front_axle.body_width"]
    (verdict,) = judge(one, {measure.id: Reading(42.0, None)}).verdicts
    found = remedy(verdict, measure)
    assert found is not None
    assert found.unit is LengthUnit.IN
    assert found.amount == pytest.approx(2 * 25.4 / 64)  # 0.725 mm is more than 1/64 in and less than 2/64
    assert found.target == pytest.approx(41.275)
    assert all(driver.span is None for driver in found.drivers)


@pytest.mark.parametrize("key", ["screw_eye[1].offset", "screw_eye.1.offset"])
def test_paths_of_drivers(key: str) -> None:
    assert driver_path(key) == ("screw_eye", 1, "offset")


@given(
    low=st.floats(1.0, 50.0).map(lambda value: round(value, 4)),
    width=st.floats(0.0, 20.0).map(lambda value: round(value, 4)),
    value=st.floats(0.0, 100.0),
    unit=st.sampled_from([(HEAD, LengthUnit.MM), (INCH_HEAD, LengthUnit.IN)]),
)
def test_amount_and_target_always_pass(
    tmp_path_factory: pytest.TempPathFactory,
    low: float,
    width: float,
    value: float,
    unit: tuple[str, LengthUnit],
) -> None:
    folder = tmp_path_factory.mktemp("book")
    body = f'min = "{low} mm"\nmax = "{low + width:.4f} mm"'
    one = book_of(folder, unit[0] + rule_text(body, measure="bore.wall"))
    measure = catalogue()["bore.wall"]
    # Limits with no mark of the rule between them pass no reading but the limit itself; lint says so.
    step = one.rules[0].resolution
    assume(math.ceil(low / step - 1e-9) * step <= low + width + 1e-9)

    def outcome(reading: float) -> Verdict:
        (verdict,) = judge(one, {measure.id: Reading(reading, None)}).verdicts
        return verdict

    verdict = outcome(value)
    found = remedy(verdict, measure)
    assert (found is None) == (verdict.outcome is not Outcome.FAIL)
    if found is None:
        return
    moved = value + found.amount if found.side is LimitSide.UNDER else value - found.amount
    assert outcome(moved).outcome in PASSES
    assert outcome(found.target).outcome in PASSES
    assert found.amount < verdict.over + found.step + one.rules[0].resolution

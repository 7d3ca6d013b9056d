"""Starters: they load, teach the format, and take any name."""

from __future__ import annotations

import pytest

from bodyshop.car.design import read_design
from bodyshop.car.design.starters import DEFAULT_STARTER, starter_text, starters
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml import parse_source
from tests.car.kits import TEST_KIT


def test_there_are_three_and_the_easiest_comes_first() -> None:
    assert starters() == ("straight", "tapered", "curved")
    assert starters()[0] == DEFAULT_STARTER


@pytest.mark.parametrize("kind", starters())
def test_each_loads_without_a_warning(kind: str) -> None:
    design = read_design(parse_source(starter_text(kind, "Sparrow"), "sparrow.toml"), TEST_KIT)
    assert design.name == "Sparrow"
    assert design.warnings == ()
    assert design.rulebook == "quarry-lane"
    assert len(design.eyes) == 2


@pytest.mark.parametrize("kind", starters())
def test_each_table_is_introduced_by_a_comment(kind: str) -> None:
    lines = starter_text(kind, "Sparrow").splitlines()
    headers = [i for i, line in enumerate(lines) if line.startswith("[")]
    assert len(headers) >= 7
    for i in headers:
        above = lines[i - 1] or lines[i - 2] or lines[i - 4]
        assert above.startswith("#") or lines[i] in ("[axles.rear]", "[[screw_eye]]"), lines[i]


@pytest.mark.parametrize("name", ['The "Fast" One', "back\\slash", "Grünspecht", "{name}", "a'b # c"])
def test_any_name_comes_through(name: str) -> None:
    source = parse_source(starter_text("straight", name), "new.toml")
    assert source.values["name"] == name


@pytest.mark.parametrize("name", ["", "two\nlines", "bell\x07", "x" * 200])
def test_a_name_that_cannot_be_is_a_problem_of_the_design(name: str) -> None:
    source = parse_source(starter_text("straight", name), "new.toml")
    with pytest.raises(ProblemsError) as raised:
        read_design(source, TEST_KIT)
    assert [problem.key for problem in raised.value.problems] == ["name"]


def test_an_unknown_kind_is_told_with_the_nearest() -> None:
    with pytest.raises(ProblemsError) as raised:
        starter_text("curvy", "Sparrow")
    (problem,) = raised.value.problems
    assert problem.code == "unknown-starter"
    assert problem.nearest == "curved"

"""Which file a rulebook's name means."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml import parse_source
from bodyshop.rules.rulebook import find_rulebook


def test_a_shipped_name(tmp_path: Path) -> None:
    assert find_rulebook("quarry-lane", tmp_path) == rules_folder() / "quarry-lane.toml"


def test_a_shipped_name_is_not_taken_over_by_a_file(tmp_path: Path) -> None:
    (tmp_path / "quarry-lane.toml").write_text("", encoding="utf-8")
    assert find_rulebook("quarry-lane", tmp_path) == rules_folder() / "quarry-lane.toml"
    assert find_rulebook("./quarry-lane.toml", tmp_path) == tmp_path / "quarry-lane.toml"


@pytest.mark.parametrize(
    "name", ["spring", "spring.toml", "./spring.toml", "../here/spring", "..\\here\\spring.toml"]
)
def test_a_file_beside_the_design(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "here"
    folder.mkdir()
    (folder / "spring.toml").write_text("", encoding="utf-8")
    assert find_rulebook(name, folder).resolve() == folder / "spring.toml"


def test_an_absolute_path(tmp_path: Path) -> None:
    file = tmp_path / "spring.toml"
    file.write_text("", encoding="utf-8")
    assert find_rulebook(str(file), Path("elsewhere")) == file


@pytest.mark.parametrize("name", ["quarry-lan", "Quarry-Lane", "rules/quarry_lane.toml", "quarrylane"])
def test_a_missing_one_gives_the_nearest_and_the_list(tmp_path: Path, name: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        find_rulebook(name, tmp_path)
    (problem,) = caught.value.problems
    assert problem.code == "rulebook-missing"
    assert problem.nearest == "quarry-lane"
    assert "quarry-lane, quarry-lane-2, quarry-lane-inch" in problem.expected
    assert name in problem.message


@pytest.mark.parametrize("name", ["", "  ", "a\0b", "x" * 5000, "x" * 300, "con/../\n", "\ud800"])
def test_names_that_no_file_can_have(tmp_path: Path, name: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        find_rulebook(name, tmp_path)
    (problem,) = caught.value.problems
    assert problem.code == "rulebook-missing"
    assert problem.sentence.isprintable()


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("a\tb", "a\\tb"),
        ("x" * 80, "x" * 80),  # as long as a name is shown whole
        ("x" * 81, "x" * 76 + "..."),
    ],
)
def test_a_name_is_shown_so_that_it_can_be_read(tmp_path: Path, name: str, shown: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        find_rulebook(name, tmp_path)
    (problem,) = caught.value.problems
    assert problem.message == f'there is no rulebook "{shown}"'
    assert problem.found == shown


def test_the_problem_stands_where_the_design_names_it(tmp_path: Path) -> None:
    source = parse_source('name = "Wren"\nrulebook = "quary-lane"\n', "wren.toml")
    with pytest.raises(ProblemsError) as caught:
        find_rulebook("quary-lane", tmp_path, at=(source, ("rulebook",)))
    (problem,) = caught.value.problems
    assert problem.where == "wren.toml:2:12"

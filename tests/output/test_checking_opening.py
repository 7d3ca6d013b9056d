"""From a name to a car: which file, which rulebook, all problems of both, and holes that cannot be."""

from __future__ import annotations

from pathlib import Path

import pytest

from bodyshop.foundation.files.shipped import rules_folder, samples_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.rules.checking import DEFAULT_RULEBOOK, RulebookCache, find_design, open_car, shown_file
from tests.output.cars import ROOT

WREN = (ROOT / "samples" / "wren.toml").read_text(encoding="utf-8")


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def written(text: str, name: str = "car.toml") -> Path:
    path = Path(name)
    path.write_text(text, encoding="utf-8")
    return path


def codes(error: pytest.ExceptionInfo[ProblemsError]) -> list[str]:
    return [problem.code for problem in error.value.problems]


def test_the_rulebook_the_design_names() -> None:
    opened = open_car(written(WREN))
    assert opened.rulebook.stem == "quarry-lane"
    assert opened.design.rulebook == "quarry-lane"
    assert not opened.by_default


def test_the_rulebook_asked_for_comes_first() -> None:
    opened = open_car(written(WREN), "quarry-lane-inch")
    assert opened.rulebook.stem == opened.design.rulebook == "quarry-lane-inch"


def test_the_default_rulebook() -> None:
    opened = open_car(written(WREN.replace('rulebook = "quarry-lane"\n', "")))
    assert opened.by_default
    assert opened.rulebook.stem == opened.design.rulebook == DEFAULT_RULEBOOK


def test_a_shelf_reads_a_rulebook_once() -> None:
    shelf = RulebookCache()
    first = open_car(written(WREN, "a.toml"), shelf=shelf)
    second = open_car(written(WREN, "b.toml"), shelf=shelf)
    assert first.rulebook is second.rulebook


def test_a_shelf_remembers_a_broken_rulebook() -> None:
    written("format = 1\n", "broken.toml")
    shelf = RulebookCache("broken.toml")
    for name in ("a.toml", "b.toml"):
        with pytest.raises(ProblemsError) as raised:
            open_car(written(WREN, name), shelf=shelf)
        assert {Path(problem.file).name for problem in raised.value.problems} == {"broken.toml"}


def test_problems_of_design_and_rulebook_together() -> None:
    text = WREN.replace('"quarry-lane"', '"nowhere"').replace('"basswood"', '"oka"')
    with pytest.raises(ProblemsError) as raised:
        open_car(written(text))
    assert sorted(codes(raised)) == ["rulebook-missing", "unknown-stock"]


def test_a_hole_that_cannot_be_is_a_problem() -> None:
    with pytest.raises(ProblemsError) as raised:
        open_car(written(WREN.replace("height = 8", "height = 24")))
    assert "axle-in-bore" in codes(raised)


def test_names_and_samples() -> None:
    sample = samples_folder() / "wren.toml"
    assert find_design("wren") == (sample, True)
    assert find_design("samples/wren.toml") == (sample, True)
    assert find_design("cars/wren.toml") == (Path("cars/wren.toml"), False)
    written(WREN, "wren.toml")
    assert find_design("wren.toml") == (Path("wren.toml"), False)
    assert find_design("wren") == (sample, True)
    written(WREN, "robin.toml")
    assert find_design("robin") == (Path("robin.toml"), False)


def test_what_comes_along_is_shown_by_its_place_there() -> None:
    assert shown_file(str(samples_folder() / "wren.toml")) == "samples/wren.toml"
    assert shown_file(str(rules_folder() / "quarry-lane.toml")) == "rules/quarry-lane.toml"
    assert shown_file("samples/wren.toml") == "samples/wren.toml"
    assert shown_file("../wren.toml") == "../wren.toml"

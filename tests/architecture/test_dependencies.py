"""Dependencies: bounds below and above, and one list of tested versions that lies within them.

Outside source: the packaging library's reading of requirements and versions (PEP 440 and 508).
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.version import Version


def requirements(root: Path) -> list[Requirement]:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    lists = [project["dependencies"], *project["optional-dependencies"].values()]
    found = [Requirement(text) for texts in lists for text in texts]
    return [each for each in found if each.name != "bodyshop"]


def listed_versions(root: Path) -> dict[str, Version]:
    text = (root / ".ci" / "tested.txt").read_text(encoding="utf-8")
    rows = [line.split("==") for line in text.splitlines() if line and not line.startswith("#")]
    assert len({name for name, _ in rows}) == len(rows), "each package stands once"
    return {name: Version(version) for name, version in rows}


def is_bounded(requirement: Requirement) -> bool:
    operators = sorted(each.operator for each in requirement.specifier)
    return operators == ["<", ">="]


def test_every_dependency_says_from_where_to_where(root: Path) -> None:
    assert [str(each) for each in requirements(root) if not is_bounded(each)] == []
    # The counter-cases: open above, open below, and nothing said.
    assert not any(is_bounded(Requirement(text)) for text in ("numpy>=2", "numpy<3", "numpy"))


def test_what_was_tested_lies_within_the_bounds(root: Path) -> None:
    versions = listed_versions(root)
    names = {each.name for each in requirements(root)}
    assert set(versions) == names
    for each in requirements(root):
        assert versions[each.name] in each.specifier, each.name


@pytest.mark.parametrize("name", ["shapely", "cadquery", "svgwrite", "reportlab", "pytest"])
def test_the_packages_of_the_shop_are_there_and_used(root: Path, name: str) -> None:
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    where = "test" if name == "pytest" else ""
    wanted = project["optional-dependencies"][where] if where else project["dependencies"]
    assert name in {Requirement(text).name for text in wanted}
    folder = root / ("tests" if where else "bodyshop")
    used = re.compile(rf"^\s*(from|import) {name}\b", re.MULTILINE)
    assert any(used.search(file.read_text(encoding="utf-8")) for file in folder.rglob("*.py"))

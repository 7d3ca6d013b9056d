"""README.md keeps its promise: two commands, the ones that .ci/run reads out of it and runs."""

from __future__ import annotations

import runpy
from pathlib import Path

import pytest

SET_UP = "python3 -m venv .venv && .venv/bin/pip install -e . && .venv/bin/bodyshop make samples/kestrel.toml"
TEST = '.venv/bin/pip install -e ".[test]" && .venv/bin/python -m pytest -n auto'


@pytest.fixture
def readme_commands(root: Path):
    return runpy.run_path(str(root / ".ci" / "readme_command.py"))["readme_commands"]


def test_the_first_two_commands(root: Path, readme_commands) -> None:
    commands = readme_commands((root / "README.md").read_text(encoding="utf-8"))
    assert commands[:2] == [SET_UP, TEST]


def test_the_gate_takes_them_from_the_readme(root: Path) -> None:
    gate = (root / ".ci" / "run").read_text(encoding="utf-8")
    assert "readme 1" in gate
    assert "readme 2" in gate
    assert "pytest" not in gate


def test_commands_are_read_as_typed(readme_commands) -> None:
    text = "# A\n```sh\n# set up\n$ one && two\n\n```\nwords\n  ```\n  three\n  ```\n```\n"
    assert readme_commands(text) == ["one && two", "three"]
    assert readme_commands("no block") == []

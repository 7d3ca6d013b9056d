"""The checkout: nothing at the top that was not agreed, nothing of the machine it was written on."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

TOP = {
    ".ci",
    ".gitattributes",
    ".gitignore",
    "DEVELOPERS.md",
    "LICENSE",
    "README.md",
    "bodyshop",
    "pyproject.toml",
    "rules",
    "samples",
    "templates_out",
    "tests",
}

# Homes, temporary and working folders of whoever wrote a file; addresses of package indexes.
MACHINE = re.compile(
    r"""(?:^|[\s"'`(=:])(?:/(?:home|root|Users|tmp|work|opt|mnt)/\w|[A-Za-z]:\\\\?Users\\)"""
    r"""|(?:pypi|pythonhosted|registry)\.\w+"""
)
BINARY = {".pdf", ".png", ".ttf", ".stl", ".3mf", ".jpg"}


@pytest.fixture(scope="session")
def tracked() -> list[str]:
    root = Path(__file__).resolve().parents[2]
    git = shutil.which("git")
    if git is None or not (root / ".git").exists():
        pytest.skip("not a git checkout")
    listed = subprocess.run(
        [git, "ls-files", "-z"], cwd=root, capture_output=True, text=True, encoding="utf-8", check=False
    )
    if listed.returncode != 0:
        pytest.skip(f"git does not answer: {listed.stderr}")
    names = [name for name in listed.stdout.split("\0") if name]
    assert names
    return names


def test_the_top_level_is_the_agreed_one(tracked: list[str]) -> None:
    assert {name.partition("/")[0] for name in tracked} <= TOP


def test_nothing_tells_of_the_machine_it_was_written_on(root: Path, tracked: list[str]) -> None:
    told = []
    for name in tracked:
        file = root / name
        if file.suffix in BINARY or name.startswith("tests/hostile/") or not file.is_file():
            continue
        if file == Path(__file__).resolve():
            continue
        lines = file.read_bytes().decode("utf-8").splitlines()
        told += [f"{name}:{number}: {line}" for number, line in enumerate(lines, 1) if MACHINE.search(line)]
    assert not told, "\n".join(told)


@pytest.mark.parametrize(
    "line",
    [
        'open("/home/bench4/wren.toml")',
        "see /mnt/x/y",
        r'"C:\\Users\\bench"',
        "from https://pypi.example/simple",
    ],
)
def test_machine_paths_are_seen(line: str) -> None:
    assert MACHINE.search(line)


@pytest.mark.parametrize("line", ["a/mnt/b is a part of a path", "https://www.w3.org/home", "work / root"])
def test_other_paths_are_left_alone(line: str) -> None:
    assert not MACHINE.search(line)


def test_text_files_have_one_newline_everywhere(root: Path, tracked: list[str]) -> None:
    for name in tracked:
        file = root / name
        if file.suffix in BINARY or name.startswith("tests/hostile/") or not file.is_file():
            continue
        assert b"\r\n" not in file.read_bytes(), name


def test_no_tests_share_a_file_name(root: Path) -> None:
    names = [file.name for file in (root / "tests").rglob("test_*.py")]
    assert len(names) == len(set(names)), sorted(name for name in names if names.count(name) > 1)
    assert not list((root / "tests").rglob("__init__.py"))

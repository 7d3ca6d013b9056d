"""`bodyshop fix`: what it prints, what it writes, what it returns."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.app.running import run_here
from tests.rules.cases import changed


@pytest.fixture
def spoilt(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return changed(tmp_path, "straight", ("depth = 52", "depth = 48"), ("diameter = 19.5", "diameter = 18.2"))


def test_it_shows_and_leaves_the_file(spoilt: Path, capsys) -> None:
    before = spoilt.read_bytes()
    ran = run_here(capsys, "fix", "straight.toml", "--seconds", "60")
    assert ran.code == 0
    assert ran.out.splitlines()[0] == "Wren: 2 changes would fix both broken rules."
    assert {"-depth = 48", "+depth = 51", "-diameter = 18.2", "+diameter = 19"} <= set(ran.out.splitlines())
    assert "Nothing is written yet" in ran.out
    assert spoilt.read_bytes() == before
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_it_writes_when_told_to(spoilt: Path, capsys) -> None:
    ran = run_here(capsys, "fix", "straight.toml", "--write", "--seconds", "60")
    assert ran.code == 0
    assert "Written: straight.toml" in ran.out
    assert b"depth = 51" in spoilt.read_bytes()
    again = run_here(capsys, "check", "straight.toml")
    assert again.code == 0
    nothing = run_here(capsys, "fix", "straight.toml", "--write")
    assert nothing.out == "Wren breaks no rule: there is nothing to change.\n"


def test_one_rule(spoilt: Path, capsys) -> None:
    ran = run_here(capsys, "fix", "straight.toml", "--rule", "c2", "--seconds", "60")
    assert ran.code == 0
    assert ran.out.splitlines()[0] == "Wren: 1 change would fix C2."
    assert "+depth = 51" in ran.out
    assert "+diameter" not in ran.out


def test_slips_on_the_command_line(spoilt: Path, capsys) -> None:
    ran = run_here(capsys, "fix", "straight.toml", "--rule", "C22")
    assert (ran.code, ran.out) == (2, "")
    assert 'has no rule "C22"; did you mean C2?' in ran.err
    ran = run_here(capsys, "fix", "straight.toml", "--seconds", "soon")
    assert ran.code == 2
    assert '"soon" is not a time' in ran.err


def test_a_shipped_sample_is_not_written(spoilt: Path, capsys) -> None:
    ran = run_here(capsys, "fix", "lapwing", "--write")
    assert ran.code == 2
    assert "copy it and change the copy" in " ".join(ran.err.split())


def test_a_rule_left_broken(spoilt: Path, capsys) -> None:
    ran = run_here(capsys, "fix", "straight.toml", "--seconds", "0.000001")
    assert ran.code == 1
    assert "Still broken" in ran.out
    assert "Time ran out before everything was tried" in ran.out
    assert "Nothing is written yet" not in ran.out


def test_a_file_that_cannot_be_read(spoilt: Path, capsys) -> None:
    spoilt.write_text("format = 1\nname = ", encoding="utf-8")
    ran = run_here(capsys, "fix", "straight.toml", "--write")
    assert (ran.code, ran.out) == (2, "")
    assert spoilt.read_text(encoding="utf-8") == "format = 1\nname = "

"""What README.md shows is what the program does today."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from bodyshop.app.cli.commands import COMMANDS
from bodyshop.app.cli.main import main
from tests.app.running import run_here

FENCE = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@pytest.fixture
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


def blocks(text: str, kind: str) -> list[str]:
    return [body for found, body in FENCE.findall(text) if found == kind]


def test_the_design_is_the_sample(root: Path, readme: str) -> None:
    shown = tomllib.loads(blocks(readme, "toml")[0])
    assert shown == tomllib.loads((root / "samples" / "wren.toml").read_text(encoding="utf-8"))


def test_the_rule_is_one_of_the_shipped_ones(root: Path, readme: str) -> None:
    (shown,) = tomllib.loads(blocks(readme, "toml")[1])["rule"]
    book = tomllib.loads((root / "rules" / "quarry-lane.toml").read_text(encoding="utf-8"))
    rule = next(each for each in book["rule"] if each["clause"] == shown["clause"])
    assert shown.pop("checked_by") == "program"
    assert shown.pop("min") == f"{rule.pop('min')} mm"
    assert shown == rule


def test_the_report_is_what_is_printed(root: Path, readme: str, tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)
    text = (root / "samples" / "wren.toml").read_text(encoding="utf-8").replace("depth = 52", "depth = 47")
    (tmp_path / "samples").mkdir()
    (tmp_path / "samples" / "wren.toml").write_text(text, encoding="utf-8")
    shown = blocks(readme, "text")[0]
    assert run_here(capsys, "check", "samples/wren.toml").out.startswith(shown)


def test_the_message_is_what_is_printed(readme: str, tmp_path: Path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("COLUMNS", raising=False)
    text = blocks(readme, "toml")[0].replace('"basswood"', '"baswood"')
    (tmp_path / "wren.toml").write_text(text, encoding="utf-8")
    assert run_here(capsys, "check", "wren.toml").err == blocks(readme, "text")[1]


def test_every_command_is_told_with_its_options(readme: str, capsys) -> None:
    table = readme[readme.index("| command |") : readme.index("`bodyshop COMMAND --help`")]
    named = re.findall(r"^\| `bodyshop (\w+)", table, re.MULTILINE)
    assert named == sorted(COMMANDS, key=named.index)
    for row in table.splitlines():
        found = re.match(r"\| `bodyshop (\w+)", row)
        if found is None:
            continue
        capsys.readouterr()
        assert main([found[1], "--help"]) == 0
        for verb in re.findall(r"`([a-z]+)\b", row) if " VERB`" in row else []:
            assert main([found[1], verb, "--help"]) == 0
        help_text = capsys.readouterr().out
        for option in re.findall(r"--[a-z]+", row):
            assert option in help_text or option == "--json"


def test_the_default_rulebook_is_named(readme: str) -> None:
    from bodyshop.rules.checking import DEFAULT_RULEBOOK

    assert f"held against `{DEFAULT_RULEBOOK}`" in readme


def test_the_picture_is_there(root: Path, readme: str) -> None:
    (picture,) = re.findall(r"!\[[^\]]+\]\(([^)]+)\)", readme)
    assert (root / picture).is_file()
    assert "<svg " in (root / picture).read_text(encoding="utf-8")[:500]

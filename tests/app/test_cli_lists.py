"""Commands that only list: help, measures, rulebooks, stock, schemas."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonschema
import pytest

from bodyshop import __version__
from bodyshop.app.cli.commands import COMMANDS
from bodyshop.car.design.json_schema import design_schema
from bodyshop.car.measures import catalogue
from bodyshop.car.stock.woods import woods
from bodyshop.rules.rulebook import shipped_rulebooks
from tests.app.running import run_apart, run_here


@pytest.fixture(autouse=True)
def elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize("word", ["--help", "-h", "help"])
def test_help_tells_every_command_and_exit_code(capsys, word: str) -> None:
    ran = run_here(capsys, word)
    assert ran.code == 0
    for name, command in COMMANDS.items():
        assert f"  {name} " in ran.out
        assert command.summary in ran.out
    for code in ("0", "1", "2", "130"):
        assert f"\n  {code} " in ran.out


@pytest.mark.parametrize("name", COMMANDS)
def test_help_of_every_command(capsys, name: str) -> None:
    ran = run_here(capsys, name, "--help")
    assert ran.code == 0
    assert ran.out.startswith(f"usage: bodyshop {name} ")
    assert run_here(capsys, "help", name).out == ran.out
    assert run_here(capsys, name, "--nonsense", "-h").out == ran.out


def test_help_comes_before_files_but_not_behind_a_double_dash(capsys) -> None:
    assert run_here(capsys, "check", "--", "--help").code == 2


def test_version(capsys) -> None:
    assert run_here(capsys, "--version").out == f"bodyshop {__version__}\n"


def test_the_module_is_the_same_program(elsewhere: Path) -> None:
    ran = run_apart("--version", folder=elsewhere)
    assert ran.stdout.decode().strip() == f"bodyshop {__version__}"


def test_every_measure_is_listed(capsys) -> None:
    out = run_here(capsys, "measures").out
    for measure in catalogue().values():
        assert f"  {measure.id} " in out
        assert measure.sentence.split()[0] in out
    assert out.startswith(f"{len(catalogue())} measures")


def test_every_rulebook_is_listed(capsys) -> None:
    out = run_here(capsys, "rulebooks").out
    for name in shipped_rulebooks():
        assert f"{name}  " in out
    assert out.count("the default") == 1


def test_woods_with_density_and_source(capsys) -> None:
    out = run_here(capsys, "stock", "woods").out
    for wood in woods().values():
        assert f"  {wood.id} " in out
    # Wood Handbook FPL-GTR-190, table 5-3a: basswood 0.37 at 12 %, so 0.37 × 1.12 × 1000 = 414 kg/m³.
    assert "basswood, 414 kg/m3" in out
    assert "Wood Handbook" in out


def test_all_of_the_stock(capsys) -> None:
    out = run_here(capsys, "stock").out
    headings = [line for line in out.splitlines() if line and not line.startswith(" ")]
    assert headings[:2] == ["Woods", "Blanks"]
    assert len(headings) >= 12
    assert run_here(capsys, "stock", "WOODS", "sheets").out.count("\n\n") == 1


def test_the_design_schema_takes_the_samples(root: Path, capsys) -> None:
    schema = json.loads(run_here(capsys, "schema").out)
    assert schema == design_schema()
    for file in (root / "samples").glob("*.toml"):
        jsonschema.validate(tomllib.loads(file.read_text(encoding="utf-8")), schema)


@pytest.mark.parametrize("what", ["design", "rulebook"])
def test_schemas_are_schemas(capsys, what: str) -> None:
    jsonschema.Draft202012Validator.check_schema(json.loads(run_here(capsys, "schema", what).out))

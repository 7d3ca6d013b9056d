"""Designs that are wrong on purpose: every problem told, each at its line and column, and no others.

Each `tests/hostile/designs/NAME.toml` has beside it `NAME.expected.toml`. `[[error]]` and `[[warning]]`
give code, line and column; `says` is the sentence of a problem of this floor, `found` the text that a
lower floor could not read. A design with `[[fault]]` loads: what is wrong with it is for the body to tell.
`kit = "none"` reads the design without a kit.
"""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest

from bodyshop.car.design import Kit, read_design
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import read_source
from tests.car.kits import TEST_KIT

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "tests" / "hostile" / "designs"
EXPECTED = ".expected.toml"
DESIGNS = sorted(file for file in FOLDER.glob("*.toml") if not file.name.endswith(EXPECTED))


def expected_file(design: Path) -> Path:
    return design.with_name(design.stem + EXPECTED)


def codes_of_the_design_floor() -> set[str]:
    """Every code that this floor gives a problem or a warning, and those of outlines, read off the code."""
    files = [
        *(ROOT / "bodyshop" / "car" / "design").glob("*.py"),
        *(ROOT / "bodyshop" / "geometry" / "outlines").glob("*.py"),
    ]
    codes = set()
    for file in files:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
            at = {"fault": 1, "warn": 1, "ChainFault": 0, "OutlineFault": 0}.get(name)
            if at is not None and len(node.args) > at:
                code = node.args[at]
                if isinstance(code, ast.Constant) and isinstance(code.value, str):
                    codes.add(code.value)
    return codes


def test_there_are_at_least_sixty_of_them() -> None:
    assert len(DESIGNS) >= 60


def test_each_has_its_expectations_and_no_expectation_is_left_over() -> None:
    assert {file.name for file in FOLDER.iterdir()} == {file.name for file in DESIGNS} | {
        expected_file(file).name for file in DESIGNS
    }


def test_every_code_of_this_floor_has_a_case() -> None:
    codes = codes_of_the_design_floor()
    assert len(codes) > 40  # the scan sees them
    used = {
        entry["code"]
        for design in DESIGNS
        for kind in ("error", "warning")
        for entry in tomllib.loads(expected_file(design).read_text(encoding="utf-8")).get(kind, [])
    }
    assert codes - used == set()


@pytest.mark.parametrize("design", DESIGNS, ids=lambda file: file.stem)
def test_every_problem_is_told_at_its_place(design: Path) -> None:
    expected = tomllib.loads(expected_file(design).read_text(encoding="utf-8"))
    kit = Kit() if expected.get("kit") == "none" else TEST_KIT
    errors: tuple[Problem, ...] = ()
    warnings: tuple[Problem, ...] = ()
    try:
        warnings = read_design(read_source(design), kit).warnings
    except ProblemsError as raised:
        errors = raised.problems
    assert errors or warnings or "fault" in expected
    for found, entries in ((errors, expected.get("error", [])), (warnings, expected.get("warning", []))):
        assert [place(p) for p in found] == [(e["code"], e["line"], e["column"]) for e in entries]
        for problem, entry in zip(found, entries, strict=True):
            assert problem.file == str(design)
            if "says" in entry:
                assert problem.sentence == entry["says"]
            else:
                assert problem.found == entry["found"]


def place(problem: Problem) -> tuple[str, int, int]:
    assert problem.span is not None
    return (problem.code, problem.span.line, problem.span.column)

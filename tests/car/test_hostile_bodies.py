"""Designs whose holes cannot be made: each fault told at the number that puts the hole there.

The cases are those of `tests/hostile/designs` whose expectations hold a `[[fault]]`.
"""

from __future__ import annotations

import ast
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.car.body import Body, body_faults
from bodyshop.car.design import read_design
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import Problem
from bodyshop.foundation.toml import parse_source, read_source
from tests.car.kits import TEST_KIT

ROOT = Path(__file__).resolve().parents[2]
FOLDER = ROOT / "tests" / "hostile" / "designs"
EXPECTED = {
    file.name.removesuffix(".expected.toml"): tomllib.loads(file.read_text(encoding="utf-8")).get("fault", [])
    for file in sorted(FOLDER.glob("*.expected.toml"))
}
CASES = [name for name, faults in EXPECTED.items() if faults]
KESTREL = (samples_folder() / "kestrel.toml").read_text(encoding="utf-8")


def test_there_are_cases() -> None:
    assert len(CASES) >= 10


def test_every_fault_of_a_body_has_a_case() -> None:
    tree = ast.parse((ROOT / "bodyshop" / "car" / "body" / "faults.py").read_text(encoding="utf-8"))
    codes = set()
    for node in ast.walk(tree):
        if (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr == "problem"
        ):
            code = node.args[1]
            assert isinstance(code, ast.Constant)
            codes.add(code.value)
    assert len(codes) >= 8
    assert codes - {fault["code"] for faults in EXPECTED.values() for fault in faults} == set()


@pytest.mark.parametrize("name", CASES)
def test_every_fault_is_told_at_its_place(name: str) -> None:
    faults = body_faults(Body(read_design(read_source(FOLDER / f"{name}.toml"), TEST_KIT)))
    assert [place(fault) for fault in faults] == [(f["code"], f["line"], f["column"]) for f in EXPECTED[name]]
    for fault, expected in zip(faults, EXPECTED[name], strict=True):
        assert fault.sentence == expected["says"]


def place(problem: Problem) -> tuple[str, int, int]:
    assert problem.span is not None
    return (problem.code, problem.span.line, problem.span.column)


figure = st.integers(min_value=-60, max_value=340)


@given(figure, figure, figure, figure, st.integers(-45, 45), st.integers(1, 200), figure)
def test_holes_anywhere_are_judged_without_a_hitch(
    front: int, rear: int, height: int, bore: int, angle: int, depth: int, eye: int
) -> None:
    text = KESTREL
    for old, new in (
        ("x = 55\nheight = 7", f"x = {min(front, rear) - 1}\nheight = {height}"),
        ("x = 235\nheight = 8", f"x = {max(front, rear)}\nheight = 8"),
        ("height = 25", f"height = {min(bore, 300)}\nangle = {angle}"),
        ("depth = 52", f"depth = {depth}"),
        ('axle = "rear"\nahead = 10', f"x = {eye}"),
    ):
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    design = read_design(parse_source(text, "odd.toml"), TEST_KIT)
    for fault in body_faults(Body(design)):
        assert fault.span is not None
        assert fault.key.split(".")[0].split("[")[0] in ("bore", "axles", "screw_eye")

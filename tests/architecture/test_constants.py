"""Figures that nature or a standard fixes are written once, in foundation/constants.py."""

from __future__ import annotations

import ast
from pathlib import Path
from statistics import NormalDist

from bodyshop.foundation import constants

# To three or more figures (ISO 80000-3, ISO 2533, the yard and pound agreement;
# 1.96 from tables of the normal law).
FIXED = (9.80665, 1013.25, 273.15, 287.05287, 25.4, 28.349523125, 1.959964)


def literals(text: str) -> list[tuple[int, float]]:
    """Where a figure within a thousandth of a fixed one is written."""
    return [
        (node.lineno, node.value)
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Constant)
        and type(node.value) is float
        and any(abs(node.value / power / each - 1) < 3e-4 for each in FIXED for power in (1.0, 1e-3, 1e3))
    ]


def test_only_one_module_writes_them(root: Path) -> None:
    found = {
        f"{file.relative_to(root).as_posix()}:{line}: {value}"
        for file in (root / "bodyshop").rglob("*.py")
        if file != Path(constants.__file__)
        for line, value in literals(file.read_text(encoding="utf-8"))
    }
    assert found == set()
    # The counter-case: the module itself, and a figure that somebody writes from memory.
    assert len(literals(Path(constants.__file__).read_text(encoding="utf-8"))) == len(FIXED)
    assert literals("half = 1.96 * sd\nweight = 0.08 * 9.807") == [(1, 1.96), (2, 9.807)]


def test_they_are_what_the_standards_say() -> None:
    assert (constants.MM_PER_IN, constants.OUNCE_G) == (25.4, 453.59237 / 16)
    assert abs(constants.NORMAL_95 - NormalDist().inv_cdf(0.975)) < 1e-15

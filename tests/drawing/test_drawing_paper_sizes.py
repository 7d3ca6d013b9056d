"""Sheet sizes against the rules of their standards."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from bodyshop.drawing.sheet.paper import read_sheet_sizes, sheet_sizes
from bodyshop.foundation.problems import ProblemsError


def test_the_sizes_that_are_promised_are_there() -> None:
    assert list(sheet_sizes()) == ["a4", "a3", "a2", "letter", "legal", "tabloid"]


@pytest.mark.parametrize(("paper", "n"), [("a4", 4), ("a3", 3), ("a2", 2)])
def test_iso_216_by_its_formula(paper: str, n: int) -> None:
    # Source: ISO 216: A0 has 1 m² and sides in the ratio of the root of 2; sizes are rounded to the mm.
    size = sheet_sizes()[paper]
    width, height = 1000 * 2 ** (-1 / 4 - n / 2), 1000 * 2 ** (1 / 4 - n / 2)
    assert abs(size.width_mm - width) <= 1
    assert abs(size.height_mm - height) <= 1
    assert size.height_mm / size.width_mm == pytest.approx(math.sqrt(2), rel=0.005)
    assert "ISO 216" in size.source


def test_iso_216_halving() -> None:
    a4, a3, a2 = (sheet_sizes()[name] for name in ("a4", "a3", "a2"))
    for small, large in ((a4, a3), (a3, a2)):
        assert small.height_mm == large.width_mm
        assert small.width_mm == large.height_mm // 2


@pytest.mark.parametrize(
    ("paper", "inches"), [("letter", (8.5, 11)), ("legal", (8.5, 14)), ("tabloid", (11, 17))]
)
def test_inch_sizes(paper: str, inches: tuple[float, float]) -> None:
    # Source: ANSI/ASME Y14.1 sizes A (8.5 x 11 in) and B (11 x 17 in); an inch is 25.4 mm exactly.
    size = sheet_sizes()[paper]
    assert size.inches == inches
    assert (size.width_mm, size.height_mm) == pytest.approx((inches[0] * 25.4, inches[1] * 25.4), abs=1e-9)
    assert size.turned.inches == (inches[1], inches[0])
    assert (size.turned.width_mm, size.turned.height_mm) == (size.height_mm, size.width_mm)


def test_a_damaged_table_is_a_placed_problem(tmp_path: Path) -> None:
    file = tmp_path / "sheets.toml"
    file.write_text(
        '[[sheet]]\nid = "a4"\nname = "A4"\nwidth_mm = "210"\nheigth_mm = 297\n'
        'source = "ISO 216"\nconfidence = "R"\n',
        encoding="utf-8",
    )
    with pytest.raises(ProblemsError) as caught:
        read_sheet_sizes(file)
    assert {problem.code for problem in caught.value.problems} == {
        "stock-value",
        "stock-missing-key",
        "stock-unknown-key",
    }

"""The mass bar: drawn to one measure, read back from the SVG by svgelements."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pytest
import svgelements

from bodyshop.drawing.sheet.items import Group, Sheet
from bodyshop.drawing.sheet.replay import bounds
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.drawing.writers.svg import write_svg
from bodyshop.geometry.affine import Affine
from bodyshop.output.figures.mass_bar import draw_mass_bars, mass_bars, mass_sentence
from bodyshop.rules.checking import Checked, check_car, open_car

# Source: CSS: 96 px to the inch, so the reader's pixels are 25.4 / 96 mm.
_PX = 25.4 / 96


@pytest.fixture(scope="module")
def lapwing() -> Checked:
    root = Path(__file__).resolve().parents[2]
    return check_car(open_car(root / "samples" / "lapwing.toml"))


def test_box_and_limits_stand_at_their_masses(lapwing: Checked) -> None:
    (bar,) = mass_bars(lapwing)
    block = draw_mass_bars([bar], 92.0)
    sheet = Sheet(92.0, 60.0, (Group(Affine.move(0.0, 60.0), block.items),))
    read = svgelements.SVG.parse(io.StringIO(write_svg(sheet, DocMeta("mass"))), reify=True, ppi=96)
    paths = [e for e in read.elements() if isinstance(e, svgelements.Path)]
    boxes = [[x * _PX for x in path.bbox()] for path in paths]
    # the scale, from the two limits: dotted lines are the only upright ones higher than the bar
    dotted = sorted({round(b[0], 4) for b in boxes if b[2] - b[0] < 1e-6 and b[3] - b[1] > 8.0})
    assert len(dotted) == 2
    per_gram = (dotted[1] - dotted[0]) / (170.0 - 45.0)  # M1 and M2 of the rulebook
    zero = dotted[0] - 45.0 * per_gram
    mass = lapwing.opened.car.mass
    wide = (mass.high_g - mass.low_g) * per_gram
    assert any(
        abs(b[0] - (zero + mass.low_g * per_gram)) < 0.01 and abs(b[2] - b[0] - wide) < 0.01 for b in boxes
    )


def test_words_and_numbers(lapwing: Checked) -> None:
    (bar,) = mass_bars(lapwing)
    assert mass_sentence(bar) == "Mass without cartridge: about 267 g (95 % range 216 to 319 g)."
    assert [words for _, words in bar.limits] == ["at least 45 g", "at most 170 g"]
    assert [number for number, _ in bar.marks] == [18]


@pytest.mark.parametrize(
    "limits", [((65.0, "at least 65 g"), (65.5, "at most 65.5 g")), ((0.0, "at least 0 g"),), ()]
)
def test_limits_close_together_keep_their_words_apart(lapwing: Checked, limits) -> None:
    (bar,) = mass_bars(lapwing)
    block = draw_mass_bars([replace(bar, limits=limits, least_g=None, most_g=None)], 92.0)
    around = bounds(block.items)
    assert around is not None
    assert around.x > -0.5
    assert around.right < 92.5
    assert around.y > -block.height_mm - 0.5

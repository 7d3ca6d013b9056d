"""A printer that is off: what its bars may measure, and sheets drawn for it."""

from __future__ import annotations

import pytest

from bodyshop.drawing.layout.frame import MARGIN_MM, TitleBlock, page_frame
from bodyshop.drawing.layout.marks import BarUnit
from bodyshop.drawing.layout.printer import MOST_OFF, Printer, corrected, read_printer
from bodyshop.drawing.layout.tiling import plan_tiles
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import SheetSide, sheet_size, sheet_sizes
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, replay
from bodyshop.drawing.sheet.shapes import circle, line
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.units import LengthUnit


@pytest.mark.parametrize(
    ("x", "y", "unit", "ratios"),
    [
        ("99.4", "100.2", LengthUnit.MM, (0.994, 1.002)),
        ("9.94 cm", "100.2mm", LengthUnit.MM, (0.994, 1.002)),
        ("3.98", "4", LengthUnit.IN, (0.995, 1.0)),
        ("3 31/32", "4 1/64 in", LengthUnit.IN, (3.96875 / 4, 4.015625 / 4)),
        ("101.6 mm", "100 mm", LengthUnit.IN, (1.0, 100 / 101.6)),
        ("97.5", "102.5", LengthUnit.MM, (0.975, 1.025)),
    ],
)
def test_ratios_are_measured_over_drawn(
    x: str, y: str, unit: LengthUnit, ratios: tuple[float, float]
) -> None:
    printer = read_printer(x, y, unit)
    assert printer is not None
    assert (printer.x_ratio, printer.y_ratio) == pytest.approx(ratios, abs=1e-12)
    assert f"prints {'4 in' if unit is LengthUnit.IN else '100 mm'} as" in printer.note


@pytest.mark.parametrize(("x", "y"), [("100", "100"), ("100.0 mm", "10cm")])
def test_a_true_printer_needs_nothing(x: str, y: str) -> None:
    assert read_printer(x, y, LengthUnit.MM) is None


@pytest.mark.parametrize("text", ["0", "5", "-100", "nan", "inf", "1e400", "", "x", "4", "200", "9" * 200])
def test_what_no_bar_measures(text: str) -> None:
    for pair in ((text, "100"), ("100", text)):
        with pytest.raises(ProblemsError) as caught:
            read_printer(*pair, LengthUnit.MM)
        (problem,) = caught.value.problems
        assert problem.code == "calibration"
        assert f"bar {'X' if pair[0] == text else 'Y'}" in problem.message


@pytest.mark.parametrize("length", [100 * (1 - MOST_OFF) - 0.1, 100 * (1 + MOST_OFF) + 0.1, 94.0])
def test_what_was_fitted_to_the_page_is_no_error_of_the_printer(length: float) -> None:
    with pytest.raises(ProblemsError, match="most likely fitted to the page"):
        read_printer(f"{length}", "100", LengthUnit.MM)


def test_both_slips_are_told_at_once() -> None:
    with pytest.raises(ProblemsError) as caught:
        read_printer("0", "nan", LengthUnit.MM)
    assert len(caught.value.problems) == 2


def test_a_sheet_is_stretched_about_its_middle() -> None:
    sheet = Sheet(200.0, 300.0, (line((100, 150), (110, 160), Layer.CUT), circle((0, 0), 1, Layer.HOLE)))
    printer = Printer(98.0, 102.0)
    lying = Sheet(200.0, 300.0, sheet.items, feeds_along_x=True)
    upright, turned = corrected(sheet, printer), corrected(lying, printer)
    for drawn, (sx, sy) in ((upright, (1 / 0.98, 1 / 1.02)), (turned, (1 / 1.02, 1 / 0.98))):
        assert (drawn.width_mm, drawn.height_mm) == (200.0, 300.0)
        stroke = next(ink for ink in replay(drawn) if isinstance(ink, InkedPath))
        assert stroke.segments[0].end == pytest.approx((100, 150))
        assert stroke.segments[1].end == pytest.approx((100 + 10 * sx, 150 + 10 * sy))
    assert corrected(sheet, None) is sheet


def test_a_roll_keeps_its_margin_along_the_feed() -> None:
    sheet = Sheet(600.0, 1800.0, (line((0, 0), (600, 1800), Layer.CUT),), is_cut_off=True)
    drawn = corrected(sheet, Printer(100.0, 98.0))
    assert (drawn.width_mm, drawn.height_mm) == pytest.approx((600.0, 1800.0 / 0.98))
    (stroke,) = (ink for ink in replay(drawn) if isinstance(ink, InkedPath))
    assert stroke.segments[1].end == pytest.approx((600.0, 1800.0 / 0.98))


def test_paper_too_large_to_be_corrected_is_told() -> None:
    sheet = Sheet(1900.0, 1900.0, ())
    with pytest.raises(ProblemsError, match="out of its margin"):
        corrected(sheet, Printer(99.0, 100.0))
    assert corrected(sheet, Printer(101.0, 100.0)).width_mm == 1900.0
    least = 2 * (MARGIN_MM - 0.5)
    still = Sheet(least / 0.01 - 1, 200.0, ())
    assert corrected(still, Printer(100 / 1.01, 100.0)).width_mm == still.width_mm


@pytest.mark.parametrize(
    ("paper", "turned", "level"),
    [
        ("a4", False, "X"),
        ("a4", True, "Y"),
        ("roll:300", False, "X"),
        ("roll:300", True, "Y"),
        ("300x300", False, "X"),
    ],
)
def test_bar_x_lies_across_the_feed(paper: str, turned: bool, level: str) -> None:
    size = sheet_size(paper)
    frame = page_frame(size.turned if turned else size, TitleBlock("Wren", "side"), bar=BarUnit.MM)
    words = [d for d in replay(Sheet(2000, 2000, frame.items)) if isinstance(d, Lettering)]
    named = {d.text.split(":")[0]: d.rotation_rad for d in words if d.text.startswith("bar ")}
    assert set(named) == {"bar X", "bar Y"}
    assert named[f"bar {level}"] == pytest.approx(0.0)
    assert named[f"bar {'Y' if level == 'X' else 'X'}"] == pytest.approx(1.5707963, abs=1e-6)


# ---------------------------------------------------------------- sizes of paper


@pytest.mark.parametrize(
    ("text", "width", "height", "free"),
    [
        ("A3", 297, 420, None),
        ("900x500", 500, 900, None),
        ("50 x 90 cm", 500, 900, None),
        ('8 1/2 x 11"', 215.9, 279.4, None),
        ("20in x 700mm", 508, 700, None),
        ("roll:610", 610, 2000, SheetSide.HEIGHT),
        ("Roll: 24 in", 609.6, 2000, SheetSide.HEIGHT),
        ("roll:24x36in", 609.6, 914.4, SheetSide.HEIGHT),
        ("roll:914x1200", 914, 1200, SheetSide.HEIGHT),
    ],
)
def test_sizes_as_typed(text: str, width: float, height: float, free: SheetSide | None) -> None:
    size = sheet_size(text)
    assert (size.width_mm, size.height_mm) == pytest.approx((width, height))
    assert size.free is free
    assert sheet_size(size.id) == size
    assert size.turned.turned == size


@pytest.mark.parametrize(
    "text",
    ["", "x", "a44", "500", "500x", "x500", "1x2x3", "0x0", "-5x300", "nanx300", "1e9x300", "199x300",
     "300x2001", "roll", "roll:", "roll:x", "roll:100", "roll:600x", "roll:600x1x1", "roll:600x3000",
     "roll:-600", "q" * 5000],
)  # fmt: skip
def test_sizes_that_are_none(text: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        sheet_size(text)
    (problem,) = caught.value.problems
    assert problem.code.startswith("sheet-")
    assert len(problem.sentence) < 300


def test_paper_off_a_roll_is_cut_to_the_drawing() -> None:
    roll = sheet_size("roll:600")
    for width, height in ((300, 150), (560, 700), (1500, 200), (150, 1500), (900, 540)):
        plan = plan_tiles(Sheet(width, height, ()), roll)
        assert plan.count == 1
        assert plan.window.width >= width - 1e-6
        assert plan.window.height >= height - 1e-6
        sides = (plan.size.width_mm, plan.size.height_mm)
        assert 600 in sides
        # No longer than the drawing needs with its frame, rounded up to whole millimetres.
        across = plan.size.free is SheetSide.WIDTH
        spare = plan.window.width - width if across else plan.window.height - max(height, 105.6)
        assert spare < 1.0 or min(sides) <= 280
    # Longer than may be cut off: tiles, each within the roll.
    plan = plan_tiles(Sheet(5000, 300, ()), roll)
    assert plan.count > 1
    assert max(plan.size.width_mm, plan.size.height_mm) <= 2000


def test_paper_too_small_for_its_frame_is_told() -> None:
    small = sheet_sizes()["a4"]
    with pytest.raises(ProblemsError, match="is too small: margins, title block and check bars"):
        plan_tiles(Sheet(300, 100, ()), small, margin_mm=90.0)

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.records.classroom import Supplies, supplies
from bodyshop.records.classroom.discovery import CarRow, Cut, StockNeeds, SupplyShelf
from bodyshop.records.classroom.stock_plan import StockLine, read_supplies, stock_plan, with_spares
from tests.records.classes import car, rows_of, square
from tests.records.classes import put as put_file

FIGURES = Supplies(spare_share=0.1, runs=3, rod_cut_mm=1.0, straw_cut_mm=1.0, straw_mm=200.0)


@pytest.fixture(scope="module")
def wren(tmp_path_factory: pytest.TempPathFactory) -> CarRow:
    folder = tmp_path_factory.mktemp("plan")
    put_file(folder, "wren.toml", square())
    (row,) = rows_of(folder)
    return car(row)


def line(lines: Sequence[StockLine], supply: SupplyShelf, item: str = "") -> StockLine:
    (found,) = [each for each in lines if each.supply is supply and item in each.item]
    return found


def with_cuts(row: CarRow, *cuts: Cut) -> CarRow:
    return replace(row, needs=replace(row.needs, cuts=cuts))


def test_the_stock_for_ten_cars_counted_by_hand(wren: CarRow) -> None:
    plan = stock_plan([wren] * 10, FIGURES)
    lines = plan.lines
    assert plan.cars == 10
    assert [
        (each.need, each.get)
        for each in (line(lines, SupplyShelf.BLANK), line(lines, SupplyShelf.FRONT_WHEEL))
    ] == [
        (10, 11),
        (20, 22),
    ]
    assert (line(lines, SupplyShelf.WASHER).need, line(lines, SupplyShelf.WASHER).get) == (40, 44)
    assert (line(lines, SupplyShelf.EYE).need, line(lines, SupplyShelf.EYE).get) == (20, 22)
    # Three runs: 30 cartridges and a tenth to spare.
    assert (line(lines, SupplyShelf.CARTRIDGE).need, line(lines, SupplyShelf.CARTRIDGE).get) == (30, 33)
    assert line(lines, SupplyShelf.BLANK).label == "larkfield-block, basswood"
    assert line(lines, SupplyShelf.CARTRIDGE).label == "8 g CO2 cartridge"


def test_axles_and_bearings_cut_by_hand(wren: CarRow) -> None:
    cuts = [Cut(SupplyShelf.AXLE, "axle-3", 60.0), Cut(SupplyShelf.BEARING, "straw-4", 39.0)] * 2
    lines = stock_plan([with_cuts(wren, *cuts)] * 10, FIGURES).lines
    axles, straws = line(lines, SupplyShelf.AXLE), line(lines, SupplyShelf.BEARING)
    # Rods of 300 mm: 4 x 60 + 3 x 1 = 243, and a fifth would need 304. 20 axles: 5 rods, and 1 to spare.
    assert (axles.need, axles.get, axles.cut_mm, axles.rod_mm) == (20, 6, 1200.0, 300.0)
    # Straws of 200 mm: 5 pieces of 39 mm cut 1 mm long are 200 to the hair. 20 bearings: 4 straws and 1.
    assert (straws.need, straws.get, straws.cut_mm, straws.rod_mm) == (20, 5, 780.0, 200.0)
    assert straws.longest_mm == 39.0


def test_an_axle_that_no_rod_is_long_enough_for_is_told(wren: CarRow) -> None:
    lines = stock_plan([with_cuts(wren, Cut(SupplyShelf.AXLE, "axle-3", 301.0))], FIGURES).lines
    axles = line(lines, SupplyShelf.AXLE)
    assert (axles.need, axles.get, axles.too_long) == (1, 0, 1)


@pytest.mark.parametrize(
    ("count", "share", "get"),
    [(10, 0.1, 11), (11, 0.1, 13), (1, 0.1, 2), (0, 0.1, 0), (30, 0.0, 30), (70, 0.1, 77)],
)
def test_spares_are_whole_pieces(count: int, share: float, get: int) -> None:
    assert with_spares(count, share) == get


def test_declared_spare_wheels_have_no_spares_of_their_own(wren: CarRow) -> None:
    needs = replace(wren.needs, pieces=((SupplyShelf.SPARE_WHEEL, "front or rear", 10),))
    lines = stock_plan([replace(wren, needs=needs)], FIGURES).lines
    assert line(lines, SupplyShelf.SPARE_WHEEL).get == 10


def test_wood_to_cover_is_the_sum_of_the_skins(wren: CarRow) -> None:
    lines = stock_plan([wren, wren, replace(wren, needs=replace(wren.needs, finish="bare"))], FIGURES).lines
    painted = line(lines, SupplyShelf.FINISH)
    assert (painted.item, painted.need) == ("painted", 2)
    assert painted.area_mm2 == pytest.approx(2 * wren.needs.skin_mm2)


def test_a_class_of_nobody_needs_nothing() -> None:
    assert stock_plan([], FIGURES).lines == ()


def test_lines_are_in_the_order_of_the_shelves_and_most_first(wren: CarRow) -> None:
    balsa = replace(
        wren,
        needs=StockNeeds(((SupplyShelf.BLANK, "larkfield-block, balsa", 1),), (), "bare", "none", 0.0),
    )
    lines = stock_plan([balsa, wren, wren], FIGURES).lines
    order = [list(SupplyShelf).index(each.supply) for each in lines]
    assert order == sorted(order)
    assert [each.item for each in lines if each.supply is SupplyShelf.BLANK] == [
        "larkfield-block, basswood",
        "larkfield-block, balsa",
    ]


# ---------------------------------------------------------------- the figures


def test_the_figures_that_come_along() -> None:
    assert supplies() == Supplies(0.1, 3, 1.0, 1.0, 200.0)


def test_damaged_figures_are_told(tmp_path: Path) -> None:
    text = (Path(read_supplies.__code__.co_filename).with_name("supplies.toml")).read_text(encoding="utf-8")
    cases = {
        text.replace("value = 0.1", 'value = "a tenth"'): "stock-value",
        text.replace("value = 200", "value = -1"): "stock-range",
        text.replace('id = "runs"', 'id = "rums"'): "stock-missing-key",
        text.replace('confidence = "M"', 'confidence = "Z"'): "stock-value",
    }
    for spoilt, code in cases.items():
        assert spoilt != text
        with pytest.raises(ProblemsError) as told:
            read_supplies(put_file(tmp_path, "supplies.toml", spoilt))
        assert [problem.code for problem in told.value.problems] == [code]

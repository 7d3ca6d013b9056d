"""Dimensions, tables, title block, frame: nothing overlaps, nothing is clipped, nothing is lost."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.drawing.layout.blocks import caution_box, numbered_list, paragraph
from bodyshop.drawing.layout.dimensions import dimension, leader, spread
from bodyshop.drawing.layout.frame import (
    MARGIN_MM,
    PRINT_NOTE,
    TITLE_BLOCK_HEIGHT_MM,
    TileMark,
    TitleBlock,
    content_window,
    lay_title_block,
    page_frame,
    tile_label,
)
from bodyshop.drawing.layout.marks import BarUnit, bar_length_mm, check_bar, hole_mark
from bodyshop.drawing.layout.table import Align, Cell, Column, Table, lay_table
from bodyshop.drawing.sheet.items import Circle, Item, Path, Sheet
from bodyshop.drawing.sheet.paper import SheetSize, sheet_sizes
from bodyshop.drawing.sheet.pens import Layer, Pen, default_pen, pen_style
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, bounds, replay, text_box
from bodyshop.geometry.paths import Rect

_PLAIN = TitleBlock("Kestrel", "profile and plan", "Larkfield School workshop", "7f3a 91c0", "Bench 4")
_LONG = TitleBlock(
    title="A car with a name that goes on and on, far past the end of its cell " * 3,
    document="profile, plan and everything else one could wish to see on one sheet",
    owner="Larkfield School workshop, lower school, design and technology department",
    identification="0123456789abcdef" * 4,
    creator="Bench 4 and Bench 5 together",
    date="the thirteenth of November of this year",
    sheet=1234,
    sheets=56789,
    rulebook="quarry-lane, Quarry Lane Sprint, with the amendments of the spring term",
    verdict="FAILS 12 of 24 rules: " + "wall at the bore, mass, " * 9,
    fails=True,
)


def _letterings(items: Iterable[Item]) -> Iterator[Lettering]:
    for drawn in replay(Sheet(1000, 1000, tuple(items))):
        if isinstance(drawn, Lettering):
            yield drawn


def _boxes(items: Iterable[Item]) -> list[shapely.Polygon]:
    return [shapely.Polygon(text_box(lettering)) for lettering in _letterings(items)]


def _words(items: Iterable[Item]) -> str:
    return " ".join(lettering.text for lettering in _letterings(items))


def _assert_apart(boxes: list[shapely.Polygon]) -> None:
    for a, b in itertools.combinations(boxes, 2):
        assert a.intersection(b).area < 1e-6


def _box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def _all_sheets() -> list[SheetSize]:
    return [lying for size in sheet_sizes().values() for lying in (size, size.turned)]


# ---------------------------------------------------------------- pens


def test_every_pen_has_a_row_and_a_width_of_the_standard_series() -> None:
    # Source: line widths of ISO 128-2, from memory.
    for pen in Pen:
        style = pen_style(pen)
        assert style.width_mm in {0.13, 0.18, 0.25, 0.35, 0.5, 0.7}
        assert len(style.dashes_mm) % 2 == 0
        assert all(dash > 0 for dash in style.dashes_mm)
        assert style.use


def test_kinds_of_line_can_be_told_apart_without_colour() -> None:
    looks = {
        (pen_style(pen).width_mm, tuple(dash / pen_style(pen).width_mm for dash in pen_style(pen).dashes_mm))
        for pen in (Pen.CUT, Pen.VISIBLE, Pen.NARROW, Pen.HIDDEN, Pen.CENTRE, Pen.ADJACENT)
    }
    assert len(looks) == 6
    assert pen_style(Pen.CUT).width_mm == max(pen_style(default_pen(layer)).width_mm for layer in Layer)


# ---------------------------------------------------------------- dimensions


def _dimension_line(items: list[Item]) -> tuple[float, float, float]:
    """The level dimension line: its ends and its height."""
    lines = [
        (item.segments[0].end, item.segments[1].end)
        for item in items
        if isinstance(item, Path) and len(item.segments) == 2
    ]
    (a, b) = next((a, b) for a, b in lines if a[1] == b[1])
    return a[0], b[0], a[1]


@pytest.mark.parametrize("length", [305.0, 40.0, 12.0, 6.0, 3.0, 0.5])
def test_a_dimension_keeps_its_figure_off_every_line(length: float) -> None:
    items = dimension((10, 10), (10 + length, 14), "305.5", 12, 0)
    (figure,) = _boxes(items)
    left, right, level = _dimension_line(items)
    assert level == 26
    assert left <= 10
    assert right >= 10 + length
    for drawn in replay(Sheet(400, 100, items)):
        if isinstance(drawn, InkedPath):
            ends = [segment.end for segment in drawn.segments]
            # The capitals' box, without the descenders that figures do not have.
            assert not shapely.LineString(ends).intersects(figure.buffer(-0.75))
    assert figure.bounds[2] <= right + 1e-6


@pytest.mark.parametrize(
    ("angle_deg", "reads_deg"), [(0, 0), (180, 0), (90, 90), (-90, 90), (45, 45), (135, -45), (225, 45)]
)
def test_figures_read_from_the_bottom_or_the_right(angle_deg: float, reads_deg: float) -> None:
    # Source: ISO 129-1 as in the reference notes: readable from the bottom or right of the sheet.
    angle = math.radians(angle_deg)
    end = (100 + 50 * math.cos(angle), 100 + 50 * math.sin(angle))
    (figure,) = _letterings(dimension((100, 100), end, "50", 8))
    assert math.degrees(figure.rotation_rad) == pytest.approx(reads_deg)


def test_a_dimension_needs_a_length() -> None:
    with pytest.raises(ValueError, match="apart"):
        dimension((0, 0), (0, 5), "0", 8, 0)


@given(st.lists(st.floats(0, 300), max_size=30), st.floats(1, 10))
def test_spread_keeps_order_distance_and_centre(wanted: list[float], pitch: float) -> None:
    wanted.sort()
    places = spread(wanted, pitch)
    assert all(b - a >= pitch - 1e-6 for a, b in itertools.pairwise(places))
    assert sum(places) == pytest.approx(sum(wanted), abs=1e-6)
    if all(b - a >= pitch for a, b in itertools.pairwise(wanted)):
        assert places == pytest.approx(wanted)


def test_a_leader_says_all_its_lines_beyond_the_knee() -> None:
    items = leader((50, 50), (40, 70), "bore Ø19\n52 deep", dot=True)
    boxes = _boxes(items)
    assert _words(items) == "bore Ø19 52 deep"
    assert all(box.bounds[2] <= 40 for box in boxes)
    _assert_apart(boxes)


def test_a_hole_mark_crosses_at_the_centre() -> None:
    edge, *cross = hole_mark((30, 40), 4)
    assert isinstance(edge, Circle)
    assert (edge.centre, edge.radius_mm) == ((30, 40), 2)
    ends = [(item.segments[0].end, item.segments[1].end) for item in cross if isinstance(item, Path)]
    assert ends == [((26, 40), (34, 40)), ((30, 36), (30, 44))]


@pytest.mark.parametrize(("unit", "length"), [(BarUnit.MM, 100.0), (BarUnit.INCH, 4 * 25.4)])
def test_check_bars_are_as_long_as_they_say(unit: BarUnit, length: float) -> None:
    assert bar_length_mm(unit) == pytest.approx(length, abs=1e-12)
    level = [d for d in replay(Sheet(200, 20, check_bar((7, 3), unit))) if isinstance(d, InkedPath)]
    ticks = sorted(
        d.segments[0].end[0]
        for d in level
        if len(d.segments) == 2 and d.segments[0].end[0] == d.segments[1].end[0]
    )
    assert ticks[0] == 7
    assert ticks[-1] == pytest.approx(7 + length, abs=1e-9)
    steps = {round(b - a, 9) for a, b in itertools.pairwise(ticks)}
    assert steps == {10.0 if unit is BarUnit.MM else 12.7}
    upright = bounds(check_bar((7, 3), unit, upright=True))
    flat = bounds(check_bar((7, 3), unit))
    assert upright is not None
    assert flat is not None
    assert (upright.height, upright.width) == pytest.approx((flat.width, flat.height))
    _assert_apart(_boxes(check_bar((7, 3), unit)))


# ---------------------------------------------------------------- text blocks and tables


def test_blocks_take_the_height_they_say() -> None:
    text = "Drill while the blank is square, then saw the profile and tape the offcuts back. " * 3
    for block in (
        paragraph(text, (10, 100), 60),
        numbered_list([text, "Sand to the line."], (10, 100), 60),
        caution_box([text, "Ask your teacher first."], (10, 100), 60),
    ):
        box = bounds(block.items)
        assert box is not None
        assert box.top <= 100 + 1e-6
        assert box.y >= 100 - block.height_mm - 1e-6
        assert box.x >= 10 - 1e-6
        assert box.right <= 70 + 1e-6
        _assert_apart(_boxes(block.items))


_CELLS = st.text(alphabet="ab cdefgh-/3.4 ", max_size=60)


@given(st.lists(st.tuples(_CELLS, _CELLS), max_size=12), st.floats(15, 60))
def test_a_table_over_many_sheets_loses_nothing(rows: list[tuple[str, str]], room: float) -> None:
    columns = (Column("Clause", 30), Column("Rule", 45, Align.RIGHT))
    rest: Table | None = Table(columns, tuple(rows), shaded=frozenset({1}))
    seen: list[str] = []
    sheets = 0
    while rest is not None:
        layout = lay_table(rest, (10, 200), room)
        assert layout.height_mm <= room + 1e-6
        box = bounds(layout.items)
        assert box is not None
        assert box.y >= 200 - layout.height_mm - 1e-6
        _assert_apart(_boxes(layout.items))
        for lettering in _letterings(layout.items):
            if lettering.text not in {"Clause", "Rule"}:
                seen += lettering.text.split()
        assert [lettering.text for lettering in _letterings(layout.items)][:2] == ["Clause", "Rule"]
        rest = layout.rest
        sheets += 1
        assert sheets < 100
    expected = sorted("".join(cell for row in rows for cell in row).replace(" ", ""))
    assert sorted("".join(seen)) == expected


def test_rows_stay_whole_where_a_fresh_sheet_can_hold_them() -> None:
    columns = (Column("Rule", 30),)
    table = Table(columns, (("one two three four five six seven eight nine ten",), ("short",)))
    layout = lay_table(table, (0, 100), 12, fresh=False)
    assert layout.items == ()
    assert layout.rest == table
    with pytest.raises(ValueError, match="no room"):
        lay_table(table, (0, 100), 3)
    with pytest.raises(ValueError, match="2 cells for 1"):
        lay_table(Table(columns, (("a", "b"),)), (0, 100), 50)


def test_cells_keep_inside_their_columns() -> None:
    columns = (Column("A", 20), Column("B", 20, Align.MIDDLE), Column("C", 20, Align.RIGHT))
    words = "unbreakablewordthatislong and more"
    layout = lay_table(Table(columns, ((words, Cell(words, bold=True), words),)), (0, 100), 80)
    for box in _boxes(layout.items):
        column = int(shapely.centroid(box).x // 20)
        assert 20 * column <= box.bounds[0]
        assert box.bounds[2] <= 20 * column + 20


# ---------------------------------------------------------------- title block and frame


@pytest.mark.parametrize("block", [_PLAIN, _LONG], ids=["plain", "long"])
@pytest.mark.parametrize("width", [145.0, 180.0, 194.0])
def test_title_block_holds_its_text(block: TitleBlock, width: float) -> None:
    rect = Rect(10, 10, width, TITLE_BLOCK_HEIGHT_MM)
    items = lay_title_block(block, rect)
    boxes = _boxes(items)
    _assert_apart(boxes)
    cells = shapely.union_all([_box(rect)])
    assert all(cells.covers(box) for box in boxes)
    rules = [
        shapely.LineString([segment.end for segment in item.segments])
        for item in items
        if isinstance(item, Path) and item.pen is Pen.RULE
    ]
    assert not any(rule.intersects(box) for rule in rules for box in boxes)


def test_a_failing_verdict_has_a_heavy_frame_and_no_other_does() -> None:
    rect = Rect(0, 0, 180, TITLE_BLOCK_HEIGHT_MM)

    def heavy(block: TitleBlock) -> int:
        return sum(isinstance(i, Path) and i.pen is Pen.HEAVY for i in lay_title_block(block, rect))

    assert (heavy(_PLAIN), heavy(_LONG)) == (0, 1)


@pytest.mark.parametrize("size", _all_sheets(), ids=lambda s: f"{s.id}-{s.width_mm:.0f}")
@pytest.mark.parametrize("bar", [BarUnit.MM, BarUnit.INCH, None])
@pytest.mark.parametrize("tile", [None, TileMark(1, 1, 3, 4)], ids=["one", "tile"])
def test_the_frame_fits_every_sheet(size: SheetSize, bar: BarUnit | None, tile: TileMark | None) -> None:
    frame = page_frame(size, _LONG, bar=bar, tile=tile)
    paper = Rect(0, 0, size.width_mm, size.height_mm).inset(MARGIN_MM)
    box = bounds(frame.items)
    assert box is not None
    assert paper.holds(box)
    assert paper.holds(frame.window)
    assert frame.window == content_window(size, bars=bar is not None)
    boxes = _boxes(frame.items)
    _assert_apart(boxes)
    window = _box(frame.window)
    assert not any(words.intersects(window) for words in boxes)
    assert all(_box(paper).covers(words) for words in boxes)
    if bar is not None:
        assert PRINT_NOTE in _words(frame.items)
        assert frame.window.height >= bar_length_mm(BarUnit.INCH) + 4
    if tile is not None and bar is not None:
        assert "B2" in _words(frame.items)


def test_tile_labels_go_on_after_z() -> None:
    assert [tile_label(0, 0), tile_label(2, 25), tile_label(0, 26), tile_label(0, 701)] == [
        "A1", "Z3", "AA1", "ZZ1",
    ]  # fmt: skip

"""Drawings on sheets: at full size, with nothing lost and marks that meet."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from bodyshop.drawing.layout.frame import MARGIN_MM, TitleBlock
from bodyshop.drawing.layout.tiling import LEAST_OVERLAP_MM, Seams, plan_tiles, tile
from bodyshop.drawing.sheet.items import Circle, Clip, Group, Item, Sheet, Text
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import Drawn, InkedPath, Lettering, boxed, replay
from bodyshop.drawing.sheet.shapes import line, rectangle
from bodyshop.foundation.problems import ProblemsError
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import Rect

_BLOCK = TitleBlock("Kestrel", "profile and plan", verdict="passes", rulebook="quarry-lane")


def _dots(width: float, height: float, step: float = 19.0) -> Sheet:
    """A drawing with a small ring at every crossing of a grid."""
    xs, ys = np.arange(5, width, step), np.arange(5, height, step)
    rings: list[Item] = [Circle((float(x), float(y)), 1, Layer.HOLE, Pen.VISIBLE) for x in xs for y in ys]
    return Sheet(width, height, [rectangle(Rect(0, 0, width, height), Layer.BLANK), *rings])


def _rings(sheet: Sheet) -> list[Point]:
    """Centres on the paper of the rings that show on it."""
    return [
        d.circle[0]
        for d in replay(sheet)
        if isinstance(d, InkedPath) and d.layer is Layer.HOLE and d.circle is not None
    ]


def _shift(sheet: Sheet) -> Point:
    """How the drawing was moved onto this sheet: the first group's map."""
    group = sheet.items[0]
    assert isinstance(group, Group)
    assert (group.affine.a, group.affine.b, group.affine.c, group.affine.d) == (1, 0, 0, 1)
    return (group.affine.e, group.affine.f)


def _crosses(sheet: Sheet) -> set[tuple[float, float]]:
    """Centres of register crosses in the drawing's coordinates."""
    dx, dy = _shift(sheet)
    drawn: list[Drawn] = list(replay(sheet))
    return {
        (round(d.circle[0][0] - dx, 9), round(d.circle[0][1] - dy, 9))
        for d in drawn
        if isinstance(d, InkedPath) and d.layer is Layer.REGISTER and d.circle is not None
    }


@pytest.mark.parametrize(
    ("paper", "width", "height", "count", "landscape"),
    [
        ("a3", 320, 150, 1, True),
        ("tabloid", 320, 150, 1, True),
        ("a2", 320, 150, 1, True),
        ("a4", 320, 150, 2, True),
        ("letter", 320, 150, 2, True),
        ("legal", 320, 150, 1, True),
        ("a4", 100, 60, 1, True),
        ("a4", 60, 200, 1, False),
        ("a4", 150, 320, 2, False),
    ],
)
def test_sheets_needed(paper: str, width: float, height: float, count: int, landscape: bool) -> None:
    sheets = tile(_dots(width, height), sheet_sizes()[paper], _BLOCK)
    assert len(sheets) == count
    assert all((s.width_mm > s.height_mm) == landscape for s in sheets)
    assert {s.width_mm for s in sheets} <= {
        sheet_sizes()[paper].width_mm,
        sheet_sizes()[paper].height_mm,
    }


@pytest.mark.parametrize(("width", "height"), [(305, 120), (700, 500), (305, 700)])
def test_no_point_of_the_drawing_is_lost_and_none_is_scaled(width: float, height: float) -> None:
    content = _dots(width, height)
    shown: set[Point] = set()
    for sheet in tile(content, sheet_sizes()["a4"], _BLOCK):
        dx, dy = _shift(sheet)
        group = sheet.items[0]
        assert isinstance(group, Group)
        clip = group.items[0]
        assert isinstance(clip, Clip)
        printable = Rect(0, 0, sheet.width_mm, sheet.height_mm).inset(MARGIN_MM)
        window = clip.window
        assert printable.holds(Rect(window.x + dx, window.y + dy, window.width, window.height))
        whole = window.inset(1)
        shown |= {
            (round(x - dx, 6), round(y - dy, 6))
            for x, y in _rings(sheet)
            if whole.holds(Rect(x - dx, y - dy, 0, 0))
        }
    assert shown == {(round(x, 6), round(y, 6)) for x, y in _rings(content)}


def test_neighbours_share_the_very_same_crosses() -> None:
    sheets = tile(_dots(700, 500), sheet_sizes()["a4"], _BLOCK)
    plan = plan_tiles(_dots(700, 500), sheet_sizes()["a4"])
    assert plan.columns > 1
    assert plan.rows > 1
    crosses = [_crosses(sheet) for sheet in sheets]
    for row in range(plan.rows):
        for column in range(plan.columns):
            here = row * plan.columns + column
            if column:
                assert len(crosses[here] & crosses[here - 1]) == 2
            if row:
                assert len(crosses[here] & crosses[here - plan.columns]) == 2
            part = plan.part(column, row)
            assert all(part.holds(Rect(x, y, 0, 0)) for x, y in crosses[here])


def test_parts_cover_the_drawing_and_overlap_as_asked() -> None:
    plan = plan_tiles(_dots(700, 500), sheet_sizes()["letter"], overlap_mm=15)
    parts = [plan.part(c, r) for r in range(plan.rows) for c in range(plan.columns)]
    whole = shapely.union_all([shapely.box(p.x, p.y, p.right, p.top) for p in parts])
    assert whole.area == pytest.approx(700 * 500)
    assert whole.bounds == pytest.approx((0, 0, 700, 500))
    assert plan.part(0, 0).right - plan.part(1, 0).x == pytest.approx(15)
    assert plan.part(0, 1).top - plan.part(0, 0).y == pytest.approx(15)
    assert plan.part(0, 0).width <= plan.window.width + 1e-9
    assert plan.part(0, 0).height <= plan.window.height + 1e-9


def test_a_line_on_an_open_edge_keeps_its_width_and_no_edge_with_a_neighbour_gives_way() -> None:
    content, size = _dots(700, 500), sheet_sizes()["a4"]
    plan = plan_tiles(content, size)
    assert plan.columns > 2
    assert plan.rows > 2
    for number, sheet in enumerate(tile(content, size, _BLOCK)):
        row, column = divmod(number, plan.columns)
        group = sheet.items[0]
        assert isinstance(group, Group)
        clip = group.items[0]
        assert isinstance(clip, Clip)
        part, window = plan.part(column, row), clip.window
        # Half the widest line of the pens reaches over the edge of the drawing; ISO 128-20: 0.7 mm.
        beyond = (part.x - window.x, window.right - part.right, window.top - part.top, part.y - window.y)
        is_open = (column == 0, column == plan.columns - 1, row == 0, row == plan.rows - 1)
        for distance, free in zip(beyond, is_open, strict=True):
            assert distance == pytest.approx(1.0 if free else 0.0)


def test_an_open_edge_carries_no_seam() -> None:
    content, size = _dots(700, 500), sheet_sizes()["a4"]
    plan = plan_tiles(content, size)
    seams = Seams(boxed(content.items), plan)
    for row in range(plan.rows):
        for column in range(plan.columns):
            drawn = list(replay(Sheet(700, 500, seams.marks(column, row))))
            words = [d.text for d in drawn if isinstance(d, Lettering)]
            sides = (column > 0, row > 0, column < plan.columns - 1, row < plan.rows - 1)
            assert len(words) == sum(sides)
            assert sum(text.startswith("CUT") for text in words) == sides[0] + sides[1]
            assert sum(text.startswith("FLAP") for text in words) == sides[2] + sides[3]


def test_what_sticks_out_of_the_drawing_is_shown_too() -> None:
    items: list[Item] = [line((-40, 10), (250, 10), Layer.CUT), Text("far", (10, 330), 3)]
    plan = plan_tiles(Sheet(200, 100, items), sheet_sizes()["a4"])
    assert plan.content.x == -40
    assert plan.content.right == 250
    assert plan.content.top == pytest.approx(333)


def test_every_tile_carries_its_notes_label_numbers_and_verdict() -> None:
    sheets = tile(_dots(320, 150), sheet_sizes()["a4"], _BLOCK, first=3, total=7)
    for k, sheet in enumerate(sheets):
        words = " ".join(d.text for d in replay(sheet) if isinstance(d, Lettering))
        assert "Print at actual size (100 %), do not fit to page." in words
        assert f"{3 + k} of 7" in words
        assert f"A{k + 1}" in words
        assert "passes" in words
        assert sheet.name == f"profile and plan, sheet {3 + k} of 7, tile A{k + 1}"
    assert "FLAP: do not cut off. Glue A2 here." in " ".join(
        d.text for d in replay(sheets[0]) if isinstance(d, Lettering)
    )
    assert "lay on A1" in " ".join(d.text for d in replay(sheets[1]) if isinstance(d, Lettering))


def test_crosses_keep_off_the_drawing_where_they_can() -> None:
    # Two level lines just where the crosses would stand by default.
    lines: list[Item] = [
        line((0, 0.2 * 150), (320, 0.2 * 150), Layer.CUT),
        line((0, 120), (320, 120), Layer.CUT),
    ]
    content = Sheet(320, 150, lines)
    plan = plan_tiles(content, sheet_sizes()["a4"])
    assert (plan.columns, plan.rows) == (2, 1)
    marks = Seams(boxed(content.items), plan).marks(0, 0)
    centres = [m.centre for m in marks if isinstance(m, Circle)]
    assert len(centres) == 2
    assert all(min(abs(y - 30), abs(y - 120)) >= 4.9 for _, y in centres)


def test_too_little_overlap_and_too_many_sheets_are_refused() -> None:
    with pytest.raises(ValueError, match="too little"):
        plan_tiles(_dots(320, 150), sheet_sizes()["a4"], overlap_mm=LEAST_OVERLAP_MM - 1)
    huge = Sheet(30_000, 5_000, [rectangle(Rect(0, 0, 30_000, 5_000), Layer.BLANK)])
    with pytest.raises(ProblemsError) as caught:
        tile(huge, sheet_sizes()["a4"], _BLOCK)
    assert caught.value.problems[0].code == "sheet-count"


def test_a_turned_group_is_tiled_at_full_size() -> None:
    content = Sheet(
        320, 150, [Group(Affine.turn(math.pi / 2, (100, 75)), (line((100, 75), (140, 75), Layer.CUT),))]
    )
    first = tile(content, sheet_sizes()["a4"], _BLOCK)[0]
    (cut,) = [d for d in replay(first) if isinstance(d, InkedPath) and d.layer is Layer.CUT]
    (a, b) = (segment.end for segment in cut.segments)
    assert math.dist(a, b) == pytest.approx(40, abs=1e-12)

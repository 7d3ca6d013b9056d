"""Putting a drawing on sheets at full size: on one when it fits, else on tiles joined at seams."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from bodyshop.drawing.layout.frame import (
    MARGIN_MM,
    TileMark,
    TitleBlock,
    content_window,
    page_frame,
    tile_label,
)
from bodyshop.drawing.layout.free_space import clearest, ink_near
from bodyshop.drawing.layout.marks import BarUnit, bar_length_mm, register_cross
from bodyshop.drawing.sheet.items import Anchor, Clip, Group, Item, Sheet, Text
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import LEAST_SIDE_MM, SheetSide, SheetSize
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import bounds, boxed
from bodyshop.drawing.sheet.shapes import line
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import Rect

__all__ = [
    "LEAST_OVERLAP_MM",
    "MOST_TILES",
    "OVERLAP_MM",
    "Seams",
    "TilePlan",
    "cut_to",
    "plan_tiles",
    "tile",
]


OVERLAP_MM = 20.0
"""Shared by neighbours: half is the flap that is glued (common practice, no published source)."""
LEAST_OVERLAP_MM = 10.0
MOST_TILES = 100

# A drawing larger than its room by less than this still fits: it is rounding, not size.
_SLACK_MM = 1e-6
# Over the upright check bar, for its last figure.
_OVER_BAR_MM = 4.0
# From this width on the check bar stands beside the title block, not over it.
_WIDE_MM = 280.0


@dataclass(frozen=True, slots=True)
class TilePlan:
    """How a drawing goes on sheets: the sheet as it lies, and the grid of tiles."""

    size: SheetSize
    columns: int
    rows: int
    content: Rect
    """What must show, in the drawing's own coordinates: its size, and anything that sticks out of it."""
    overlap_mm: float
    window: Rect
    """The room for content on each sheet."""

    @property
    def count(self) -> int:
        """How many sheets."""
        return self.columns * self.rows

    @property
    def part_mm(self) -> tuple[float, float]:
        """Width and height of the part of the drawing that each tile shows."""
        return (
            (self.content.width + (self.columns - 1) * self.overlap_mm) / self.columns,
            (self.content.height + (self.rows - 1) * self.overlap_mm) / self.rows,
        )

    def part(self, column: int, row: int) -> Rect:
        """The part of the drawing that a tile shows, in the drawing's coordinates."""
        width, height = self.part_mm
        x = self.content.x + column * (width - self.overlap_mm)
        y = self.content.top - row * (height - self.overlap_mm) - height
        return Rect(x, y, width, height)


def plan_tiles(
    content: Sheet,
    size: SheetSize,
    *,
    margin_mm: float = MARGIN_MM,
    overlap_mm: float = OVERLAP_MM,
) -> TilePlan:
    """The way of laying the sheet, upright or on its side, that takes fewest sheets; of a roll, least paper.

    Raises:
        ValueError: the overlap is less than `LEAST_OVERLAP_MM`.
        ProblemsError: more than `MOST_TILES` sheets would be needed, or the paper is too small for its
            frame and check bars.
    """
    if overlap_mm < LEAST_OVERLAP_MM:
        raise ValueError(f"an overlap of {overlap_mm} mm is too little to glue")
    need = Rect(0.0, 0.0, content.width_mm, content.height_mm)
    drawn = bounds(content.items)
    if drawn is not None:
        x, y = min(0.0, drawn.x), min(0.0, drawn.y)
        need = Rect(x, y, max(need.right, drawn.right) - x, max(need.top, drawn.top) - y)

    def plan(lying: SheetSize) -> TilePlan | None:
        window = content_window(lying, margin_mm)
        if not _has_room(window, overlap_mm):
            return None
        columns = _pieces(need.width, window.width, overlap_mm)
        rows = _pieces(need.height, window.height, overlap_mm)
        return _cut_off(TilePlan(lying, columns, rows, need, overlap_mm, window), margin_mm)

    upright, side = plan(size), plan(size.turned)
    likes_side = need.width >= need.height
    ways = [way for way in ((side, upright) if likes_side else (upright, side)) if way is not None]
    if not ways:
        raise ProblemsError([_too_small(size)])
    best = min(ways, key=_paper)
    if best.count > MOST_TILES:
        message = (
            f"the drawing is {need.width:.0f} by {need.height:.0f} mm at full size "
            f"and would take {best.count} sheets of {size.name}"
        )
        raise ProblemsError([Problem("sheet-count", message, expected=f"at most {MOST_TILES} sheets")])
    return best


def cut_to(size: SheetSize, content_mm: float, margin_mm: float = MARGIN_MM) -> SheetSize:
    """A roll's sheet with just enough of its free side for content that takes so much of it."""
    if size.free is None:
        return size
    across = size.free is SheetSide.WIDTH
    # On a narrow sheet the bars stand over the title block, and less height is left: then it stays wide.
    window = content_window(size, margin_mm)
    whole, room = (size.width_mm, window.width) if across else (size.height_mm, window.height)
    least = math.ceil(max(content_mm + whole - room, LEAST_SIDE_MM) - _SLACK_MM)
    for length in (least, max(least, _WIDE_MM)):
        cut = size.cut(length)
        if not across or content_window(cut, margin_mm).height >= window.height - _SLACK_MM:
            return cut
    return size


def _cut_off(plan: TilePlan, margin_mm: float) -> TilePlan:
    """The plan on paper cut off a roll, where it is from a roll."""
    if plan.size.free is None:
        return plan
    part = plan.part_mm[0 if plan.size.free is SheetSide.WIDTH else 1]
    window = plan.window
    upright = bar_length_mm(BarUnit.INCH) + _OVER_BAR_MM
    size = cut_to(plan.size, part if plan.size.free is SheetSide.WIDTH else max(part, upright), margin_mm)
    window = content_window(size, margin_mm)
    return replace(plan, size=size, window=window)


def _paper(plan: TilePlan) -> tuple[int, float]:
    """What counts in choosing: sheets first; then, off a roll, the paper itself."""
    area = plan.count * plan.size.width_mm * plan.size.height_mm
    return plan.count, 0.0 if plan.size.free is None else round(area, 3)


def _has_room(window: Rect, overlap_mm: float) -> bool:
    """Whether the upright check bar stands in it, and a tile shows more than its seams."""
    least = bar_length_mm(BarUnit.INCH) + _OVER_BAR_MM
    return window.height >= least and window.width > 2 * overlap_mm and window.height > 2 * overlap_mm


def _too_small(size: SheetSize) -> Problem:
    message = (
        f"{size.name} is too small: margins, title block and check bars leave no room for a drawing "
        "either way up"
    )
    return Problem("sheet-small", message, expected="a larger sheet, such as a4 or letter")


def _pieces(length: float, room: float, overlap: float) -> int:
    if length <= room + _SLACK_MM:
        return 1
    return math.ceil((length - overlap - _SLACK_MM) / (room - overlap))


_NOTE_MM = 1.8
_TRIM_LIFT_MM = 2.0
_FLAP_LIFT_MM = -3.8
# Room that a cross and a note like to have round them.
_CROSS_CLEAR_MM = 5.0
_NOTE_CLEAR_MM = 2.5


@dataclass(frozen=True, slots=True)
class _Seam:
    """A seam up or to the right, and how far along it the crosses stand."""

    start: Point
    end: Point
    half_mm: float
    ink: shapely.Geometry
    crosses: tuple[float, ...]

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def place(self, u: float, v: float = 0.0) -> Point:
        """The point `u` along the seam and `v` to its left."""
        length = self.length
        along = ((self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length)
        return (
            self.start[0] + u * along[0] - v * along[1],
            self.start[1] + u * along[1] + v * along[0],
        )


class Seams:
    """All seams of a plan, worked out once, so that both neighbours carry the very same crosses.

    `pieces` are the items of the drawing, each with the rectangle round it.
    """

    def __init__(self, pieces: Sequence[tuple[Item, Rect]], plan: TilePlan) -> None:
        self._plan = plan
        self._right: dict[tuple[int, int], _Seam] = {}
        self._below: dict[tuple[int, int], _Seam] = {}
        half = plan.overlap_mm / 2
        for row in range(plan.rows):
            for column in range(plan.columns):
                part = plan.part(column, row)
                if column < plan.columns - 1:
                    x = part.right - half
                    self._right[column, row] = _seam(pieces, (x, part.y), (x, part.top), half)
                if row < plan.rows - 1:
                    y = part.y + half
                    self._below[column, row] = _seam(pieces, (part.x, y), (part.right, y), half)

    def marks(self, column: int, row: int) -> list[Item]:
        """What a tile carries at its seams, in the drawing's coordinates."""
        items: list[Item] = []
        for seams, neighbour in ((self._right, (column - 1, row)), (self._below, (column, row - 1))):
            if neighbour in seams:
                # Up a seam its left is the trimmed side; along a level seam it is the upper side.
                words = f"CUT here, lay on {tile_label(*neighbour)}"
                items += _marks(seams[neighbour], words, _TRIM_LIFT_MM)
        for seams, neighbour in ((self._right, (column + 1, row)), (self._below, (column, row + 1))):
            if (column, row) in seams:
                words = f"FLAP: do not cut off. Glue {tile_label(*neighbour)} here."
                items += _marks(seams[column, row], words, _FLAP_LIFT_MM)
        return items


def _seam(pieces: Sequence[tuple[Item, Rect]], start: Point, end: Point, half_mm: float) -> _Seam:
    level = start[1] == end[1]
    strip = (
        Rect(start[0], start[1] - half_mm, end[0] - start[0], 2 * half_mm)
        if level
        else Rect(start[0] - half_mm, start[1], 2 * half_mm, end[1] - start[1])
    )
    bare = _Seam(
        start, end, half_mm, ink_near([item for item, box in pieces if box.touches(strip)], strip), ()
    )
    crosses = tuple(
        clearest(
            [(u, (bare.place(u),)) for u in (bare.length * (share + 0.01 * k) for k in range(-12, 13))],
            bare.ink,
            bare.length * share,
            _CROSS_CLEAR_MM,
        )
        for share in (0.2, 0.8)
    )
    return _Seam(start, end, half_mm, bare.ink, crosses)


def _marks(seam: _Seam, words: str, lift_mm: float) -> list[Item]:
    """The seam's line and crosses, and a note on its left (`lift_mm` positive) or right."""
    items: list[Item] = [line(seam.start, seam.end, Layer.REGISTER, Pen.TRIM)]
    for u in seam.crosses:
        items += register_cross(seam.place(u))
    reach = text_width_mm(words, _NOTE_MM) / 2
    edge = seam.half_mm + reach
    free = [
        u
        for u in (seam.length * k * 0.02 for k in range(1, 50))
        if edge <= u <= seam.length - edge and all(abs(u - cross) > reach + 5.0 for cross in seam.crosses)
    ] or [seam.length / 2]
    middle = lift_mm + _NOTE_MM / 2
    stretches = [(u, (seam.place(u - reach, middle), seam.place(u + reach, middle))) for u in free]
    u = clearest(stretches, seam.ink, seam.length / 2, _NOTE_CLEAR_MM)
    turn = math.atan2(seam.end[1] - seam.start[1], seam.end[0] - seam.start[0])
    note = Text(
        words, seam.place(u, lift_mm), _NOTE_MM, Anchor.MIDDLE, turn, layer=Layer.REGISTER, clear=True
    )
    return [*items, note]


# Half the widest line, and some; less than the empty strip round the room for content.
_OPEN_MM = 1.0


def tile(
    content: Sheet,
    size: SheetSize,
    block: TitleBlock,
    *,
    bar: BarUnit = BarUnit.MM,
    margin_mm: float = MARGIN_MM,
    overlap_mm: float = OVERLAP_MM,
    first: int = 1,
    total: int | None = None,
) -> list[Sheet]:
    """A drawing on sheets at 1 : 1, each with frame, title block, check bars and printing note.

    Args:
        content: the drawing. Its lower left corner is the origin; what sticks out of its size is shown too.
        size: the paper.
        block: the title block; the sheet numbers are filled in here.
        bar: unit of the check bars.
        margin_mm: kept empty at the paper's edges.
        overlap_mm: shared by neighbouring tiles.
        first: number of the first sheet made.
        total: number of sheets in the document; None when these are all.

    Raises:
        ValueError: the overlap is less than `LEAST_OVERLAP_MM`.
        ProblemsError: more than `MOST_TILES` sheets would be needed.

    >>> from bodyshop.drawing.sheet.paper import sheet_size
    >>> sheets = tile(Sheet(400, 150, ()), sheet_size("a4"), TitleBlock("Kestrel", "Templates"))
    >>> len(sheets)
    2
    """
    plan = plan_tiles(content, size, margin_mm=margin_mm, overlap_mm=overlap_mm)
    last = first + plan.count - 1 if total is None else total
    pieces = boxed(content.items)
    seams = Seams(pieces, plan)
    sheets: list[Sheet] = []
    for row in range(plan.rows):
        for column in range(plan.columns):
            number = first + len(sheets)
            mark = None if plan.count == 1 else TileMark(column, row, plan.columns, plan.rows)
            frame = page_frame(
                plan.size,
                replace(block, sheet=number, sheets=last),
                bar=bar,
                margin_mm=margin_mm,
                tile=mark,
            )
            part = plan.part(column, row)
            dx = frame.window.centre[0] - part.centre[0]
            dy = frame.window.centre[1] - part.centre[1]
            shown: tuple[Item, ...] = tuple(content.items)
            if mark is not None:
                window = _open_sides(part, mark)
                kept = _part_items(pieces, window, _trimmed(part, mark, plan.overlap_mm / 2))
                shown = (Clip(window, kept), *seams.marks(column, row))
            items: list[Item] = [Group(Affine.move(dx, dy), shown)]
            name = f"{block.document}, " if block.document else ""
            name += f"sheet {number} of {last}" + (f", tile {mark.label}" if mark else "")
            sheets.append(
                Sheet(
                    plan.size.width_mm,
                    plan.size.height_mm,
                    (*items, *frame.items),
                    name,
                    feeds_along_x=plan.size.long_side is SheetSide.WIDTH,
                    is_cut_off=plan.size.free is not None,
                )
            )
    return sheets


def _open_sides(part: Rect, mark: TileMark) -> Rect:
    """The part with a little more at the sides without a neighbour, so that wide lines keep their width."""
    left = _OPEN_MM if mark.column == 0 else 0.0
    right = _OPEN_MM if mark.column == mark.columns - 1 else 0.0
    top = _OPEN_MM if mark.row == 0 else 0.0
    bottom = _OPEN_MM if mark.row == mark.rows - 1 else 0.0
    return Rect(part.x - left, part.y - bottom, part.width + left + right, part.height + top + bottom)


def _trimmed(part: Rect, mark: TileMark, half_mm: float) -> Rect:
    """What is left of a part up to its seams; where there is no neighbour it has no end."""
    far = 1e9
    left = part.x + half_mm if mark.column else -far
    right = part.right - half_mm if mark.column < mark.columns - 1 else far
    top = part.top - half_mm if mark.row else far
    bottom = part.y + half_mm if mark.row < mark.rows - 1 else -far
    return Rect(left, bottom, right - left, top - bottom)


def _part_items(pieces: Sequence[tuple[Item, Rect]], part: Rect, trimmed: Rect) -> tuple[Item, ...]:
    """What a tile shows of the drawing, in the drawing's coordinates.

    Words that lie wholly beyond a seam, so that the neighbour has them, are left out where they would be
    cut at the edge of the flap.
    """
    # Half a wide line reaches past the line's middle.
    return tuple(
        item
        for item, box in pieces
        if box.grown(_OPEN_MM).touches(part)
        and (part.holds(box) or trimmed.touches(box) or not _is_words(item))
    )


def _is_words(item: Item) -> bool:
    if isinstance(item, Group):
        return all(_is_words(each) for each in item.items)
    return isinstance(item, Text)

"""Putting a drawing on sheets at full size: on one when it fits, else on tiles that are glued together.

Neighbouring tiles share a strip. Half way across it runs the seam: the right-hand (or lower) tile is
trimmed there and laid on the flap of its neighbour, register crosses on the seam together. Nothing is
ever scaled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from bodyshop.drawing.affine import Affine
from bodyshop.drawing.extent import bounds
from bodyshop.drawing.frame import MARGIN_MM, TileMark, content_window, page_frame, tile_label
from bodyshop.drawing.items import Anchor, Clip, Group, Item, Rect, Sheet, Text
from bodyshop.drawing.marks import BarUnit, register_cross
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import line
from bodyshop.drawing.titleblock import TitleBlock
from bodyshop.problems import Problem, ProblemsError
from bodyshop.stock.sheets import SheetSize

__all__ = ["LEAST_OVERLAP_MM", "MOST_TILES", "OVERLAP_MM", "TilePlan", "plan_tiles", "tile"]

OVERLAP_MM = 20.0
"""Shared by neighbours: half is the flap that is glued (common practice, no published source)."""
LEAST_OVERLAP_MM = 10.0
MOST_TILES = 100

# A drawing larger than its room by less than this still fits: it is rounding, not size.
_SLACK_MM = 1e-6


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
    """The way of laying the sheet, upright or on its side, that takes fewest sheets.

    Raises:
        ValueError: the overlap is less than `LEAST_OVERLAP_MM`.
        ProblemsError: more than `MOST_TILES` sheets would be needed.
    """
    if overlap_mm < LEAST_OVERLAP_MM:
        raise ValueError(f"an overlap of {overlap_mm} mm is too little to glue")
    need = Rect(0.0, 0.0, content.width_mm, content.height_mm)
    drawn = bounds(content.items)
    if drawn is not None:
        x, y = min(0.0, drawn.x), min(0.0, drawn.y)
        need = Rect(x, y, max(need.right, drawn.right) - x, max(need.top, drawn.top) - y)

    def plan(lying: SheetSize) -> TilePlan:
        window = content_window(lying, margin_mm)
        columns = _pieces(need.width, window.width, overlap_mm)
        rows = _pieces(need.height, window.height, overlap_mm)
        return TilePlan(lying, columns, rows, need, overlap_mm, window)

    upright, side = plan(size), plan(size.turned)
    likes_side = need.width >= need.height
    best = min((side, upright) if likes_side else (upright, side), key=lambda choice: choice.count)
    if best.count > MOST_TILES:
        message = (
            f"the drawing is {need.width:.0f} by {need.height:.0f} mm at full size "
            f"and would take {best.count} sheets of {size.name}"
        )
        raise ProblemsError([Problem("sheet-count", message, expected=f"at most {MOST_TILES} sheets")])
    return best


def _pieces(length: float, room: float, overlap: float) -> int:
    if length <= room + _SLACK_MM:
        return 1
    return math.ceil((length - overlap - _SLACK_MM) / (room - overlap))


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
    """
    plan = plan_tiles(content, size, margin_mm=margin_mm, overlap_mm=overlap_mm)
    last = first + plan.count - 1 if total is None else total
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
            items: list[Item] = [Group(Affine.move(dx, dy), _part_items(content, plan, mark, part))]
            name = f"sheet {number} of {last}" + (f", tile {mark.label}" if mark else "")
            sheets.append(Sheet(plan.size.width_mm, plan.size.height_mm, (*items, *frame.items), name))
    return sheets


def _part_items(content: Sheet, plan: TilePlan, mark: TileMark | None, part: Rect) -> tuple[Item, ...]:
    """What a tile shows, in the drawing's coordinates."""
    if mark is None:
        return tuple(content.items)
    inside = tuple(item for item in content.items if _touches(item, part))
    return (Clip(part, inside), *_seams(plan, mark, part))


def _touches(item: Item, part: Rect) -> bool:
    box = bounds([item])
    # Half a wide line reaches past the line's middle.
    return box is not None and (
        box.x <= part.right + 1
        and box.right >= part.x - 1
        and box.y <= part.top + 1
        and box.top >= part.y - 1
    )


def _seams(plan: TilePlan, mark: TileMark, part: Rect) -> list[Item]:
    """Seam lines, register crosses and what to do with each edge that has a neighbour."""
    half = plan.overlap_mm / 2
    items: list[Item] = []
    ys = (part.y + 0.2 * part.height, part.y + 0.8 * part.height)
    xs = (part.x + 0.2 * part.width, part.x + 0.8 * part.width)
    column, row = mark.column, mark.row
    upright = math.pi / 2

    def note(words: str, x: float, y: float, turn: float) -> Text:
        return Text(words, (x, y), 1.8, Anchor.MIDDLE, turn, layer=Layer.REGISTER, clear=True)

    if column > 0:
        x, other = part.x + half, tile_label(column - 1, row)
        items += _seam_line(x, part.y, x, part.top)
        items += [cross for y in ys for cross in register_cross((x, y))]
        items.append(note(f"trim along this line, lay on {other}", x - 2.0, part.centre[1], upright))
    if column < mark.columns - 1:
        x, other = part.right - half, tile_label(column + 1, row)
        items += _seam_line(x, part.y, x, part.top)
        items += [cross for y in ys for cross in register_cross((x, y))]
        items.append(note(f"flap: glue {other} on here", x + 3.8, part.centre[1], upright))
    if row > 0:
        y, other = part.top - half, tile_label(column, row - 1)
        items += _seam_line(part.x, y, part.right, y)
        items += [cross for x in xs for cross in register_cross((x, y))]
        items.append(note(f"trim along this line, lay on {other}", part.centre[0], y + 2.0, 0.0))
    if row < mark.rows - 1:
        y, other = part.y + half, tile_label(column, row + 1)
        items += _seam_line(part.x, y, part.right, y)
        items += [cross for x in xs for cross in register_cross((x, y))]
        items.append(note(f"flap: glue {other} on here", part.centre[0], y - 3.8, 0.0))
    return items


def _seam_line(x0: float, y0: float, x1: float, y1: float) -> list[Item]:
    return [line((x0, y0), (x1, y1), Layer.REGISTER, Pen.TRIM)]

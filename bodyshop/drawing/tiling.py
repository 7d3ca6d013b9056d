"""Putting a drawing on sheets at full size: on one when it fits, else on tiles that are glued together.

Neighbouring tiles share a strip. Half way across it runs the seam: the right-hand (or lower) tile is
trimmed there and laid on the flap of its neighbour, register crosses on the seam together. Nothing is
ever scaled.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bodyshop.drawing.affine import Affine
from bodyshop.drawing.extent import boxed
from bodyshop.drawing.frame import MARGIN_MM, TileMark, page_frame
from bodyshop.drawing.items import Clip, Group, Item, Rect, Sheet, Text
from bodyshop.drawing.marks import BarUnit
from bodyshop.drawing.seams import Seams
from bodyshop.drawing.tileplan import OVERLAP_MM, plan_tiles
from bodyshop.drawing.titleblock import TitleBlock
from bodyshop.stock.sheets import SheetSize, Side

__all__ = ["tile"]

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
                    feeds_along_x=plan.size.long_side is Side.WIDTH,
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

"""What every sheet carries: frame, title block (ISO 7200, from memory), verdict, check bars."""

from __future__ import annotations

import string
from dataclasses import dataclass

from bodyshop.drawing.layout.blocks import paragraph
from bodyshop.drawing.layout.marks import BAR_HEIGHT_MM, BarUnit, bar_length_mm, check_bar
from bodyshop.drawing.sheet.items import Anchor, Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm, wrap
from bodyshop.drawing.sheet.paper import SheetSide, SheetSize
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line, rectangle
from bodyshop.geometry.paths import Rect

__all__ = [
    "BAR_NAMES",
    "Frame",
    "MARGIN_MM",
    "PRINT_NOTE",
    "TITLE_BLOCK_HEIGHT_MM",
    "TileMark",
    "TitleBlock",
    "content_window",
    "lay_title_block",
    "page_frame",
    "page_number",
    "tile_label",
]


TITLE_BLOCK_HEIGHT_MM = 28.0

_LABEL_MM = 1.35
_VALUE_MM = 2.3
_LEAST_MM = 1.7
_PAD_MM = 1.4


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What a title block says. Empty fields keep their cell; a paper
    without a scale is of no one car, and has no cell for its design code.

    `fails` frames the verdict heavily, so that a failing car's papers are known at arm's length. Papers that
    are not of one car say in `verdict_label` what stands in its place.
    """

    title: str
    document: str
    owner: str = ""
    identification: str = ""
    creator: str = ""
    approved: str = ""
    date: str = ""
    scale: str = "1 : 1"
    sheet: int = 1
    sheets: int = 1
    rulebook: str = ""
    verdict: str = ""
    fails: bool = False
    verdict_label: str = "verdict when printed"


def lay_title_block(block: TitleBlock, rect: Rect) -> list[Item]:
    """The block inside `rect`, which should be 145 mm wide or more and `TITLE_BLOCK_HEIGHT_MM` high."""
    sheet = f"{block.sheet} of {block.sheets}"
    # Shares of the width; the joints of the rows are kept in line where they can be.
    rows: tuple[tuple[tuple[float, str, str], ...], ...] = (
        ((0.40, "title", block.title), (0.36, "document type", block.document), (0.24, "sheet", sheet)),
        ((0.40, block.verdict_label, block.verdict), (0.36, "rulebook", block.rulebook),
         (0.24, "date of issue", block.date)),
        ((0.26, "owner", block.owner), (0.18, "creator", block.creator),
         (0.20, "approved by", block.approved), (0.24, "design code", block.identification),
         (0.12, "scale", block.scale)) if block.scale else
        ((0.5, "owner", block.owner), (0.5, "approved by", block.approved)),
    )  # fmt: skip
    items: list[Item] = []
    height = rect.height / len(rows)
    for r, row in enumerate(rows):
        top = rect.top - r * height
        if r:
            items.append(line((rect.x, top), (rect.right, top), Layer.BORDER, Pen.RULE))
        left = rect.x
        for c, (share, label, value) in enumerate(row):
            cell = Rect(left, top - height, share * rect.width, height)
            if c:
                items.append(line((left, cell.y), (left, top), Layer.BORDER, Pen.RULE))
            items += _cell(cell, label, value, bold=label in {"title", block.verdict_label})
            if label == block.verdict_label and block.fails:
                items.append(rectangle(cell.inset(0.4), Layer.BORDER, Pen.HEAVY))
            left = cell.right
    items.append(rectangle(rect, Layer.BORDER, Pen.FRAME))
    return [filled(rect, Layer.BORDER, 1.0), *items]


def _cell(cell: Rect, label: str, value: str, *, bold: bool) -> list[Item]:
    x, room = cell.x + _PAD_MM, cell.width - 2 * _PAD_MM
    items: list[Item] = [Text(label, (x, cell.top - 1.0 - _LABEL_MM), _LABEL_MM, layer=Layer.BORDER)]
    weight = Weight.BOLD if bold else Weight.REGULAR
    wide = text_width_mm(value, _VALUE_MM, bold=bold)
    size = max(_LEAST_MM, min(_VALUE_MM, _VALUE_MM * room / wide if wide else _VALUE_MM))
    lines = [value] if size > _LEAST_MM else wrap(value, _LEAST_MM, room, bold=bold)
    if len(lines) == 1:
        words = shorten(value, size, room + 1e-6, bold=bold)
        return [*items, Text(words, (x, cell.y + 1.9), size, weight=weight, layer=Layer.BORDER)]
    # Two small lines; what is still too long ends in an ellipsis.
    second = " ".join(lines[1:])
    for words, y in ((lines[0], 4.2), (shorten(second, _LEAST_MM, room, bold=bold), 1.4)):
        items.append(Text(words, (x, cell.y + y), _LEAST_MM, weight=weight, layer=Layer.BORDER))
    return items


MARGIN_MM = 8.0
"""Left empty at the paper's edges: office printers reach to 4 to 6 mm (common practice, no published
source)."""

BAR_NAMES = ("X", "Y")
"""The check bars along the short side of the paper and along the long one; on a roll, across and along."""

PRINT_NOTE = "Print at actual size (100 %), do not fit to page."
_CHECK_NOTE = "Measure both check bars before you cut."

_SIDE_COLUMN_MM = 10.0
_FRAME_PAD_MM = 2.0
_BLOCK_WIDTHS_MM = (150.0, 180.0)
_NOTE_ROW_MM = 14.0
_PAGE_MM, _PAGE_PAD_MM, _PAGE_LOW_MM = 2.0, 1.4, 1.9


@dataclass(frozen=True, slots=True)
class TileMark:
    """Which part of a drawing a sheet holds: `column` and `row` from 0, the top row first."""

    column: int
    row: int
    columns: int
    rows: int

    @property
    def label(self) -> str:
        """A letter for the row and a number for the column: A1 is the top left tile."""
        return tile_label(self.column, self.row)


@dataclass(frozen=True, slots=True)
class Frame:
    """The items round the content, and the room left for it."""

    items: tuple[Item, ...]
    window: Rect


def tile_label(column: int, row: int) -> str:
    """A1, A2 ... B1 ...; rows after Z are AA, AB ..."""
    letters = ""
    rest = row + 1
    while rest:
        rest, digit = divmod(rest - 1, 26)
        letters = string.ascii_uppercase[digit] + letters
    return f"{letters}{column + 1}"


@dataclass(frozen=True, slots=True)
class _Plan:
    outer: Rect
    block: Rect
    notes: Rect
    window: Rect


def _plan(size: SheetSize, margin_mm: float, *, bars: bool) -> _Plan:
    outer = Rect(0, 0, size.width_mm, size.height_mm).inset(margin_mm)
    least, most = _BLOCK_WIDTHS_MM
    bar_room = bar_length_mm(BarUnit.INCH) + 2 * 4.0
    height = TITLE_BLOCK_HEIGHT_MM
    if outer.width >= least + bar_room:
        width = min(most, outer.width - bar_room - 2.0)
        block = Rect(outer.right - width, outer.y, width, height)
        notes = Rect(outer.x, outer.y, outer.width - width, height)
    elif bars:
        block = Rect(outer.x, outer.y, outer.width, height)
        notes = Rect(outer.x, block.top, outer.width, _NOTE_ROW_MM)
    else:
        block = Rect(outer.x, outer.y, outer.width, height)
        notes = Rect(outer.x, block.top, outer.width, 0)
    left = outer.x + (_SIDE_COLUMN_MM if bars else 0.0) + _FRAME_PAD_MM
    bottom = notes.top + _FRAME_PAD_MM
    window = Rect(left, bottom, outer.right - _FRAME_PAD_MM - left, outer.top - _FRAME_PAD_MM - bottom)
    return _Plan(outer, block, notes, window)


def content_window(size: SheetSize, margin_mm: float = MARGIN_MM, *, bars: bool = True) -> Rect:
    """The room for content on a sheet that has its frame."""
    return _plan(size, margin_mm, bars=bars).window


def page_frame(
    size: SheetSize,
    block: TitleBlock,
    *,
    bar: BarUnit | None = BarUnit.MM,
    margin_mm: float = MARGIN_MM,
    tile: TileMark | None = None,
) -> Frame:
    """The frame of a sheet.

    Args:
        size: the sheet as it lies (`SheetSize.turned` for landscape).
        block: what the title block says.
        bar: unit of the check bars; None for sheets that show nothing at full size.
        margin_mm: kept empty at every edge.
        tile: for one of several tiles: adds its label and a key to the tiles.
    """
    plan = _plan(size, margin_mm, bars=bar is not None)
    items: list[Item] = [rectangle(plan.outer, Layer.BORDER, Pen.FRAME)]
    items += lay_title_block(block, plan.block)
    if bar is not None:
        items.append(
            line((plan.outer.x, plan.notes.top), (plan.outer.right, plan.notes.top), Layer.BORDER, Pen.RULE)
        )
        # X lies across the paper's feed whichever way the sheet lies, so that a printer's two errors
        # cannot be mixed up.
        level, upright = BAR_NAMES if size.long_side is SheetSide.HEIGHT else BAR_NAMES[::-1]
        items += _notes(plan, bar, tile, level)
        at = (plan.outer.x + BAR_HEIGHT_MM - 1, plan.window.y + 2.0)
        items += check_bar(at, bar, upright=True, name=upright)
    return Frame(tuple(items), plan.window)


def page_number(sheet: Sheet, number: int, total: int) -> Text:
    """Which page of a larger document a sheet is, for the title block's cell with the sheet number."""
    right = sheet.width_mm - MARGIN_MM - _PAGE_PAD_MM
    low = MARGIN_MM + 2 * TITLE_BLOCK_HEIGHT_MM / 3 + _PAGE_LOW_MM
    words = f"page {number} of {total}"
    return Text(words, (right, low), _PAGE_MM, Anchor.END, weight=Weight.BOLD, layer=Layer.BORDER)


def _notes(plan: _Plan, bar: BarUnit, tile: TileMark | None, name: str) -> list[Item]:
    notes = plan.notes
    beside = notes.y < plan.block.top
    items: list[Item] = list(check_bar((notes.x + 4.0, notes.y + 2.2), bar, name=name))
    if beside:
        room = Rect(notes.x + 4.0, notes.y + 10.5, notes.width - 8.0, notes.height - 10.5)
    else:
        left = notes.x + bar_length_mm(BarUnit.INCH) + 10.0
        room = Rect(left, notes.y, notes.right - 2.0 - left, notes.height)
    if tile is not None:
        key = Rect(room.right - 26.0, room.y + 1.6, 26.0, room.height - 3.2)
        items += _tile_key(key, tile)
        room = Rect(room.x, room.y, room.width - 29.0, room.height)
    note = paragraph(PRINT_NOTE, (room.x, room.top - 2.0), room.width, 2.2, weight=Weight.BOLD)
    under = (room.x, room.top - 2.0 - note.height_mm - 0.8)
    check = paragraph(_CHECK_NOTE, under, room.width, 1.8)
    return [*items, *note.items, *check.items]


def _tile_key(rect: Rect, tile: TileMark) -> list[Item]:
    """The tile's label in large letters, and a small map with this tile in grey."""
    room = Rect(rect.x + 11.0, rect.y, rect.width - 11.0, rect.height)
    wide = min(6.0, room.width / tile.columns, 1.4 * room.height / tile.rows)
    high = wide / 1.4
    left = room.right - wide * tile.columns
    top = room.centre[1] + high * tile.rows / 2
    label = (left - 2.0, rect.centre[1] - 2.0)
    items: list[Item] = [Text(tile.label, label, 4.0, Anchor.END, weight=Weight.BOLD)]
    for row in range(tile.rows):
        for column in range(tile.columns):
            cell = Rect(left + column * wide, top - (row + 1) * high, wide, high)
            here = (column, row) == (tile.column, tile.row)
            if here:
                items.append(filled(cell, Layer.BORDER, 0.75))
            items.append(rectangle(cell, Layer.BORDER, Pen.RULE))
    return items

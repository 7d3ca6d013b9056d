"""Tables: wrapped cells between level rules, split over as many sheets as they need."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import Enum

from bodyshop.drawing.layout.blocks import text_block_height_mm, text_lines
from bodyshop.drawing.sheet.items import Anchor, Item, Weight
from bodyshop.drawing.sheet.lettering import LINE_PITCH, wrap
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import Rect

__all__ = ["Align", "Cell", "Column", "Table", "TableLayout", "lay_table"]


class Align(Enum):
    """Where the words of a column stand."""

    LEFT = "left"
    MIDDLE = "middle"
    RIGHT = "right"


@dataclass(frozen=True, slots=True)
class Column:
    """A column's heading, its width in mm, and how its cells are set."""

    title: str
    width_mm: float
    align: Align = Align.LEFT


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell that differs from plain text."""

    text: str
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and rows of cells. `shaded` rows stand on light grey."""

    columns: tuple[Column, ...]
    rows: tuple[tuple[str | Cell, ...], ...]
    text_mm: float = 2.2
    pad_x_mm: float = 1.5
    pad_y_mm: float = 1.3
    shaded: frozenset[int] = frozenset()

    @property
    def width_mm(self) -> float:
        """Width of all columns."""
        return sum(column.width_mm for column in self.columns)


@dataclass(frozen=True, slots=True)
class TableLayout:
    """What fits: its items, the height it takes, and the table of what is left, if anything is."""

    items: tuple[Item, ...]
    height_mm: float
    rest: Table | None


@dataclass(frozen=True, slots=True)
class _Laid:
    """A row broken into lines."""

    cells: tuple[tuple[str, ...], ...]
    bold: tuple[bool, ...]
    shaded: bool

    @property
    def lines(self) -> int:
        return max(1, *(len(cell) for cell in self.cells))


def lay_table(table: Table, top_left: Point, room_mm: float, *, fresh: bool = True) -> TableLayout:
    """The heading and as many rows as go into `room_mm` below `top_left`.

    Rows stay whole. Only at the top of a `fresh` sheet is a row that is taller than the sheet split between
    lines. When nothing fits, nothing is laid and `rest` is the whole table.

    Raises:
        ValueError: a row has not one cell for each column, or a fresh sheet has no room for the heading
            and one line.
    """
    x, top = top_left
    head = _broken(table, tuple(Cell(column.title, bold=True) for column in table.columns), shaded=False)
    head_height = _height(table, head.lines) if any(column.title for column in table.columns) else 0.0
    if fresh and room_mm < head_height + _height(table, 1):
        raise ValueError(f"{room_mm:.1f} mm is no room for a table")

    shades: list[Item] = []
    items: list[Item] = []
    left = room_mm - head_height
    if head_height:
        items += _row(table, head, x, top)
        y = top - head_height
        items.append(line((x, y), (x + table.width_mm, y), Layer.TEXT, Pen.FRAME))

    def put(row: _Laid) -> None:
        nonlocal left
        height = _height(table, row.lines)
        y = top - room_mm + left
        if row.shaded:
            shades.append(filled(Rect(x, y - height, table.width_mm, height), Layer.TEXT, 0.92))
        items.extend(_row(table, row, x, y))
        items.append(line((x, y - height), (x + table.width_mm, y - height), Layer.TEXT, Pen.HATCH))
        left -= height

    rest: Table | None = None
    for index, cells in enumerate(table.rows):
        row = _broken(table, cells, shaded=index in table.shaded)
        if _height(table, row.lines) <= left + 1e-9:
            put(row)
            continue
        rest = _rest(table, index)
        if index == 0 and not fresh:
            return TableLayout((), 0.0, table)
        if index == 0:
            fits = 1 + int((left - _height(table, 1)) / (LINE_PITCH * table.text_mm) + 1e-9)
            now, later = _split(row, fits)
            put(now)
            rest = replace(rest, rows=(later, *rest.rows[1:]))
        break
    return TableLayout((*shades, *items), room_mm - left, rest)


def _height(table: Table, lines: int) -> float:
    text = text_block_height_mm(lines, table.text_mm) if lines else 0.0
    return text + 2 * table.pad_y_mm


def _broken(table: Table, cells: Sequence[str | Cell], *, shaded: bool) -> _Laid:
    if len(cells) != len(table.columns):
        raise ValueError(f"a row has {len(cells)} cells for {len(table.columns)} columns")
    texts: list[tuple[str, ...]] = []
    bolds: list[bool] = []
    for column, cell in zip(table.columns, cells, strict=True):
        bold = isinstance(cell, Cell) and cell.bold
        text = cell.text if isinstance(cell, Cell) else cell
        texts.append(tuple(wrap(text, table.text_mm, column.width_mm - 2 * table.pad_x_mm, bold=bold)))
        bolds.append(bold)
    return _Laid(tuple(texts), tuple(bolds), shaded)


def _row(table: Table, row: _Laid, x: float, top: float) -> list[Item]:
    items: list[Item] = []
    left = x
    for column, lines, bold in zip(table.columns, row.cells, row.bold, strict=True):
        at, anchor = {
            Align.LEFT: (left + table.pad_x_mm, Anchor.START),
            Align.MIDDLE: (left + column.width_mm / 2, Anchor.MIDDLE),
            Align.RIGHT: (left + column.width_mm - table.pad_x_mm, Anchor.END),
        }[column.align]
        weight = Weight.BOLD if bold else Weight.REGULAR
        items += text_lines(lines, (at, top - table.pad_y_mm), table.text_mm, anchor=anchor, weight=weight)
        left += column.width_mm
    return items


def _split(row: _Laid, lines: int) -> tuple[_Laid, tuple[Cell, ...]]:
    now = replace(row, cells=tuple(cell[:lines] for cell in row.cells))
    later = tuple(Cell("\n".join(cell[lines:]), bold) for cell, bold in zip(row.cells, row.bold, strict=True))
    return now, later


def _rest(table: Table, index: int) -> Table:
    shaded = frozenset(k - index for k in table.shaded if k >= index)
    return replace(table, rows=table.rows[index:], shaded=shaded)

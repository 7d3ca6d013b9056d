"""The table of an inspection sheet: columns, the row of a clause with its boxes, the band of a section."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.layout.blocks import Block, text_block_height_mm, text_lines
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm, wrap
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line, rectangle
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.inspection_form.rows import ClauseRow, FormSection

__all__ = ["Columns", "box", "columns_for", "lay_band", "lay_heading", "lay_row"]

TEXT_MM: Final = 2.1
SMALL_MM: Final = 1.65
PAD_X_MM: Final = 1.1
PAD_Y_MM: Final = 1.25
LEAST_ROW_MM: Final = 7.2
"""High enough to write in by hand."""
BOX_MM: Final = 3.6

_MOST_LINES: Final = 36
_CLAUSE_MM: Final = (12.0, 22.0)


@dataclass(frozen=True, slots=True)
class Columns:
    """Widths in mm, left to right; `designed` is zero on a blank sheet."""

    clause: float
    check: float
    cost: float
    low: float
    high: float
    designed: float
    measured: float
    passed: float
    failed: float
    initials: float

    @property
    def widths(self) -> tuple[tuple[str, float], ...]:
        """Headings and widths of the columns that are there."""
        every = (
            ("clause", self.clause),
            ("what to check", self.check),
            ("penalty", self.cost),
            ("min", self.low),
            ("max", self.high),
            ("drawing", self.designed),
            ("measured", self.measured),
            ("pass", self.passed),
            ("fail", self.failed),
            ("initials", self.initials),
        )
        return tuple((title, width) for title, width in every if width > 0.0)

    @property
    def width(self) -> float:
        """Of all columns together."""
        return sum(width for _, width in self.widths)

    def left_of(self, title: str) -> float:
        """How far a column's left side is from the table's."""
        at = 0.0
        for name, width in self.widths:
            if name == title:
                return at
            at += width
        raise KeyError(title)


def columns_for(room_mm: float, bands: Sequence[FormSection], *, filled_in: bool, inches: bool) -> Columns:
    """Columns that fill a width, for the labels of the rows. `inches` makes room for tape fractions."""
    limit = 17.5 if inches else 15.5
    labels = [text_width_mm(row.clause, TEXT_MM, bold=True) for band in bands for row in band.rows]
    least, most = _CLAUSE_MM
    narrow = Columns(
        clause=min(max([least, *(label + 2 * PAD_X_MM for label in labels)]), most),
        check=0.0,
        cost=21.0 if filled_in else 24.0,
        low=limit,
        high=limit,
        designed=limit + 2.0 if filled_in else 0.0,
        measured=20.0,
        passed=8.5,
        failed=8.5,
        initials=13.0,
    )
    return Columns(**{**_as_dict(narrow), "check": room_mm - narrow.width})


def _as_dict(columns: Columns) -> dict[str, float]:
    return {name: getattr(columns, name) for name in Columns.__slots__}


# ---------------------------------------------------------------- parts of the table


def lay_heading(columns: Columns, x: float, top: float) -> Block:
    """The headings of the columns, over a thick rule."""
    height = 5.6
    items: list[Item] = []
    left = x
    for title, width in columns.widths:
        at, anchor = (left + PAD_X_MM, Anchor.START)
        if title not in {"clause", "what to check", "penalty"}:
            at, anchor = (left + width / 2, Anchor.MIDDLE)
        words = shorten(title, SMALL_MM, width - 0.4, bold=True)
        items.append(Text(words, (at, top - height + 1.9), SMALL_MM, anchor, weight=Weight.BOLD))
        left += width
    rule = line((x, top - height), (x + columns.width, top - height), Layer.TEXT, Pen.FRAME)
    return Block((*items, rule), height)


def lay_band(heading: str, columns: Columns, x: float, top: float, *, goes_on: bool = False) -> Block:
    """The grey band over a section."""
    height = 5.2
    words = shorten(heading, 2.3, columns.width - 30.0, bold=True) + (" (continued)" if goes_on else "")
    band = Rect(x, top - height, columns.width, height)
    return Block(
        (
            filled(band, Layer.BORDER, 0.88),
            Text(words, (x + PAD_X_MM, band.y + 1.5), 2.3, weight=Weight.BOLD),
            line((x, band.y), (band.right, band.y), Layer.TEXT, Pen.RULE),
        ),
        height,
    )


def box(centre: tuple[float, float], size_mm: float = BOX_MM) -> Item:
    """An empty box to tick."""
    half = size_mm / 2
    return rectangle(
        Rect(centre[0] - half, centre[1] - half, size_mm, size_mm), Layer.BORDER, Pen.FRAME, fill_grey=1.0
    )


@dataclass(frozen=True, slots=True)
class _Column:
    """Lines of text one below the other in a cell, from its left side, and the height they take."""

    parts: tuple[tuple[tuple[str, ...], float, Weight], ...]

    @property
    def height(self) -> float:
        return sum(text_block_height_mm(len(lines), size) + 0.5 for lines, size, _ in self.parts if lines)

    def items(self, x: float, top: float, anchor: Anchor = Anchor.START) -> list[Item]:
        found: list[Item] = []
        for lines, size, weight in self.parts:
            if lines:
                found += text_lines(lines, (x, top), size, anchor=anchor, weight=weight)
                top -= text_block_height_mm(len(lines), size) + 0.5
        return found


def _lines(
    text: str, size: float, width: float, *, bold: bool = False, most: int = _MOST_LINES
) -> tuple[str, ...]:
    if not text:
        return ()
    lines = wrap(text, size, width, bold=bold)
    if len(lines) > most:
        lines = [
            *lines[: most - 1],
            shorten(" ".join(lines[most - 1 : most + 1]) + " …", size, width, bold=bold),
        ]
    return tuple(lines)


def lay_row(row: ClauseRow, columns: Columns, x: float, top: float) -> Block:
    """One clause: its words, its limits, room to write and boxes to tick."""
    left = _left_cells(row, columns)
    height = max(LEAST_ROW_MM, *(cell.height + 2 * PAD_Y_MM for _, cell in left))
    middle = top - height / 2
    items: list[Item] = []
    if row.mark is not None and row.mark.broken:
        items.append(filled(Rect(x, top - height, columns.width, height), Layer.BORDER, 0.94))
    for title, cell in left:
        items += cell.items(x + columns.left_of(title) + PAD_X_MM, top - PAD_Y_MM)
    items += _limit_cells(row, columns, x, middle)
    items += _designed_cell(row, columns, x, middle)
    items += _writing_cells(row, columns, x, top, height)
    items.append(line((x, top - height), (x + columns.width, top - height), Layer.TEXT, Pen.HATCH))
    return Block(tuple(items), height)


def _left_cells(row: ClauseRow, columns: Columns) -> list[tuple[str, _Column]]:
    """Clause, check and cost. Where nothing is limited the words run on over the limits' columns."""
    room = columns.check - 2 * PAD_X_MM
    cells: list[tuple[str, _Column]] = [
        (
            "clause",
            _Column(
                (
                    (
                        _lines(row.clause, TEXT_MM, columns.clause - PAD_X_MM, bold=True, most=2),
                        TEXT_MM,
                        Weight.BOLD,
                    ),
                    (_lines(row.by, SMALL_MM, columns.clause - PAD_X_MM), SMALL_MM, Weight.REGULAR),
                )
            ),
        ),
        (
            "penalty",
            _Column(((_lines(row.cost, SMALL_MM, columns.cost - 2 * PAD_X_MM), SMALL_MM, Weight.REGULAR),)),
        ),
    ]
    what = (_lines(row.what, TEXT_MM, room), TEXT_MM, Weight.REGULAR)
    if row.is_measured:
        cells.append(
            ("what to check", _Column((what, (_lines(row.how, SMALL_MM, room), SMALL_MM, Weight.REGULAR))))
        )
        return cells
    wide = columns.left_of("pass") - columns.left_of("min") - 2 * PAD_X_MM
    cells.append(("what to check", _Column((what,))))
    cells.append(("min", _Column(((_lines(row.how, SMALL_MM, wide), SMALL_MM, Weight.REGULAR),))))
    return cells


def _limit_cells(row: ClauseRow, columns: Columns, x: float, middle: float) -> list[Item]:
    if row.asked:
        at = x + columns.left_of("min") + (columns.low + columns.high) / 2
        lines = _lines(row.asked, TEXT_MM, columns.low + columns.high - PAD_X_MM, most=3)
        return _centred(lines, (at, middle))
    items: list[Item] = []
    for title, text, width in (("min", row.low, columns.low), ("max", row.high, columns.high)):
        lines = _lines(text or ("–" if row.is_measured else ""), TEXT_MM, width - 0.8, most=2)
        items += _centred(lines, (x + columns.left_of(title) + width / 2, middle))
    return items


def _designed_cell(row: ClauseRow, columns: Columns, x: float, middle: float) -> list[Item]:
    if columns.designed <= 0.0 or row.mark is None:
        return []
    at = x + columns.left_of("drawing") + columns.designed / 2
    room = columns.designed - 0.8
    weight = Weight.BOLD if row.mark.broken else Weight.REGULAR
    bold = row.mark.broken
    value = shorten(row.mark.value, TEXT_MM, room, bold=bold)
    word = shorten(row.mark.word, SMALL_MM, room, bold=bold)
    return [
        Text(value, (at, middle + 0.45), TEXT_MM, Anchor.MIDDLE, weight=weight),
        Text(word, (at, middle - 0.55 - SMALL_MM), SMALL_MM, Anchor.MIDDLE, weight=weight),
    ]


def _writing_cells(row: ClauseRow, columns: Columns, x: float, top: float, height: float) -> list[Item]:
    """Upright rules, a line to write a value on, and the boxes."""
    middle = top - height / 2
    items: list[Item] = []
    titles = ["measured", "pass", "fail", "initials"] if row.is_measured else ["pass", "fail", "initials"]
    titles += ["min", "max"] if row.is_measured and not row.asked else ["min"]
    titles += ["drawing"] if columns.designed > 0.0 and row.is_measured else []
    for title in titles:
        at = x + columns.left_of(title)
        items.append(line((at, top), (at, top - height), Layer.TEXT, Pen.HATCH))
    for title, width in (("pass", columns.passed), ("fail", columns.failed)):
        centre = (x + columns.left_of(title) + width / 2, middle)
        items.append(box(centre))
        if row.built is not None and row.built.passed is (title == "pass"):
            items += _cross(centre)
    return [*items, *_built_cell(row, columns, x, middle)]


def _cross(centre: tuple[float, float]) -> list[Item]:
    half = BOX_MM / 2 - 0.5
    x, y = centre
    return [
        line((x - half, y - half), (x + half, y + half), Layer.TEXT, Pen.FRAME),
        line((x - half, y + half), (x + half, y - half), Layer.TEXT, Pen.FRAME),
    ]


def _built_cell(row: ClauseRow, columns: Columns, x: float, middle: float) -> list[Item]:
    """What was measured, in the place where one writes it on a blank sheet."""
    if row.built is None or not row.is_measured:
        return []
    at = x + columns.left_of("measured") + columns.measured / 2
    room = columns.measured - 0.8
    bold = row.built.passed is False
    weight = Weight.BOLD if bold else Weight.REGULAR
    value = shorten(row.built.value, TEXT_MM, room, bold=bold)
    word = shorten(row.built.word, SMALL_MM, room, bold=bold)
    if not word:
        return [Text(value, (at, middle - TEXT_MM / 2), TEXT_MM, Anchor.MIDDLE, weight=weight)]
    return [
        Text(value, (at, middle + 0.45), TEXT_MM, Anchor.MIDDLE, weight=weight),
        Text(word, (at, middle - 0.55 - SMALL_MM), SMALL_MM, Anchor.MIDDLE, weight=weight),
    ]


def _centred(lines: Sequence[str], middle: tuple[float, float], size: float = TEXT_MM) -> list[Item]:
    if not lines:
        return []
    height = text_block_height_mm(len(lines), size)
    return text_lines(lines, (middle[0], middle[1] + height / 2 - 0.1), size, anchor=Anchor.MIDDLE)

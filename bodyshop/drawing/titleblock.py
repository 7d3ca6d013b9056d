"""The title block: who made what, when, and by which rulebook, in the fields of ISO 7200 where it has one.

ISO 7200 (field list read, sizes from memory): legal owner, title, document type, identification number,
creator, approval person, date of issue, sheet number and number of sheets. Scale, rulebook and verdict are
ours. Who approves signs on the paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.drawing.items import Item, Rect, Text, Weight
from bodyshop.drawing.lettering import shorten, text_width_mm, wrap
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import filled, line, rectangle

__all__ = ["TITLE_BLOCK_HEIGHT_MM", "TitleBlock", "lay_title_block"]

TITLE_BLOCK_HEIGHT_MM = 28.0

_LABEL_MM = 1.35
_VALUE_MM = 2.3
_LEAST_MM = 1.7
_PAD_MM = 1.4


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What a title block says. Empty fields keep their cell.

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
         (0.20, "approved by", block.approved), (0.24, "identification", block.identification),
         (0.12, "scale", block.scale)),
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

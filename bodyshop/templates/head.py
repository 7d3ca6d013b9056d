"""The head of every sheet: a caution for the machines, and a warning when the car does not pass.

The head is kept out of the room that a drawing is laid in: a sheet is planned as if it were shorter, and
the head is put on above the frame.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from bodyshop.drawing.blocks import paragraph
from bodyshop.drawing.frame import MARGIN_MM
from bodyshop.drawing.items import Anchor, Item, Rect, Sheet, Text, Weight
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import filled, line, rectangle
from bodyshop.drawing.stamp import Standing, VerdictStamp
from bodyshop.stock.cautions import Operation, cautions_for
from bodyshop.stock.sheets import SheetSize, Side

__all__ = ["HeadedSize", "head_mm", "headed", "with_head"]

_CAUTION_MM = 11.0
_NOTE_MM = 6.0
_WARNING_MM = {
    Standing.PASSES: 0.0,
    Standing.FAILS: 11.0,
    Standing.OPEN: 8.0,
    Standing.DOUBTFUL: 8.0,
    Standing.UNCHECKED: 8.0,
}
_WORD = "CAUTION"
_WORD_MM = 3.0
_TEXT_MM = 2.2
_PAD_MM = 2.0
_NOTE_TEXT_MM = 2.2
# Cap heights of the warning: the first for a failing car.
_LARGE_MM, _PLAIN_MM = 5.5, 3.0
_BLOCK_MM = 7.0


@dataclass(frozen=True, slots=True)
class HeadedSize(SheetSize):
    """A sheet less the head, whichever way it lies."""

    head_mm: float = 0.0

    @property
    def turned(self) -> HeadedSize:
        """The same sheet on its side, its head again at the top."""
        inches = None if self.inches is None else (self.inches[1], self.inches[0])
        return replace(
            self,
            width_mm=self.height_mm + self.head_mm,
            height_mm=self.width_mm - self.head_mm,
            inches=inches,
            free=None if self.free is None else self.free.other,
        )

    @property
    def long_side(self) -> Side:
        """As for the whole sheet, head and all."""
        if self.free is not None:
            return self.free
        return Side.WIDTH if self.width_mm > self.height_mm + self.head_mm else Side.HEIGHT


def head_mm(stamp: VerdictStamp, note: str = "") -> float:
    """Height of the head; `note` is one more line, at its foot."""
    return _CAUTION_MM + _WARNING_MM[stamp.standing] + (_NOTE_MM if note else 0.0)


def headed(size: SheetSize, stamp: VerdictStamp, note: str = "") -> HeadedSize:
    """The room of a sheet below its head."""
    head = head_mm(stamp, note)
    return HeadedSize(
        id=size.id,
        name=size.name,
        width_mm=size.width_mm,
        height_mm=size.height_mm - head,
        inches=size.inches,
        source=size.source,
        confidence=size.confidence,
        free=size.free,
        head_mm=head,
    )


def with_head(sheet: Sheet, stamp: VerdictStamp, note: str = "", *, tell_note: bool = True) -> Sheet:
    """A sheet planned on a `HeadedSize`, back at its full height with the head on.

    Without `tell_note` the room for the note is left empty.
    """
    left, low, width = MARGIN_MM, sheet.height_mm - MARGIN_MM, sheet.width_mm - 2 * MARGIN_MM
    items: list[Item] = []
    if note:
        items += _note(Rect(left, low, width, _NOTE_MM), note) if tell_note else []
        low += _NOTE_MM
    caution = Rect(left, low, width, _CAUTION_MM)
    items += _caution(caution)
    if stamp.warning:
        items += _warning(Rect(left, caution.top, width, _WARNING_MM[stamp.standing]), stamp)
    return replace(sheet, height_mm=sheet.height_mm + head_mm(stamp, note), items=(*sheet.items, *items))


def _note(rect: Rect, words: str) -> list[Item]:
    """A line in heavy letters, as large as its box lets it be."""
    room = rect.width - 2 * _PAD_MM
    size = min(_NOTE_TEXT_MM, _NOTE_TEXT_MM * room / text_width_mm(words, _NOTE_TEXT_MM, bold=True))
    at = (rect.centre[0], rect.centre[1] - size / 2)
    return [
        Text(words, at, size, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION),
        rectangle(rect, Layer.CAUTION, Pen.FRAME),
    ]


def _caution(rect: Rect) -> list[Item]:
    """Who may use a machine, and whose word goes first: one box, in the words of the table of cautions."""
    text = " ".join(caution.sentence for caution in cautions_for(Operation.WORKSHOP))
    cell = text_width_mm(_WORD, _WORD_MM, bold=True) + 2 * _PAD_MM
    left, room = rect.x + cell + _PAD_MM, rect.width - cell - 2 * _PAD_MM
    height = _TEXT_MM
    block = paragraph(text, (left, rect.top), room, height, layer=Layer.CAUTION)
    while block.height_mm > rect.height - 2.4 and height > 1.2:
        height -= 0.1
        block = paragraph(text, (left, rect.top), room, height, layer=Layer.CAUTION)
    top = rect.top - (rect.height - block.height_mm) / 2 - 0.3
    block = paragraph(text, (left, top), room, height, layer=Layer.CAUTION)
    return [
        rectangle(rect, Layer.CAUTION, Pen.FRAME),
        line((rect.x + cell, rect.y), (rect.x + cell, rect.top), Layer.CAUTION, Pen.RULE),
        Text(
            _WORD,
            (rect.x + _PAD_MM, rect.centre[1] - _WORD_MM / 2),
            _WORD_MM,
            weight=Weight.BOLD,
            layer=Layer.CAUTION,
        ),
        *block.items,
    ]


def _warning(rect: Rect, stamp: VerdictStamp) -> list[Item]:
    """A failing car's sheets carry black blocks and heavy letters; others a plain line."""
    words = stamp.warning
    block = _BLOCK_MM if stamp.fails else 0.0
    room = rect.width - 2 * block - 2 * _PAD_MM
    wanted = _LARGE_MM if stamp.fails else _PLAIN_MM
    size = min(wanted, wanted * room / text_width_mm(words, wanted, bold=True))
    at = (rect.centre[0], rect.centre[1] - size / 2)
    items: list[Item] = [Text(words, at, size, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION)]
    if stamp.fails:
        items += [
            filled(Rect(x, rect.y, block, rect.height), Layer.CAUTION, 0.0)
            for x in (rect.x, rect.right - block)
        ]
    items.append(rectangle(rect, Layer.CAUTION, Pen.HEAVY if stamp.fails else Pen.FRAME))
    return items

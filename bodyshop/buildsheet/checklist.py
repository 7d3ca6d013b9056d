"""The steps with their boxes to tick, and under each the cautions that belong to it."""

from __future__ import annotations

from typing import Final

from bodyshop.buildsheet.steps import StepText
from bodyshop.drawing.blocks import Block, paragraph
from bodyshop.drawing.items import Item, Rect, Text, Weight
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import rectangle

__all__ = ["BOX_MM", "step_block"]

BOX_MM: Final = 4.0

_TEXT_MM: Final = 2.2
_CAUTION_MM: Final = 1.9
_WORD: Final = "Caution:"
_NUMBER_MM: Final = 6.0
_INDENT_MM: Final = BOX_MM + 2.0 + _NUMBER_MM


def step_block(number: int, step: StepText, width_mm: float) -> Block:
    """One step from (0, 0) downwards: box, number, words, cautions."""
    items: list[Item] = [
        rectangle(Rect(0.0, -BOX_MM, BOX_MM, BOX_MM), Layer.BORDER, Pen.FRAME, fill_grey=1.0),
        Text(str(number), (BOX_MM + 2.0, -_TEXT_MM - 0.7), _TEXT_MM, weight=Weight.BOLD),
    ]
    room = width_mm - _INDENT_MM
    words = paragraph(step.text, (_INDENT_MM, -0.7), room, _TEXT_MM)
    items += words.items
    y = -0.7 - words.height_mm
    hang = text_width_mm(_WORD, _CAUTION_MM, bold=True) + 1.6
    for caution in step.cautions:
        y -= 1.0
        at = (_INDENT_MM, y - _CAUTION_MM)
        items.append(Text(_WORD, at, _CAUTION_MM, weight=Weight.BOLD, layer=Layer.CAUTION))
        told = paragraph(caution, (_INDENT_MM + hang, y), room - hang, _CAUTION_MM, layer=Layer.CAUTION)
        items += told.items
        y -= told.height_mm
    return Block(tuple(items), max(-y, BOX_MM))

"""What stands at the head of every sheet of a build sheet."""

from __future__ import annotations

from typing import Final

from bodyshop.drawing.blocks import Block, caution_box
from bodyshop.drawing.items import Anchor, Item, Rect, Text, Weight
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import filled, rectangle
from bodyshop.drawing.stamp import VerdictStamp
from bodyshop.stock.cautions import Operation, cautions_for

__all__ = ["sheet_head"]

_FAIL_MM: Final = 11.0
_OPEN_MM: Final = 8.0


def sheet_head(width_mm: float, standing: VerdictStamp) -> Block:
    """The caution for the workshop, under a black-ended band where the car does not pass."""
    items: list[Item] = []
    y = 0.0
    if standing.warning:
        high = _FAIL_MM if standing.fails else _OPEN_MM
        band = Rect(0.0, -high, width_mm, high)
        end = 7.0 if standing.fails else 0.0
        wanted = 5.0 if standing.fails else 3.0
        room = width_mm - 2 * end - 4.0
        size = min(wanted, wanted * room / text_width_mm(standing.warning, wanted, bold=True))
        at = (band.centre[0], band.centre[1] - size / 2)
        items.append(Text(standing.warning, at, size, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION))
        if standing.fails:
            blocks = (0.0, width_mm - end)
            items += [filled(Rect(x, band.y, end, high), Layer.CAUTION, 0.0) for x in blocks]
        items.append(rectangle(band, Layer.CAUTION, Pen.HEAVY if standing.fails else Pen.FRAME))
        y = -high - 1.5
    texts = [caution.sentence for caution in cautions_for(Operation.WORKSHOP)]
    box = caution_box(texts, (0.0, y), width_mm, 1.9)
    return Block((*items, *box.items), box.height_mm - y)

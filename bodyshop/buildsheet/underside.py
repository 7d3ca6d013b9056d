"""The screw eyes on the bottom centre line, measured from the axle centres; the car seen from below."""

from __future__ import annotations

import math
from typing import Final

from bodyshop.assembly import Car
from bodyshop.buildsheet.exploded import SCALES, scale_text
from bodyshop.buildsheet.lengths import EyeSpot
from bodyshop.drawing.blocks import Block
from bodyshop.drawing.dimensions import DimensionStyle, dimension
from bodyshop.drawing.figures import Figures
from bodyshop.drawing.items import Anchor, Item, Text, Weight
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import circle, line, polygon

__all__ = ["underside"]

_TEXT_MM: Final = 2.0
_ROUGH_MM: Final = 0.02
_ENDS_MM: Final = 14.0
_ROW_MM: Final = 5.5
_MOST_ROWS: Final = 4
_APART_MM: Final = 45.0
_STYLE: Final = DimensionStyle(text_mm=_TEXT_MM)


def underside(car: Car, spots: tuple[EyeSpot, ...], figures: Figures, width_mm: float) -> tuple[Block, str]:
    """The drawing from (0, 0) downwards, nose to the left, the car's right side below; and its scale."""
    x0, _, _, x1, _, _ = car.body.bounds
    x0, x1 = min(x0, 0.0), max(x1, x0 + 1.0)
    scale = next((s for s in SCALES if (x1 - x0) * s + 2 * _ENDS_MM <= width_mm), SCALES[-1])
    shape = car.design.plan.polygon(_ROUGH_MM).exterior.coords
    half = max(abs(y) for _, y in shape) * scale
    top = -6.5 - 4.0
    middle = top - half
    left = (width_mm - (x1 - x0) * scale) / 2

    def at(x: float, y: float = 0.0) -> tuple[float, float]:
        return (left + (x - x0) * scale, middle - y * scale)

    items: list[Item] = [
        Text(
            f"Screw eyes, the car seen from below, scale {scale_text(scale)}",
            (0.0, -2.6),
            2.4,
            weight=Weight.BOLD,
        ),
        polygon([at(x, y) for x, y in shape], Layer.OUTLINE, Pen.NARROW),
        line((at(x0)[0] - 5.0, middle), (at(x1)[0] + 5.0, middle), Layer.CENTRE),
        Text("nose", (at(x0)[0] - 6.0, middle - _TEXT_MM / 2), _TEXT_MM, Anchor.END),
        Text("tail", (at(x1)[0] + 6.0, middle - _TEXT_MM / 2), _TEXT_MM),
    ]
    for axle in car.design.axles:
        x = at(axle.x_mm)[0]
        items.append(line((x, middle - half - 2.0), (x, top + 2.0), Layer.CENTRE))
        items.append(Text(f"{axle.end.value} axle", (x, top + 3.0), _TEXT_MM, Anchor.MIDDLE))
    foot = middle - half
    # Eyes that stand near each other have rows of their own, so that their figures cannot meet.
    row, rows, before = 0, 0, -math.inf
    for spot in spots:
        where = at(spot.place.x_mm, spot.place.offset_mm)
        ring = max(spot.place.eye.ring_outer_mm / 2 * scale, 0.8)
        items.append(circle(where, 0.5, Layer.HOLE))
        # The ring faces nose and tail: from below it is seen edge on, across the car.
        items.append(line((where[0], where[1] - ring), (where[0], where[1] + ring), Layer.OUTLINE, Pen.CUT))
        axle_x = at(spot.place.x_mm - spot.behind_mm)[0]
        if abs(axle_x - where[0]) > 0.05 and row < _MOST_ROWS:
            row = row + 1 if min(axle_x, where[0]) < before + _APART_MM else 0
            before, rows = max(axle_x, where[0], before), max(rows, row + 1)
            down = foot - 5.0 - row * _ROW_MM
            words = figures.number(abs(spot.behind_mm))
            first, last = sorted((axle_x, where[0]))
            if text_width_mm(words, _TEXT_MM) < width_mm:
                items += dimension((first, foot), (last, foot), words, down - foot, 0.0, _STYLE)
    return Block(tuple(items), -(foot - 1.5 - rows * _ROW_MM - 1.0)), scale_text(scale)

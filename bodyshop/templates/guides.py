"""Axle guides: small cards that lay against two datum edges of the blank and mark an axle hole on its side.

Each is measured from the end of the blank that is nearer, so that it stays small and needs no joining.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from bodyshop.assembly import Car
from bodyshop.design.model import AxleSet
from bodyshop.drawing.affine import Point
from bodyshop.drawing.dimensions import dimension
from bodyshop.drawing.figures import Figures
from bodyshop.drawing.items import Item, Text, Weight
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.marks import hole_mark
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import line, polyline
from bodyshop.templates.view import NOTE_MM, TITLE_MM, Panel, datum_edge, datum_width_mm, panel, pitch

__all__ = ["axle_guides"]

# Paper round a hole, and the least card that fingers can hold in its place.
_ROUND_MM = 13.0
_LEAST_HIGH_MM, _LEAST_LONG_MM = 28.0, 45.0
_DIMENSION_MM = 8.0
_BELOW_MM = 11.0


def axle_guides(car: Car, figures: Figures) -> list[Panel]:
    """A guide for each axle, as it lies on the left side of the blank; x from the blank's nose end, mm."""
    return [_guide(car, axle, figures) for axle in car.design.axles]


def _guide(car: Car, axle: AxleSet, figures: Figures) -> Panel:
    blank = car.design.blank
    length = blank.length_mm
    from_tail = length - axle.x_mm < axle.x_mm
    out = length - axle.x_mm if from_tail else axle.x_mm
    end = length if from_tail else 0.0
    way = -1.0 if from_tail else 1.0
    far = end + way * min(length, max(out + _ROUND_MM, _LEAST_LONG_MM))
    top = max(axle.height_mm + _ROUND_MM, _LEAST_HIGH_MM)
    top = min(top, blank.height_at(end), blank.height_at(far))
    centre = (axle.x_mm, axle.height_mm)
    name = f"{axle.end.value.upper()} AXLE GUIDE"
    end_name = "TAIL END" if from_tail else "NOSE END"

    items: list[Item] = [
        # The two edges that are laid on edges of the blank are wide, the others only end the card.
        polyline(((end, top), (end, 0.0), (far, 0.0)), Layer.BLANK, Pen.VISIBLE),
        polyline(((end, top), (far, top), (far, 0.0)), Layer.BLANK, Pen.NARROW),
        *hole_mark(centre, axle.hole_mm),
    ]
    if axle.height_mm > 1.0:
        # On the side of the hole that is away from the end, clear of the name of the end.
        items += dimension(
            (far, 0.0), centre, figures.number(axle.height_mm), -way * _DIMENSION_MM, math.pi / 2
        )
    if out > 1.0:
        items += dimension((end, 0.0), centre, figures.number(out), -_BELOW_MM, 0.0)
    left, right = sorted((end, far))
    items += _edges(left, right, top, end_name, nose=not from_tail)
    return _titled(name, axle, figures, items, (left, right, top), from_tail=from_tail)


def _edges(left: float, right: float, top: float, end_name: str, *, nose: bool) -> list[Item]:
    """The names of both datum edges; that of an end that is too low for it stands over its corner."""
    items = datum_edge("UNDERSIDE", (left + datum_width_mm("UNDERSIDE") / 2, 0.0))
    end = left if nose else right
    middle = max(top / 2, datum_width_mm(end_name) / 2)
    items += datum_edge(end_name, (end, middle), upright=True, nose=nose)
    if 2 * middle > top:
        items.append(line((end, top), (end, 2 * middle), Layer.DATUM))
    return items


def _titled(
    name: str,
    axle: AxleSet,
    figures: Figures,
    items: Sequence[Item],
    room: tuple[float, float, float],
    *,
    from_tail: bool,
) -> Panel:
    left, _, top = room
    drawn = panel(name, items)
    base = max(top, drawn.room.top) + 2.5
    words: list[Item] = [Text(name, (left, base), TITLE_MM, weight=Weight.BOLD)]
    notes = [
        f"hole Ø {figures.number(axle.hole_mm)}, right through",
        "lay it on the left side, nose end to your left",
    ]
    if from_tail:
        notes.append(f"{figures.number(axle.x_mm)} from the nose end")
    low = drawn.room.y - 2.0
    for k, note in enumerate(notes):
        at: Point = (left, low - NOTE_MM - k * pitch())
        words.append(Text(note, at, NOTE_MM, layer=Layer.DIMENSION))
    # Inside the card, so that it is known once it is cut out.
    label = axle.end.value
    wide = text_width_mm(label, NOTE_MM, bold=True)
    spot = _label_spot(axle, room, wide)
    if spot is not None:
        words.append(Text(label, spot, NOTE_MM, weight=Weight.BOLD))
    return panel(f"{axle.end.value} axle guide", [*items, *words])


def _label_spot(axle: AxleSet, room: tuple[float, float, float], wide: float) -> Point | None:
    """Beside the hole, on the side with more room."""
    left, right, top = room
    clear = axle.hole_mm / 2 + 3.5
    level = min(axle.height_mm + 2.0, top - NOTE_MM - 1.0)
    if axle.x_mm - left >= right - axle.x_mm:
        spot = axle.x_mm - clear - wide - 2.0
        return (spot, level) if spot > left + 1.0 else None
    spot = axle.x_mm + clear + 2.0
    return (spot, level) if spot + wide < right - 1.0 else None

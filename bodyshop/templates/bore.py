"""The cartridge bore as it shows, hidden, in the side view."""

from __future__ import annotations

import math

from bodyshop.body.holes import BoreHole
from bodyshop.drawing.affine import Point
from bodyshop.drawing.figures import Figures
from bodyshop.drawing.items import Anchor, Item, Text
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer
from bodyshop.drawing.shapes import line, polyline
from bodyshop.templates.labels import Wanted
from bodyshop.templates.view import NOTE_MM

__all__ = ["bore_corners", "drilled_mm", "hidden_bore", "words_outside"]

# Less wood than this between the mouth and the tail end of the blank is none.
_NO_WASTE_MM = 0.005


def bore_corners(bore: BoreHole, length_mm: float) -> tuple[Point, Point, Point, Point]:
    """The bore in the side view as it is drilled: from the blank's tail end to its blind end.

    Order: blind end low, tail end low, tail end high, blind end high.
    """
    cos, sin = math.cos(bore.tilt), math.sin(bore.tilt)
    end = max(length_mm, bore.x)
    blind_low, blind_high = bore.point(bore.depth, -bore.radius), bore.point(bore.depth, bore.radius)

    def at_end(up: float) -> Point:
        along = (bore.x - end + up * sin) / cos
        return bore.point(along, up)

    return blind_low, at_end(-bore.radius), at_end(bore.radius), blind_high


def drilled_mm(bore: BoreHole, length_mm: float) -> float:
    """How deep the bit goes in from the tail end of the blank, along the bore, mm."""
    return bore.depth + (max(length_mm, bore.x) - bore.x) / math.cos(bore.tilt)


def hidden_bore(bore: BoreHole, length: float, figures: Figures) -> list[Item]:
    """The bore in the side view: hidden edges, centre line, and its words where they go into it."""
    low_blind, low_end, high_end, high_blind = bore_corners(bore, length)
    axis_end = ((low_end[0] + high_end[0]) / 2, (low_end[1] + high_end[1]) / 2)
    items: list[Item] = [
        polyline((low_end, low_blind, high_blind, high_end), Layer.HIDDEN),
        line(bore.point(bore.depth + 5.0), axis_end, Layer.CENTRE),
    ]
    lines, middle = _words(bore, length, figures), bore.point(bore.depth / 2)
    if _fit(bore, length, figures):
        ups = (1.2, -1.2 - NOTE_MM, -1.2 - 2.5 * NOTE_MM)
        for words, up in zip(lines, ups, strict=False):
            at = (middle[0], middle[1] + up)
            items.append(Text(words, at, NOTE_MM, Anchor.MIDDLE, layer=Layer.DIMENSION))
    return items


def _words(bore: BoreHole, length: float, figures: Figures) -> tuple[str, ...]:
    """Its size, its depth in the car and, where the tail of the blank is waste, what has to be drilled."""
    angle = f", tilted {abs(math.degrees(bore.tilt)):.1f}°" if bore.tilt else ""
    words = (
        f"bore Ø {figures.number(2 * bore.radius)}",
        f"{figures.number(bore.depth)} deep in the car{angle}",
    )
    drilled = drilled_mm(bore, length)
    if drilled - bore.depth < _NO_WASTE_MM:
        return words
    return (*words, f"drill {figures.number(drilled)} from tail end")


def _fit(bore: BoreHole, length: float, figures: Figures) -> bool:
    """Whether the bore's words go into it, over and under its centre line."""
    lines = _words(bore, length, figures)
    widest = max(text_width_mm(words, NOTE_MM) for words in lines)
    deep = NOTE_MM + 2.4 if len(lines) < 3 else 2.5 * NOTE_MM + 2.4
    return not bore.tilt and bore.radius > deep and widest < bore.depth - 3.0


def words_outside(bore: BoreHole, length: float, figures: Figures) -> list[Wanted]:
    """The bore's words over it, where they do not go into it."""
    if _fit(bore, length, figures):
        return []
    blind, middle = bore.point(bore.depth), bore.point(bore.depth / 2)
    over = max(blind[1], middle[1]) + bore.radius + 3.0
    return [Wanted(", ".join(_words(bore, length, figures)), (middle[0], over))]

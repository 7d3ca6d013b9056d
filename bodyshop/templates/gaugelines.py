"""Where the card gauges are held against the body: numbered lines across side and plan."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import Item, Text, Weight
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer
from bodyshop.drawing.shapes import line
from bodyshop.templates.view import SMALL_MM, Setting
from bodyshop.templates.waste import Waste

__all__ = ["gauge_lines", "gauge_name"]

_IN_MM = 1.0


def gauge_name(number: int) -> str:
    """What the gauge of a number, from 1, is called: on the car and on its card."""
    return f"G{number}"


def gauge_lines(
    waste: Waste,
    setting: Setting,
    stretch: float,
    ink: list[shapely.Geometry],
    bore: shapely.Geometry | None = None,
) -> list[Item]:
    """A narrow line through the car at each gauge's station, with its name beside it.

    It stops at the bore, which is full of words; other words break it. The names are added to the ink that
    those keep off.
    """
    items: list[Item] = []
    x0, y0, x1, y1 = waste.blank.bounds
    for number, station in enumerate(setting.gauges, 1):
        x = stretch * station
        across = shapely.LineString([(x, y0 - 1.0), (x, y1 + 1.0)]).intersection(waste.car)
        if across.is_empty or not x0 <= x <= x1:
            continue
        _, low, _, high = across.bounds
        shown = across if bore is None else across.difference(bore)
        for part in shapely.get_parts(shown):
            _, foot, _, top = part.bounds
            items.append(line((x, foot), (x, top), Layer.STATION))
        name = gauge_name(number)
        spot, box = _spot(name, x, low, high, ink)
        items.append(Text(name, spot, SMALL_MM, weight=Weight.BOLD, layer=Layer.STATION, clear=True))
        ink.append(box)
    return items


def _spot(
    name: str, x: float, low: float, high: float, ink: Sequence[shapely.Geometry]
) -> tuple[Point, shapely.Geometry]:
    """Beside the line inside the car, at its top or foot, wherever nothing is drawn yet."""
    width = text_width_mm(name, SMALL_MM, bold=True)
    levels = [high - _IN_MM - SMALL_MM, low + _IN_MM]
    levels += [low + share * (high - low) for share in (0.75, 0.25, 0.6, 0.4)]
    spots = [(left, level) for level in levels for left in (x + _IN_MM, x - _IN_MM - width)]
    boxes = [shapely.box(a - 0.5, b - 0.5, a + width + 0.5, b + SMALL_MM + 0.5) for a, b in spots]
    free = (k for k, box in enumerate(boxes) if not any(box.intersects(each) for each in ink))
    best = next(free, 0)
    return spots[best], boxes[best]

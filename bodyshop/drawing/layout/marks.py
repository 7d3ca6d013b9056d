"""Marks by which a sheet is checked and joined: check bars, register crosses, centre marks."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from bodyshop.drawing.sheet.items import Anchor, Group, Item, Path, Text
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import circle, line, rectangle
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, MoveTo, Rect

__all__ = [
    "BAR_HEIGHT_MM",
    "BarUnit",
    "bar_length_mm",
    "centre_mark",
    "check_bar",
    "hole_mark",
    "register_cross",
]

BAR_HEIGHT_MM = 8.0
"""Room a check bar takes across its length, label and all."""


class BarUnit(Enum):
    """What a check bar counts in."""

    MM = "mm"
    INCH = "in"


@dataclass(frozen=True, slots=True)
class _Bar:
    length_mm: float
    steps: int
    figures: tuple[tuple[int, str], ...]
    words: tuple[str, str]


def bar_length_mm(unit: BarUnit) -> float:
    """Length of a check bar between its end ticks, mm."""
    return _bar(unit).length_mm


def _bar(unit: BarUnit) -> _Bar:
    if unit is BarUnit.MM:
        figures = tuple((k, str(10 * k)) for k in (0, 5, 10))
        return _Bar(100.0, 10, figures, ("measure with a ruler", "must be 100 mm, end to end"))
    figures = tuple((2 * k, str(k)) for k in (0, 2, 4))
    return _Bar(4 * MM_PER_IN, 8, figures, ("measure with a ruler", "must be 4 in, end to end"))


def check_bar(at: Point, unit: BarUnit = BarUnit.MM, *, upright: bool = False, name: str = "") -> list[Item]:
    """A bar of known length, 100 mm or 4 in, to be checked with a steel rule on the printed sheet.

    `name` is a letter or word by which it is told from other bars.

    Ticks stand every 10 mm or half inch, every second space is filled. `at` is the zero end of the bar's
    base line; the bar runs right, or up when `upright`. It stays within `BAR_HEIGHT_MM` to the upper side
    (left side when upright), apart from the end figures, which stand half their width beyond.
    """
    bar = _bar(unit)
    step = bar.length_mm / bar.steps
    layer = Layer.CHECK_BAR
    items: list[Item] = [line((0, 0), (bar.length_mm, 0), layer)]
    for k in range(bar.steps + 1):
        tall = any(k == mark for mark, _ in bar.figures)
        items.append(line((k * step, 0), (k * step, 2.6 if tall else 1.8), layer))
    for k in range(0, bar.steps, 2):
        # Filled spaces catch the eye; they stop short of the ticks, which are what is measured.
        space = Rect(k * step + 0.3, 0.3, step - 0.6, 0.7)
        items.append(rectangle(space, layer, Pen.HATCH, 0.0))
    for mark, figure in bar.figures:
        items.append(Text(figure, (mark * step, 3.3), 1.8, Anchor.MIDDLE, layer=layer))
    told, length = bar.words
    for share, words in ((0.25, f"bar {name}: {told}" if name else told), (0.75, length)):
        items.append(Text(words, (share * bar.length_mm, 3.3), 1.8, Anchor.MIDDLE, layer=layer))
    place = Affine.turn(math.pi / 2 if upright else 0.0).then(Affine.move(*at))
    return [Group(place, tuple(items))]


def register_cross(at: Point, radius_mm: float = 2.0) -> list[Item]:
    """A cross in a ring, to lay one sheet on its neighbour."""
    arm = 1.9 * radius_mm
    return [
        line((at[0] - arm, at[1]), (at[0] + arm, at[1]), Layer.REGISTER),
        line((at[0], at[1] - arm), (at[0], at[1] + arm), Layer.REGISTER),
        circle(at, radius_mm, Layer.REGISTER, Pen.NARROW),
    ]


def centre_mark(at: Point, reach_mm: float, layer: Layer = Layer.CENTRE) -> list[Item]:
    """Two short continuous lines crossing at a centre: exact where the drill's point goes."""
    return [
        line((at[0] - reach_mm, at[1]), (at[0] + reach_mm, at[1]), layer, Pen.NARROW),
        line((at[0], at[1] - reach_mm), (at[0], at[1] + reach_mm), layer, Pen.NARROW),
    ]


def hole_mark(at: Point, diameter_mm: float, tilt_rad: float = 0.0) -> list[Item]:
    """A hole seen from its end: its edge and a centre mark that runs a little past it.

    A hole that is tilted up or down meets the face in an ellipse, taller by 1 / cos of the tilt.
    """
    radius = diameter_mm / 2
    edge: Item = circle(at, radius, Layer.HOLE, Pen.VISIBLE)
    if tilt_rad:
        tall = (0.0, radius / math.cos(tilt_rad))
        halves = [ArcTo(at, (radius, 0.0), tall, start, math.pi) for start in (0.0, math.pi)]
        edge = Path((MoveTo(halves[0].begin), *halves), Layer.HOLE, Pen.VISIBLE)
    return [edge, *centre_mark(at, radius + 2.0)]

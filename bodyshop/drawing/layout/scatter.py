"""Scatter plots: a point for each car, with its interval both ways, readable in black and white.

Every point carries its number; the key that tells whose it is stands in the caller's table.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from bodyshop.drawing.layout.blocks import Block, paragraph
from bodyshop.drawing.layout.free_space import FreeSpace
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import circle, disc, filled, line, rectangle
from bodyshop.geometry.paths import Rect

__all__ = ["Axis", "Dot", "nice_ticks", "scatter_plot"]

_TEXT_MM: Final = 1.9
_NUMBER_MM: Final = 1.7
_DOT_MM: Final = 0.8
_CAP_MM: Final = 0.8
_TICK_MM: Final = 1.2
_LEADER_MM: Final = 2.6
_LEFT_MM: Final = 17.0
_FOOT_MM: Final = 12.0
_RULE_MM: Final = 0.15
_GREY: Final = 0.8
_BEYOND: Final = 0.03
_STEPS: Final = (1.0, 2.0, 5.0)


@dataclass(frozen=True, slots=True)
class Dot:
    """A point. `x` and `y` are value, low and high; the three are equal where no interval is known.

    `hollow` draws a ring: a point that is a prediction, or does not count.
    """

    label: str
    x: tuple[float, float, float]
    y: tuple[float, float, float]
    hollow: bool = False


@dataclass(frozen=True, slots=True)
class Axis:
    """What is counted along an axis, with its unit: `mass, g`."""

    words: str


def nice_ticks(low: float, high: float, most: int = 7) -> tuple[list[float], int]:
    """Round values that hold `low` to `high` between them, and the decimals they are printed with.

    Steps are 1, 2 or 5 times a power of ten; there are at most `most` + 1 ticks, and at least two.

    Raises:
        ValueError: an end is not a number.
    """
    if not (math.isfinite(low) and math.isfinite(high)):
        raise ValueError("an axis needs finite ends")
    if high - low < 1e-9 * max(1.0, abs(low), abs(high)):
        half = 0.05 * abs(low) or 1.0
        low, high = low - half, high + half
    power = math.floor(math.log10((high - low) / most))
    for exponent in (power, power + 1):
        for base in _STEPS:
            step = base * 10.0**exponent
            first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
            if last - first <= most:
                ticks = [k * step for k in range(first, last + 1)]
                return ticks, max(0, -exponent)
    raise AssertionError("ten steps are always enough")


def scatter_plot(
    title: str,
    x: Axis,
    y: Axis,
    dots: Sequence[Dot],
    width_mm: float,
    height_mm: float,
    *,
    equal: bool = False,
) -> Block:
    """A plot from (0, 0) downwards.

    Args:
        title: told over it.
        x: the axis to the right.
        y: the axis upwards.
        dots: the points; without any the plot says so.
        width_mm: all of its width.
        height_mm: all of its height.
        equal: both axes alike, with the line on which both are equal.
    """
    head = paragraph(title, (0.0, 0.0), width_mm, 2.4, weight=Weight.BOLD)
    box = Rect(_LEFT_MM, -height_mm + _FOOT_MM, width_mm - _LEFT_MM - 3.0, height_mm - _FOOT_MM)
    box = Rect(box.x, box.y, box.width, box.height - head.height_mm - 3.0)
    items: list[Item] = [*head.items]
    if not dots:
        items.append(rectangle(box, Layer.DIMENSION, Pen.RULE))
        items.append(Text("nothing measured yet", box.centre, _TEXT_MM, Anchor.MIDDLE))
        return Block(tuple(items), height_mm)
    spans = [[value for dot in dots for value in dot.x], [value for dot in dots for value in dot.y]]
    if equal:
        spans = [spans[0] + spans[1]] * 2
    (across, wide), (up, high) = (nice_ticks(*_roomy(span)) for span in spans)
    frame = _Frame(box, across, up)
    items += frame.ruled(x, y, wide, high)
    if equal:
        items.append(
            line(frame.at(across[0], across[0]), frame.at(across[-1], across[-1]), Layer.CENTRE, Pen.CENTRE)
        )
    for dot in dots:
        items += frame.dot(dot)
    items += _numbers(dots, frame)
    return Block(tuple(items), height_mm)


def _roomy(values: Sequence[float]) -> tuple[float, float]:
    """The ends of an axis, a little beyond the data, so that no point lies on the frame."""
    low, high = min(values), max(values)
    more = _BEYOND * (high - low)
    return low - more, high + more


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where values lie on the paper."""

    box: Rect
    across: list[float]
    up: list[float]

    def at(self, x: float, y: float) -> tuple[float, float]:
        """A point on the paper, mm."""
        box = self.box
        right = (x - self.across[0]) / (self.across[-1] - self.across[0])
        above = (y - self.up[0]) / (self.up[-1] - self.up[0])
        return box.x + right * box.width, box.y + above * box.height

    def ruled(self, x: Axis, y: Axis, wide: int, high: int) -> list[Item]:
        """Frame, ticks, fine rules, figures and words."""
        box = self.box
        items: list[Item] = []
        for value in self.across:
            at = self.at(value, self.up[0])
            items.append(
                filled(Rect(at[0] - _RULE_MM / 2, box.y, _RULE_MM, box.height), Layer.DIMENSION, _GREY)
            )
            items.append(line(at, (at[0], at[1] - _TICK_MM), Layer.DIMENSION))
            below = (at[0], at[1] - _TICK_MM - 1.0 - _TEXT_MM)
            items.append(Text(_figure(value, wide), below, _TEXT_MM, Anchor.MIDDLE))
        for value in self.up:
            at = self.at(self.across[0], value)
            items.append(
                filled(Rect(box.x, at[1] - _RULE_MM / 2, box.width, _RULE_MM), Layer.DIMENSION, _GREY)
            )
            items.append(line(at, (at[0] - _TICK_MM, at[1]), Layer.DIMENSION))
            beside = (at[0] - _TICK_MM - 1.0, at[1] - _TEXT_MM / 2)
            items.append(Text(_figure(value, high), beside, _TEXT_MM, Anchor.END))
        items.append(rectangle(box, Layer.DIMENSION, Pen.FRAME))
        foot = (box.centre[0], box.y - _FOOT_MM + 2.6)
        items.append(Text(x.words, foot, _TEXT_MM, Anchor.MIDDLE, weight=Weight.BOLD))
        side = (_TEXT_MM + 0.6, box.centre[1])
        items.append(Text(y.words, side, _TEXT_MM, Anchor.MIDDLE, math.pi / 2, Weight.BOLD))
        return items

    def dot(self, dot: Dot) -> list[Item]:
        """A point and its intervals."""
        at = self.at(dot.x[0], dot.y[0])
        items: list[Item] = []
        if dot.x[2] > dot.x[1]:
            ends = (self.at(dot.x[1], dot.y[0]), self.at(dot.x[2], dot.y[0]))
            items.append(line(*ends, Layer.DIMENSION))
            items += [line((px, py - _CAP_MM), (px, py + _CAP_MM), Layer.DIMENSION) for px, py in ends]
        if dot.y[2] > dot.y[1]:
            ends = (self.at(dot.x[0], dot.y[1]), self.at(dot.x[0], dot.y[2]))
            items.append(line(*ends, Layer.DIMENSION))
            items += [line((px - _CAP_MM, py), (px + _CAP_MM, py), Layer.DIMENSION) for px, py in ends]
        items.append(disc(at, _DOT_MM, Layer.DIMENSION, 1.0 if dot.hollow else 0.0))
        if dot.hollow:
            items.append(circle(at, _DOT_MM, Layer.DIMENSION, Pen.VISIBLE))
        return items


def _figure(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.") else text


def _numbers(dots: Sequence[Dot], frame: _Frame) -> list[Item]:
    """Each point's number in the first free spot round it, away from points, whiskers and other numbers."""
    free = FreeSpace(ink=[_box(Rect(px, py, 0.0, 0.0).grown(_DOT_MM)) for px, py in _points(dots, frame)])
    for dot in dots:
        low = frame.at(dot.x[1], dot.y[1])
        high = frame.at(dot.x[2], dot.y[2])
        at = frame.at(dot.x[0], dot.y[0])
        free.block(_box(Rect(low[0], at[1] - 0.1, high[0] - low[0], 0.2)))
        free.block(_box(Rect(at[0] - 0.1, low[1], 0.2, high[1] - low[1])))
    items: list[Item] = []
    for dot, at in zip(dots, _points(dots, frame), strict=True):
        spots = list(_spots(at, text_width_mm(dot.label, _NUMBER_MM, bold=True), frame.box))
        rect = spots[free.pick([_box(spot.grown(0.5)) for spot in spots])]
        middle = rect.centre
        near = (min(max(at[0], rect.x), rect.right), min(max(at[1], rect.y), rect.top))
        if math.dist(near, at) > _LEADER_MM:
            items.append(line(at, near, Layer.DIMENSION, Pen.HATCH))
        base = (middle[0], rect.y)
        items.append(Text(dot.label, base, _NUMBER_MM, Anchor.MIDDLE, weight=Weight.BOLD))
    return items


def _box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def _points(dots: Sequence[Dot], frame: _Frame) -> list[tuple[float, float]]:
    return [frame.at(dot.x[0], dot.y[0]) for dot in dots]


def _spots(at: tuple[float, float], wide: float, box: Rect) -> Iterator[Rect]:
    """Places for a number round its point, the nearest first."""
    for ring in range(6):
        away = 2.0 + 1.6 * ring
        for k in range(12):
            angle = math.radians(45 + 30 * k)
            middle = (at[0] + (away + wide / 2) * math.cos(angle), at[1] + away * math.sin(angle))
            rect = Rect(middle[0] - wide / 2, middle[1] - _NUMBER_MM / 2, wide, _NUMBER_MM)
            if box.holds(rect):
                yield rect
    yield Rect(at[0], at[1], wide, _NUMBER_MM)

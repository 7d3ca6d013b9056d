"""Ranked bars on paper: black for what the builder can change, hollow for what the day decides."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bodyshop.drawing.blocks import Block
from bodyshop.drawing.items import Anchor, Item, Rect, Text
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.scatter import nice_ticks
from bodyshop.drawing.shapes import filled, line, rectangle
from bodyshop.forecast.words import cause_label, millis, millis_range
from bodyshop.race.levers import Effect, Reach
from bodyshop.race.prediction import Cause

__all__ = ["cause_bars", "effect_bars"]

_TEXT_MM: Final = 2.2
_ROW_MM: Final = 5.6
_BAR_MM: Final = 3.0
_GAP_MM: Final = 2.0
_CAP_MM: Final = 0.9
_FOOT_MM: Final = 9.0
_FILL: Final = 0.35
_RULE_MM: Final = 0.15


def effect_bars(effects: Sequence[Effect], width_mm: float) -> Block:
    """A bar for each effect: gains (negative) to the left of the nought, losses to the right, each with the
    range that holds 19 in 20 as a whisker.
    """
    labels = max(text_width_mm(effect.lever.deed, _TEXT_MM) for effect in effects) + _GAP_MM
    told = [f"{millis(e.difference.seconds.value)}  ({millis_range(e.difference.seconds)})" for e in effects]
    figures = max(text_width_mm(words, _TEXT_MM) for words in told) + _GAP_MM
    seconds = [effect.difference.seconds for effect in effects]
    ticks, _ = nice_ticks(
        1e3 * min(0.0, *(held.low for held in seconds)), 1e3 * max(0.0, *(held.high for held in seconds)), 6
    )
    box = Rect(labels, -_ROW_MM * len(effects), width_mm - labels - figures, _ROW_MM * len(effects))

    def at(ms: float) -> float:
        return box.x + (ms - ticks[0]) / (ticks[-1] - ticks[0]) * box.width

    items: list[Item] = []
    for tick in ticks:
        x = at(tick)
        items.append(filled(Rect(x - _RULE_MM / 2, box.y, _RULE_MM, box.height), Layer.DIMENSION, 0.8))
        words = f"{tick:g}".replace("-", "−")
        items.append(Text(words, (x, box.y - 1.5 - _TEXT_MM), _TEXT_MM, Anchor.MIDDLE))
    items.append(Text("ms", (box.right + _GAP_MM, box.y - 1.5 - _TEXT_MM), _TEXT_MM))
    foot = (box.centre[0], box.y - 3.2 - 2 * _TEXT_MM)
    items.append(Text("faster to the left", foot, _TEXT_MM, Anchor.MIDDLE))
    for k, (effect, words) in enumerate(zip(effects, told, strict=True)):
        held = effect.difference.seconds
        middle = -_ROW_MM * (k + 0.5)
        base = middle - _TEXT_MM / 2
        items.append(Text(effect.lever.deed, (0.0, base), _TEXT_MM))
        items.append(Text(words, (width_mm, base), _TEXT_MM, Anchor.END))
        left, right = sorted((at(0.0), at(1e3 * held.value)))
        bar = Rect(left, middle - _BAR_MM / 2, right - left, _BAR_MM)
        items += _bar(bar, solid=effect.lever.reach is Reach.BUILDER)
        ends = (at(1e3 * held.low), at(1e3 * held.high))
        items.append(line((ends[0], middle), (ends[1], middle), Layer.DIMENSION, Pen.VISIBLE))
        items += [
            line((x, middle - _CAP_MM), (x, middle + _CAP_MM), Layer.DIMENSION, Pen.VISIBLE) for x in ends
        ]
    items.append(line((at(0.0), box.y), (at(0.0), box.top), Layer.DIMENSION, Pen.FRAME))
    return Block(tuple(items), box.height + _FOOT_MM)


def cause_bars(causes: Sequence[Cause], width_mm: float) -> Block:
    """A bar for each cause's share of the spread."""
    labels = max(text_width_mm(cause_label(cause), _TEXT_MM) for cause in causes) + _GAP_MM
    figures = text_width_mm("100 %", _TEXT_MM) + _GAP_MM
    room = (width_mm - labels - figures) / max(cause.share for cause in causes)
    items: list[Item] = []
    for k, cause in enumerate(causes):
        middle = -_ROW_MM * (k + 0.5)
        base = middle - _TEXT_MM / 2
        items.append(Text(cause_label(cause), (0.0, base), _TEXT_MM))
        bar = Rect(labels, middle - _BAR_MM / 2, room * cause.share, _BAR_MM)
        items += _bar(bar, solid=True)
        items.append(Text(f"{100.0 * cause.share:.0f} %", (bar.right + _GAP_MM, base), _TEXT_MM))
    return Block(tuple(items), _ROW_MM * len(causes))


def _bar(rect: Rect, *, solid: bool) -> list[Item]:
    if not solid:
        return [rectangle(rect, Layer.DIMENSION, Pen.VISIBLE)]
    return [filled(rect, Layer.DIMENSION, _FILL), rectangle(rect, Layer.DIMENSION, Pen.VISIBLE)]

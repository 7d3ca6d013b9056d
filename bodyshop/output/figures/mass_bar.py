"""Mass against the limits: a bar from zero, the interval as a box on it, limits as dotted lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.drawing.layout.blocks import Block, paragraph
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line, polygon, polyline, rectangle
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import MassUnit, format_estimate
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.boundary import spaced
from bodyshop.output.figures.labels import MARK_MM, mark_items, numbered
from bodyshop.output.figures.measured_lines import dotted
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import INTERVAL_SD, Verdict, amount_text

__all__ = ["MassBar", "draw_mass_bars", "mass_bars", "mass_sentence"]

_PLAIN: Final = "car.mass"
_TEXT_MM: Final = 1.8
_BAR_MM: Final = 5.0
_STEPS: Final = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000)


@dataclass(frozen=True, slots=True)
class MassBar:
    """One mass: the estimate and its interval, g, the limits on it, and the numbers of the rules not kept.

    `unit` is the one it is printed in.
    """

    title: str
    mass_g: float
    low_g: float
    high_g: float
    limits: tuple[tuple[float, str], ...]
    least_g: float | None
    most_g: float | None
    unit: MassUnit
    marks: tuple[tuple[int, Verdict], ...]


def mass_bars(checked: Checked) -> tuple[MassBar, ...]:
    """A bar for each mass that the rulebook limits; one without limits when it limits none."""
    judged: dict[str, list[Verdict]] = {}
    for verdict in checked.judgement.in_order:
        if verdict.rule.kind is QuantityKind.MASS and verdict.value is not None:
            judged.setdefault(verdict.rule.measure, []).append(verdict)
    if not judged:
        judged[_PLAIN] = []
    bars = (_bar(checked, measure, verdicts) for measure, verdicts in judged.items())
    return tuple(bar for bar in bars if bar is not None)


def _bar(checked: Checked, measure: str, verdicts: Sequence[Verdict]) -> MassBar | None:
    reading = checked.readings.get(measure)
    if not isinstance(reading, Reading):
        return None
    half = INTERVAL_SD * reading.spread
    lows = [v.rule.limits.low for v in verdicts if v.rule.limits and v.rule.limits.low is not None]
    highs = [v.rule.limits.high for v in verdicts if v.rule.limits and v.rule.limits.high is not None]
    unit = checked.opened.rulebook.mass_unit
    words = [(low, f"at least {amount_text(low, QuantityKind.MASS, unit)}") for low in dict.fromkeys(lows)]
    words += [
        (high, f"at most {amount_text(high, QuantityKind.MASS, unit)}") for high in dict.fromkeys(highs)
    ]
    clauses = {verdict.rule.clause for verdict in verdicts}
    return MassBar(
        title=checked.measures[measure].title,
        mass_g=reading.value,
        low_g=max(reading.value - half, 0.0),
        high_g=reading.value + half,
        limits=tuple(sorted(words)),
        least_g=max(lows, default=None),
        most_g=min(highs, default=None),
        unit=unit,
        marks=tuple((n, v) for n, v in numbered(checked.judgement) if v.rule.clause in clauses),
    )


def mass_sentence(bar: MassBar) -> str:
    """`Mass without cartridge: about 127 g (95 % range 105 to 150 g).`."""
    mass, low, high = (format_estimate(each, bar.unit) for each in (bar.mass_g, bar.low_g, bar.high_g))
    interval = f"{low.partition(' ')[0]} to {high}"
    return f"{capital(bar.title)}: about {mass} (95 % range {interval})."


def draw_mass_bars(bars: Sequence[MassBar], width_mm: float) -> Block:
    """The bars one below the other; the top left corner is the origin."""
    items: list[Item] = []
    y = 0.0
    for bar in bars:
        drawn, height = _draw(bar, y, width_mm)
        items += drawn
        y -= height + 3.0
    return Block(tuple(items), -(y + 3.0) if bars else 0.0)


def _draw(bar: MassBar, top: float, width: float) -> tuple[list[Item], float]:
    words = paragraph(mass_sentence(bar), (0.0, top), width, _TEXT_MM)
    items: list[Item] = [*words.items]
    y = top - words.height_mm - 2.4
    if bar.marks:
        for k, (number, verdict) in enumerate(bar.marks):
            items += mark_items(number, verdict.outcome, (MARK_MM + k * (2 * MARK_MM + 1.0), y - _BAR_MM / 2))
    left = (len(bar.marks) * (2 * MARK_MM + 1.0) + 2.0) if bar.marks else 2.2
    right = width - 1.5
    full = 1.08 * max([bar.high_g, *(limit for limit, _ in bar.limits), 1.0])

    def at(mass: float) -> float:
        return left + (right - left) * mass / full

    low = y - _BAR_MM
    least = 0.0 if bar.least_g is None else bar.least_g
    most = full if bar.most_g is None else bar.most_g
    if bar.limits and most > least:
        items.append(filled(Rect(at(least), low, at(most) - at(least), _BAR_MM), Layer.DIMENSION, 0.9))
    items.append(rectangle(Rect(left, low, right - left, _BAR_MM), Layer.DIMENSION, Pen.HATCH))
    box = Rect(at(bar.low_g), low + 1.1, max(at(bar.high_g) - at(bar.low_g), 0.4), _BAR_MM - 2.2)
    items.append(rectangle(box, Layer.DIMENSION, Pen.FRAME, 1.0))
    middle = at(bar.mass_g)
    half = _BAR_MM / 2
    corners = (
        (middle - 1.0, low + half),
        (middle, low + half + 1.4),
        (middle + 1.0, low + half),
        (middle, low + half - 1.4),
    )
    items.append(polygon(corners, Layer.DIMENSION, Pen.HATCH, 0.0))
    items += _scale(at, full, low, bar)
    for limit, _ in bar.limits:
        items.append(dotted((at(limit), y + 1.0), (at(limit), low - 4.6)))
    items += _limit_words(bar, at, low - 4.6, width)
    return items, top - (low - (9.4 if bar.limits else 4.6))


def _scale(at: Callable[[float], float], full: float, low: float, bar: MassBar) -> list[Item]:
    """The scale under a bar; a figure that a limit's line would cross is left out."""
    unit = bar.unit
    crossing = [at(limit) for limit, _ in bar.limits]
    marks = full / unit.g
    step = next((s for s in _STEPS if marks / s <= 8), _STEPS[-1] * math.ceil(marks / (8 * _STEPS[-1])))
    items: list[Item] = []
    for k in range(int(marks / step) + 1):
        x = at(k * step * unit.g)
        words = f"{k * step}" if k else f"0 {unit.symbol}"
        items.append(line((x, low), (x, low - 0.9), Layer.DIMENSION))
        room = text_width_mm(words, 1.5) / 2 + 0.4
        if any(abs(x - each) < room for each in crossing):
            continue
        items.append(Text(words, (x, low - 3.1), 1.5, Anchor.MIDDLE, layer=Layer.DIMENSION, clear=True))
    return items


def _limit_words(bar: MassBar, at: Callable[[float], float], foot: float, width: float) -> list[Item]:
    items: list[Item] = []
    widths = [text_width_mm(words, _TEXT_MM, bold=True) for _, words in bar.limits]
    places = spaced([at(limit) for limit, _ in bar.limits], widths, 0.0, width)
    for (limit, words), x in zip(bar.limits, places, strict=True):
        if abs(x - at(limit)) > 1.0:
            items.append(polyline(((at(limit), foot), (x, foot - 1.4)), Layer.DIMENSION))
        base = foot - 1.8 - _TEXT_MM
        items.append(
            Text(words, (x, base), _TEXT_MM, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.DIMENSION)
        )
    return items

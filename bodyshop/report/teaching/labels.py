"""The words of a call-out: its number in a ring, what was measured, and what the rule says.

A label comes in several sizes, the wordiest first; a drawing with many takes a smaller one. The table of
rules carries all the words, so a bare number is enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import Anchor, Item, Rect, Text, Weight
from bodyshop.drawing.lettering import shorten, text_width_mm, wrap
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import circle, filled, line, rectangle
from bodyshop.report.teaching.phrases import limit_words, measured_words
from bodyshop.rulebook import Outcome, Verdict

__all__ = ["MARK_MM", "Label", "inline_items", "inline_labels", "label_items", "labels_for", "mark_items"]

MARK_MM: Final = 2.3
"""Radius of the ring round a number."""

_TEXT_MM: Final = 1.8
_PITCH_MM: Final = 3.1
_GAP_MM: Final = 1.2
_PAD_MM: Final = 0.9
_TITLE_MM: Final = 27.0


@dataclass(frozen=True, slots=True)
class Label:
    """A number and lines of words (with whether each is bold), and the box they take, mm."""

    number: int
    outcome: Outcome
    lines: tuple[tuple[str, bool], ...]
    width_mm: float
    height_mm: float

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the box."""
        return (self.width_mm, self.height_mm)


def labels_for(number: int, verdict: Verdict) -> list[Label]:
    """The label in all its sizes, the wordiest first."""
    title = wrap(verdict.rule.title, _TEXT_MM, _TITLE_MM)
    if len(title) > 2:
        title = [title[0], shorten(" ".join(title[1:]), _TEXT_MM, _TITLE_MM)]
    value, limit = measured_words(verdict), limit_words(verdict.rule)
    words = [(line, False) for line in title]
    figures = [
        (shorten(text, _TEXT_MM, _TITLE_MM, bold=bold), bold)
        for text, bold in ((value, True), (limit, False))
        if text
    ]
    sizes = [(*words, *figures), tuple(figures), tuple(figures[:1]), ()]
    made = [_label(number, verdict.outcome, lines) for lines in sizes]
    return [label for k, label in enumerate(made) if k == 0 or label.lines != made[k - 1].lines]


def inline_labels(number: int, verdict: Verdict) -> list[Label]:
    """The label in one line, to stand in its own dimension line, the wordiest first."""
    value, limit = measured_words(verdict), limit_words(verdict.rule)
    short = shorten(verdict.rule.title, _TEXT_MM, 60.0)
    both = f"{value} ({limit})" if limit else value
    return [_label(number, verdict.outcome, ((words, True),)) for words in (f"{short} {both}", both, value)]


def _label(number: int, outcome: Outcome, lines: Sequence[tuple[str, bool]]) -> Label:
    words = max((text_width_mm(text, _TEXT_MM, bold=bold) for text, bold in lines), default=0.0)
    width = 2 * MARK_MM + (_GAP_MM + words + 0.4 if lines else 0.0)
    height = max(2 * MARK_MM, len(lines) * _PITCH_MM) + 2 * _PAD_MM
    return Label(number, outcome, tuple(lines), width, height)


def label_items(label: Label, box: Rect, port: Point) -> list[Item]:
    """A label in its box, with the shelf on the side of the port that its leader leaves from."""
    items = mark_items(label.number, label.outcome, (box.x + MARK_MM, box.centre[1]))
    left = box.x + 2 * MARK_MM + _GAP_MM
    top = box.centre[1] + len(label.lines) * _PITCH_MM / 2
    for k, (text, bold) in enumerate(label.lines):
        base = top - (k + 0.5) * _PITCH_MM - _TEXT_MM / 2
        weight = Weight.BOLD if bold else Weight.REGULAR
        items.append(Text(text, (left, base), _TEXT_MM, weight=weight, layer=Layer.DIMENSION))
    items.append(line((box.x, port[1]), (box.right, port[1]), Layer.DIMENSION))
    return items


def inline_items(label: Label, box: Rect) -> list[Item]:
    """A one-line label on white paper, laid over its dimension line."""
    (text, bold) = label.lines[0]
    base = (box.x + 2 * MARK_MM + _GAP_MM, box.centre[1] - _TEXT_MM / 2)
    weight = Weight.BOLD if bold else Weight.REGULAR
    return [
        filled(box, Layer.DIMENSION, 1.0),
        *mark_items(label.number, label.outcome, (box.x + MARK_MM, box.centre[1])),
        Text(text, base, _TEXT_MM, weight=weight, layer=Layer.DIMENSION),
    ]


def mark_items(number: int, outcome: Outcome, at: Point) -> list[Item]:
    """The number in its mark: a heavy ring for a broken rule, a light one for a close one, else a square."""
    figure = str(number)
    height = (2.0, 1.75, 1.4)[min(len(figure), 3) - 1]
    text = Text(
        figure, (at[0], at[1] - height / 2), height, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.DIMENSION
    )
    if outcome in (Outcome.FAIL, Outcome.NEAR):
        pen = Pen.CUT if outcome is Outcome.FAIL else Pen.NARROW
        return [circle(at, MARK_MM - 0.25, Layer.DIMENSION, pen), text]
    half = MARK_MM - 0.3
    return [
        rectangle(Rect(at[0] - half, at[1] - half, 2 * half, 2 * half), Layer.DIMENSION, Pen.NARROW),
        text,
    ]

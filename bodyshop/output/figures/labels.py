"""Call-outs on a figure: what each points at, and its words."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.measures import QuantityKind
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm, wrap
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import circle, filled, line, rectangle
from bodyshop.foundation.place import Place, Point3
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.units import format_estimate
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.aspects import Aspect, aspect_of, flat
from bodyshop.rules.rulebook import (
    Judgement,
    LimitSide,
    Outcome,
    Rule,
    Verdict,
    amount_text,
    chance_text,
    limits_text,
    value_text,
)

__all__ = [
    "CALLED_OUT",
    "Callout",
    "Label",
    "MARK_MM",
    "MeasuredLength",
    "VERDICT_WORDS",
    "callouts_of",
    "inline_items",
    "inline_labels",
    "label_items",
    "labels_for",
    "limit_words",
    "margin_words",
    "mark_items",
    "measured_words",
    "numbered",
]


VERDICT_WORDS: Final = {
    Outcome.FAIL: "FAILS",
    Outcome.TOO_CLOSE: "too close to tell",
    Outcome.CANNOT_JUDGE: "not known",
    Outcome.NEAR: "close",
    Outcome.ADVICE: "advice",
    Outcome.BY_GAUGE: "by gauge",
    Outcome.BY_EYE: "by eye",
    Outcome.PASS: "met",
}
"""The verdict on a rule in a word or two."""


def measured_words(verdict: Verdict) -> str:
    """`99.0 mm`; an estimate with its interval: `267 g (216 to 319 g)`; empty where nothing was measured."""
    if verdict.read is None:
        return ""
    interval = verdict.interval
    if verdict.rule.kind is QuantityKind.MASS and verdict.spread > 0.0 and interval is not None:
        unit = verdict.rule.mass_unit
        read, low, high = (format_estimate(max(g, 0.0), unit) for g in (verdict.read, *interval))
        return f"{read} ({low.partition(' ')[0]} to {high})"
    text = value_text(verdict.rule, verdict.read)
    return text.removeprefix("-") if not any(c in "123456789" for c in text) else text


def limit_words(rule: Rule) -> str:
    """What the rule asks: `105 to 270 mm`."""
    return limits_text(rule.limits, rule.kind, rule.shown_unit)


def margin_words(verdict: Verdict) -> str:
    """By how much it misses, or how much is to spare; empty where that means nothing."""
    rule = verdict.rule
    if verdict.margin is None or rule.kind is None or rule.limits is None:
        return printable(verdict.why_not)
    if verdict.doubt:
        return "could be either side" if verdict.chance is None else f"fails: {chance_text(verdict.chance)}"
    if verdict.over > 0.0:
        amount = amount_text(verdict.over, rule.kind, rule.shown_unit)
        if rule.limits.one_of:
            return f"{amount} off"
        words = ("too few", "too many") if rule.kind is QuantityKind.COUNT else ("too little", "too much")
        return f"{amount} {words[verdict.side is LimitSide.OVER]}"
    if verdict.margin == 0.0 or rule.limits.is_point:
        return "exactly right" if rule.limits.is_point else "right on the limit"
    return f"{amount_text(verdict.margin, rule.kind, rule.shown_unit)} to spare"


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


CALLED_OUT: Final = (
    Outcome.FAIL,
    Outcome.TOO_CLOSE,
    Outcome.CANNOT_JUDGE,
    Outcome.NEAR,
    Outcome.ADVICE,
)
"""Outcomes that get a number, and a mark on the drawing where they have a place."""

_SAME_MM: Final = 1e-6
_AGREES_MM: Final = 0.02
_TRUE: Final = 0.98
"""A length drawn shorter than this share of itself is better shown in another view."""


@dataclass(frozen=True, slots=True)
class MeasuredLength:
    """A length as measured: between two ends, along a direction (rad) or straight from end to end (None).

    `limits` are the points where the ends would lie at the limit: one when the first end stays where it
    is, two when the middle does, none when the value is not a plain distance.
    """

    start: Point
    end: Point
    along_rad: float | None
    limits: tuple[Point, ...] = ()

    @property
    def direction_rad(self) -> float:
        """The direction measured along."""
        if self.along_rad is not None:
            return self.along_rad
        return math.atan2(self.end[1] - self.start[1], self.end[0] - self.start[0])


@dataclass(frozen=True, slots=True)
class Callout:
    """One rule at its place: a measured line, or else a single spot."""

    number: int
    verdict: Verdict
    aspect: Aspect
    spot: Point
    measured: MeasuredLength | None


def numbered(judgement: Judgement) -> tuple[tuple[int, Verdict], ...]:
    """The rules that are broken, open, close or advised against, counted from 1, worst first."""
    return tuple(enumerate(judgement.having(*CALLED_OUT), 1))


def callouts_of(judgement: Judgement) -> tuple[Callout, ...]:
    """Those of the numbered rules that have a place on the drawing. Masses have none: they have a bar."""
    found = []
    for number, verdict in numbered(judgement):
        place = verdict.place
        if place is not None and place.points and verdict.rule.kind is not QuantityKind.MASS:
            found.append(_callout(number, verdict, place))
    return tuple(found)


def _callout(number: int, verdict: Verdict, place: Place) -> Callout:
    aspect = aspect_of(place.view)
    if len(place.points) == 1 or verdict.value is None or verdict.rule.kind is not QuantityKind.LENGTH:
        places = [flat(aspect, point) for point in place.points]
        middle = (_mean([spot[0] for spot in places]), _mean([spot[1] for spot in places]))
        return Callout(number, verdict, aspect, middle, None)
    ends = _fixed_first(verdict.rule.measure, (place.points[0], place.points[-1]))
    aspect = _truest(aspect, ends)
    start, end = flat(aspect, ends[0]), flat(aspect, ends[1])
    spot = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    if math.dist(start, end) < _SAME_MM:
        return Callout(number, verdict, aspect, spot, None)
    along, limit_ends = _relation(verdict, ends, aspect)
    limits = tuple(flat(aspect, point) for point in limit_ends)
    return Callout(number, verdict, aspect, spot, MeasuredLength(start, end, along, limits))


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)


def _fixed_first(measure: str, ends: tuple[Point3, Point3]) -> tuple[Point3, Point3]:
    """The end that would stay where it is first: an axle is moved towards the tail, not the tail."""
    return (ends[1], ends[0]) if measure.endswith("from_tail") else ends


def _truest(aspect: Aspect, ends: tuple[Point3, Point3]) -> Aspect:
    """The view asked for, or the one that shows the length in full where that one does not."""
    whole = math.dist(*ends)

    def shown(view: Aspect) -> float:
        return math.dist(flat(view, ends[0]), flat(view, ends[1]))

    if shown(aspect) >= _TRUE * whole:
        return aspect
    best = max(Aspect, key=lambda view: (round(shown(view), 6), view is aspect))
    return best if shown(best) >= _TRUE * whole else aspect


def _relation(
    verdict: Verdict, ends: tuple[Point3, Point3], aspect: Aspect
) -> tuple[float | None, tuple[Point3, ...]]:
    """How the value lies between the ends: the direction to measure along, and the ends at the limit."""
    value = verdict.value
    assert value is not None  # noqa: S101 - the caller has looked
    # A rule may leave out the first part of what lies between the ends.
    size = abs(value + verdict.rule.past)
    gaps = [b - a for a, b in zip(*ends, strict=True)]
    if abs(math.dist(*ends) - size) <= _AGREES_MM:
        return None, _limit_ends(verdict, ends, (True, True, True))
    for axis, gap in enumerate(gaps):
        if abs(abs(gap) - size) <= _AGREES_MM:
            along = _axis_direction(aspect, axis)
            if along is not None:
                return along, _limit_ends(verdict, ends, tuple(k == axis for k in range(3)))
    return None, ()


def _axis_direction(aspect: Aspect, axis: int) -> float | None:
    """The direction on a view of the car's x, y or z; None when it is seen end on."""
    unit: Point3 = (float(axis == 0), float(axis == 1), float(axis == 2))
    right, up = flat(aspect, unit)
    return None if (right, up) == (0.0, 0.0) else math.atan2(up, right)


def _limit_ends(verdict: Verdict, ends: tuple[Point3, Point3], moves: tuple[bool, ...]) -> tuple[Point3, ...]:
    value, limit = verdict.value, verdict.limit
    past = verdict.rule.past
    if value is None or limit is None or abs(value + past) < _SAME_MM:
        return ()
    grow = (limit + past) / (value + past)
    first, last = ends
    if _keeps_its_middle(verdict.rule.measure, ends):
        middle = _between(first, last, 0.5, moves)
        return (_between(middle, first, grow, moves), _between(middle, last, grow, moves))
    return (_between(first, last, grow, moves),)


def _keeps_its_middle(measure: str, ends: tuple[Point3, Point3]) -> bool:
    """Diameters, and widths across the centre line, grow at both ends."""
    across = abs(ends[0][1] + ends[1][1]) < _AGREES_MM and abs(ends[0][1]) > _AGREES_MM
    return across or measure.endswith("diameter")


def _between(start: Point3, end: Point3, share: float, moves: tuple[bool, ...]) -> Point3:
    """The point a share of the way along the axes that move; as far as the end along the others."""
    parts = [a + share * (b - a) if moving else b for a, b, moving in zip(start, end, moves, strict=True)]
    return (parts[0], parts[1], parts[2])

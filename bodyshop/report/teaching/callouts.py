"""What is called out on the drawing: each rule that is broken or close, at its place on the car.

A length with two ends becomes a measured line between them and, where the value is told from one end or
from the middle, the ends it would have at the limit. Everything is in millimetres of the car, laid flat
on the view it is drawn in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.drawing.affine import Point
from bodyshop.measures import Kind
from bodyshop.place import Place, Point3
from bodyshop.report.teaching.aspects import Aspect, aspect_of, flat
from bodyshop.rulebook import Judgement, Outcome, Verdict

__all__ = ["CALLED_OUT", "Callout", "Measured", "callouts_of", "numbered"]

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
class Measured:
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
    measured: Measured | None


def numbered(judgement: Judgement) -> tuple[tuple[int, Verdict], ...]:
    """The rules that are broken, open, close or advised against, counted from 1, worst first."""
    return tuple(enumerate(judgement.having(*CALLED_OUT), 1))


def callouts_of(judgement: Judgement) -> tuple[Callout, ...]:
    """Those of the numbered rules that have a place on the drawing. Masses have none: they have a bar."""
    found = []
    for number, verdict in numbered(judgement):
        place = verdict.place
        if place is not None and place.points and verdict.rule.kind is not Kind.MASS:
            found.append(_callout(number, verdict, place))
    return tuple(found)


def _callout(number: int, verdict: Verdict, place: Place) -> Callout:
    aspect = aspect_of(place.view)
    if len(place.points) == 1 or verdict.value is None or verdict.rule.kind is not Kind.LENGTH:
        spots = [flat(aspect, point) for point in place.points]
        middle = (_mean([spot[0] for spot in spots]), _mean([spot[1] for spot in spots]))
        return Callout(number, verdict, aspect, middle, None)
    ends = _fixed_first(verdict.rule.measure, (place.points[0], place.points[-1]))
    aspect = _truest(aspect, ends)
    start, end = flat(aspect, ends[0]), flat(aspect, ends[1])
    spot = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    if math.dist(start, end) < _SAME_MM:
        return Callout(number, verdict, aspect, spot, None)
    along, limit_ends = _relation(verdict, ends, aspect)
    limits = tuple(flat(aspect, point) for point in limit_ends)
    return Callout(number, verdict, aspect, spot, Measured(start, end, along, limits))


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

"""Limits carried from measure to measure along relations, each bound with the claims it comes from.

Bounds are drawn in until nothing moves: from sum(c x) + k >= 0 each x is bounded by the extremes of the
others. An empty interval proves that the claims cannot be kept together. The reverse does not hold: a set
of claims may be impossible as a whole although no interval is empty.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

from bodyshop.rulebook.lint.relations import Relation

__all__ = ["SLACK", "Bound", "Claim", "Interval", "carried", "first_conflict", "needed"]

SLACK: Final = 1e-6
"""Sums of floats differ by less than this (mm, g, rad)."""

_MOST_STEPS: Final = 20_000


@dataclass(frozen=True, slots=True)
class Claim:
    """Somebody says that a measure lies from `low` to `high`. `key` names who: a clause, a piece of kit."""

    key: str
    measure: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Bound:
    """An end of an interval, the keys of the claims it comes from and the numbers of the relations used."""

    value: float
    claims: frozenset[str] = frozenset()
    by: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Interval:
    """Where a measure can still lie."""

    low: Bound
    high: Bound

    @property
    def empty(self) -> bool:
        """Whether it can lie nowhere."""
        return self.low.value > self.high.value + SLACK


Reach = Callable[[str], tuple[float, float]]
"""What a measure can be at all, before anybody claims anything."""


def carried(
    claims: Iterable[Claim], relations: Sequence[Relation], reach: Reach
) -> tuple[dict[str, Interval], str]:
    """Intervals of every measure that is claimed or related, and the first whose interval is empty, if any.

    Work stops at the first that is empty.
    """
    found: dict[str, Interval] = {}

    def interval(name: str) -> Interval:
        if name not in found:
            low, high = reach(name)
            found[name] = Interval(Bound(low), Bound(high))
        return found[name]

    for claim in claims:
        now = interval(claim.measure)
        key = frozenset((claim.key,))
        low = Bound(claim.low, key) if claim.low > now.low.value + SLACK else now.low
        high = Bound(claim.high, key) if claim.high < now.high.value - SLACK else now.high
        found[claim.measure] = Interval(low, high)
        if found[claim.measure].empty:
            return found, claim.measure
    touching = _touching(tuple(relations))
    waiting = dict.fromkeys(range(len(relations)))
    for _ in range(_MOST_STEPS):
        if not waiting:
            break
        number = next(iter(waiting))
        del waiting[number]
        relation = relations[number]
        for name, _ in relation.terms:
            interval(name)
        for name, tighter in _drawn_in(relation, number, found):
            found[name] = tighter
            if tighter.empty:
                return found, name
            waiting.update(dict.fromkeys(touching[name]))
    return found, ""


@cache
def _touching(relations: tuple[Relation, ...]) -> Mapping[str, tuple[int, ...]]:
    """Numbers of the relations of each measure."""
    found: dict[str, tuple[int, ...]] = {}
    for number, relation in enumerate(relations):
        for name, _ in relation.terms:
            found[name] = (*found.get(name, ()), number)
    return found


def _drawn_in(
    relation: Relation, number: int, found: Mapping[str, Interval]
) -> Iterable[tuple[str, Interval]]:
    """Each interval of the relation's measures that the others make narrower."""
    for name, factor in relation.terms:
        most, claims, by = relation.constant, frozenset[str](), frozenset((number,))
        for other, other_factor in relation.terms:
            if other != name:
                end = found[other].high if other_factor > 0 else found[other].low
                most += other_factor * end.value
                claims |= end.claims
                by |= end.by
        if not math.isfinite(most):
            continue
        now = found[name]
        bound = Bound(-most / factor, claims, by)
        if factor > 0 and bound.value > now.low.value + SLACK:
            yield name, Interval(bound, now.high)
        elif factor < 0 and bound.value < now.high.value - SLACK:
            yield name, Interval(now.low, bound)


def needed(claims: Sequence[Claim], still: Callable[[Sequence[Claim]], bool]) -> tuple[Claim, ...]:
    """As few of the claims as keep `still` true, none of which can be left out."""
    kept = list(claims)
    for claim in claims:
        fewer = [each for each in kept if each is not claim]
        if still(fewer):
            kept = fewer
    return tuple(kept)


def first_conflict(claims: Sequence[Claim], relations: Sequence[Relation], reach: Reach) -> tuple[Claim, ...]:
    """Claims that cannot be kept together, none of which can be left out; empty when there are none."""
    found, name = carried(claims, relations, reach)
    if not name:
        return ()
    keys = found[name].low.claims | found[name].high.claims
    involved = [claim for claim in claims if claim.key in keys]

    def clash(some: Sequence[Claim]) -> bool:
        return bool(carried(some, relations, reach)[1])

    # The trail of a bound is enough to prove it; all claims are tried should it ever not be.
    return needed(involved if clash(involved) else claims, clash)

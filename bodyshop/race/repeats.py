"""Repeated readings: mean, spread, and the interval that holds the true mean in 95 of 100 such series.

The interval is mean +- t s / sqrt(n), with Student's t for n - 1 degrees of freedom (any textbook; JCGM
100:2008, the GUM, annex G). With two readings t is 12.7, with five 2.8: a third reading is worth most.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from statistics import NormalDist
from typing import Final

from bodyshop.race.model import CONFIDENCE, Interval

__all__ = ["NORMAL_95", "Repeats", "repeats", "student_quantile"]

NORMAL_95: Final = NormalDist().inv_cdf(0.975)


@dataclass(frozen=True, slots=True)
class Repeats:
    """A series of readings. `spread` is its standard deviation (n - 1), None for a single one."""

    values: tuple[float, ...]
    mean: float
    spread: float | None

    @property
    def count(self) -> int:
        """How many."""
        return len(self.values)

    @property
    def half_width(self) -> float | None:
        """Half of the 95 % interval of the mean, from the spread alone."""
        if self.spread is None:
            return None
        return student_quantile(0.5 + CONFIDENCE / 2.0, self.count - 1) * self.spread / math.sqrt(self.count)

    @property
    def interval(self) -> Interval | None:
        """The 95 % interval of the mean, from the spread alone; None for a single reading."""
        half = self.half_width
        return None if half is None else Interval(self.mean, self.mean - half, self.mean + half)

    @property
    def sd(self) -> float | None:
        """The mean's standard uncertainty, widened so that 1.96 of it make the interval: what few readings
        leave unknown of their own spread is then not lost where a normal law is reckoned with.
        """
        half = self.half_width
        return None if half is None else half / NORMAL_95


def repeats(values: Sequence[float]) -> Repeats:
    """A series of at least one reading."""
    spread = statistics.stdev(values) if len(values) > 1 else None
    return Repeats(tuple(values), statistics.fmean(values), spread)


@cache
def student_quantile(share: float, freedom: int) -> float:
    """The value that a Student's t of `freedom` >= 1 stays under with probability 0.5 <= `share` < 1, by
    bisection on its distribution function.
    """
    low, high = 0.0, 1.0
    while _student_below(high, freedom) < share:
        low, high = high, 2.0 * high
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if _student_below(middle, freedom) < share:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _student_below(t: float, freedom: int) -> float:
    """Distribution function of Student's t for t >= 0, by the finite sums that whole numbers of degrees of
    freedom allow (Abramowitz and Stegun, 26.7.3 and 26.7.4).
    """
    angle = math.atan2(t, math.sqrt(freedom))
    cosine, sine = math.cos(angle), math.sin(angle)
    if freedom == 1:
        return 0.5 + angle / math.pi
    term = total = cosine if freedom % 2 else 1.0
    for k in range(3 if freedom % 2 else 2, freedom - 1, 2):
        term *= cosine**2 * (k - 1) / k
        total += term
    if freedom % 2:
        return 0.5 + (angle + sine * total) / math.pi
    return 0.5 + 0.5 * sine * total

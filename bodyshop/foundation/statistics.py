"""Statistics of a few readings: Student's t, repeats of one quantity and the interval of their mean."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from bodyshop.foundation.constants import NORMAL_95

__all__ = ["CONFIDENCE", "Repeats", "repeats", "t_cdf", "t_quantile"]


_TINY: Final = 1e-300
_CLOSE: Final = 1e-15
_MOST_TERMS: Final = 400


def t_cdf(t: float, dof: float) -> float:
    """The probability that Student's t with `dof` > 0 degrees of freedom is at most `t`.

    By the incomplete beta function (Abramowitz and Stegun 1964, 26.7.1 and 26.5.8).
    """
    if dof <= 0.0:
        raise ValueError("degrees of freedom are above 0")
    tail = 0.5 * _beta_share(0.5 * dof, 0.5, dof / (dof + t * t))
    return 1.0 - tail if t > 0.0 else tail


@lru_cache(maxsize=256)
def t_quantile(probability: float, dof: float) -> float:
    """The t that is not passed with this probability, 0 < probability < 1."""
    if not 0.0 < probability < 1.0:
        raise ValueError("a probability between 0 and 1")
    if probability == 0.5:
        return 0.0
    if probability < 0.5:
        return -t_quantile(1.0 - probability, dof)
    low, high = 0.0, 1.0
    while t_cdf(high, dof) < probability:
        low, high = high, 2.0 * high
    while high - low > 1e-14 * high:
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if t_cdf(middle, dof) < probability:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _beta_share(a: float, b: float, x: float) -> float:
    """The regularised incomplete beta function I_x(a, b)."""
    if x <= 0.0:
        return 0.0
    if x >= 1.0:
        return 1.0
    front = math.exp(
        math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    )
    # The continued fraction is quick on this side; the other one follows by symmetry.
    if x < (a + 1.0) / (a + b + 2.0):
        return front * _fraction(a, b, x) / a
    return 1.0 - front * _fraction(b, a, 1.0 - x) / b


def _fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of the incomplete beta function, from the front (modified Lentz)."""
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1.0)
    d = 1.0 / (d if abs(d) > _TINY else _TINY)
    value = d
    for m in range(1, _MOST_TERMS):
        for odd in (False, True):
            term = (
                -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
                if odd
                else m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
            )
            d = 1.0 + term * d
            d = 1.0 / (d if abs(d) > _TINY else _TINY)
            c = 1.0 + term / c
            c = c if abs(c) > _TINY else _TINY
            value *= c * d
        if abs(c * d - 1.0) < _CLOSE:
            break
    return value


CONFIDENCE: Final = 0.95
"""The share of cases that an interval of a mean is meant to hold."""


@dataclass(frozen=True, slots=True)
class Repeats:
    """A series of readings in the unit of the quantity.

    `spread` is the standard deviation of one reading (n - 1), None for a single one, which shows none.
    `resolution` is the instrument's step, 0 where it is not known or does not bear on the quantity.
    """

    values: tuple[float, ...]
    mean: float
    spread: float | None
    resolution: float = 0.0

    @property
    def count(self) -> int:
        """How many."""
        return len(self.values)

    @property
    def half_width(self) -> float | None:
        """Half of the 95 % interval of the mean; None for a single reading."""
        if self.spread is None:
            return None
        chance = t_quantile(0.5 + CONFIDENCE / 2.0, self.count - 1) * self.spread / math.sqrt(self.count)
        return math.hypot(chance, NORMAL_95 * self.resolution / math.sqrt(12.0))

    @property
    def low(self) -> float | None:
        """The lower end of the interval; None for a single reading."""
        half = self.half_width
        return None if half is None else self.mean - half

    @property
    def high(self) -> float | None:
        """The upper end of the interval; None for a single reading."""
        half = self.half_width
        return None if half is None else self.mean + half

    @property
    def sd(self) -> float | None:
        """The mean's standard uncertainty, widened so that 1.96 of it make the interval: what few readings
        leave unknown of their own spread is then not lost where a normal law is used.
        """
        half = self.half_width
        return None if half is None else half / NORMAL_95


def repeats(values: Sequence[float], resolution: float = 0.0) -> Repeats:
    """A series. Raises `ValueError` where there is no reading.

    >>> series = repeats([52.1, 52.4, 52.3], resolution=0.1)
    >>> round(series.mean, 2)
    52.27
    """
    if not values:
        raise ValueError("no values")
    count = len(values)
    mean = statistics.fmean(values)
    spread = None if count == 1 else statistics.stdev(values, mean)
    return Repeats(tuple(values), mean, spread, resolution)

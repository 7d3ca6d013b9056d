"""Student's t distribution: how far the mean of a few repeats may be from the truth."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

__all__ = ["t_cdf", "t_quantile"]

_TINY: Final = 1e-300
_CLOSE: Final = 1e-15
_MOST_TERMS: Final = 400


def t_cdf(t: float, dof: float) -> float:
    """The probability that Student's t with `dof` > 0 degrees of freedom is at most `t`.

    By the incomplete beta function (Abramowitz and Stegun 1964, 26.7.1 and 26.5.8).
    """
    if dof <= 0.0:
        raise ValueError("degrees of freedom are above nought")
    tail = 0.5 * _beta_share(0.5 * dof, 0.5, dof / (dof + t * t))
    return 1.0 - tail if t > 0.0 else tail


@lru_cache(maxsize=256)
def t_quantile(probability: float, dof: float) -> float:
    """The t that is not passed with this probability, 0 < probability < 1."""
    if not 0.0 < probability < 1.0:
        raise ValueError("a probability between nought and one")
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

"""Whether two orders agree, and how many of a few cases an interval may be expected to hold.

Spearman's rho and Kendall's tau-b with ties shared out (any textbook on statistics). The probability is that
of a tau as good or better by chance alone: by counting all orders where there are few, or where nothing is
tied; else by the normal law with the variance for ties (M. G. Kendall, Rank Correlation Methods).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import permutations
from statistics import NormalDist
from typing import Final

import numpy as np

from bodyshop.race.model import CONFIDENCE, Array, Interval

__all__ = ["RankAgreement", "rank_agreement", "ranks", "wilson"]

_COUNTED: Final = 8
"""Up to so many cases all orders are counted, ties or not: 40 320 of them."""

LEAST: Final = 3
"""Two cars are in the right order by chance every second time."""


@dataclass(frozen=True, slots=True)
class RankAgreement:
    """How well two orders of `count` cases agree: 1 the same, 0 none, -1 the opposite.

    `chance` is the probability that chance alone does as well or better; `exact` whether it was counted.
    """

    count: int
    spearman: float
    kendall: float
    chance: float
    exact: bool


def ranks(values: Sequence[float]) -> list[float]:
    """Ranks from 1, equal values sharing the mean of theirs."""
    order = sorted(range(len(values)), key=lambda i: values[i])
    found = [0.0] * len(values)
    i = 0
    while i < len(order):
        j = i
        while j + 1 < len(order) and values[order[j + 1]] == values[order[i]]:
            j += 1
        for k in order[i : j + 1]:
            found[k] = 0.5 * (i + j) + 1.0
        i = j + 1
    return found


def rank_agreement(one: Sequence[float], other: Sequence[float]) -> RankAgreement | None:
    """Agreement of two series of the same cases; None for fewer than three, or where one is all alike."""
    n = len(one)
    if n < LEAST or len(set(one)) < 2 or len(set(other)) < 2:
        return None
    a, b = np.array(ranks(one)), np.array(ranks(other))
    x, y = a - a.mean(), b - b.mean()
    spearman = float((x @ y) / math.sqrt((x @ x) * (y @ y)))
    score, untied = _score(a, b)
    kendall = score / untied
    chance, exact = _chance(a, b, score)
    return RankAgreement(n, spearman, kendall, chance, exact)


def _signs(values: Array) -> Array:
    i, j = np.triu_indices(len(values), 1)
    return np.sign(values[i] - values[j])


def _score(a: Array, b: Array) -> tuple[float, float]:
    """Pairs in the same order less those in the opposite one, and what they would be at the best."""
    one, other = _signs(a), _signs(b)
    return float(one @ other), math.sqrt(float((one @ one) * (other @ other)))


def _chance(a: Array, b: Array, score: float) -> tuple[float, bool]:
    n = len(a)
    tied = len(set(a.tolist())) < n or len(set(b.tolist())) < n
    if not tied:
        counts = _orders_by_score(n)
        # The score of an order with k pairs in the opposite one is n (n - 1) / 2 - 2 k.
        wrong = round((n * (n - 1) / 2 - score) / 2)
        return float(sum(counts[: wrong + 1]) / sum(counts)), True
    if n <= _COUNTED:
        one = _signs(a)
        every = np.array(list(permutations(b.tolist())))
        i, j = np.triu_indices(n, 1)
        scores = np.sign(every[:, i] - every[:, j]) @ one
        return float(np.mean(scores >= score - 1e-9)), True
    return 1.0 - NormalDist().cdf(score / math.sqrt(_variance(a, b))), False


def _orders_by_score(n: int) -> list[int]:
    """How many orders of n have k pairs in the wrong order, k = 0 ... n (n - 1) / 2 (Mahonian numbers)."""
    counts = [1]
    for size in range(2, n + 1):
        wider = [0] * (len(counts) + size - 1)
        for k, count in enumerate(counts):
            for step in range(size):
                wider[k + step] += count
        counts = wider
    return counts


def _variance(a: Array, b: Array) -> float:
    """Variance of the score by chance, with ties."""
    n = len(a)
    ties = [np.unique(each, return_counts=True)[1].astype(float) for each in (a, b)]
    whole = n * (n - 1) * (2 * n + 5)
    first = whole - sum(float((t * (t - 1) * (2 * t + 5)).sum()) for t in ties)
    pairs = [float((t * (t - 1)).sum()) for t in ties]
    triples = [float((t * (t - 1) * (t - 2)).sum()) for t in ties]
    return (
        first / 18.0
        + pairs[0] * pairs[1] / (2.0 * n * (n - 1))
        + triples[0] * triples[1] / (9.0 * n * (n - 1) * (n - 2))
    )


def wilson(held: int, count: int) -> Interval:
    """The share that `held` of `count` cases stand for, with its interval (E. B. Wilson, J. Amer. Statist.
    Assoc. 22 (1927) 209). count >= 1.
    """
    z = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2.0)
    p = held / count
    middle = (p + z * z / (2 * count)) / (1 + z * z / count)
    half = z / (1 + z * z / count) * math.sqrt(p * (1 - p) / count + z * z / (4 * count * count))
    return Interval(p, max(middle - half, 0.0), min(middle + half, 1.0))

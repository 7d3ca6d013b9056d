"""Repeated readings: mean, spread, and the interval that holds the true mean in 95 of 100 such series.

The interval is mean ± t s / √n, with Student's t for n - 1 degrees of freedom (JCGM 100:2008, the GUM,
G.3.2), joined with that of a reading that is as likely anywhere within one step of the instrument,
step / √12 (the same, F.2.2.1): ten equal readings of a coarse scale do not make it fine. With two readings
t is 12.7, with five 2.8: a third reading is worth most. What is wrong with all readings alike does not show
in them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.student import t_quantile

__all__ = ["CONFIDENCE", "NORMAL_95", "Repeats", "repeats"]

CONFIDENCE: Final = 0.95
"""The share of cases that an interval of a mean is meant to hold."""

NORMAL_95: Final = 1.959963984540054
"""How many standard deviations either way hold the same share of a normal law."""


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
        leave unknown of their own spread is then not lost where a normal law is reckoned with.
        """
        half = self.half_width
        return None if half is None else half / NORMAL_95


def repeats(values: Sequence[float], resolution: float = 0.0) -> Repeats:
    """A series. Raises `ValueError` where there is no reading."""
    if not values:
        raise ValueError("no values")
    count = len(values)
    mean = math.fsum(values) / count
    if count == 1:
        return Repeats((values[0],), mean, None, resolution)
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (count - 1))
    return Repeats(tuple(values), mean, spread, resolution)

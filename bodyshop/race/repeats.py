"""Repeated readings: mean, spread, and the interval that holds the true mean in 95 of 100 such series.

The interval is mean +- t s / sqrt(n), with Student's t for n - 1 degrees of freedom (any textbook; JCGM
100:2008, the GUM, annex G). With two readings t is 12.7, with five 2.8: a third reading is worth most.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import Final

from bodyshop.race.model import CONFIDENCE, Interval
from bodyshop.student import t_quantile

__all__ = ["NORMAL_95", "Repeats", "repeats"]

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
        return t_quantile(0.5 + CONFIDENCE / 2.0, self.count - 1) * self.spread / math.sqrt(self.count)

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

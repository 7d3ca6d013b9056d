"""How likely an estimate is to lie outside a rule's limits.

An estimate is taken to be spread normally about its reading, with the standard deviation that its measure
gives. A sum of many small errors is close to normal; the largest single one, the density of the wood, is
taken to be normal too (common practice, no published source). Only the chance of a rule that is too close
to tell is shown, and only roughly.
"""

from __future__ import annotations

import math
from typing import Final

from bodyshop.rulebook.model import Limits

__all__ = ["chance_outside", "windows"]

_SAME: Final = 1e-6


def windows(limits: Limits, resolution: float) -> tuple[tuple[float, float], ...]:
    """The ranges of values that are read as inside: one, or one for each value that is allowed.

    What is rounded into the limits by reading it to `resolution` counts as inside, as in a verdict.
    """
    if limits.one_of:
        return tuple(_window(choice, choice, resolution) for choice in limits.one_of)
    low = -math.inf if limits.low is None else limits.low
    high = math.inf if limits.high is None else limits.high
    return (_window(low, high, resolution),)


def chance_outside(value: float, spread: float, limits: Limits, resolution: float) -> float:
    """The chance, 0 to 1, that an estimate is read as outside its limits.

    `value` and `spread` (one standard deviation, above 0) are in the unit of the limits.
    """
    inside = math.fsum(
        _below((high - value) / spread) - _below((low - value) / spread)
        for low, high in windows(limits, resolution)
    )
    return min(max(1.0 - inside, 0.0), 1.0)


def _window(low: float, high: float, resolution: float) -> tuple[float, float]:
    """From half a step before the first mark inside the limits to half a step after the last one, or the
    limits themselves where they are farther out.
    """
    if resolution <= 0.0:
        return low, high
    first = math.ceil(low / resolution - _SAME) if math.isfinite(low) else -math.inf
    last = math.floor(high / resolution + _SAME) if math.isfinite(high) else math.inf
    if first > last:  # no mark lies inside
        return low, high
    return min(low, (first - 0.5) * resolution), max(high, (last + 0.5) * resolution)


def _below(deviations: float) -> float:
    """The share of a standard normal spread below so many standard deviations."""
    return 0.5 * math.erfc(-deviations / math.sqrt(2.0))

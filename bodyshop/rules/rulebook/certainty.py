"""How sure a verdict is: where a value lies as it is read, and how likely an estimate is outside."""

from __future__ import annotations

import math
from enum import Enum
from typing import Final

from bodyshop.rules.rulebook.model import Limits

__all__ = ["LimitSide", "SAME", "chance_outside", "placed", "read_off", "windows"]


SAME: Final = 1e-6
"""Values closer than this (mm, g, rad) are the same: no gauge sees it, and sums of floats differ by it."""


_NEAR_HALF: Final = 1e-5


class LimitSide(Enum):
    """On which side of its limits a value is outside, or nearest to being so."""

    UNDER = "under"
    OVER = "over"


def read_off(value: float, resolution: float) -> float:
    """A value as read to a resolution: rounded, halves to even; as it stands where there is none."""
    if resolution <= 0.0:
        return value
    marks = value / resolution
    whole = round(marks)
    if abs(abs(marks - whole) - 0.5) < _NEAR_HALF:
        # A half that floats have moved by a hair is still a half.
        whole = round(round(marks, 6))
    return whole * resolution


def placed(value: float, limits: Limits, resolution: float) -> tuple[float, float, float, LimitSide]:
    """The value as read, its signed distance to the nearest limit, that limit, and its side.

    A value that is inside as it stands is not rounded out.
    """
    read = read_off(value, resolution)
    found = _margin(read, limits)
    if found[0] < 0.0:
        raw = _margin(value, limits)
        if raw[0] >= 0.0:
            return (value, *raw)
    return (read, *found)


def _margin(value: float, limits: Limits) -> tuple[float, float, LimitSide]:
    """The signed distance to the nearest limit, that limit, and the side on which it lies."""
    if limits.one_of:
        best = min(limits.one_of, key=lambda choice: abs(choice - value))
        return _clean(-abs(best - value)), best, LimitSide.UNDER if value < best else LimitSide.OVER
    low, high = limits.low, limits.high
    if low is not None and (high is None or value - low <= high - value):
        return _clean(value - low), low, LimitSide.UNDER
    if high is None:
        raise ValueError("limits without a limit")
    return _clean(high - value), high, LimitSide.OVER


def _clean(margin: float) -> float:
    """The margin without the dust of float sums, so that zero is on the limit."""
    return 0.0 if abs(margin) < SAME else round(margin, 9)


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

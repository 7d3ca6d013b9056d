"""Where a value lies: as it is read to a resolution, and how far from the nearest limit."""

from __future__ import annotations

from enum import Enum
from typing import Final

from bodyshop.rulebook.model import Limits

__all__ = ["SAME", "Side", "placed", "read_off"]

SAME: Final = 1e-6
"""Values closer than this (mm, g, rad) are the same: no gauge sees it, and sums of floats differ by it."""


_NEAR_HALF: Final = 1e-5


class Side(Enum):
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


def placed(value: float, limits: Limits, resolution: float) -> tuple[float, float, float, Side]:
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


def _margin(value: float, limits: Limits) -> tuple[float, float, Side]:
    """The signed distance to the nearest limit, that limit, and the side on which it lies."""
    if limits.one_of:
        best = min(limits.one_of, key=lambda choice: abs(choice - value))
        return _clean(-abs(best - value)), best, Side.UNDER if value < best else Side.OVER
    low, high = limits.low, limits.high
    if low is not None and (high is None or value - low <= high - value):
        return _clean(value - low), low, Side.UNDER
    if high is None:
        raise ValueError("limits without a limit")
    return _clean(high - value), high, Side.OVER


def _clean(margin: float) -> float:
    """The margin without the dust of float sums, so that nought is on the limit."""
    return 0.0 if abs(margin) < SAME else round(margin, 9)

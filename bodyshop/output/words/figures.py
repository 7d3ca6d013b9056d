"""Figures in words: as many digits as their interval warrants, and no more."""

from __future__ import annotations

import math

from bodyshop.foundation.statistics import Repeats
from bodyshop.physics.model import Interval

__all__ = [
    "figure",
    "number",
    "places_for",
    "plain",
    "range_words",
    "rounded",
    "series_words",
    "share",
    "times_words",
]

_STUCK = "\u00a0"


def places_for(width: float, value: float = 0.0) -> int:
    """Decimals at which a width shows two digits, or one from 3 on; three digits of the value where there is
    no width.
    """
    size = abs(width)
    if size == 0 or not math.isfinite(size):
        size, digits = abs(value), 3
    else:
        lead = size / 10.0 ** math.floor(math.log10(size))
        digits = 2 if lead < 2.95 else 1
    if size == 0 or not math.isfinite(size):
        return 2
    return min(max(digits - 1 - math.floor(math.log10(size)), 0), 6)


def rounded(value: float, places: int) -> str:
    """A number with so many decimals, without a minus zero."""
    if not math.isfinite(value):
        return "endless" if value > 0 else "none"
    return f"{round(value, places) + 0.0:.{places}f}"


def number(value: float, digits: int = 3) -> str:
    """A number with so many digits, without an exponent."""
    if value == 0 or not math.isfinite(value):
        return rounded(value, 0)
    return rounded(value, min(max(digits - 1 - math.floor(math.log10(abs(value))), 0), 6))


def figure(held: Interval, unit: str = "") -> str:
    """`14.2 cm² (10.1 to 18.3)`: the value, and what holds it in 19 cases of 20."""
    width = held.high - held.low
    places = places_for(0.5 * width if math.isfinite(width) else 0.0, held.value)
    behind = f"{_STUCK}{unit}" if unit else ""
    return f"{rounded(held.value, places)}{behind} ({range_words(held, places)})"


def plain(value: float, digits: int = 3) -> str:
    """A number with at most so many digits, without zeros at its end."""
    text = number(value, digits)
    return text.rstrip("0").rstrip(".") if "." in text else text


def range_words(held: Interval, places: int) -> str:
    """`10.1 to 18.3`; a range that does not end is said so."""
    if not math.isfinite(held.high):
        return f"{rounded(held.low, places)} or more"
    return f"{rounded(held.low, places)} to {rounded(held.high, places)}"


def share(value: float) -> str:
    """`7 %`, or with a decimal where it is small."""
    percent = 100.0 * value
    return f"{rounded(percent, 0 if abs(percent) >= 9.95 else 1)}{_STUCK}%"


def series_words(series: Repeats, unit: str, factor: float = 1.0) -> str:
    """The readings of a series, each of them, and what they come to."""
    values = [value * factor for value in series.values]
    spread = None if series.spread is None else series.spread * factor
    behind = f"{_STUCK}{unit}" if unit else ""
    if spread is None:
        return f"one reading: {plain(values[0], 4)}{behind}"
    if spread == 0:
        return f"{len(values)} readings, all {plain(values[0], 4)}{behind}"
    places = min(max(1 - math.floor(math.log10(spread)), 0), 6)  # two digits of the spread
    # Readings as they were noted, where that is fewer places.
    noted = next((d for d in range(places) if all(abs(v - round(v, d)) < 1e-9 for v in values)), places)
    listed = ", ".join(rounded(value, noted) for value in values[:12])
    if len(values) > 12:
        listed += f", and {len(values) - 12} more"
    words = f"{len(values)} readings: {listed}{behind}; mean {rounded(series.mean * factor, places)}, spread "
    words += f"{rounded(spread, places)}"
    half = series.half_width
    if half is not None:
        alone = "the repeats and the step of the instrument" if series.resolution else "the repeats alone"
        words += f"; the mean is known to {rounded(half * factor, places)} either way by {alone}"
    return words


def times_words(count: int) -> str:
    """`once`, `twice`, `5 times`."""
    return {1: "once", 2: "twice"}.get(count, f"{count} times")

"""Arguments that commands on predictions and their outcome share."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable

__all__ = ["above_nothing", "within"]


def above_nothing(what: str) -> Callable[[str], float]:
    """A converter for argparse that takes a number over 0."""
    return within(what, math.nextafter(0.0, 1.0), 1e7, "a number over 0")


def within(what: str, low: float, high: float, expected: str = "") -> Callable[[str], float]:
    """A converter for argparse that takes a number from `low` to `high`."""

    def convert(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            wanted = expected or f"a number from {low:g} to {high:g}"
            raise argparse.ArgumentTypeError(f'"{text}" is no {what}; say {wanted}')
        return value

    return convert

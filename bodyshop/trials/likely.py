"""What measurements are likely to be: bounds out of `likely.toml`, each with its source."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

__all__ = ["Likely", "likely"]


@dataclass(frozen=True, slots=True)
class Likely:
    """Bounds of what is likely, and where they come from."""

    low: float
    high: float
    source: str
    confidence: str

    def holds(self, value: float) -> bool:
        """Whether a value is within."""
        return self.low <= value <= self.high


@cache
def likely() -> Mapping[str, Likely]:
    """What measurements are likely to be, by the name of the quantity."""
    text = Path(__file__).with_name("likely.toml").read_text(encoding="utf-8")
    return {name: Likely(**row) for name, row in tomllib.loads(text).items()}

"""The unit that most of a class draws in, found without measuring a car."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Final

from bodyshop.classwork.found import Entry
from bodyshop.lengths import LengthUnit

__all__ = ["usual_unit"]

_LOOKED_AT: Final = 100
_INCHES: Final = frozenset(("in", "inch", "inches"))


def usual_unit(files: Sequence[Entry]) -> LengthUnit:
    """Inches where most of the designs say so, else mm; a file that cannot be read counts for neither."""
    counts = {LengthUnit.MM: 0, LengthUnit.IN: 0}
    for entry in files[:_LOOKED_AT]:
        try:
            values = tomllib.loads(Path(entry.path).read_text(encoding="utf-8"))
        except (OSError, ValueError, RecursionError):
            continue
        if "profile" in values:
            inches = str(values.get("units", "")).casefold() in _INCHES
            counts[LengthUnit.IN if inches else LengthUnit.MM] += 1
    return LengthUnit.IN if counts[LengthUnit.IN] > counts[LengthUnit.MM] else LengthUnit.MM

"""Saw blades: width, kerf, and the smallest inside curve that each can follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Annotated

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, by_id, read_rows

__all__ = ["Blade", "Saw", "blades", "read_blades"]


class Saw(Enum):
    """The machine that a blade is for."""

    BANDSAW = "bandsaw"
    SCROLL_SAW = "scroll saw"


@dataclass(frozen=True, slots=True)
class Blade:
    """One width of blade. `least_radius_mm` is of the saw cut, `kerf_mm` the wood it takes away."""

    id: str
    label: str
    saw: Saw
    width_mm: Annotated[float, TomlKey(low=0.2, high=60.0)]
    least_radius_mm: Annotated[float, TomlKey(low=0.0, high=500.0)]
    kerf_mm: Annotated[float, TomlKey(low=0.1, high=5.0)]
    source: str
    confidence: Confidence
    note: str = ""


@cache
def blades() -> Mapping[str, Blade]:
    """The blades that come with the program, by id."""
    return read_blades(stock_folder() / "blades.toml")


def read_blades(file: Path) -> Mapping[str, Blade]:
    """The blades of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    return by_id(read_rows(file, "blade", Blade))

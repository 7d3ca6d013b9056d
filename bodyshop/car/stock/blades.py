"""Saw blades: width, kerf, and the smallest inside curve that each can follow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.stock_tables import Confidence, StockRow, StockTable, by_id

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
    width_mm: float
    least_radius_mm: float
    kerf_mm: float
    source: str
    confidence: Confidence
    note: str


@cache
def blades() -> Mapping[str, Blade]:
    """The blades that come with the program, by id."""
    return read_blades(stock_folder() / "blades.toml")


def read_blades(file: Path) -> Mapping[str, Blade]:
    """The blades of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    table = StockTable(file)
    read = table.rows("blade", _blade)
    table.close()
    return by_id(read)


def _blade(row: StockRow) -> Blade:
    return Blade(
        id=row.id(),
        label=row.text("label"),
        saw=row.word("saw", Saw),
        width_mm=row.number("width_mm", 0.2, 60.0),
        least_radius_mm=row.number("least_radius_mm", 0.0, 500.0),
        kerf_mm=row.number("kerf_mm", 0.1, 5.0),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )

"""Sheets of paper as data, and sizes that a person gives: another sheet, or a roll.

A size is stored portrait; `turned` is the same sheet on its side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache
from pathlib import Path
from typing import Final

from bodyshop.resources import stock_folder
from bodyshop.stock.tables import Confidence, Row, by_id, read_rows

__all__ = [
    "FREE_FORMS",
    "LEAST_SIDE_MM",
    "MOST_SIDE_MM",
    "Side",
    "SheetSize",
    "read_sheet_sizes",
    "sheet_sizes",
]

FREE_FORMS: Final = "500x900, 20x30in, roll:610 or roll:24in"
"""How sizes that are in no table are written."""

LEAST_SIDE_MM: Final = 200.0
"""On less than this no title block fits."""
MOST_SIDE_MM: Final = 2000.0
"""Longer than this it is no sheet, and nothing that is cut off a roll can be handled."""


class Side(Enum):
    """A side of a sheet as it lies."""

    WIDTH = "width"
    HEIGHT = "height"

    @property
    def other(self) -> Side:
        """The side across."""
        return Side.HEIGHT if self is Side.WIDTH else Side.WIDTH


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A sheet of paper: `id` as typed by a user, `name` as printed, sides in mm.

    `inches` holds the sides as the standard prints them where it prints inches. On a roll one side is
    `free`: it is cut to what a drawing needs, and the size given is the most.
    """

    id: str
    name: str
    width_mm: float
    height_mm: float
    inches: tuple[float, float] | None
    source: str
    confidence: Confidence
    free: Side | None = None

    @property
    def turned(self) -> SheetSize:
        """The same sheet on its side."""
        inches = None if self.inches is None else (self.inches[1], self.inches[0])
        free = None if self.free is None else self.free.other
        return replace(self, width_mm=self.height_mm, height_mm=self.width_mm, inches=inches, free=free)

    @property
    def long_side(self) -> Side:
        """The side that runs with the paper through a printer fed by its short side, or off a roll."""
        if self.free is not None:
            return self.free
        return Side.WIDTH if self.width_mm > self.height_mm else Side.HEIGHT

    def cut(self, length_mm: float) -> SheetSize:
        """A roll's sheet with so much of its free side."""
        if self.free is Side.WIDTH:
            return replace(self, width_mm=min(length_mm, self.width_mm))
        if self.free is Side.HEIGHT:
            return replace(self, height_mm=min(length_mm, self.height_mm))
        return self


def read_sheet_sizes(file: Path) -> Mapping[str, SheetSize]:
    """The sizes in `file` by id, in its order.

    Raises:
        ProblemsError: the file is not a good table of sheets.
    """
    return by_id(read_rows(file, {"sheet": _size})["sheet"])


@lru_cache(maxsize=1)
def sheet_sizes() -> Mapping[str, SheetSize]:
    """The sizes that come with the program, by id.

    Raises:
        ProblemsError: the table was damaged.
    """
    return read_sheet_sizes(stock_folder() / "sheets.toml")


def _size(row: Row) -> SheetSize:
    width_in = row.optional_number("width_in", 4, 100)
    height_in = row.optional_number("height_in", 4, 100)
    return SheetSize(
        id=row.id(),
        name=row.text("name"),
        width_mm=row.number("width_mm", LEAST_SIDE_MM, MOST_SIDE_MM),
        height_mm=row.number("height_mm", LEAST_SIDE_MM, MOST_SIDE_MM),
        inches=None if width_in is None or height_in is None else (width_in, height_in),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
    )

"""Sheets of paper as data.

A size is stored portrait; `turned` is the same sheet on its side.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path

from bodyshop.resources import stock_folder
from bodyshop.stock.tables import Confidence, Row, by_id, read_rows

__all__ = ["SheetSize", "read_sheet_sizes", "sheet_sizes"]


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A sheet of paper: `id` as typed by a user, `name` as printed, sides in mm.

    `inches` holds the sides as the standard prints them where it prints inches.
    """

    id: str
    name: str
    width_mm: float
    height_mm: float
    inches: tuple[float, float] | None
    source: str
    confidence: Confidence

    @property
    def turned(self) -> SheetSize:
        """The same sheet on its side."""
        inches = None if self.inches is None else (self.inches[1], self.inches[0])
        return replace(self, width_mm=self.height_mm, height_mm=self.width_mm, inches=inches)


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
    # Below 200 mm no title block fits; above 2 m it is no longer a sheet.
    return SheetSize(
        id=row.id(),
        name=row.text("name"),
        width_mm=row.number("width_mm", 200, 2000),
        height_mm=row.number("height_mm", 200, 2000),
        inches=None if width_in is None or height_in is None else (width_in, height_in),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
    )

"""Blanks: the blocks that cars are cut from, full size, before any kerf."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.stock_tables import Confidence, StockRow, StockTable, by_id

__all__ = ["Blank", "BlankBore", "blanks", "read_blanks"]


@dataclass(frozen=True, slots=True)
class BlankBore:
    """A cartridge hole that a blank is sold with: from the tail, level, on the centre line.

    `height_mm` is from the underside of the blank to the centre of the hole.
    """

    diameter_mm: float
    depth_mm: float
    height_mm: float

    @property
    def volume_mm3(self) -> float:
        """A flat-bottomed cylinder: the point that a twist drill leaves is not counted."""
        return math.pi / 4.0 * self.diameter_mm**2 * self.depth_mm


@dataclass(frozen=True, slots=True)
class Blank:
    """A block with a flat underside and upright sides and ends; its top may slope (a wedge)."""

    id: str
    label: str
    length_mm: float
    width_mm: float
    height_nose_mm: float
    height_tail_mm: float
    bore: BlankBore | None
    source: str
    confidence: Confidence
    note: str

    @property
    def is_wedge(self) -> bool:
        """The top slopes."""
        return self.height_nose_mm != self.height_tail_mm

    @property
    def is_drilled(self) -> bool:
        """The cartridge hole is there already."""
        return self.bore is not None

    def height_at(self, x_mm: float) -> float:
        """Height of the top over the underside, `x_mm` behind the nose end; mm."""
        return self.height_nose_mm + (self.height_tail_mm - self.height_nose_mm) * x_mm / self.length_mm

    @property
    def top_slope_rad(self) -> float:
        """Angle of the top to the underside, positive where it rises towards the tail."""
        return math.atan2(self.height_tail_mm - self.height_nose_mm, self.length_mm)

    @property
    def gross_volume_mm3(self) -> float:
        """The block as if it were not drilled."""
        return self.length_mm * self.width_mm * (self.height_nose_mm + self.height_tail_mm) / 2.0

    @property
    def wood_volume_mm3(self) -> float:
        """The wood that a balance weighs: the block less the hole it is sold with."""
        return self.gross_volume_mm3 - (self.bore.volume_mm3 if self.bore else 0.0)


@cache
def blanks() -> Mapping[str, Blank]:
    """The blanks that come with the program, by id."""
    return read_blanks(stock_folder() / "blanks.toml")


def read_blanks(file: Path) -> Mapping[str, Blank]:
    """The blanks of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    table = StockTable(file)
    read = table.rows("blank", _blank)
    table.close()
    return by_id(read)


def _blank(row: StockRow) -> Blank:
    height_tail = row.number("height_tail_mm", 10.0, 300.0)
    blank = Blank(
        id=row.id(),
        label=row.text("label"),
        length_mm=row.number("length_mm", 50.0, 1000.0),
        width_mm=row.number("width_mm", 10.0, 300.0),
        height_nose_mm=row.number("height_nose_mm", 5.0, 300.0),
        height_tail_mm=height_tail,
        bore=_bore(row),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )
    bore = blank.bore
    if bore and not bore.diameter_mm / 2.0 < bore.height_mm < height_tail - bore.diameter_mm / 2.0:
        row.disagree("bore_height_mm", "the bore breaks out of the tail end")
    if bore and bore.depth_mm >= blank.length_mm:
        row.disagree("bore_depth_mm", "the bore is longer than the blank", f"under {blank.length_mm:g}")
    if bore and bore.diameter_mm >= blank.width_mm:
        row.disagree("bore_diameter_mm", "the bore is wider than the blank", f"under {blank.width_mm:g}")
    return blank


def _bore(row: StockRow) -> BlankBore | None:
    diameter = row.optional_number("bore_diameter_mm", 5.0, 60.0)
    depth = row.optional_number("bore_depth_mm", 5.0, 200.0)
    height = row.optional_number("bore_height_mm", 5.0, 200.0)
    if diameter is not None and depth is not None and height is not None:
        return BlankBore(diameter, depth, height)
    if not diameter == depth == height:
        row.disagree("id", "a drilled blank needs bore_diameter_mm, bore_depth_mm and bore_height_mm")
    return None

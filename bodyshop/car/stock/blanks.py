"""Blanks: the blocks that cars are cut from, full size, before any kerf."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, Disagreements, by_id, read_rows

__all__ = ["Blank", "BlankBore", "BlankRow", "blanks", "read_blanks"]


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
    return by_id([row.blank for row in read_rows(file, "blank", BlankRow)])


@dataclass(frozen=True, slots=True)
class BlankRow:
    """A row of the table. The three figures of a bore stand together or not at all."""

    id: str
    label: str
    length_mm: Annotated[float, TomlKey(low=50.0, high=1000.0)]
    width_mm: Annotated[float, TomlKey(low=10.0, high=300.0)]
    height_nose_mm: Annotated[float, TomlKey(low=5.0, high=300.0)]
    height_tail_mm: Annotated[float, TomlKey(low=10.0, high=300.0)]
    source: str
    confidence: Confidence
    bore_diameter_mm: Annotated[float | None, TomlKey(low=5.0, high=60.0)] = None
    bore_depth_mm: Annotated[float | None, TomlKey(low=5.0, high=200.0)] = None
    bore_height_mm: Annotated[float | None, TomlKey(low=5.0, high=200.0)] = None
    note: str = ""

    @property
    def blank(self) -> Blank:
        """What the row describes."""
        d, deep, high = self.bore_diameter_mm, self.bore_depth_mm, self.bore_height_mm
        bore = None if d is None or deep is None or high is None else BlankBore(d, deep, high)
        return Blank(
            self.id, self.label, self.length_mm, self.width_mm, self.height_nose_mm, self.height_tail_mm,
            bore, self.source, self.confidence, self.note,
        )  # fmt: skip

    def disagreements(self) -> Disagreements:
        """What cannot be drilled so."""
        bore = self.blank.bore
        if bore is None:
            if any(v is not None for v in (self.bore_diameter_mm, self.bore_depth_mm, self.bore_height_mm)):
                yield "id", "a drilled blank needs bore_diameter_mm, bore_depth_mm and bore_height_mm", ""
            return
        if not bore.diameter_mm / 2.0 < bore.height_mm < self.height_tail_mm - bore.diameter_mm / 2.0:
            yield "bore_height_mm", "the bore breaks out of the tail end", ""
        if bore.depth_mm >= self.length_mm:
            yield "bore_depth_mm", "the bore is longer than the blank", f"under {self.length_mm:g}"
        if bore.diameter_mm >= self.width_mm:
            yield "bore_diameter_mm", "the bore is wider than the blank", f"under {self.width_mm:g}"

"""Woods: density at 12 % moisture, its spread, and how density follows from specific gravity.

A handbook's density is a species mean of small clear pieces. No piece has to match it: weigh the blank.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Annotated, Final

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import GRAMS_PER_MM3, Confidence, Disagreements, by_id, read_tables

__all__ = [
    "FIBRE_SATURATION_PERCENT",
    "HANDBOOK_MOISTURE_PERCENT",
    "WOOD_TABLES",
    "Wood",
    "WoodKind",
    "basic_specific_gravity",
    "density_from_specific_gravity",
    "equilibrium_moisture_percent",
    "read_woods",
    "specific_gravity_at",
    "woods",
]

HANDBOOK_MOISTURE_PERCENT = 12.0
"""The moisture content that the tables of woods are given at: wood kept at 21 °C and 65 % humidity."""

FIBRE_SATURATION_PERCENT = 30.0
"""Moisture content above which wood no longer swells; the average (Wood Handbook, chapter 4)."""


class WoodKind(Enum):
    """The botanist's two kinds; a hardwood may be soft to the thumb, as balsa is."""

    HARDWOOD = "hardwood"
    SOFTWOOD = "softwood"


@dataclass(frozen=True, slots=True)
class Wood:
    """One wood.

    `density_g_per_mm3` is mass over volume, both at 12 % moisture; `spread` is its standard deviation
    from piece to piece, relative to it; `bending_mpa` is the modulus of rupture at 12 %, where given.
    """

    id: str
    label: str
    kind: WoodKind
    density_g_per_mm3: float
    spread: float
    bending_mpa: float | None
    source: str
    confidence: Confidence
    note: str

    @property
    def specific_gravity(self) -> float:
        """Oven-dry mass over volume at 12 % moisture, relative to water (1 g/cm³)."""
        return self.density_g_per_mm3 / density_from_specific_gravity(1.0, HANDBOOK_MOISTURE_PERCENT)

    def density_at_moisture(self, moisture_percent: float) -> float:
        """Density in g/mm³ at a moisture content from 0 to 30 %.

        Raises:
            ValueError: the moisture content is outside 0 to 30 %, where the formulas hold.
        """
        basic = basic_specific_gravity(self.specific_gravity, HANDBOOK_MOISTURE_PERCENT)
        return density_from_specific_gravity(specific_gravity_at(basic, moisture_percent), moisture_percent)


def density_from_specific_gravity(specific_gravity: float, moisture_percent: float) -> float:
    """Density in g/mm³ of wood whose specific gravity at that moisture content is given.

    1000 kg/m³ × G × (1 + x/100), both G and the result on the volume at x % moisture.
    Source: Wood Handbook FPL-GTR-190 (2010), chapter 4.
    """
    return 1000.0 * GRAMS_PER_MM3 * specific_gravity * (1.0 + moisture_percent / 100.0)


def specific_gravity_at(basic: float, moisture_percent: float) -> float:
    """Specific gravity on the volume at x % moisture, from the basic one (green volume).

    G = Gb / (1 − 0.265 Gb (1 − x/30)). Source: Wood Handbook FPL-GTR-190 (2010), equation 4-11.

    Raises:
        ValueError: the moisture content is outside 0 to 30 %.
    """
    return basic / (1.0 - _SWELLING * basic * _dryness(moisture_percent))


def basic_specific_gravity(specific_gravity: float, moisture_percent: float) -> float:
    """The inverse of `specific_gravity_at`.

    Raises:
        ValueError: the moisture content is outside 0 to 30 %.
    """
    return specific_gravity / (1.0 + _SWELLING * specific_gravity * _dryness(moisture_percent))


def equilibrium_moisture_percent(humidity_percent: float) -> float:
    """Moisture content that wood settles at in a room at 21 °C, straight lines between the rows.

    Source: Wood Handbook FPL-GTR-282 (2021), table 4-2, 30 to 65 % humidity.

    Raises:
        ValueError: the humidity is outside the rows of the table.
    """
    rows = _shipped()[1]
    for (low, at_low), (high, at_high) in pairwise(rows):
        if low <= humidity_percent <= high:
            return at_low + (at_high - at_low) * (humidity_percent - low) / (high - low)
    raise ValueError(f"humidity {humidity_percent} % is outside {rows[0][0]:g} to {rows[-1][0]:g} %")


def woods() -> Mapping[str, Wood]:
    """The woods that come with the program, by id."""
    return _shipped()[0]


def read_woods(file: Path) -> Mapping[str, Wood]:
    """The woods of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    return _read(file)[0]


_SWELLING = 0.265


def _dryness(moisture_percent: float) -> float:
    if not 0.0 <= moisture_percent <= FIBRE_SATURATION_PERCENT:
        raise ValueError(f"moisture content {moisture_percent} % is outside 0 to 30 %")
    return 1.0 - moisture_percent / FIBRE_SATURATION_PERCENT


@cache
def _shipped() -> tuple[Mapping[str, Wood], tuple[tuple[float, float], ...]]:
    return _read(stock_folder() / "woods.toml")


def _read(file: Path) -> tuple[Mapping[str, Wood], tuple[tuple[float, float], ...]]:
    read = read_tables(file, WOOD_TABLES)
    moisture = ((row.humidity_percent, row.moisture_percent) for row in read["moisture"])
    return by_id([row.wood for row in read["wood"]]), tuple(sorted(moisture))


@dataclass(frozen=True, slots=True)
class WoodRow:
    """A row of the table: the density, or the specific gravity at 12 % moisture that it follows from."""

    id: str
    label: str
    kind: WoodKind
    spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    g12: Annotated[float | None, TomlKey(low=0.03, high=1.4)] = None
    density_kg_per_m3: Annotated[float | None, TomlKey(low=30.0, high=1600.0)] = None
    bending_mpa: Annotated[float | None, TomlKey(low=1.0, high=400.0)] = None
    note: str = ""

    @property
    def wood(self) -> Wood:
        """What the row describes."""
        density = (
            density_from_specific_gravity(self.g12 or 0.0, HANDBOOK_MOISTURE_PERCENT)
            if self.density_kg_per_m3 is None
            else self.density_kg_per_m3 * GRAMS_PER_MM3
        )
        return Wood(
            self.id, self.label, self.kind, density, self.spread, self.bending_mpa, self.source,
            self.confidence, self.note,
        )  # fmt: skip

    def disagreements(self) -> Disagreements:
        """A density is said once."""
        if (self.g12 is None) == (self.density_kg_per_m3 is None):
            yield "id", "one of g12 and density_kg_per_m3 is needed, and not both", ""


@dataclass(frozen=True, slots=True)
class MoistureRow:
    """The moisture content that wood settles at in a room of some humidity."""

    humidity_percent: Annotated[float, TomlKey(low=0.0, high=100.0)]
    moisture_percent: Annotated[float, TomlKey(low=0.0, high=30.0)]
    source: str


WOOD_TABLES: Final[Mapping[str, type]] = {"wood": WoodRow, "moisture": MoistureRow}
"""What stands in a file of woods."""

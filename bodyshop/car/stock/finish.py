"""What paint and glue add to a car."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Final

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import GRAMS_PER_MM3, Confidence, by_id, read_tables

__all__ = ["Finish", "Glue", "FinishTable", "WARES", "finishes", "glues", "read_wares"]

_MM_PER_MICROMETRE = 1e-3


@dataclass(frozen=True, slots=True)
class Finish:
    """A finish, dry, on all of the wetted area.

    `film_mm` is the thickness of the dry film after sanding between coats; `mass_spread` is one
    standard deviation relative to the mass.
    """

    id: str
    label: str
    film_mm: Annotated[
        float, TomlKey(low=0.0, high=2000.0, name="film_micrometres", factor=_MM_PER_MICROMETRE)
    ]
    density_g_per_mm3: Annotated[
        float, TomlKey(low=500.0, high=3000.0, name="density_kg_per_m3", factor=GRAMS_PER_MM3)
    ]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def mass_g_per_mm2(self) -> float:
        """Dry mass on one square millimetre of wood."""
        return self.film_mm * self.density_g_per_mm3


@dataclass(frozen=True, slots=True)
class Glue:
    """Glue, dry, on one car: what holds bearings, washers or wheels that are not a press fit."""

    id: str
    label: str
    mass_g: Annotated[float, TomlKey(low=0.0, high=50.0)]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""


@dataclass(frozen=True, slots=True)
class FinishTable:
    """The finishes and glues of a table, by id."""

    finishes: Mapping[str, Finish]
    glues: Mapping[str, Glue]


def finishes() -> Mapping[str, Finish]:
    """The finishes that come with the program, by id."""
    return _shipped().finishes


def glues() -> Mapping[str, Glue]:
    """The allowances for glue that come with the program, by id."""
    return _shipped().glues


def read_wares(file: Path) -> FinishTable:
    """The finishes and glues of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    read = read_tables(file, WARES)
    return FinishTable(by_id(read["finish"]), by_id(read["glue"]))


@cache
def _shipped() -> FinishTable:
    return read_wares(stock_folder() / "finish.toml")


WARES: Final[Mapping[str, type]] = {"finish": Finish, "glue": Glue}
"""What stands in a file of finishes."""

"""What paint and glue add to a car."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.stock_tables import GRAMS_PER_MM3, Confidence, StockRow, StockTable, by_id

__all__ = ["Finish", "Glue", "FinishTable", "finishes", "glues", "read_wares"]

_MM_PER_MICROMETRE = 1e-3


@dataclass(frozen=True, slots=True)
class Finish:
    """A finish, dry, on all of the wetted area.

    `film_mm` is the thickness of the dry film after sanding between coats; `mass_spread` is one
    standard deviation relative to the mass.
    """

    id: str
    label: str
    film_mm: float
    density_g_per_mm3: float
    mass_spread: float
    source: str
    confidence: Confidence
    note: str

    @property
    def mass_g_per_mm2(self) -> float:
        """Dry mass on one square millimetre of wood."""
        return self.film_mm * self.density_g_per_mm3


@dataclass(frozen=True, slots=True)
class Glue:
    """Glue, dry, on one car: what holds bearings, washers or wheels that are not a press fit."""

    id: str
    label: str
    mass_g: float
    mass_spread: float
    source: str
    confidence: Confidence
    note: str


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
    table = StockTable(file)
    wares = FinishTable(
        finishes=by_id(table.rows("finish", _finish)),
        glues=by_id(table.rows("glue", _glue)),
    )
    table.close()
    return wares


@cache
def _shipped() -> FinishTable:
    return read_wares(stock_folder() / "finish.toml")


def _finish(row: StockRow) -> Finish:
    return Finish(
        id=row.id(),
        label=row.text("label"),
        film_mm=row.number("film_micrometres", 0.0, 2000.0) * _MM_PER_MICROMETRE,
        density_g_per_mm3=row.number("density_kg_per_m3", 500.0, 3000.0) * GRAMS_PER_MM3,
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )


def _glue(row: StockRow) -> Glue:
    return Glue(
        id=row.id(),
        label=row.text("label"),
        mass_g=row.number("mass_g", 0.0, 50.0),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )

"""The figures of a stock plan that no drawing tells."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from bodyshop.problems import Problem, ProblemsError
from bodyshop.stock.tables import Confidence, Row, Table, by_id

__all__ = ["Supplies", "read_supplies", "supplies"]

_MOST: Final = 3000.0


@dataclass(frozen=True, slots=True)
class Supplies:
    """Spare share (0.1 is a tenth), cartridges for each car, what cutting takes, a straw's length (mm)."""

    spare_share: float
    runs: int
    rod_cut_mm: float
    straw_cut_mm: float
    straw_mm: float


@dataclass(frozen=True, slots=True)
class _Figure:
    id: str
    value: float
    source: str
    confidence: Confidence


@cache
def supplies() -> Supplies:
    """The figures that come with the program."""
    return read_supplies(Path(__file__).with_name("supplies.toml"))


def read_supplies(file: Path) -> Supplies:
    """The figures of a file like the shipped one.

    Raises:
        ProblemsError: the file is damaged.
    """
    table = Table(file)
    figures = by_id(table.rows("figure", _figure))
    table.close()
    needed = ("spare-share", "runs", "rod-cut", "straw-cut", "straw-length")
    missing = [name for name in needed if name not in figures]
    if missing:
        raise ProblemsError(
            [Problem("stock-missing-key", f"there is no figure {name}", file=str(file)) for name in missing]
        )
    share, runs, rod_cut, straw_cut, straw = (figures[name].value for name in needed)
    return Supplies(share, round(runs), rod_cut, straw_cut, max(straw, 1.0))


def _figure(row: Row) -> _Figure:
    return _Figure(
        id=row.id(),
        value=row.number("value", 0.0, _MOST),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
    )

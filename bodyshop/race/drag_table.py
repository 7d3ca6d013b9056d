"""The table of drag coefficients (drag.toml), each with its source."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from bodyshop.stock.tables import Confidence, Row, Table, by_id

__all__ = ["Coefficient", "DragTable", "FaceCoefficient", "drag_table", "read_drag_table"]


@dataclass(frozen=True, slots=True)
class Coefficient:
    """Coefficients of one kind of part: the ends of what published values leave open."""

    id: str
    label: str
    area: str
    low: float
    high: float
    source: str
    confidence: Confidence
    note: str


@dataclass(frozen=True, slots=True)
class FaceCoefficient:
    """Coefficients of a face at an angle to the air's path, on its frontal area."""

    angle_rad: float
    low: float
    high: float
    source: str
    confidence: Confidence


@dataclass(frozen=True, slots=True)
class DragTable:
    """Parts by id, and faces by rising angle."""

    parts: Mapping[str, Coefficient]
    faces: tuple[FaceCoefficient, ...]


@cache
def drag_table() -> DragTable:
    """The table that comes with the program."""
    return read_drag_table(Path(__file__).resolve().parent / "drag.toml")


def read_drag_table(file: Path) -> DragTable:
    """A table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    table = Table(file)
    parts = by_id(table.rows("coefficient", _coefficient))
    faces = tuple(sorted(table.rows("face", _face), key=lambda face: face.angle_rad))
    table.close()
    return DragTable(parts, faces)


def _ends(row: Row) -> tuple[float, float]:
    low, high = row.number("low", 0.0, 3.0), row.number("high", 0.0, 3.0)
    if high < low:
        row.disagree("high", "high is below low")
    return low, high


def _coefficient(row: Row) -> Coefficient:
    low, high = _ends(row)
    return Coefficient(
        id=row.id(),
        label=row.text("label"),
        area=row.text("area"),
        low=low,
        high=high,
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )


def _face(row: Row) -> FaceCoefficient:
    low, high = _ends(row)
    return FaceCoefficient(
        angle_rad=math.radians(row.number("angle_deg", 0.0, 90.0)),
        low=low,
        high=high,
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
    )

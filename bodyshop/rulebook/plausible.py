"""Limits that no car could mean: an inch for a millimetre, a misplaced point. Warnings only."""

from __future__ import annotations

import math
import tomllib
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path
from typing import Final

from bodyshop.lengths import LengthUnit
from bodyshop.measures.catalogue import Kind
from bodyshop.problems import Problem, Severity
from bodyshop.rulebook.cells import Cell, Form, shown
from bodyshop.rulebook.limits import LIMIT_KEYS
from bodyshop.rulebook.model import Rule
from bodyshop.rulebook.quantities import read_quantity
from bodyshop.rulebook.words import amount_text

__all__ = ["Believed", "believed", "doubts"]

_SAME: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Believed:
    """Values of a measure, or of a kind, that a rule may well name; in the unit of the kind."""

    kind: Kind
    pattern: str
    low: float
    high: float


@cache
def believed() -> tuple[Believed, ...]:
    """The table: rows for measures first, then one for each kind. The first that fits counts."""
    text = (Path(__file__).resolve().parent / "plausible.toml").read_text(encoding="utf-8")
    rows: list[Believed] = []
    for row in tomllib.loads(text)["believed"]:
        turn = math.radians if row["kind"] == Kind.ANGLE.value else float
        rows += [
            Believed(Kind(row["kind"]), pattern, turn(row["low"]), turn(row["high"]))
            for pattern in row.get("measures", ["*"])
        ]
    return tuple(rows)


def doubts(form: Form, rule: Rule) -> list[Problem]:
    """Warnings about a rule's limits: beyond belief, or between two marks of the resolution."""
    found: list[Problem] = []
    for cell in _limit_cells(form):
        if rule.kind is None or cell.path[-1] == "tolerance":
            continue
        value = read_quantity(cell, rule.kind, rule.measure)
        if isinstance(value, Problem):
            continue
        doubt = _implausible(cell, rule, rule.kind, value) or _between_marks(
            cell, rule, rule.kind, value, form.home.unit
        )
        if doubt is not None:
            found.append(doubt)
    return found


def _limit_cells(form: Form) -> list[Cell]:
    cells: list[Cell] = []
    for key in LIMIT_KEYS:
        cell = form.cell(key)
        if cell is not None and isinstance(cell.value, list):
            cells += [
                Cell(value, cell.source, (*cell.path, number), cell.unit)
                for number, value in enumerate(cell.value)
            ]
        elif cell is not None:
            cells.append(cell)
    return cells


def _range(measure: str, kind: Kind) -> Believed:
    for row in believed():
        if row.kind is kind and fnmatchcase(measure, row.pattern):
            return row
    raise LookupError(f"no row of plausible.toml fits {kind}")


def _implausible(cell: Cell, rule: Rule, kind: Kind, value: float) -> Problem | None:
    rows = {measure: _range(measure, kind) for measure in rule.measures or ("",)}
    far = [measure for measure, row in rows.items() if not row.low <= value <= row.high]
    if not far:
        return None
    row = rows[far[0]]
    unit = LengthUnit.MM if kind is Kind.LENGTH else rule.unit
    near = ""
    if kind is Kind.LENGTH:
        # The figure is kept and another unit tried: the commonest slip on a printed sheet.
        for other, factor in ((LengthUnit.MM, 1 / 25.4), (LengthUnit.IN, 25.4), (LengthUnit.CM, 10.0)):
            if row.low <= value * factor <= row.high:
                near = amount_text(value * factor, kind, other)
                break
    what = far[0] or "this"
    return cell.problem(
        "rulebook-implausible",
        f"{amount_text(value, kind, unit)} is hard to believe for {what}",
        found=shown(cell.value),
        expected=f"{amount_text(row.low, kind, unit)} to {amount_text(row.high, kind, unit)}",
        near=near,
        severity=Severity.WARNING,
    )


def _between_marks(cell: Cell, rule: Rule, kind: Kind, value: float, unit: LengthUnit) -> Problem | None:
    if rule.resolution <= 0.0 or kind is Kind.COUNT:
        return None
    marks = value / rule.resolution
    if abs(marks - round(marks)) < _SAME:
        return None
    return cell.problem(
        "rulebook-resolution",
        f"this limit lies between two marks of the resolution of {amount_text(rule.resolution, kind, unit)}",
        found=shown(cell.value),
        expected="a limit or a resolution that meets the other",
        severity=Severity.WARNING,
    )

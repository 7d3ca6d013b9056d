"""Limits that no car could mean: an inch for a millimetre, a misplaced point. Warnings only."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path
from typing import Final

from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.foundation.problems import Problem, Severity
from bodyshop.foundation.text.values import shown
from bodyshop.foundation.toml.rows import read_rows
from bodyshop.foundation.units import LengthUnit
from bodyshop.rules.rulebook.limits import limit_cells
from bodyshop.rules.rulebook.model import Rule
from bodyshop.rules.rulebook.quantities import read_quantity, written_mass_unit, written_unit
from bodyshop.rules.rulebook.table_reader import PlacedValue, RulebookTable
from bodyshop.rules.rulebook.words import amount_text

__all__ = ["PlausibleRow", "PlausibleValues", "believed", "doubts"]

_SAME: Final = 1e-6
_TRIED: Final = (LengthUnit.MM, LengthUnit.IN, LengthUnit.CM)


@dataclass(frozen=True, slots=True)
class PlausibleRow:
    """A row of the table: values that a rule may well name, in mm, g or degrees."""

    kind: QuantityKind
    low: float
    high: float
    measures: tuple[str, ...] = ("*",)


@dataclass(frozen=True, slots=True)
class PlausibleValues:
    """Values of a measure, or of a kind, that a rule may well name; in the unit of the kind."""

    kind: QuantityKind
    pattern: str
    low: float
    high: float


@cache
def believed() -> tuple[PlausibleValues, ...]:
    """The table: rows for measures first, then one for each kind. The first that fits counts."""
    rows: list[PlausibleValues] = []
    for row in read_rows(Path(__file__).with_name("plausible.toml"), "believed", PlausibleRow):
        turn = math.radians if row.kind is QuantityKind.ANGLE else float
        rows += [
            PlausibleValues(row.kind, pattern, turn(row.low), turn(row.high)) for pattern in row.measures
        ]
    return tuple(rows)


def doubts(form: RulebookTable, rule: Rule) -> list[Problem]:
    """Warnings about a rule's limits: beyond belief, or between two marks of the resolution."""
    found: list[Problem] = []
    for cell in limit_cells(form):
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


def _range(measure: str, kind: QuantityKind) -> PlausibleValues:
    for row in believed():
        if row.kind is kind and fnmatchcase(measure, row.pattern):
            return row
    raise LookupError(f"no row of plausible.toml fits {kind}")


def _implausible(cell: PlacedValue, rule: Rule, kind: QuantityKind, value: float) -> Problem | None:
    rows = {measure: _range(measure, kind) for measure in rule.measures or ("",)}
    far = [measure for measure, row in rows.items() if not row.low <= value <= row.high]
    if not far:
        return None
    row, unit = rows[far[0]], written_unit(cell)
    near = ""
    if kind is QuantityKind.LENGTH:
        # The figure stays and another unit is tried: the commonest slip on a printed sheet.
        tried = ((other, value / unit.mm * other.mm) for other in _TRIED if other is not unit)
        near = next((amount_text(mm, kind, other) for other, mm in tried if row.low <= mm <= row.high), "")
    shown_unit = written_mass_unit(cell) if kind is QuantityKind.MASS else unit
    what = far[0] or "this"
    return cell.problem(
        "rulebook-implausible",
        f"{amount_text(value, kind, shown_unit)} is hard to believe for {what}",
        found=shown(cell.value),
        expected=_roughly(row, unit),
        near=near,
        severity=Severity.WARNING,
    )


def _roughly(row: PlausibleValues, unit: LengthUnit) -> str:
    """What is believed, in the unit that was written: two figures are enough of a converted one."""
    low, high = row.low, row.high
    if row.kind is QuantityKind.LENGTH and unit is LengthUnit.IN:
        return f"{low / unit.mm:.2g} in to {high / unit.mm:.2g} in"
    return f"{amount_text(low, row.kind, unit)} to {amount_text(high, row.kind, unit)}"


def _between_marks(
    cell: PlacedValue, rule: Rule, kind: QuantityKind, value: float, unit: LengthUnit
) -> Problem | None:
    if rule.resolution <= 0.0 or kind is QuantityKind.COUNT:
        return None
    marks = value / rule.resolution
    if abs(marks - round(marks)) < _SAME:
        return None
    # No reading is rounded over a limit that lies in the half of the step next to its outside.
    part, key = marks - math.floor(marks), cell.path[-1]
    if (key == "min" and part <= 0.5 + _SAME) or (key == "max" and part >= 0.5 - _SAME):
        return None
    return cell.problem(
        "rulebook-resolution",
        f"this limit lies between two marks of the resolution of {amount_text(rule.resolution, kind, unit)}",
        found=shown(cell.value),
        expected="a limit or a resolution that meets the other",
        severity=Severity.WARNING,
    )

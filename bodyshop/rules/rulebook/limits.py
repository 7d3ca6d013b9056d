"""The limits of one rule: which keys go together, their numbers, and whether they make sense."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.foundation.problems import Problem
from bodyshop.rules.rulebook.language import LIMIT_KEYS
from bodyshop.rules.rulebook.model import Limits
from bodyshop.rules.rulebook.quantities import A_KIND, read_quantity, written_mass_unit, written_unit
from bodyshop.rules.rulebook.table_reader import PlacedValue, RulebookTable
from bodyshop.rules.rulebook.words import amount_text

__all__ = ["LIMIT_GROUPS", "limit_cells", "read_limits", "rivals"]

LIMIT_GROUPS: Final[tuple[tuple[str, ...], ...]] = (
    ("min", "max"),
    ("exact", "tolerance"),
    ("one_of",),
    ("count",),
)
"""Keys that bound a value, in sets that cannot be mixed."""

_MOST_CHOICES: Final = 50


def limit_cells(form: RulebookTable) -> list[PlacedValue]:
    """Every cell of a rule's table that holds a limit, those of a list one by one."""
    cells: list[PlacedValue] = []
    for key in LIMIT_KEYS:
        cell = form.cell(key)
        if cell is not None and isinstance(cell.value, list):
            cells += [
                PlacedValue(value, cell.source, (*cell.path, number), cell.unit)
                for number, value in enumerate(cell.value)
            ]
        elif cell is not None:
            cells.append(cell)
    return cells


def rivals(keys: Iterable[str]) -> tuple[str, ...]:
    """The limit keys that give way when a change names `keys`."""
    named = set(keys)
    touched = [group for group in LIMIT_GROUPS if named & set(group)]
    return tuple(key for group in LIMIT_GROUPS if touched and group not in touched for key in group)


def read_limits(form: RulebookTable, kind: QuantityKind, subject: str) -> Limits | None:
    """The limits that a rule's table states for `subject`; problems are noted, and None then returned."""
    groups = [group for group in LIMIT_GROUPS if any(form.has(key) for key in group)]
    if not groups:
        form.note(
            form.home.problem(
                "rulebook-no-limit",
                f"{subject} is not limited",
                expected="min, max, exact, one_of or count",
            )
        )
        return None
    if len(groups) > 1:
        _mixed(form, groups)
        return None
    if form.has("one_of"):
        return _choices(form, kind, subject)
    if form.has("count"):
        return _count(form, kind, subject)
    if form.has("exact") or form.has("tolerance"):
        return _exact(form, kind, subject)
    return _band(form, kind, subject)


def _mixed(form: RulebookTable, groups: list[tuple[str, ...]]) -> None:
    present = [[cell for key in group if (cell := form.cell(key)) is not None] for group in groups]
    first, other = present[0][0], present[1][0]
    form.note(
        other.problem(
            "rulebook-limits-mixed",
            f"{other.path[-1]} and {first.path[-1]} cannot both bound {_name(form)}",
            at_key=True,
            expected="min and max, or exact with tolerance, or one_of, or count",
            related=first.spot.beside(str(first.path[-1]), other.source),
        )
    )


def _name(form: RulebookTable) -> str:
    """What to call a rule's table in a message."""
    clause = form.cell("clause")
    return f"clause {clause.value}" if clause is not None and isinstance(clause.value, str) else "this rule"


def _value(form: RulebookTable, key: str, kind: QuantityKind, subject: str) -> float | None:
    cell = form.cell(key)
    if cell is None:
        return None
    return _taken(form, read_quantity(cell, kind, subject))


def _taken(form: RulebookTable, read: float | Problem) -> float | None:
    if isinstance(read, Problem):
        form.note(read)
        return None
    return read


def _band(form: RulebookTable, kind: QuantityKind, subject: str) -> Limits | None:
    low, high = _value(form, "min", kind, subject), _value(form, "max", kind, subject)
    low_cell, high_cell = form.cell("min"), form.cell("max")
    if (low_cell is not None and low is None) or (high_cell is not None and high is None):
        return None
    if low is not None and high is not None and low > high and low_cell and high_cell:
        form.note(_crossed(form, low_cell, high_cell, _told(form, kind, (low, high))))
        return None
    return Limits(low=low, high=high)


def _told(form: RulebookTable, kind: QuantityKind, band: tuple[float, float]) -> tuple[str, str]:
    """Min and max as they are written; in the unit of the book where each has its own."""
    cells = limit_cells(form)
    if (
        len({written_mass_unit(cell) if kind is QuantityKind.MASS else written_unit(cell) for cell in cells})
        > 1
    ):
        low, high = (amount_text(value, kind, form.home.unit) for value in band)
    else:
        low, high = (str(cell.value) for cell in cells)
    return low, high


def _crossed(form: RulebookTable, low: PlacedValue, high: PlacedValue, told: tuple[str, str]) -> Problem:
    """Told at the max, or at the min where that is what a change put above an inherited max."""
    changed = low.source is not form.home.source and high.source is form.home.source
    at, other, beside = (low, high, f"max is {told[1]}") if changed else (high, low, f"min is {told[0]}")
    words = (
        f"min is {told[0]}, above the max of {told[1]}"
        if changed
        else f"max is {told[1]}, below the min of {told[0]}"
    )
    return at.problem(
        "rulebook-limits",
        f"{words}{other.spot.elsewhere(at.source)}: nothing can be both",
        found=str(at.value),
        expected="min at most max; the two may be swapped",
        related=other.spot.beside(beside, at.source),
    )


def _exact(form: RulebookTable, kind: QuantityKind, subject: str) -> Limits | None:
    tolerance_cell = form.cell("tolerance")
    if not form.has("exact"):
        if tolerance_cell is not None:
            form.note(
                tolerance_cell.problem(
                    "rulebook-tolerance", "tolerance stands without exact", at_key=True, expected="exact too"
                )
            )
        return None
    exact, tolerance = _value(form, "exact", kind, subject), _value(form, "tolerance", kind, subject)
    if exact is None or (tolerance_cell is not None and tolerance is None):
        return None
    if tolerance is not None and tolerance_cell is not None and tolerance < 0.0:
        form.note(
            tolerance_cell.problem(
                "rulebook-tolerance",
                "tolerance is below zero",
                found=str(tolerance_cell.value),
                expected=f"{A_KIND[kind]} of zero or more",
            )
        )
        return None
    width = tolerance or 0.0
    return Limits(low=exact - width, high=exact + width, exact=exact, tolerance=width)


def _count(form: RulebookTable, kind: QuantityKind, subject: str) -> Limits | None:
    cell = form.cell("count")
    if cell is not None and kind is not QuantityKind.COUNT:
        form.note(
            cell.problem(
                "rulebook-unit-kind",
                f"count bounds things that are counted, but {subject} is {A_KIND[kind]}",
                at_key=True,
                expected="min, max, exact or one_of",
            )
        )
        return None
    number = _value(form, "count", kind, subject)
    return None if number is None else Limits(low=number, high=number, exact=number)


def _choices(form: RulebookTable, kind: QuantityKind, subject: str) -> Limits | None:
    cell = form.cell("one_of")
    if cell is None:
        return None
    wanted = f"a list of 1 to {_MOST_CHOICES} values, such as [2, 3]"
    if not isinstance(cell.value, list):
        form.wrong(cell, "one_of", wanted)
        return None
    if not 0 < len(cell.value) <= _MOST_CHOICES:
        message = f"one_of has {len(cell.value)} values"
        form.note(cell.problem("rulebook-range", message, expected=wanted))
        return None
    values: list[float] = []
    for number, value in enumerate(cell.value):
        inner = PlacedValue(value, cell.source, (*cell.path, number), cell.unit)
        read = _taken(form, read_quantity(inner, kind, subject))
        if read is not None and read in values:
            form.note(inner.problem("rulebook-repeated", f"{value} stands here twice"))
        if read is not None:
            values.append(read)
    return Limits(one_of=tuple(sorted(values))) if len(values) == len(cell.value) else None

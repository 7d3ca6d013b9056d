"""The row of an inspection in words: as drawn, as measured, and what changed."""

from __future__ import annotations

import math
from typing import Final

from bodyshop.car.measures import QuantityKind, Reading
from bodyshop.foundation.units import LengthUnit, format_angle, format_length, format_mass
from bodyshop.records.inspection.judging import DimensionChange, InspectedRow, InspectionResult
from bodyshop.rules.rulebook import read_off, value_text
from bodyshop.rules.rulebook.words import amount_text

__all__ = ["change_words", "designed_words", "measured_words"]


_HAIR: Final = 1e-9


def _amount(row: InspectedRow, value: float, inspected: InspectionResult, *, whole: bool = False) -> str:
    """A quantity to the marks of the instrument; with `whole`, as fine as it was entered."""
    unit = inspected.checked.opened.rulebook.unit if row.rule is None else row.rule.unit
    if row.kind is None:
        return ""
    if unit is LengthUnit.IN and row.kind is QuantityKind.LENGTH:
        return amount_text(round(value, 6 if whole else 2), row.kind, unit)
    step = 0.0 if row.measured is None else row.measured.resolution
    if row.kind is QuantityKind.LENGTH:
        return format_length(value, unit, decimals=_places(step / unit.mm, value / unit.mm if whole else 0.0))
    if row.kind is QuantityKind.MASS:
        mass = inspected.checked.opened.rulebook.mass_unit if row.rule is None else row.rule.mass_unit
        return format_mass(
            value, decimals=_places(step / mass.g, value / mass.g if whole else 0.0), unit=mass
        )
    if row.kind is QuantityKind.ANGLE:
        return format_angle(value, decimals=_places(math.degrees(step)))
    return amount_text(round(value, 2), row.kind, unit)


def _places(step: float, value: float = 0.0) -> int:
    """Decimals that show the marks of an instrument, and a value; two at most."""
    for places in range(2):
        if step > 0.0 and all(abs(each - round(each, places)) < _HAIR for each in (step, value)):
            return places
    return 2


def designed_words(row: InspectedRow, inspected: InspectionResult) -> str:
    """The value of the design, a dash where it has none."""
    if not isinstance(row.designed, Reading):
        return "-"
    if row.rule is not None and row.rule.kind is not None:
        return value_text(row.rule, read_off(row.designed.value, row.rule.resolution))
    return _amount(row, row.designed.value, inspected)


def measured_words(row: InspectedRow, inspected: InspectionResult) -> str:
    """What was measured or answered, a dash where nothing was."""
    if row.answer is not None:
        return row.answer.value
    return "-" if row.measured is None else _amount(row, row.measured.value, inspected, whole=True)


def change_words(row: InspectedRow, inspected: InspectionResult) -> str:
    """`grew 0.4 mm`, `as drawn`; for a mass `3.1 g heavier`."""
    if row.change is None or row.by is None:
        return ""
    if row.change is DimensionChange.SAME:
        return "as drawn" if row.kind is not QuantityKind.MASS else "as estimated"
    amount = _amount(row, abs(row.by), inspected)
    if row.kind is QuantityKind.MASS:
        return f"{amount} {'heavier' if row.change is DimensionChange.GREW else 'lighter'}"
    if row.kind is QuantityKind.COUNT:
        return f"{amount} {'more' if row.change is DimensionChange.GREW else 'fewer'}"
    return f"{row.change.value} {amount}"

"""A limit as written to a number in the unit of its kind: mm, g, rad, mm², mm³ or a count.

A plain number is in the file's unit of length for a length (squared or cubed for an area or a volume),
in grams for a mass and in degrees for an angle. A text may carry its own unit.
"""

from __future__ import annotations

import math
import re
from typing import Final

from bodyshop.car.measures.catalogue import QuantityKind
from bodyshop.foundation.problems import Problem
from bodyshop.foundation.text.values import kind_of_value, shown
from bodyshop.foundation.units import (
    LengthUnit,
    MassUnit,
    QuantityError,
    length_from_number,
    parse_angle,
    parse_length,
    parse_mass,
    parse_unit,
)
from bodyshop.rules.rulebook.table_reader import PlacedValue

__all__ = ["A_KIND", "read_quantity", "read_step", "written_mass_unit", "written_unit"]

A_KIND: Final = {
    QuantityKind.LENGTH: "a length",
    QuantityKind.MASS: "a mass",
    QuantityKind.ANGLE: "an angle",
    QuantityKind.COUNT: "a count",
    QuantityKind.AREA: "an area",
    QuantityKind.VOLUME: "a volume",
}
_EXAMPLE: Final = {
    QuantityKind.LENGTH: '26, "26 mm" or "1 1/8 in"',
    QuantityKind.MASS: '45 or "45 g"',
    QuantityKind.ANGLE: '3 or "3 deg"',
    QuantityKind.COUNT: "a whole number such as 2",
    QuantityKind.AREA: '120 or "120 mm2"',
    QuantityKind.VOLUME: '5000 or "5000 mm3"',
}
_MOST: Final = {
    QuantityKind.MASS: 1e6,
    QuantityKind.ANGLE: 3600.0,
    QuantityKind.COUNT: 1e6,
    QuantityKind.AREA: 1e9,
    QuantityKind.VOLUME: 1e12,
}
_STEPS: Final = {
    QuantityKind.LENGTH: (1e-4, 1e4, "0.0001 mm to 10 m"),
    QuantityKind.MASS: (1e-4, 1e5, "0.0001 g to 100 kg"),
    QuantityKind.ANGLE: (math.radians(1e-4), math.radians(360.0), "0.0001 to 360 deg"),
    QuantityKind.COUNT: (1.0, 1e6, "1 to 1000000"),
    QuantityKind.AREA: (1e-4, 1e8, "0.0001 mm2 to 100 m2"),
    QuantityKind.VOLUME: (1e-4, 1e12, "0.0001 mm3 to 1000 m3"),
}
"""The least and the greatest step, and both in words: finer than any instrument, and wider than any car."""
_OUNCES: Final = ("oz", "ozs", "ounce", "ounces")
_POWER: Final = {QuantityKind.AREA: 2, QuantityKind.VOLUME: 3}
_POWER_MARK: Final = re.compile(r"\s*(?:\^?([23])|([²³]))\s*$")
_LAST_WORD: Final = re.compile(r"([^\W\d_]+|[\"″”“'′’]+)\.?\s*$")


def read_quantity(cell: PlacedValue, kind: QuantityKind, subject: str) -> float | Problem:
    """The quantity a cell holds, or what is wrong with it. `subject` says what it bounds."""
    value = cell.value
    try:
        if isinstance(value, str):
            return _from_text(value, kind, cell.unit)
        if isinstance(value, bool) or not isinstance(value, int | float):
            return cell.problem(
                "rulebook-type",
                f"{cell.path[-1]} is {kind_of_value(value)}",
                found=shown(value),
                expected=f"{A_KIND[kind]}: {_EXAMPLE[kind]}",
            )
        return _from_number(cell, value, kind)
    except QuantityError as error:
        other = _other_kind(value, kind) if isinstance(value, str) else None
        if other is not None:
            return cell.problem(
                "rulebook-unit-kind",
                f'"{shown(value)}" is {A_KIND[other]}, but {subject} is {A_KIND[kind]}',
                found=shown(value),
                expected=f"{A_KIND[kind]}: {_EXAMPLE[kind]}",
            )
        return cell.quantity_problem(error)


def read_step(cell: PlacedValue, kind: QuantityKind, key: str, *, or_none: bool = True) -> float | Problem:
    """A step or a margin that a cell holds, or what is wrong with it. `or_none`: 0 stands for none."""
    read = read_quantity(cell, kind, key)
    if isinstance(read, Problem) or (or_none and read == 0.0):
        return read
    least, most, words = _STEPS[kind]
    if least * (1.0 - 1e-9) <= read <= most:
        return read
    short = "below zero" if or_none and read < 0.0 else "not above zero"
    message = f"{key} is {short}" if read <= 0.0 else f"{key} is {shown(cell.value)}"
    expected = f"0, or {words}" if or_none else words
    return cell.problem("rulebook-range", message, found=shown(cell.value), expected=expected)


def written_unit(cell: PlacedValue) -> LengthUnit:
    """The unit of length that a cell's text carries, or else that of its file."""
    return _unit_in(cell.value, cell.unit) if isinstance(cell.value, str) else cell.unit


def written_mass_unit(cell: PlacedValue) -> MassUnit:
    """Ounces where a cell's text carries them, else grams."""
    match = _LAST_WORD.search(cell.value) if isinstance(cell.value, str) else None
    return MassUnit.OZ if match is not None and match[1].casefold() in _OUNCES else MassUnit.G


def _unit_in(text: str, default: LengthUnit) -> LengthUnit:
    match = _LAST_WORD.search(text)
    try:
        return parse_unit(match[1]) if match is not None else default
    except QuantityError:
        return default


def _from_text(text: str, kind: QuantityKind, unit: LengthUnit) -> float:
    if kind is QuantityKind.LENGTH:
        return parse_length(text, unit)
    if kind is QuantityKind.MASS:
        return parse_mass(text)
    if kind is QuantityKind.ANGLE:
        return parse_angle(text)
    if kind is QuantityKind.COUNT:
        raise QuantityError(
            "rulebook-count", f'"{shown(text)}" is not a count', found=shown(text), expected=_EXAMPLE[kind]
        )
    power = _POWER[kind]
    mark = _POWER_MARK.search(text)
    if mark is None or "23²³".index(mark[1] or mark[2]) % 2 != power - 2:
        raise QuantityError(
            "rulebook-power",
            f'"{shown(text)}" is not {A_KIND[kind]}',
            found=shown(text),
            expected=_EXAMPLE[kind],
        )
    bare = text[: mark.start()]
    # An area is a number of squares: its unit counts once for each side, its number once only.
    return parse_length(bare, None) * _unit_in(bare, unit).mm ** (power - 1)


def _from_number(cell: PlacedValue, value: float, kind: QuantityKind) -> float:
    if kind is QuantityKind.LENGTH:
        return length_from_number(value, cell.unit)
    expected = _EXAMPLE[kind]
    low = -_MOST[kind] if kind is QuantityKind.ANGLE else 0
    if not low <= value <= _MOST[kind]:  # not for nan either
        raise QuantityError(
            "rulebook-range",
            f"{shown(value)} is not {A_KIND[kind]} to be found on a car",
            found=shown(value),
            expected=expected,
        )
    if kind is QuantityKind.COUNT and not isinstance(value, int):
        raise QuantityError(
            "rulebook-count", f"{shown(value)} is not a count", found=shown(value), expected=expected
        )
    if kind is QuantityKind.ANGLE:
        return math.radians(value)
    return float(value) * cell.unit.mm ** _POWER.get(kind, 0)


def _other_kind(text: str, kind: QuantityKind) -> QuantityKind | None:
    """The kind of quantity that a text with its own unit is, when it is not the one wanted."""
    for other in (QuantityKind.LENGTH, QuantityKind.MASS, QuantityKind.ANGLE):
        if other is kind:
            continue
        try:
            if other is QuantityKind.LENGTH:
                parse_length(text, None)
            elif other is QuantityKind.MASS:
                parse_mass(text, None)
            elif re.fullmatch(r"[\s\d.+-]*", text):
                continue  # a plain number is an angle to nobody
            else:
                parse_angle(text)
        except QuantityError:
            continue
        return other
    return None

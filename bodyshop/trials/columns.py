"""What a field of a record is: its place in a table, its unit, and the sentence that explains it.

A record is a frozen dataclass whose fields are annotated with a `Field`. Tables, spreadsheets and entry from
the keyboard are all made from that one declaration.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import Enum
from types import MappingProxyType, NoneType, UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin, get_type_hints

__all__ = [
    "UNITS",
    "Column",
    "Field",
    "Pairs",
    "Shape",
    "columns_of",
    "unit_of",
]

Pairs = tuple[tuple[float, float], ...]
"""Numbers in pairs: a distance along the track in mm, and the time in s at which it was passed."""

UNITS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "_mm": "mm",
        "_g": "g",
        "_s": "s",
        "_n": "N",
        "_rad": "rad",
        "_m_s": "m/s",
        "_c": "°C",
        "_hpa": "hPa",
        "_percent": "%",
        "_mm_s": "mm and s",
    }
)
"""Ends of the names of fields, and the unit that each says. The longest that fits is the one meant."""


class Shape(Enum):
    """How a value is held."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole number"
    YES_NO = "yes or no"
    CHOICE = "one of some words"
    CAR = "a car's name"
    RECORD = "the number of another record"
    NUMBERS = "numbers"
    PAIRS = "pairs of numbers"


@dataclass(frozen=True, slots=True)
class Field:
    """What is said of a field beside its type.

    `about` is the sentence that people read. `low` and `high` are what no value may pass: not what is
    likely, which is asked about at entry, but what is no such quantity at all. `refers` names the kind of
    record whose number it holds; `car` says that it holds the name of a car.
    """

    about: str
    low: float | None = None
    high: float | None = None
    longest: int = 400
    refers: str = ""
    car: bool = False
    lines: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """A field ready to be stored. `name` is the dataclass's, and the heading of its column in a CSV."""

    name: str
    shape: Shape
    field: Field
    optional: bool
    choices: type[Enum] | None = None
    required: bool = True

    @property
    def about(self) -> str:
        """The sentence that explains it."""
        return self.field.about

    @property
    def plain(self) -> str:
        """Its name without the unit at the end: `drag` for `drag_n`."""
        ends = sorted((end for end in UNITS if self.name.endswith(end)), key=len, reverse=True)
        return self.name.removesuffix(ends[0]) if ends and self.unit else self.name

    @property
    def words(self) -> str:
        """The same as people say it: `ramp height`."""
        return self.plain.replace("_", " ")

    @property
    def stored_as(self) -> str:
        """The name of its column in the book's own tables."""
        return f"{self.name}_id" if self.shape in (Shape.CAR, Shape.RECORD) else self.name

    @property
    def unit(self) -> str:
        """Its unit, empty where it has none."""
        return unit_of(self.name) if self.shape in (Shape.NUMBER, Shape.NUMBERS, Shape.PAIRS) else ""


def unit_of(name: str) -> str:
    """The unit that the end of a field's name says, empty where it says none."""
    ends = sorted((end for end in UNITS if name.endswith(end)), key=len, reverse=True)
    return UNITS[ends[0]] if ends else ""


_known: dict[type[Any], tuple[Column, ...]] = {}


def columns_of(record: type[Any]) -> tuple[Column, ...]:
    """The columns of a kind of record, in the order of its fields."""
    found = _known.get(record)
    if found is None:
        hints = get_type_hints(record, include_extras=True)
        found = tuple(_column(each.name, hints[each.name], _has_default(each)) for each in fields(record))
        _known[record] = found
    return found


def _has_default(each: Any) -> bool:
    from dataclasses import MISSING

    return each.default is not MISSING or each.default_factory is not MISSING


def _column(name: str, hint: Any, has_default: bool) -> Column:
    if get_origin(hint) is not Annotated:
        raise TypeError(f"the field {name} is not explained")
    kind, said = get_args(hint)
    if not isinstance(said, Field) or not said.about:
        raise TypeError(f"the field {name} is not explained")
    optional = False
    if get_origin(kind) in (UnionType, Union):
        parts = [part for part in get_args(kind) if part is not NoneType]
        optional = len(parts) < len(get_args(kind))
        kind = parts[0]
    shape = _shape(name, kind, said)
    choices = kind if isinstance(kind, type) and issubclass(kind, Enum) else None
    return Column(name, shape, said, optional, choices, required=not has_default)


def _shape(name: str, kind: Any, said: Field) -> Shape:
    if said.car:
        return Shape.CAR
    if said.refers:
        return Shape.RECORD
    if isinstance(kind, type) and issubclass(kind, Enum):
        return Shape.CHOICE
    plain = {str: Shape.TEXT, float: Shape.NUMBER, bool: Shape.YES_NO, int: Shape.WHOLE}
    if kind in plain:
        return plain[kind]
    if kind == Pairs:
        return Shape.PAIRS
    if kind == tuple[float, ...]:
        return Shape.NUMBERS
    raise TypeError(f"the field {name} is of a type that no column holds: {kind}")

"""What a field of a record is: its place in a table, its unit, its sentence; and what all records share."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from enum import Enum
from types import MappingProxyType, NoneType, UnionType
from typing import Annotated, Any, Final, Union, get_args, get_origin, get_type_hints

__all__ = [
    "AIR_C",
    "AIR_HPA",
    "A_CAR",
    "HUMIDITY",
    "MAX_JSON",
    "Pairs",
    "Record",
    "RecordColumn",
    "RecordField",
    "SHA256",
    "UNITS",
    "ValueType",
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


class ValueType(Enum):
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
class RecordField:
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
class RecordColumn:
    """A field ready to be stored. `name` is the dataclass's, and the heading of its column in a CSV."""

    name: str
    shape: ValueType
    field: RecordField
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
        return f"{self.name}_id" if self.shape in (ValueType.CAR, ValueType.RECORD) else self.name

    @property
    def unit(self) -> str:
        """Its unit, empty where it has none."""
        return (
            unit_of(self.name) if self.shape in (ValueType.NUMBER, ValueType.NUMBERS, ValueType.PAIRS) else ""
        )


def unit_of(name: str) -> str:
    """The unit that the end of a field's name says, empty where it says none."""
    ends = sorted((end for end in UNITS if name.endswith(end)), key=len, reverse=True)
    return UNITS[ends[0]] if ends else ""


_known: dict[type[Any], tuple[RecordColumn, ...]] = {}


def columns_of(record: type[Any]) -> tuple[RecordColumn, ...]:
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


def _column(name: str, hint: Any, has_default: bool) -> RecordColumn:
    if get_origin(hint) is not Annotated:
        raise TypeError(f"the field {name} is not explained")
    kind, said = get_args(hint)
    if not isinstance(said, RecordField) or not said.about:
        raise TypeError(f"the field {name} is not explained")
    optional = False
    if get_origin(kind) in (UnionType, Union):
        parts = [part for part in get_args(kind) if part is not NoneType]
        optional = len(parts) < len(get_args(kind))
        kind = parts[0]
    shape = _shape(name, kind, said)
    choices = kind if isinstance(kind, type) and issubclass(kind, Enum) else None
    return RecordColumn(name, shape, said, optional, choices, required=not has_default)


def _shape(name: str, kind: Any, said: RecordField) -> ValueType:
    if said.car:
        return ValueType.CAR
    if said.refers:
        return ValueType.RECORD
    if isinstance(kind, type) and issubclass(kind, Enum):
        return ValueType.CHOICE
    plain = {str: ValueType.TEXT, float: ValueType.NUMBER, bool: ValueType.YES_NO, int: ValueType.WHOLE}
    if kind in plain:
        return plain[kind]
    if kind == Pairs:
        return ValueType.PAIRS
    if kind == tuple[float, ...]:
        return ValueType.NUMBERS
    raise TypeError(f"the field {name} is of a type that no column holds: {kind}")


class Record:
    """What all kinds of records have in common: they are kept by the book."""

    __slots__ = ()


_HOT, _COLD = 60.0, -50.0
_HIGH_HPA, _LOW_HPA = 1200.0, 300.0
A_CAR: Final = RecordField("The car.", car=True)
AIR_C: Final = RecordField("Temperature of the air.", low=_COLD, high=_HOT)
AIR_HPA: Final = RecordField(
    "Pressure of the air as the barometer shows it here, not reduced to sea level.",
    low=_LOW_HPA,
    high=_HIGH_HPA,
)
HUMIDITY: Final = RecordField("Relative humidity of the air.", low=0.0, high=100.0)
SHA256: Final = RecordField("SHA-256 of the file, so that it can be known again.", longest=64)
MAX_JSON: Final = 2_000_000

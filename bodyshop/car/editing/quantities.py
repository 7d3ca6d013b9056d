"""The quantities that a design's text writes out: by the table of keys, each with what it measures."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import Final

from bodyshop.car.design.fields import Field, KeyKind
from bodyshop.car.design.schema import ROOT
from bodyshop.car.design.table import Quantities
from bodyshop.car.editing.notation import value_of
from bodyshop.car.expressions import parse
from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.toml import KeyPath
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_length

__all__ = ["WorkedOut", "dimensions_behind", "lengths_of", "quantities_of", "writes_tape"]

_KINDS: Final = {
    KeyKind.LENGTH: QuantityKind.LENGTH,
    KeyKind.ANGLE: QuantityKind.ANGLE,
    KeyKind.COUNT: QuantityKind.COUNT,
}


def quantities_of(values: object) -> Iterator[tuple[KeyPath, object, QuantityKind]]:
    """Every length, angle and count of a design's values, in the order of the table of keys."""
    return _table(values, (), ROOT)


def writes_tape(values: object) -> bool:
    """Whether inches are written as fractions: any is, or none is written with a point."""
    decimal = False
    for _, value, kind in quantities_of(values):
        if kind is QuantityKind.LENGTH and isinstance(value, str) and "/" in value and _is_length(value):
            return True
        decimal |= kind is QuantityKind.LENGTH and isinstance(value, float)
    return not decimal


def lengths_of(values: Mapping[str, object], unit: LengthUnit) -> Callable[[object], float | None]:
    """Works out what a value of a design comes to in mm, with the design's dimensions; None for no length."""
    dimensions = values.get("dimensions")
    quantities = Quantities(unit, dimensions if isinstance(dimensions, Mapping) else {})

    def length(value: object) -> float | None:
        try:
            return quantities.length(value)
        except QuantityError:
            return None

    return length


def dimensions_behind(text: str, dimensions: Mapping[str, object]) -> list[str]:
    """Every dimension that a text's arithmetic uses, by itself or through others, in the file's order."""
    keys = {unicodedata.normalize("NFC", key): key for key in dimensions}
    found: set[str] = set()
    waiting: list[object] = [text]
    while waiting:
        value = waiting.pop()
        if not isinstance(value, str):
            continue
        try:
            names = parse(value).names
        except QuantityError:
            continue
        for name in names:
            key = keys.get(name)
            if key is not None and key not in found:
                found.add(key)
                waiting.append(dimensions[key])
    return [key for key in dimensions if key in found]


class WorkedOut:
    """The lengths of a design that are worked out, from named dimensions or by plain arithmetic."""

    def __init__(self, values: Mapping[str, object], unit: LengthUnit) -> None:
        self._unit = unit
        self._texts = {
            path: value
            for path, value, kind in quantities_of(values)
            if kind is QuantityKind.LENGTH
            and isinstance(value, str)
            and path[0] != "dimensions"
            and value_of(value, kind, unit) is None
        }
        self._before = self._lengths(values)

    def moved_mm(self, values: Mapping[str, object]) -> dict[KeyPath, float]:
        """How far each has moved when the dimensions are those of `values`."""
        after = self._lengths(values)
        return {
            path: after[text] - self._before[text]
            for path, text in self._texts.items()
            if text in after and text in self._before
        }

    def _lengths(self, values: Mapping[str, object]) -> dict[str, float]:
        length = lengths_of(values, self._unit)
        found = {text: length(text) for text in set(self._texts.values())}
        return {text: mm for text, mm in found.items() if mm is not None}


def _is_length(text: str) -> bool:
    try:
        parse_length(text, LengthUnit.MM)
    except QuantityError:
        return False
    return True


_Found = Iterator[tuple[KeyPath, object, QuantityKind]]


def _table(values: object, above: KeyPath, fields: Sequence[Field]) -> _Found:
    if isinstance(values, dict):
        for field in fields:
            if field.key in values:
                yield from _below(values[field.key], (*above, field.key), field)


def _below(value: object, path: KeyPath, field: Field) -> _Found:
    match field.kind:
        case KeyKind.TABLE | KeyKind.WHEEL:
            yield from _table(value, path, field.fields)
        case KeyKind.TABLES:
            for index, row in _items(value):
                yield from _table(row, (*path, index), field.fields)
        case KeyKind.POINTS:
            for index, point in _items(value):
                if isinstance(point, dict):
                    yield from _table(point, (*path, index), field.fields)
                else:
                    yield from _numbers(point, (*path, index))
        case KeyKind.POINT | KeyKind.HANDLES:
            yield from _numbers(value, path)
        case KeyKind.LENGTHS:
            for name, length in value.items() if isinstance(value, dict) else ():
                yield (*path, name), length, QuantityKind.LENGTH
        case _:
            if field.kind in _KINDS:
                yield path, value, _KINDS[field.kind]


def _items(value: object) -> Iterable[tuple[int, object]]:
    return enumerate(value if isinstance(value, list) else [])


def _numbers(value: object, path: KeyPath) -> _Found:
    if isinstance(value, list):
        for index, part in enumerate(value):
            yield from _numbers(part, (*path, index))
    else:
        yield path, value, QuantityKind.LENGTH

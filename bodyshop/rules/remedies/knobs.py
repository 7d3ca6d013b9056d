"""The numbers of a design that may be changed: found in the file by the table of its keys.

A knob is a number that the file writes out. What is worked out from others is none: the named dimension
it uses is. What was weighed on a balance is a fact and stays as it is.

A length that several points share (the tail's x in both views, the height of a level deck) is a knob of
its own kind: one number written in several places.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from bodyshop.car.design.fields import Field
from bodyshop.car.design.fields import KeyKind as Holds
from bodyshop.car.design.schema import ROOT
from bodyshop.car.design.table import Quantities
from bodyshop.car.editing.notation import Notation, factor_grids, read_notation, value_of
from bodyshop.car.measures import QuantityKind
from bodyshop.foundation.toml import KeyPath, Source, dotted
from bodyshop.foundation.units import LengthUnit, QuantityError, parse_length

__all__ = [
    "DesignNumber",
    "WrittenNumber",
    "DimensionUses",
    "find_knobs",
    "patched",
    "shared_knobs",
    "writes_tape",
]

# Facts about the car or its parts, not choices.
_FACTS: Final = frozenset(
    (
        ("format",),
        ("blank", "weighed"),
        ("blank", "balance"),
        ("axles", "front", "wheel", "mass"),
        ("axles", "rear", "wheel", "mass"),
    )
)
_KINDS: Final = {
    Holds.LENGTH: QuantityKind.LENGTH,
    Holds.ANGLE: QuantityKind.ANGLE,
    Holds.COUNT: QuantityKind.COUNT,
}
# A dimension that moves some length by more than this many times its own change is a factor.
_FACTOR: Final = 4.0
_TRY_UNITS: Final = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class WrittenNumber:
    """One number where it stands in the file; `text` as it was read, without quotes."""

    path: KeyPath
    text: str
    notation: Notation


@dataclass(frozen=True, slots=True)
class DesignNumber:
    """A number that may be changed, at its one place or at several.

    `value` is in the unit it is written in; one of that unit moves the design by `mm_per_unit` (a degree
    and a count are taken for 1 mm). `grids` are the steps it is written in. `bought` says that it is the
    size of something one has, not of something one draws; `named` that it is a named dimension.
    """

    marks: tuple[WrittenNumber, ...]
    value: Fraction
    mm_per_unit: float
    grids: tuple[Fraction, ...]
    order: int
    bought: bool = False
    named: bool = False

    @property
    def path(self) -> KeyPath:
        """Where it stands, the first place of several."""
        return self.marks[0].path

    @property
    def key(self) -> str:
        """Its dotted name."""
        return dotted(self.path)

    def changes(self, value: Fraction) -> dict[KeyPath, object]:
        """What the file would hold with another value, by path."""
        return {m.path: m.notation.parsed(m.notation.text(value)) for m in self.marks}


def find_knobs(source: Source, unit: LengthUnit) -> list[DesignNumber]:
    """Every knob of one place, in the order of the table of keys."""
    values = source.values
    tape = writes_tape(values)
    uses = DimensionUses(values, unit)
    knobs: list[DesignNumber] = []
    for path, value, holds in _leaves(values, (), ROOT):
        if holds not in _KINDS or tuple(part for part in path if isinstance(part, str)) in _FACTS:
            continue
        where = source.value_range(path)
        raw = "" if where is None else source.text[slice(*where)]
        notation = read_notation(raw, value, _KINDS[holds], unit, tape=tape) if raw else None
        number = value_of(value, _KINDS[holds], unit)
        if notation is None or number is None:
            continue
        knob = DesignNumber(
            (WrittenNumber(path, raw[1:-1] if notation.quoted else raw, notation),),
            number,
            notation.mm_per_unit,
            notation.grids,
            len(knobs),
            bought=_is_bought(path),
            named=path[0] == "dimensions",
        )
        if knob.named:
            scale = uses.moved_mm(patched(values, knob.changes(number + _TRY_UNITS))) / float(_TRY_UNITS)
            if scale <= 0.0:
                continue  # nothing uses it
            if not notation.suffix and scale > _FACTOR * notation.mm_per_unit:
                knob = replace(knob, grids=factor_grids(scale))
            knob = replace(knob, mm_per_unit=scale)
        knobs.append(knob)
    return knobs


def shared_knobs(knobs: Sequence[DesignNumber]) -> list[DesignNumber]:
    """Knobs of several places: equal coordinates of the two outlines' points.

    Along the car only the ends count, nose and tail, in both views; across it any height or half width
    that two points of one view have.
    """
    found: dict[tuple[object, ...], list[DesignNumber]] = {}
    for knob in knobs:
        axis = _axis(knob.path)
        if axis is not None:
            view = "both" if axis == 0 else knob.path[0]
            found.setdefault((view, axis, knob.value, knob.mm_per_unit), []).append(knob)
    along = [_mm(group[0]) for key, group in found.items() if key[1] == 0]
    ends = (min(along), max(along)) if along else (0.0, 0.0)
    shared: list[DesignNumber] = []
    for key, group in found.items():
        if len(group) < 2 or (key[1] == 0 and _mm(group[0]) not in ends):
            continue
        marks = tuple(mark for knob in group for mark in knob.marks)
        shared.append(replace(group[0], marks=marks, order=len(knobs) + len(shared)))
    return shared


def patched(values: Mapping[str, object], changes: Mapping[KeyPath, object]) -> dict[str, object]:
    """The values with those at some paths replaced; what is not changed is shared, not copied."""
    new = dict(values)
    for path, value in changes.items():
        new[str(path[0])] = _patched(new[str(path[0])], path[1:], value)
    return new


class DimensionUses:
    """The lengths of a design that are worked out from named dimensions."""

    def __init__(self, values: Mapping[str, object], unit: LengthUnit) -> None:
        self._unit = unit
        self._texts = list(
            dict.fromkeys(
                value
                for path, value, holds in _leaves(values, (), ROOT)
                if holds is Holds.LENGTH
                and isinstance(value, str)
                and path[0] != "dimensions"
                and value_of(value, QuantityKind.LENGTH, unit) is None
            )
        )
        self._before = self._worked_out(values)

    def moved_mm(self, values: Mapping[str, object]) -> float:
        """How far the length moves that moves most when the dimensions are those of `values`."""
        pairs = zip(self._before, self._worked_out(values), strict=True)
        return max((abs(b - a) for a, b in pairs if a is not None and b is not None), default=0.0)

    def _worked_out(self, values: Mapping[str, object]) -> list[float | None]:
        dimensions = values.get("dimensions")
        quantities = Quantities(self._unit, dimensions if isinstance(dimensions, dict) else {})
        found: list[float | None] = []
        for text in self._texts:
            try:
                found.append(quantities.length(text))
            except QuantityError:
                found.append(None)
        return found


def _patched(values: object, path: KeyPath, value: object) -> object:
    if not path:
        return value
    head, rest = path[0], path[1:]
    if isinstance(values, dict) and isinstance(head, str):
        return {**values, head: _patched(values.get(head), rest, value)}
    if isinstance(values, list) and isinstance(head, int):
        return [*values[:head], _patched(values[head], rest, value), *values[head + 1 :]]
    raise ValueError(f"there is no {dotted(path)} to change")


def _leaves(
    values: object, above: KeyPath, fields: Sequence[Field]
) -> Iterator[tuple[KeyPath, object, Holds]]:
    """Every value below a table with what it holds, the parts of points being lengths."""
    if isinstance(values, dict):
        for field in fields:
            if field.key in values:
                yield from _below(values[field.key], (*above, field.key), field)


def _below(value: object, path: KeyPath, field: Field) -> Iterator[tuple[KeyPath, object, Holds]]:
    match field.kind:
        case Holds.TABLE | Holds.WHEEL:
            yield from _leaves(value, path, field.fields)
        case Holds.TABLES:
            for i, row in enumerate(value if isinstance(value, list) else []):
                yield from _leaves(row, (*path, i), field.fields)
        case Holds.POINTS:
            for i, point in enumerate(value if isinstance(value, list) else []):
                if isinstance(point, dict):
                    yield from _leaves(point, (*path, i), field.fields)
                else:
                    yield from _numbers(point, (*path, i))
        case Holds.POINT | Holds.HANDLES:
            yield from _numbers(value, path)
        case Holds.LENGTHS:
            for name, length in value.items() if isinstance(value, dict) else ():
                yield (*path, name), length, Holds.LENGTH
        case _:
            yield path, value, field.kind


def _numbers(value: object, path: KeyPath) -> Iterator[tuple[KeyPath, object, Holds]]:
    if isinstance(value, list):
        for i, part in enumerate(value):
            yield from _numbers(part, (*path, i))
    else:
        yield path, value, Holds.LENGTH


def _is_bought(path: KeyPath) -> bool:
    return path[0] == "blank" or (path[0] == "axles" and "wheel" in path)


def _axis(path: KeyPath) -> int | None:
    """Which coordinate of a point of an outer outline this is: 0 along the car, 1 across; else None."""
    if path[0] not in ("profile", "plan") or path[1:2] != ("points",):
        return None
    rest = path[3:]
    if rest in ((0,), (1,)):
        return int(rest[0])
    return int(rest[1]) if len(rest) == 2 and rest[0] == "to" and isinstance(rest[1], int) else None


def _mm(knob: DesignNumber) -> float:
    return float(knob.value) * knob.mm_per_unit


def writes_tape(values: object) -> bool:
    """Whether inches are written as fractions: any is, or none is written with a point."""
    decimal = False
    for _, value, holds in _leaves(values, (), ROOT):
        if holds is Holds.LENGTH and isinstance(value, str) and "/" in value and _is_length(value):
            return True
        decimal |= holds is Holds.LENGTH and isinstance(value, float)
    return not decimal


def _is_length(text: str) -> bool:
    try:
        parse_length(text, LengthUnit.MM)
    except QuantityError:
        return False
    return True

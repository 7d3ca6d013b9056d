"""The numbers of a design that may be changed: found in the file by the table of its keys.

A knob is a number that the file writes out. What is worked out from others is none: the named dimension
it uses is. What was weighed on a balance is a fact and stays as it is.

A length that several points share (the tail's x in both views, the height of a level deck) is a knob of
its own kind: one number written in several places.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from bodyshop.car.editing.notation import factor_grids
from bodyshop.car.editing.numbers import Numbers, WrittenNumber
from bodyshop.car.editing.quantities import WorkedOut, quantities_of
from bodyshop.foundation.toml import KeyPath, Source, dotted
from bodyshop.foundation.toml.splice import patched

__all__ = ["DesignNumber", "farthest_mm", "find_knobs", "shared_knobs"]

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
# A dimension that moves some length by more than this many times its own change is a factor.
_FACTOR: Final = 4.0
_TRY_UNITS: Final = Fraction(1, 1000)


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
        return {mark.path: mark.another(value) for mark in self.marks}


def find_knobs(source: Source) -> list[DesignNumber]:
    """Every knob of one place, in the order of the table of keys."""
    numbers = Numbers(source)
    uses = WorkedOut(source.values, numbers.unit)
    knobs: list[DesignNumber] = []
    for path, _, kind in quantities_of(source.values):
        if tuple(part for part in path if isinstance(part, str)) in _FACTS:
            continue
        written = numbers.written(path, kind)
        if written is None:
            continue
        notation = written.notation
        knob = DesignNumber(
            (written,),
            written.value,
            notation.mm_per_unit,
            notation.grids,
            len(knobs),
            bought=_is_bought(path),
            named=path[0] == "dimensions",
        )
        if knob.named:
            tried = patched(source.values, knob.changes(knob.value + _TRY_UNITS))
            scale = farthest_mm(uses, tried) / float(_TRY_UNITS)
            if scale <= 0.0:
                continue  # nothing uses it
            if not notation.suffix and scale > _FACTOR * notation.mm_per_unit:
                knob = replace(knob, grids=factor_grids(scale))
            knob = replace(knob, mm_per_unit=scale)
        knobs.append(knob)
    return knobs


def farthest_mm(uses: WorkedOut, values: Mapping[str, object]) -> float:
    """How far the length moves that moves most when the dimensions are those of `values`."""
    return max(map(abs, uses.moved_mm(values).values()), default=0.0)


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

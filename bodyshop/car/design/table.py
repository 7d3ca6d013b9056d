"""One table of a design file, checked and resolved: lengths in mm, masses in g, angles in rad."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

from bodyshop.car.design.model import KeyPath
from bodyshop.car.design.schema import MAX_DIMENSIONS
from bodyshop.car.expressions import DimensionFault, Quantity, length_value, parse, resolve
from bodyshop.foundation.units import LengthUnit, QuantityError, length_from_number
from bodyshop.geometry.outlines import Point

__all__ = ["DesignTable", "Quantities"]


class Quantities:
    """Resolves lengths in one file's unit with its named dimensions.

    `faults` are those of the dimensions themselves. What rests on a faulty dimension has no value and no
    fault of its own.
    """

    def __init__(self, unit: LengthUnit, dimensions: Mapping[str, object]) -> None:
        self.unit = unit
        self.faults: list[DimensionFault] = []
        self._env: dict[str, Quantity] = {}
        self._lost: frozenset[str] = frozenset()
        if dimensions and len(dimensions) <= MAX_DIMENSIONS:
            self._env, self.faults = resolve(dimensions, unit)
        names = frozenset(unicodedata.normalize("NFC", name) for name in dimensions)
        self._lost = names - self._env.keys()

    def length(self, value: object) -> float | None:
        """A length in mm; None when it rests on a dimension that could not be resolved.

        Raises `QuantityError`.
        """
        if not isinstance(value, str):
            return length_from_number(value, self.unit)
        if self._lost and not self._lost.isdisjoint(self._names(value)):
            return None
        return length_value(value, self._env, self.unit)

    @staticmethod
    def _names(text: str) -> frozenset[str]:
        try:
            return parse(text).names
        except QuantityError:
            return frozenset()


class DesignTable:
    """One table of the file as read."""

    def __init__(
        self, path: KeyPath, given: frozenset[str], values: Mapping[str, object], *, faulty: bool = False
    ) -> None:
        self.path = path
        self.given = given
        self.faulty = faulty
        self._values = values

    def number(self, key: str) -> float | None:
        """A length in mm, a mass in g or an angle in rad."""
        value = self._values.get(key)
        return value if isinstance(value, float) else None

    def count(self, key: str) -> int | None:
        """A whole number."""
        value = self._values.get(key)
        return value if isinstance(value, int) else None

    def text(self, key: str) -> str | None:
        """A text or a name."""
        value = self._values.get(key)
        return value if isinstance(value, str) else None

    def flag(self, key: str) -> bool:
        """True only where the file says so."""
        return self._values.get(key) is True

    def says_no(self, key: str) -> bool:
        """True only where the file says `false`."""
        return self._values.get(key) is False

    def point(self, key: str) -> Point | None:
        """A point in mm."""
        found = self.points(key)
        return found[0] if len(found) == 1 else None

    def points(self, key: str) -> tuple[Point, ...]:
        """The points of a key that holds a fixed number of them."""
        value = self._values.get(key)
        return value if isinstance(value, tuple) else ()

    def table(self, key: str) -> DesignTable:
        """A table; one without keys when it is not there, and `faulty` when something else is."""
        value = self._values.get(key)
        if isinstance(value, DesignTable):
            return value
        return DesignTable((*self.path, key), frozenset(), {}, faulty=key in self.given)

    def has_table(self, key: str) -> bool:
        """A table stands there and was read."""
        return isinstance(self._values.get(key), DesignTable)

    def tables(self, key: str) -> list[DesignTable]:
        """The tables of a list."""
        value = self._values.get(key)
        return [t for t in value if isinstance(t, DesignTable)] if isinstance(value, list) else []

    def raw(self, key: str) -> list[object] | None:
        """A list as it stands in the file; None when there is none."""
        value = self._values.get(key)
        return value if isinstance(value, list) else None

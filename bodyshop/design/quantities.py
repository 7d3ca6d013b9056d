"""Lengths as a design file writes them: plain numbers, text with a unit, arithmetic on named dimensions."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

from bodyshop.design.keys import MAX_DIMENSIONS
from bodyshop.expressions import DimensionFault, Quantity, length_value, parse, resolve
from bodyshop.lengths import LengthUnit, QuantityError, length_from_number

__all__ = ["Quantities"]


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

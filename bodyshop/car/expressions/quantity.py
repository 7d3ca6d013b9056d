"""Quantities of an expression, the steps of its working, and its error."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from bodyshop.foundation.units import MAX_LENGTH_MM, LengthUnit, QuantityError

__all__ = ["BINDING", "FUNCTIONS", "ExpressionError", "Quantity", "WorkingStep", "as_length"]

BINDING: Final = {"+": 1, "-": 1, "*": 2, "/": 2}
FUNCTIONS: Final[Mapping[str, tuple[int, int | None]]] = {
    "min": (2, None),
    "max": (2, None),
    "abs": (1, 1),
    "sqrt": (1, 1),
    "sin": (1, 1),
    "cos": (1, 1),
    "tan": (1, 1),
}
"""The functions there are, and the least and most values each takes (None: any number)."""


class ExpressionError(QuantityError):
    """An expression that cannot be read or worked out; `start` and `end` say which part of it."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number and what kind of number it is.

    `power` is 1 for a length in mm, 2 for an area, 0 for a ratio, and None for a bare number or an
    angle in rad.
    """

    value: float
    power: int | None = 1
    angle: bool = False

    @property
    def kind(self) -> str:
        """The kind in words, with its article."""
        if self.angle:
            return "an angle"
        if self.power is None:
            return "a plain number"
        names = {0: "a ratio", 1: "a length", 2: "an area", 3: "a volume"}
        return names.get(self.power, f"a length to the power {self.power}")


@dataclass(frozen=True, slots=True)
class WorkingStep:
    """One step of the working, in the order of the stack: put a number or a name, or apply an operation.

    `start` and `end` are the offsets of the whole part of the text that the step stands for.
    """

    do: str
    start: int
    end: int
    quantity: Quantity | None = None
    count: int = 0


def as_length(quantity: Quantity, unit: LengthUnit) -> float:
    """The quantity as a length in mm; a bare number is in `unit`. Raises `ExpressionError`."""
    if quantity.power is None and not quantity.angle:
        length = quantity.value * unit.ratio[0] / unit.ratio[1]
    elif quantity.power == 1:
        length = quantity.value
    else:
        raise ExpressionError(
            "expression-kind", f"this comes to {quantity.kind}, not a length", expected=_remedy(quantity)
        )
    if abs(length) > MAX_LENGTH_MM:
        message = "this comes to more than any length here"
        raise ExpressionError("expression-range", message, expected=f"at most {MAX_LENGTH_MM / 1e6:g} km")
    return length + 0.0


def _remedy(quantity: Quantity) -> str:
    if quantity.angle:
        return "a length; sin, cos and tan turn an angle into a ratio"
    if quantity.power == 0:
        return "a length; a ratio times a length is one"
    if quantity.power == 2:
        return "a length; sqrt of an area is one"
    return "a length"

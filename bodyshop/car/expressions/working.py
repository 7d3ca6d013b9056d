"""Work out an expression that was read: kinds of quantity, and what goes together."""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Final

from bodyshop.car.expressions.quantity import BINDING, ExpressionError, Quantity, WorkingStep
from bodyshop.foundation.problems import nearest
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.units import LengthUnit

__all__ = ["Expression", "unknown_name"]

_MAX_POWER: Final = 6
_TURNS: Final[Mapping[str, Callable[[float], float]]] = {"sin": math.sin, "cos": math.cos, "tan": math.tan}
_DONE: Final = {"+": "added", "-": "subtracted", "min": "compared", "max": "compared"}
_RIGHT_ANGLE: Final = 1e-12


@dataclass(frozen=True, slots=True)
class Expression:
    """A text that was read: the names it needs, and its working."""

    text: str
    names: frozenset[str]
    _steps: tuple[WorkingStep, ...]

    def evaluate(self, env: Mapping[str, Quantity], unit: LengthUnit) -> Quantity:
        """Work it out with the dimensions of `env`; bare numbers beside lengths are in `unit`.

        Raises `ExpressionError` for an unknown name, kinds that do not go together, a division by
        zero, and what has no finite answer.
        """
        steps = self._steps
        if len(steps) == 1 and steps[0].quantity is not None:
            return steps[0].quantity
        working = _Working(self.text, env, unit)
        stack: list[Quantity] = []
        for step in steps:
            working.apply(step, stack)
        return stack[0]

    def name_places(self) -> Iterator[tuple[str, int, int]]:
        """Every name where it is used, with its offsets, in the order of the text."""
        for step in self._steps:
            if step.do == "name":
                yield self.text[step.start : step.end], step.start, step.end


class _Working:
    """Applies steps to a stack of quantities."""

    def __init__(self, text: str, env: Mapping[str, Quantity], unit: LengthUnit) -> None:
        self._text = text
        self._env = env
        self._unit = unit

    def apply(self, step: WorkingStep, stack: list[Quantity]) -> None:
        do = step.do
        if do == "number" and step.quantity is not None:
            stack.append(step.quantity)
            return
        if do == "name":
            stack.append(self._named(step))
            return
        if do in ("min", "max"):
            values = stack[-step.count :]
            del stack[-step.count :]
            result = self._least_or_most(step, values)
        elif do in BINDING:
            right = stack.pop()
            left = stack.pop()
            result = self._two(step, left, right)
        else:
            result = self._one(step, stack.pop())
        if not math.isfinite(result.value):
            raise self._error(step, "range", "this comes to more than any number here")
        stack.append(result)

    def _named(self, step: WorkingStep) -> Quantity:
        name = unicodedata.normalize("NFC", self._text[step.start : step.end])
        found = self._env.get(name)
        if found is None:
            raise unknown_name(name, self._env, step.start, step.end)
        return found

    def _two(self, step: WorkingStep, left: Quantity, right: Quantity) -> Quantity:
        if step.do in ("+", "-"):
            left, right = self._alike(step, [left, right])
            value = left.value + right.value if step.do == "+" else left.value - right.value
            return Quantity(value, left.power, left.angle)
        if step.do == "*":
            return self._product(step, left, right)
        return self._quotient(step, left, right)

    def _product(self, step: WorkingStep, left: Quantity, right: Quantity) -> Quantity:
        value = left.value * right.value
        if left.angle or right.angle:
            other = right if left.angle else left
            if other.angle or other.power not in (None, 0):
                raise self._error(
                    step,
                    "kind",
                    f"{left.kind} and {right.kind} cannot be multiplied",
                    "sin, cos or tan of the angle",
                )
            return Quantity(value, None, angle=True)
        if left.power is None or right.power is None:
            # A bare number times a ratio is still bare: `run * tan(4 deg)` counts in file units.
            return Quantity(value, (right.power if left.power is None else left.power) or None)
        return Quantity(value, self._power(step, left.power + right.power))

    def _quotient(self, step: WorkingStep, left: Quantity, right: Quantity) -> Quantity:
        if right.value == 0:
            raise self._error(step, "zero", "this divides by zero", "something other than 0 below the /")
        value = left.value / right.value
        if right.angle and left.angle:
            return Quantity(value, 0)
        if right.angle or (left.angle and right.power not in (None, 0)):
            message = f"{left.kind} cannot be divided by {right.kind}"
            raise self._error(step, "kind", message, "sin, cos or tan of the angle")
        if left.angle:
            return Quantity(value, None, angle=True)
        if right.power is None:
            return Quantity(value, left.power)
        if left.power is None and right.power == 0:
            return Quantity(value, None)
        return Quantity(value, self._power(step, (left.power or 0) - right.power))

    def _power(self, step: WorkingStep, power: int) -> int:
        if abs(power) > _MAX_POWER:
            raise self._error(
                step, "kind", "too many lengths are multiplied here", "an area or a volume at most"
            )
        return power

    def _alike(self, step: WorkingStep, values: list[Quantity]) -> list[Quantity]:
        """The same values, all of one kind; a bare one counts in the unit of the file."""
        first = next((value for value in values if value.angle or value.power is not None), None)
        if first is None:
            return values
        alike: list[Quantity] = []
        for value in values:
            if value.power is None and not value.angle and not first.angle:
                scale = self._unit.mm ** (first.power or 0)
                alike.append(Quantity(value.value * scale, first.power))
            elif value.angle == first.angle and value.power == first.power:
                alike.append(value)
            else:
                bare = value.power is None and not value.angle
                raise self._error(
                    step,
                    "kind",
                    f"{first.kind} and {value.kind} cannot be {_DONE[step.do]}",
                    "an angle said with deg, such as 5 deg" if bare else "two of one kind",
                )
        return alike

    def _least_or_most(self, step: WorkingStep, values: list[Quantity]) -> Quantity:
        alike = self._alike(step, values)
        choose = min if step.do == "min" else max
        return choose(alike, key=lambda quantity: quantity.value)

    def _one(self, step: WorkingStep, of: Quantity) -> Quantity:
        if step.do == "negate":
            return Quantity(0.0 - of.value, of.power, of.angle)
        if step.do == "abs":
            return Quantity(abs(of.value), of.power, of.angle)
        if step.do == "sqrt":
            return self._root(step, of)
        return self._turn(step, of)

    def _root(self, step: WorkingStep, of: Quantity) -> Quantity:
        if of.angle or (of.power is not None and of.power % 2):
            raise self._error(step, "kind", f"sqrt of {of.kind} has no meaning", "an area or a plain number")
        if of.value < 0:
            raise self._error(step, "negative", "sqrt of something below zero has no value", "0 or more")
        return Quantity(math.sqrt(of.value), None if of.power is None else of.power // 2)

    def _turn(self, step: WorkingStep, of: Quantity) -> Quantity:
        if not of.angle:
            bare = of.power is None
            example = f"{step.do}({of.value:g} deg)" if bare else f"{step.do}(30 deg)"
            message = f"{step.do} needs an angle, and this is {of.kind}"
            raise self._error(step, "kind", message, f"an angle said with deg, such as {example}")
        if step.do == "tan" and abs(math.cos(of.value)) < _RIGHT_ANGLE:
            raise self._error(step, "range", "tan of a right angle has no value", "less than 90 deg")
        return Quantity(_TURNS[step.do](of.value), 0)

    def _error(self, step: WorkingStep, code: str, message: str, expected: str = "") -> ExpressionError:
        return ExpressionError(
            f"expression-{code}",
            message,
            start=step.start,
            end=step.end,
            found=shortened(self._text[step.start : step.end]),
            expected=expected,
        )


def unknown_name(name: str, known: Mapping[str, object], start: int, end: int) -> ExpressionError:
    """The error for a name that stands for nothing."""
    shown = shortened(name)
    some = ", ".join(list(known)[:6]) + (", ..." if len(known) > 6 else "")
    return ExpressionError(
        "expression-name",
        f'there is no dimension called "{shown}"',
        start=start,
        end=end,
        found=shown,
        expected=f"one of {some}" if known else "a number, as no dimensions are named",
        nearest=nearest(name, known),
    )

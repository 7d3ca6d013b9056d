"""Named dimensions in any order: what each comes to, and every fault among them at once."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from bodyshop.car.expressions.quantity import FUNCTIONS, ExpressionError, Quantity
from bodyshop.car.expressions.reading import parse
from bodyshop.car.expressions.working import Expression, unknown_name
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.units import LengthUnit, QuantityError, is_unit_word, length_from_number

__all__ = ["DimensionFault", "name_fault", "resolve"]


@dataclass(frozen=True, slots=True)
class DimensionFault:
    """A named dimension that has no value, and why.

    `at_key` says that the name itself is at fault, not its value. `cycle` names the dimensions that
    wait for each other, in order, the first one again at the end.
    """

    name: str
    error: QuantityError
    at_key: bool = False
    cycle: tuple[str, ...] = ()


def name_fault(name: str) -> QuantityError | None:
    """Why a word cannot name a dimension; None when it can."""
    shown = shortened(name)
    why = expected = close = ""
    if name in FUNCTIONS:
        why, expected = f'"{shown}" is the name of a function', f"another name, such as {name}_height"
    elif is_unit_word(name):
        why, expected = f'"{shown}" is the name of a unit', f"another name, such as {name}_length"
    elif not name.isidentifier():
        why, expected = f'"{shown}" cannot name a dimension', "letters, digits and _, and no digit first"
        joined = "_".join("".join(c if c == "_" or c.isalnum() else " " for c in name).split())
        close = joined if joined.isidentifier() and len(joined) <= 40 else ""
    if not why:
        return None
    return QuantityError("dimension-name", why, end=len(name), found=shown, expected=expected, nearest=close)


def resolve(
    dimensions: Mapping[str, object], unit: LengthUnit
) -> tuple[dict[str, Quantity], list[DimensionFault]]:
    """Work out named dimensions, given in any order.

    Returns the quantities by name (composed letters, Unicode NFC) and every fault, in the order given:
    values that cannot be read, names that stand for nothing, circles, kinds that do not go together. A
    dimension that only depends on a faulty one is left out without a fault of its own.
    """
    return _Resolving(dimensions, unit).run()


class _Resolving:
    def __init__(self, dimensions: Mapping[str, object], unit: LengthUnit) -> None:
        self._unit = unit
        self._values: dict[str, Quantity] = {}
        self._faults: dict[str, list[DimensionFault]] = {key: [] for key in dimensions}
        self._read: dict[str, Expression] = {}
        self._keys: dict[str, str] = {}
        self._done: set[str] = set()
        self._dimensions = dimensions

    def run(self) -> tuple[dict[str, Quantity], list[DimensionFault]]:
        for key, given in self._dimensions.items():
            self._take(key, given)
        for name, expression in self._read.items():
            self._look_for_unknown(name, expression)
        for name in self._read:
            self._settle(name)
        values = {name: self._values[name] for name in self._keys if name in self._values}
        return values, [fault for faults in self._faults.values() for fault in faults]

    def _take(self, key: str, given: object) -> None:
        """Check the name, and read the value or put it down at once when it is a number."""
        name = unicodedata.normalize("NFC", key)
        fault = name_fault(name)
        if fault is None and name in self._keys:
            fault = QuantityError("dimension-name", f'"{name}" is given twice', end=len(key), found=name)
        if fault is not None:
            self._faults[key].append(DimensionFault(key, fault, at_key=True))
        self._keys.setdefault(name, key)
        try:
            if isinstance(given, str):
                self._read.setdefault(name, parse(given))
            else:
                length_from_number(given, LengthUnit.MM)
                self._values.setdefault(name, Quantity(float(given), None))  # type: ignore[arg-type]
        except QuantityError as error:
            self._faults[key].append(DimensionFault(key, error))

    def _look_for_unknown(self, name: str, expression: Expression) -> None:
        seen: set[str] = set()
        for used, start, end in expression.name_places():
            used_name = unicodedata.normalize("NFC", used)
            if used_name not in self._keys and used_name not in seen:
                seen.add(used_name)
                others = {other: None for other in self._keys if other != name}
                error = unknown_name(used_name, others, start, end)
                self._fault(name, error)

    def _fault(self, name: str, error: QuantityError, cycle: tuple[str, ...] = ()) -> None:
        key = self._keys[name]
        self._faults[key].append(DimensionFault(key, error, cycle=cycle))

    def _settle(self, first: str) -> None:
        """Work out `first` and what it needs, deepest first, without recursion."""
        path: dict[str, Iterator[str]] = {}
        self._enter(first, path)
        while path:
            name, needed = next(reversed(path.items()))
            for other in needed:
                if other in path:
                    self._circle(list(path), other)
                elif other in self._read:
                    self._enter(other, path)
                    break
            else:
                del path[name]
                self._work_out(name)

    def _enter(self, name: str, path: dict[str, Iterator[str]]) -> None:
        if name not in self._values and name not in self._done:
            self._done.add(name)
            expression = self._read[name]
            needed = [unicodedata.normalize("NFC", used) for used, _, _ in expression.name_places()]
            path[name] = iter(dict.fromkeys(needed))

    def _work_out(self, name: str) -> None:
        expression = self._read[name]
        if self._faults[self._keys[name]] or any(used not in self._values for used in expression.names):
            return
        try:
            self._values[name] = expression.evaluate(self._values, self._unit)
        except ExpressionError as error:
            self._fault(name, error)

    def _circle(self, path: list[str], back_to: str) -> None:
        """Report a circle once, at the member that the file gives first."""
        members = path[path.index(back_to) :]
        order = list(self._keys)
        turn = members.index(min(members, key=order.index))
        members = members[turn:] + members[:turn]
        circle = (*members, members[0])
        first, following = circle[0], circle[1]
        start, end = next(
            (start, end)
            for used, start, end in self._read[first].name_places()
            if unicodedata.normalize("NFC", used) == following
        )
        shown = " -> ".join(circle if len(circle) <= 8 else (*circle[:4], "...", *circle[-3:]))
        message = (
            f'"{first}" depends on itself' if len(members) == 1 else f'"{first}" waits for itself: {shown}'
        )
        error = ExpressionError(
            "dimension-circle",
            message,
            start=start,
            end=end,
            found=following,
            expected="one of them as a number",
        )
        self._fault(first, error, circle)

"""One table of a rulebook file, asked key by key; whatever is wrong becomes a placed problem.

A *cell* is one value with the file and the key it stands at. Cells of several files may be laid over
each other before they are asked: each problem still points at its own file.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Protocol, TypeVar

from bodyshop.foundation.problems import Problem, Severity, Span, nearest
from bodyshop.foundation.text.values import is_number, kind_of_value, quoted, quoted_words, shortened, shown
from bodyshop.foundation.toml import KeyPath, Source
from bodyshop.foundation.units import LengthUnit, QuantityError
from bodyshop.rules.rulebook.model import RulebookPlace

__all__ = ["PlacedValue", "RulebookTable", "ProblemList"]

Word = TypeVar("Word", bound=Enum)
_LONGEST_TEXT = 2000
_MOST_TEXTS = 50


class ProblemList(Protocol):
    """Where problems are gathered."""

    def append(self, problem: Problem, /) -> None:
        """Add one."""


@dataclass(frozen=True, slots=True)
class PlacedValue:
    """A value, where it stands, and the unit of its file's plain lengths."""

    value: object
    source: Source
    path: KeyPath
    unit: LengthUnit

    @property
    def spot(self) -> RulebookPlace:
        """Where it stands."""
        return RulebookPlace(self.source, self.path)

    def problem(
        self,
        code: str,
        message: str,
        *,
        at_key: bool = False,
        found: str = "",
        expected: str = "",
        near: str = "",
        severity: Severity = Severity.ERROR,
        related: tuple[tuple[str, Span], ...] = (),
    ) -> Problem:
        """A problem at this value, or at its key."""
        return self.source.problem(
            self.path,
            code,
            message,
            at_key=at_key,
            found=found,
            expected=expected,
            nearest=near,
            severity=severity,
            related=related,
        )

    def quantity_problem(self, error: QuantityError) -> Problem:
        """The problem that a quantity could not be read, at the very part of the text."""
        return self.source.quantity_problem(self.path, error)


class RulebookTable:
    """A table. Each getter notes a problem and returns a stand-in when a value is missing or wrong.

    `home` is where the table itself stands, for what is missing from it.
    """

    def __init__(self, home: PlacedValue, cells: Mapping[str, PlacedValue], problems: ProblemList) -> None:
        self.home = home
        self.cells = cells
        self.problems = problems

    @classmethod
    def of(cls, cell: PlacedValue, known: Iterable[str], problems: ProblemList, what: str) -> RulebookTable:
        """The form for a table's value; keys that are not `known` are noted and left out.

        `what` names the table in messages: "a rule", "[kit]".
        """
        if not isinstance(cell.value, dict):
            problems.append(
                cell.problem(
                    "rulebook-type",
                    f"{what} is {kind_of_value(cell.value)}",
                    found=shown(cell.value),
                    expected="a table",
                )
            )
            return cls(cell, {}, problems)
        known = tuple(known)
        cells: dict[str, PlacedValue] = {}
        for key, value in cell.value.items():
            inner = PlacedValue(value, cell.source, (*cell.path, key), cell.unit)
            if key in known:
                cells[key] = inner
                continue
            problems.append(
                inner.problem(
                    "rulebook-key",
                    f'{what} has no key "{shortened(key)}"',
                    at_key=True,
                    found=shortened(key),
                    expected="" if nearest(key, known) else "one of " + ", ".join(known),
                    near=nearest(key, known),
                )
            )
        return cls(cell, cells, problems)

    def has(self, key: str) -> bool:
        """Whether the table says anything under `key`."""
        return key in self.cells

    def cell(self, key: str) -> PlacedValue | None:
        """The cell under `key`."""
        return self.cells.get(key)

    def require(self, key: str, what: str, expected: str) -> PlacedValue | None:
        """The cell under `key`; a problem at the table where there is none."""
        cell = self.cells.get(key)
        if cell is None:
            message = f"{what} needs {key}"
            self.problems.append(self.home.problem("rulebook-missing-key", message, expected=expected))
        return cell

    def text(self, key: str, default: str = "") -> str:
        """A text with something in it, without the space around it and on one line."""
        cell = self.cells.get(key)
        return default if cell is None else self.text_of(cell, key, default)

    def text_of(self, cell: PlacedValue, key: str, default: str = "") -> str:
        """The text that a cell holds."""
        value = cell.value
        if not isinstance(value, str):
            expected = f'text in quotes, such as {key} = "{shown(value)}"' if is_number(value) else "text"
            self.wrong(cell, key, expected)
            return default
        words = " ".join(value.split())
        if not words:
            self.note(cell.problem("rulebook-type", f"{key} is empty", expected="text"))
            return default
        if len(words) > _LONGEST_TEXT or not words.isprintable():
            what = "too long" if words.isprintable() else "not plain text"
            expected = f"at most {_LONGEST_TEXT} plain characters"
            self.note(cell.problem("rulebook-text", f"{key} is {what}", expected=expected))
            return default
        return words

    def word(self, key: str, kind: type[Word], default: Word) -> Word:
        """A member of a closed list of words."""
        cell = self.cells.get(key)
        return default if cell is None else self.word_of(cell, key, kind, default)

    def word_of(self, cell: PlacedValue, key: str, kind: type[Word], default: Word) -> Word:
        """The member of a closed list of words that a cell names."""
        choices = {str(member.value): member for member in kind}
        if isinstance(cell.value, str) and cell.value in choices:
            return choices[cell.value]
        word = cell.value if isinstance(cell.value, str) else ""
        self.note(
            cell.problem(
                "rulebook-word",
                f"{key} is {quoted(cell.value)}",
                found=shown(cell.value),
                expected=quoted_words(choices),
                near=nearest(word, choices),
            )
        )
        return default

    def number(self, key: str, low: float, high: float, default: float) -> float:
        """A plain number from `low` to `high`, both included."""
        cell = self.cells.get(key)
        if cell is None:
            return default
        value = cell.value
        # To Python a truth value is a whole number; in a file it is a slip.
        if isinstance(value, bool) or not isinstance(value, int | float):
            self.wrong(cell, key, "a number")
            return default
        # Compared before it becomes a float: a whole number may be too long for one.
        if not (isinstance(value, int) or math.isfinite(value)) or not low <= value <= high:
            message = f"{key} is {shown(value)}"
            expected = f"from {low:g} to {high:g}"
            self.note(cell.problem("rulebook-range", message, found=shown(value), expected=expected))
            return default
        return float(value)

    def whole(self, key: str, low: int, high: int, default: int) -> int:
        """A whole number from `low` to `high`, both included."""
        cell = self.cells.get(key)
        if cell is not None and (isinstance(cell.value, bool) or not isinstance(cell.value, int)):
            self.wrong(cell, key, "a whole number")
            return default
        return int(self.number(key, low, high, default))

    def flag(self, key: str) -> bool:
        """True or false; false where nothing is said."""
        cell = self.cells.get(key)
        if cell is None:
            return False
        if not isinstance(cell.value, bool):
            self.wrong(cell, key, "true or false")
            return False
        return cell.value

    def texts(self, key: str) -> tuple[PlacedValue, ...]:
        """A text or a list of different texts, each as a cell."""
        cell = self.cells.get(key)
        if cell is None:
            return ()
        if isinstance(cell.value, str):
            return (cell,)
        if not isinstance(cell.value, list) or not 0 < len(cell.value) <= _MOST_TEXTS:
            self.wrong(cell, key, f"text, or a list of 1 to {_MOST_TEXTS} texts")
            return ()
        found: list[PlacedValue] = []
        for number, value in enumerate(cell.value):
            inner = PlacedValue(value, cell.source, (*cell.path, number), cell.unit)
            if not isinstance(value, str):
                self.wrong(inner, key, "text")
            elif value in [other.value for other in found]:
                self.note(inner.problem("rulebook-repeated", f'"{shortened(value)}" stands here twice'))
            else:
                found.append(inner)
        return tuple(found)

    def wrong(self, cell: PlacedValue, key: str, expected: str) -> None:
        """Note that a value is not of the sort it should be."""
        message = f"{key} is {kind_of_value(cell.value)}"
        self.note(cell.problem("rulebook-type", message, found=shown(cell.value), expected=expected))

    def note(self, problem: Problem) -> None:
        """Note a problem."""
        self.problems.append(problem)

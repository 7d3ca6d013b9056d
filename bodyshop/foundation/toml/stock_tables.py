"""Reads a file of stock tables strictly: every key known, every value of its type and inside its bounds.

A damaged table is the user's to mend (a teacher may have added a wood), so each fault is a placed
`Problem`, and all of them are listed at once.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import Protocol, TypeVar

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.toml import KeyPath, Source, read_source

__all__ = ["GRAMS_PER_MM3", "ID", "Confidence", "StockRow", "StockItem", "StockTable", "by_id", "read_rows"]

GRAMS_PER_MM3 = 1e-6
"""g/mm³ in one kg/m³: the tables print densities in kg/m³, as handbooks do."""

ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")
"""What an item can be called: small letters, digits and single hyphens."""


class Confidence(Enum):
    """How well a figure is known."""

    READ = "R"
    """Read in the source named."""
    SECOND_HAND = "R2"
    """Read in someone's transcription of the source named."""
    COMPUTED = "C"
    """Computed from figures that were read; the note says how."""
    MEMORY = "M"
    """From memory, not seen: check before relying on it."""
    PRACTICE = "P"
    """Common practice, no published source."""
    INVENTED = "I"
    """Invented for the demo scenario."""


class StockItem(Protocol):
    """Anything a design can name in a table of stock."""

    @property
    def id(self) -> str:
        """The word that a design uses for it."""


Word = TypeVar("Word", bound=Enum)
Item = TypeVar("Item", bound=StockItem)
Made = TypeVar("Made")


class StockRow:
    """One row. Each getter notes a problem and returns a stand-in when the value is missing or wrong."""

    def __init__(self, source: Source, path: KeyPath, values: Mapping[str, object]) -> None:
        self._source = source
        self._path = path
        self._values = values
        self._asked: list[str] = []
        self.problems: list[Problem] = []

    def id(self) -> str:
        """The row's own name: small letters, digits and single hyphens."""
        word = self.text("id")
        if word and not ID.fullmatch(word):
            self._wrong("id", word, "small letters, digits and single hyphens")
        return word

    def text(self, key: str, default: str | None = None) -> str:
        """A text with something in it, or `default` where the row may leave it out."""
        value = self._get(key, required=default is None)
        if value is None:
            return default or ""
        if not isinstance(value, str) or not value.strip():
            self._wrong(key, value, "a text")
            return ""
        return value

    def number(self, key: str, low: float, high: float) -> float:
        """A finite number from `low` to `high`, both included."""
        value = self._get(key, required=True)
        return low if value is None else self._number(key, value, low, high)

    def optional_number(self, key: str, low: float, high: float) -> float | None:
        """The same as `number`, or None where the row leaves it out."""
        value = self._get(key, required=False)
        return None if value is None else self._number(key, value, low, high)

    def word(self, key: str, kind: type[Word]) -> Word:
        """A member of a closed list of words."""
        return self.one_of(key, {str(member.value): member for member in kind})

    def words(self, key: str, kind: type[Word]) -> tuple[Word, ...]:
        """One or more different members of a closed list of words, as an array."""
        choices = {str(member.value): member for member in kind}
        value = self._get(key, required=True)
        chosen: list[Word] = []
        if isinstance(value, list) and value:
            for word in value:
                if not isinstance(word, str) or word not in choices:
                    self._wrong(key, word, "one of " + ", ".join(choices), nearest(str(word), choices))
                elif choices[word] in chosen:
                    self._wrong(key, word, "each word once")
                else:
                    chosen.append(choices[word])
        elif value is not None:
            self._wrong(key, value, "an array of words")
        return tuple(chosen)

    def one_of(self, key: str, choices: Mapping[str, Made]) -> Made:
        """The entry of `choices`, of which there is at least one, that the row names."""
        value = self._get(key, required=True)
        if isinstance(value, str) and value in choices:
            return choices[value]
        if value is not None:
            self._wrong(key, value, "one of " + ", ".join(choices), nearest(str(value), choices))
        return next(iter(choices.values()))

    def disagree(self, key: str, message: str, expected: str = "") -> None:
        """Note that the values of the row do not go together, at `key`."""
        found = str(self._values.get(key, ""))
        self._note(key, "stock-disagree", message, found=found, expected=expected)

    def close(self, seen: set[str]) -> None:
        """Note every key that no getter asked for, and an id that is in `seen` already."""
        for key in self._values:
            if key not in self._asked:
                near = nearest(key, self._asked)
                problem = self._source.problem(
                    (*self._path, key),
                    "stock-unknown-key",
                    f'unknown key "{key}"',
                    at_key=True,
                    found=key,
                    nearest=near,
                )
                self.problems.append(problem)
        word = self._values.get("id")
        if isinstance(word, str):
            if word in seen:
                self._note("id", "stock-repeated", f'"{word}" is in the table twice', found=word)
            seen.add(word)

    def _get(self, key: str, *, required: bool) -> object:
        self._asked.append(key)
        value = self._values.get(key)
        if value is None and required:
            self._note(key, "stock-missing-key", f"{key} is missing")
        return value

    def _number(self, key: str, value: object, low: float, high: float) -> float:
        # To Python a boolean is a whole number; in a table it is a slip.
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self._wrong(key, value, "a number")
            return low
        # Compared as it stands: a whole number may be too long for a float.
        if (isinstance(value, float) and not math.isfinite(value)) or not low <= value <= high:
            expected = f"from {low:g} to {high:g}"
            self._note(key, "stock-range", f"{key} is {value}", found=str(value), expected=expected)
            return low
        return float(value)

    def _wrong(self, key: str, value: object, expected: str, near: str = "") -> None:
        shown = f'"{value}"' if isinstance(value, str) else str(value)
        message = f"{key} is {shown}"
        self._note(key, "stock-value", message, found=str(value), expected=expected, near=near)

    def _note(
        self, key: str, code: str, message: str, *, found: str = "", expected: str = "", near: str = ""
    ) -> None:
        path = (*self._path, key)
        self.problems.append(
            self._source.problem(path, code, message, found=found, expected=expected, nearest=near)
        )


class StockTable:
    """A TOML file of arrays of tables. Ask for `rows` of each array in turn, then `close`."""

    def __init__(self, file: Path) -> None:
        """Open `file`.

        Raises:
            ProblemsError: the file cannot be read, or is not TOML in UTF-8.
        """
        self._source = read_source(file)
        self._asked: list[str] = []
        self._problems: list[Problem] = []

    def rows(self, name: str, maker: Callable[[StockRow], Made]) -> Sequence[Made]:
        """What `maker` makes of each `[[name]]`, in the order of the file; at least one.

        Raises:
            ProblemsError: there is no such table.
        """
        self._asked.append(name)
        value = self._source.values.get(name)
        if not isinstance(value, list) or not value or not all(isinstance(row, dict) for row in value):
            message = f"there is no table [[{name}]]"
            self._problems.append(self._source.problem((name,), "stock-missing-table", message))
            raise ProblemsError(self._problems)
        made: list[Made] = []
        seen: set[str] = set()
        for index, values in enumerate(value):
            row = StockRow(self._source, (name, index), values)
            made.append(maker(row))
            row.close(seen)
            self._problems.extend(row.problems)
        return made

    def close(self) -> None:
        """Look for tables that were not asked for.

        Raises:
            ProblemsError: there is one, or a row was not good.
        """
        for name in self._source.values:
            if name not in self._asked:
                message, near = f'unknown table "{name}"', nearest(name, self._asked)
                problem = self._source.problem(
                    (name,), "stock-unknown-table", message, at_key=True, found=name, nearest=near
                )
                self._problems.append(problem)
        if self._problems:
            raise ProblemsError(self._problems)


def read_rows(file: Path, makers: Mapping[str, Callable[[StockRow], Made]]) -> dict[str, Sequence[Made]]:
    """The rows of a file whose tables have nothing to do with each other, by the name of the table.

    Raises:
        ProblemsError: the file is not a good one.
    """
    table = StockTable(file)
    made = {name: table.rows(name, maker) for name, maker in makers.items()}
    table.close()
    return made


def by_id(items: Iterable[Item]) -> Mapping[str, Item]:
    """The items by their ids, in their order, for reading only."""
    return MappingProxyType({item.id: item for item in items})

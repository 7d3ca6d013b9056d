"""Reads a file of stock tables strictly: every key known, every value of its type and inside its bounds.

A damaged table is the user's to mend (a teacher may have added a wood), so each fault is a placed
`Problem`, and all of them are listed at once.
"""

from __future__ import annotations

import math
import re
import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import Protocol, TypeVar

from bodyshop.problems import Problem, ProblemsError, Span, nearest

__all__ = ["GRAMS_PER_MM3", "Confidence", "Row", "StockItem", "Table", "by_id", "read_rows"]

GRAMS_PER_MM3 = 1e-6
"""g/mm³ in one kg/m³: the tables print densities in kg/m³, as handbooks do."""

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


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


class Row:
    """One row. Each getter notes a problem and returns a stand-in when the value is missing or wrong."""

    def __init__(self, file: Path, table: str, index: int, values: Mapping[str, object]) -> None:
        self._file = file
        self._table = table
        self._index = index
        self._values = values
        self._asked: list[str] = []
        self.problems: list[Problem] = []

    def id(self) -> str:
        """The row's own name: small letters, digits and single hyphens."""
        word = self.text("id")
        if word and not _ID.fullmatch(word):
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
        value = self._get(key, required=True)
        choices = {str(member.value): member for member in kind}
        if value is None:
            return tuple(choices.values())[:1]
        if not isinstance(value, list) or not value or len(set(map(str, value))) != len(value):
            self._wrong(key, value, "an array of different words")
            return tuple(choices.values())[:1]
        for word in value:
            if not isinstance(word, str) or word not in choices:
                self._wrong(key, word, "one of " + ", ".join(choices), nearest(str(word), choices))
        return tuple(choices[word] for word in value if isinstance(word, str) and word in choices)

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
        self.problems.append(self._problem("stock-disagree", message, key, self._values.get(key), expected))

    def close(self, seen: set[str]) -> None:
        """Note every key that no getter asked for, and an id that is in `seen` already."""
        for key in self._values:
            if key not in self._asked:
                message, near = f'unknown key "{key}"', nearest(key, self._asked)
                self.problems.append(self._problem("stock-unknown-key", message, key, key, near=near))
        word = self._values.get("id")
        if isinstance(word, str):
            if word in seen:
                message = f'"{word}" is in the table twice'
                self.problems.append(self._problem("stock-repeated", message, "id", word))
            seen.add(word)

    def _get(self, key: str, *, required: bool) -> object:
        self._asked.append(key)
        value = self._values.get(key)
        if value is None and required:
            self.problems.append(self._problem("stock-missing-key", f"{key} is missing", key, None))
        return value

    def _number(self, key: str, value: object, low: float, high: float) -> float:
        # To Python a boolean is a whole number; in a table it is a slip.
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self._wrong(key, value, "a number")
            return low
        # Compared before it becomes a float: a whole number may be too long for one.
        if not (math.isfinite(value) if isinstance(value, float) else True) or not low <= value <= high:
            expected = f"from {low:g} to {high:g}"
            self.problems.append(self._problem("stock-range", f"{key} is {value}", key, value, expected))
            return low
        return float(value)

    def _wrong(self, key: str, value: object, expected: str, near: str = "") -> None:
        shown = f'"{value}"' if isinstance(value, str) else str(value)
        self.problems.append(self._problem("stock-value", f"{key} is {shown}", key, value, expected, near))

    def _problem(
        self, code: str, message: str, key: str, found: object, expected: str = "", near: str = ""
    ) -> Problem:
        return Problem(
            code=code,
            message=message,
            file=self._file.name,
            span=_span(self._file, (self._table, self._index, key)),
            key=f"{self._table}[{self._index}].{key}",
            found="" if found is None else str(found),
            expected=expected,
            nearest=near,
        )


class Table:
    """A TOML file of arrays of tables. Ask for `rows` of each array in turn, then `close`."""

    def __init__(self, file: Path) -> None:
        """Open `file`.

        Raises:
            ProblemsError: the file cannot be read, or is not TOML in UTF-8.
        """
        self._file = file
        self._values = _values(file)
        self._asked: list[str] = []
        self._problems: list[Problem] = []

    def rows(self, name: str, maker: Callable[[Row], Made]) -> Sequence[Made]:
        """What `maker` makes of each `[[name]]`, in the order of the file; at least one.

        Raises:
            ProblemsError: there is no such table.
        """
        self._asked.append(name)
        value = self._values.get(name)
        if not isinstance(value, list) or not value or not all(isinstance(row, dict) for row in value):
            message = f"no table [[{name}]]"
            self._problems.append(Problem("stock-missing-table", message, self._file.name, key=name))
            raise ProblemsError(self._problems)
        made: list[Made] = []
        seen: set[str] = set()
        for index, values in enumerate(value):
            row = Row(self._file, name, index, values)
            made.append(maker(row))
            row.close(seen)
            self._problems.extend(row.problems)
        return made

    def close(self) -> None:
        """Look for tables that were not asked for.

        Raises:
            ProblemsError: there is one, or a row was not good.
        """
        for name in self._values:
            if name not in self._asked:
                self._problems.append(
                    Problem(
                        code="stock-unknown-table",
                        message=f'unknown table "{name}"',
                        file=self._file.name,
                        span=_span(self._file, (name,)),
                        key=name,
                        found=name,
                        nearest=nearest(name, self._asked),
                    )
                )
        if self._problems:
            raise ProblemsError(self._problems)


def read_rows(file: Path, makers: Mapping[str, Callable[[Row], Made]]) -> dict[str, Sequence[Made]]:
    """The rows of a file whose tables have nothing to do with each other, by the name of the table.

    Raises:
        ProblemsError: the file is not a good one.
    """
    table = Table(file)
    made = {name: table.rows(name, maker) for name, maker in makers.items()}
    table.close()
    return made


def by_id(items: Iterable[Item]) -> Mapping[str, Item]:
    """The items by their ids, in their order, for reading only."""
    return MappingProxyType({item.id: item for item in items})


def _values(file: Path) -> dict[str, object]:
    try:
        return tomllib.loads(file.read_bytes().decode("utf-8-sig"))
    except OSError as error:
        message = f"cannot be read: {error.strerror or error}"
        raise ProblemsError([Problem("stock-unreadable", message, file.name)]) from error
    except UnicodeDecodeError as error:
        raise ProblemsError([Problem("stock-unreadable", "is not UTF-8 text", file.name)]) from error
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        raise ProblemsError([Problem("stock-syntax", f"is not TOML: {error}", file.name)]) from error


def _span(file: Path, path: tuple[str | int, ...]) -> Span | None:
    # Only a damaged table needs places, so the parser that finds them is loaded only then.
    del file, path
    return None

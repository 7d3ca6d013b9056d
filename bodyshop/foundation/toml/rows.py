"""Reads declared tables (`declared`) strictly: every key known, every value of its kind and in its bounds.

A damaged table is the user's to mend (a teacher may have added a wood), so each fault is a placed `Problem`,
and all of them are listed at once. What the fields of a table do not say, that its values go together, its
method `disagreements` may say: it yields a key, a message, and what was expected.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import Any, Protocol, TypeVar

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.foundation.text.values import is_number, quoted, shown
from bodyshop.foundation.toml import KeyPath, Source, read_source
from bodyshop.foundation.toml.declared import ID, ColumnKind, TomlColumn, columns_of

__all__ = [
    "GRAMS_PER_MM3",
    "Confidence",
    "Disagreements",
    "StockItem",
    "TomlRow",
    "by_id",
    "made_of",
    "read_named_rows",
    "read_named_tables",
    "read_row",
    "read_rows",
    "read_tables",
]

GRAMS_PER_MM3 = 1e-6
"""g/mm³ in one kg/m³: the tables print densities in kg/m³, as handbooks do."""

Disagreements = Iterator[tuple[str, str, str]]
"""Values that do not go together: the key, a message, what was expected."""


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
Tables = Mapping[str, Sequence[Any]]


class TomlRow:
    """One table of a file. A getter notes what is wrong with a value, and returns a stand-in for it."""

    def __init__(self, source: Source, path: KeyPath, values: Mapping[str, object]) -> None:
        self._source = source
        self._path = path
        self._values = values
        self.problems: list[Problem] = []

    def id(self) -> str:
        """The row's own name: small letters, digits and single hyphens."""
        word = self.text("id")
        if word and not ID.fullmatch(word):
            self._wrong("id", word, ColumnKind.ID.value.removeprefix("a name of "))
        return word

    def text(self, key: str, *, empty: bool = False) -> str:
        """A text, with something in it unless it may be `empty`."""
        value = self.value(key)
        if isinstance(value, str) and (empty or value.strip()):
            return value
        if value is not None:
            self._wrong(key, value, "a text")
        return ""

    def flag(self, key: str) -> bool:
        """True or false."""
        value = self.value(key)
        if value is not None and not isinstance(value, bool):
            self._wrong(key, value, "true or false")
        return value is True

    def number(self, key: str, low: float, high: float) -> float:
        """A finite number from `low` to `high`, both included."""
        value = self.value(key)
        return low if value is None else self._number(key, value, low, high)

    def whole(self, key: str, low: float, high: float) -> int:
        """A whole number."""
        value = self.value(key)
        if isinstance(value, int) or value is None:
            return round(max(min(self.number(key, low, high), 1e9), -1e9)) if value is not None else 0
        self._wrong(key, value, "a whole number")
        return 0

    def word(self, key: str, kind: type[Word]) -> Word:
        """A member of a closed list of words."""
        return self.one_of(key, {str(member.value): member for member in kind})

    def one_of(self, key: str, choices: Mapping[str, Made]) -> Made:
        """The entry of `choices`, of which there is at least one, that the row names."""
        value = self.value(key)
        if isinstance(value, str) and value in choices:
            return choices[value]
        if value is not None:
            self._wrong(key, value, "one of " + ", ".join(choices), nearest(str(value), choices))
        return next(iter(choices.values()))

    def many(self, column: TomlColumn) -> tuple[Any, ...]:
        """An array of texts, numbers, or different words of a closed list."""
        key, value = column.name, self.value(column.name)
        words = column.kind is ColumnKind.WORDS
        if not isinstance(value, list) or (words and not value):
            if value is not None:
                self._wrong(key, value, column.kind.value)
            return ()
        found: list[Any] = []
        for each in value:
            if words:
                choices = {str(member.value): member for member in column.choices or ()}
                if not isinstance(each, str) or each not in choices:
                    self._wrong(key, each, "one of " + ", ".join(choices), nearest(str(each), choices))
                elif choices[each] in found:
                    self._wrong(key, each, "each word once")
                else:
                    found.append(choices[each])
            elif column.kind is ColumnKind.NUMBERS:
                found.append(self._number(key, each, *_ends(column)))
            elif isinstance(each, str):
                found.append(each)
            else:
                self._wrong(key, each, "a text")
        return tuple(found)

    def disagree(self, key: str, message: str, expected: str = "") -> None:
        """Note that the values of the row do not go together, at `key`."""
        found = str(self._values.get(key, ""))
        self._note(key, "stock-disagree", message, found=found, expected=expected)

    def has(self, key: str) -> bool:
        """The row says something under a key."""
        return key in self._values

    def refuse_others(self, known: Sequence[str]) -> None:
        """Note every key that is not `known`."""
        for key in self._values:
            if key not in known:
                problem = self._source.problem(
                    (*self._path, key),
                    "stock-unknown-key",
                    f'unknown key "{key}"',
                    at_key=True,
                    found=key,
                    nearest=nearest(key, known),
                )
                self.problems.append(problem)

    def refuse_repeated(self, seen: set[str]) -> None:
        """Note an id that is in `seen` already, and add it there."""
        word = self._values.get("id")
        if isinstance(word, str):
            if word in seen:
                self._note("id", "stock-repeated", f'"{word}" is in the table twice', found=word)
            seen.add(word)

    def value(self, key: str) -> object:
        """What stands under a key that has to be there."""
        value = self._values.get(key)
        if value is None:
            self._note(key, "stock-missing-key", f"{key} is missing")
        return value

    def _number(self, key: str, value: object, low: float, high: float) -> float:
        # To Python a boolean is a whole number; in a table it is a slip.
        if not isinstance(value, int | float) or not is_number(value):
            self._wrong(key, value, "a number")
            return low
        # Compared as it stands: a whole number may be too long for a float.
        if (isinstance(value, float) and not math.isfinite(value)) or not low <= value <= high:
            expected = f"from {low:g} to {high:g}"
            self._note(key, "stock-range", f"{key} is {shown(value)}", found=shown(value), expected=expected)
            return low
        return float(value)

    def _wrong(self, key: str, value: object, expected: str, near: str = "") -> None:
        message = f"{key} is {quoted(value)}"
        self._note(key, "stock-value", message, found=shown(value), expected=expected, near=near)

    def _note(
        self, key: str, code: str, message: str, *, found: str = "", expected: str = "", near: str = ""
    ) -> None:
        path = (*self._path, key)
        self.problems.append(
            self._source.problem(path, code, message, found=found, expected=expected, nearest=near)
        )


def made_of(row: TomlRow, declared: type[Made], tables: Tables = MappingProxyType({})) -> Made:
    """What is declared, made of a row; `tables` are those that it may name items of."""
    values: dict[str, Any] = {}
    for column in columns_of(declared):
        if not column.optional or row.has(column.name):
            values[column.attribute] = _value(row, column, tables)
    made = declared(**values)
    if not row.problems:
        # What does not go together is looked for among values that are what they should be.
        for key, message, expected in getattr(made, "disagreements", tuple)():
            row.disagree(key, message, expected)
    return made


def _ends(column: TomlColumn) -> tuple[float, float]:
    key = column.key
    return (-math.inf if key.low is None else key.low), (math.inf if key.high is None else key.high)


def _value(row: TomlRow, column: TomlColumn, tables: Tables) -> Any:  # noqa: PLR0911 - one case for each kind
    name = column.name
    match column.kind:
        case ColumnKind.ID:
            return row.id()
        case ColumnKind.TEXT:
            return row.text(name, empty=True) if column.key.empty else row.text(name)
        case ColumnKind.FLAG:
            return row.flag(name)
        case ColumnKind.NUMBER:
            return row.number(name, *_ends(column)) * column.key.factor
        case ColumnKind.WHOLE:
            return row.whole(name, *_ends(column))
        case ColumnKind.WORD if column.choices is not None:
            return row.word(name, column.choices)
        case ColumnKind.ITEM:
            return row.one_of(name, {item.id: item for item in tables[column.key.table]})
        case _:
            return row.many(column)


def read_tables(file: Path, declared: Mapping[str, type]) -> dict[str, tuple[Any, ...]]:
    """What is declared, made of each `[[name]]` in the order of the file; at least one of each.

    A table may name items of those declared before it.

    Raises:
        ProblemsError: the file cannot be read, is not TOML in UTF-8, lacks a table, or is not as declared.
    """
    source = read_source(file)
    problems: list[Problem] = []
    made: dict[str, tuple[Any, ...]] = {}
    for name, kind in declared.items():
        value = source.values.get(name)
        if not isinstance(value, list) or not value or not all(isinstance(row, dict) for row in value):
            message = f"there is no table [[{name}]]"
            raise ProblemsError([*problems, source.problem((name,), "stock-missing-table", message)])
        seen: set[str] = set()
        found: list[Any] = []
        for index, values in enumerate(value):
            row = TomlRow(source, (name, index), values)
            found.append(_read(row, kind, made))
            row.refuse_repeated(seen)
            problems += row.problems
        made[name] = tuple(found)
    _refuse_other_tables(source, tuple(declared), problems)
    if problems:
        raise ProblemsError(problems)
    return made


def read_rows(file: Path, name: str, declared: type[Made]) -> tuple[Made, ...]:
    """The rows of a file that has one array of tables, `[[name]]`.

    Raises:
        ProblemsError: as `read_tables`.
    """
    return read_tables(file, {name: declared})[name]


def read_row(file: Path, name: str, declared: type[Made]) -> Made:
    """The one table `[name]` of a file.

    Raises:
        ProblemsError: as `read_tables`.
    """
    return read_named_rows(file, declared, only=name)[name]


def read_named_rows(file: Path, declared: type[Made], *, only: str = "") -> dict[str, Made]:
    """What is declared, made of each table `[name]` of a file, by its name; `only` is the one it may have.

    Raises:
        ProblemsError: as `read_tables`.
    """
    source = read_source(file)
    problems: list[Problem] = []
    if only:
        _refuse_other_tables(source, (only,), problems)
    made: dict[str, Made] = {}
    for name in (only,) if only else source.values:
        values = source.values.get(name)
        if not isinstance(values, dict):
            problems.append(source.problem((name,), "stock-missing-table", f"there is no table [{name}]"))
            continue
        row = TomlRow(source, (name,), values)
        made[name] = _read(row, declared, {})
        problems += row.problems
    if problems:
        raise ProblemsError(problems)
    return made


def read_named_tables(file: Path, declared: Mapping[str, type]) -> dict[str, dict[str, Any]]:
    """What is declared, made of each `NAME = { ... }` of each table of a file, by that name; where `str` is
    declared, each is a text.

    Raises:
        ProblemsError: as `read_tables`.
    """
    source = read_source(file)
    problems: list[Problem] = []
    made: dict[str, dict[str, Any]] = {}
    for table, kind in declared.items():
        rows = source.values.get(table)
        if not isinstance(rows, dict):
            problems.append(source.problem((table,), "stock-missing-table", f"there is no table [{table}]"))
            continue
        whole = TomlRow(source, (table,), rows)
        made[table] = {}
        for name, values in rows.items():
            if kind is str or not isinstance(values, dict):
                made[table][name] = whole.text(name)
                continue
            row = TomlRow(source, (table, name), values)
            made[table][name] = _read(row, kind, {})
            problems += row.problems
        problems += whole.problems
    _refuse_other_tables(source, tuple(declared), problems)
    if problems:
        raise ProblemsError(problems)
    return made


def _read(row: TomlRow, declared: type[Made], tables: Tables) -> Made:
    made = made_of(row, declared, tables)
    row.refuse_others([column.name for column in columns_of(declared)])
    return made


def _refuse_other_tables(source: Source, known: Sequence[str], problems: list[Problem]) -> None:
    for name in source.values:
        if name not in known:
            message, near = f'unknown table "{name}"', nearest(name, known)
            problems.append(
                source.problem((name,), "stock-unknown-table", message, at_key=True, found=name, nearest=near)
            )


def by_id(items: Iterable[Item]) -> Mapping[str, Item]:
    """The items by their ids, in their order, for reading only."""
    return MappingProxyType({item.id: item for item in items})

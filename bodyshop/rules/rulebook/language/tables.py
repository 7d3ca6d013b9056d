"""The tables of the rulebook language, as `language.toml` has them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Annotated, Final

from bodyshop.car.measures.catalogue import MeasuringState, QuantityKind
from bodyshop.car.stock.cautions import Operation
from bodyshop.car.stock.hardware import PART_SHELVES, WheelEnd
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, read_tables
from bodyshop.rules.rulebook.language.keys import LanguageKey, LanguageTable, Sort
from bodyshop.rules.rulebook.model import BreachEffects, CheckedBy, CountedAs, Doubt, Rounding, Times

__all__ = ["LANGUAGE_TABLES", "TABLES", "LanguageKeyRow", "LanguageTableRow"]

_ENUMS: Final[tuple[type[Enum], ...]] = (
    BreachEffects,
    CheckedBy,
    Confidence,
    CountedAs,
    Doubt,
    MeasuringState,
    Operation,
    QuantityKind,
    Rounding,
    Times,
    WheelEnd,
)
_LISTS: Final[Mapping[str, tuple[str, ...]]] = {
    **{each.__name__: tuple(member.value for member in each) for each in _ENUMS},
    "PartShelf": tuple(PART_SHELVES),
}
"""The closed lists of words that the table names instead of repeating them."""


@dataclass(frozen=True, slots=True)
class LanguageTableRow:
    """A table of the language as the file has it."""

    id: str
    name: Annotated[str, TomlKey(empty=True)]
    title: str
    meaning: str


@dataclass(frozen=True, slots=True)
class LanguageKeyRow:
    """A key as the file has it: `list` names a closed list of words that the program has."""

    table: Annotated[LanguageTableRow, TomlKey(table="table")]
    name: str
    sort: Sort
    meaning: str
    example: str
    heading: str = ""
    words: tuple[str, ...] = ()
    list: str = ""
    items: tuple[str, ...] = ()
    needed: bool = False
    changeable: bool = False

    @property
    def key(self) -> LanguageKey:
        """The key with its words."""
        return LanguageKey(
            self.name,
            self.sort,
            self.meaning,
            self.example,
            self.heading,
            _LISTS[self.list] if self.list else self.words,
            self.needed,
            self.items,
            self.changeable,
        )


LANGUAGE_TABLES: Final[Mapping[str, type]] = {"table": LanguageTableRow, "key": LanguageKeyRow}


def _tables() -> tuple[LanguageTable, ...]:
    read = read_tables(Path(__file__).with_name("language.toml"), LANGUAGE_TABLES)
    keys: dict[str, list[LanguageKey]] = {row.id: [] for row in read["table"]}
    for row in read["key"]:
        keys[row.table.id].append(row.key)
    # A change may say anew what a rule says, and needs none of it.
    keys["change"] += [replace(key, needed=False) for key in keys["rule"] if key.changeable]
    return tuple(
        LanguageTable(row.name, row.title, row.meaning, tuple(keys[row.id])) for row in read["table"]
    )


TABLES: Final = _tables()
"""Every table of the language, in the order in which they are told."""

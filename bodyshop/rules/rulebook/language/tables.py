"""The tables of the rulebook language, as `language.toml` has them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from enum import Enum
from pathlib import Path
from typing import Any, Final

from bodyshop.car.measures.catalogue import MeasuringState, QuantityKind
from bodyshop.car.stock.cautions import Operation
from bodyshop.car.stock.hardware import PART_SHELVES, WheelEnd
from bodyshop.foundation.toml import read_source
from bodyshop.foundation.toml.rows import Confidence
from bodyshop.rules.rulebook.language.keys import LanguageKey, LanguageTable, Sort
from bodyshop.rules.rulebook.model import BreachEffects, CheckedBy, CountedAs, Doubt, Rounding, Times

__all__ = ["TABLES"]

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


def _key(row: Mapping[str, Any]) -> LanguageKey:
    words = row.get("words", ())
    return LanguageKey(
        **{
            **row,
            "sort": Sort[row["sort"]],
            "words": _LISTS[words] if isinstance(words, str) else tuple(words),
            "items": tuple(row.get("items", ())),
        }
    )


def _tables(rows: Iterable[Mapping[str, Any]]) -> dict[str, LanguageTable]:
    tables: dict[str, LanguageTable] = {}
    for row in rows:
        keys = tuple(map(_key, row["key"]))
        if row["name"] == "[[change]]":
            altered = (key for key in tables["[[rule]]"].keys if key.changeable)
            keys += tuple(replace(key, needed=False) for key in altered)
        tables[row["name"]] = LanguageTable(row["name"], row["title"], row["meaning"], keys)
    return tables


_ROWS: Final[Any] = read_source(Path(__file__).with_name("language.toml")).values["table"]

TABLES: Final = _tables(_ROWS)
"""Every table of the language by its name, in the order in which they are told."""

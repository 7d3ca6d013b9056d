"""A JSON Schema of rulebook files, for editors that complete and check while one types.

It is made from the table of the language and the stock when it is asked for. A schema knows
no units, no measures and not what a book inherits, so a file may satisfy it and still have problems.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final

from bodyshop.car.stock.hardware import PART_SHELVES
from bodyshop.foundation.toml.json_schema import ID_SCHEMA, TEXT_SCHEMA, Schema, bounded, closed_table, headed
from bodyshop.rules.rulebook.language import (
    CHANGE,
    FORMAT,
    HEAD,
    KIT,
    READING,
    RULE,
    SCORE,
    STOCK,
    LanguageKey,
    LanguageTable,
    Sort,
    stock_keys,
)

__all__ = ["rulebook_schema"]

_EITHER: Final = [{"required": ["measure"]}, {"required": ["item"]}]
_AMOUNT: Final[Schema] = {"anyOf": [{"type": "number"}, TEXT_SCHEMA]}


def rulebook_schema() -> Schema:
    """The schema as data."""
    tables: dict[str, Schema] = {
        # A book that inherits may leave out what it inherits.
        "reading": _object(READING, needed=False),
        "kit": _object(KIT),
        "score": _object(SCORE, needed=False),
        "stock": {"type": "array", "items": {"anyOf": [_item(shelf) for shelf in PART_SHELVES]}},
        "rule": {"type": "array", "items": {**_object(RULE), "oneOf": _EITHER}},
        "change": {"type": "array", "items": _object(CHANGE)},
    }
    top = _object(HEAD)
    for name, schema in tables.items():
        top["properties"][name] |= schema
    top["properties"]["format"] = {"description": _meaning(HEAD, "format"), "const": FORMAT}
    schema = {
        "description": "The rules of an event: what is measured, its limits, and what follows.",
        **top,
        "required": ["format", "name"],
        # What is not inherited is said.
        "anyOf": [{"required": ["inherits"]}, {"required": ["units", "reading", "rule"]}],
    }
    return headed(f"bodyshop rulebook, format {FORMAT}", schema)


def _meaning(table: LanguageTable, name: str) -> str:
    return next(key.meaning for key in table.keys if key.name == name)


def _object(table: LanguageTable, *, needed: bool = True) -> Schema:
    return _closed(table.keys, [key.name for key in table.keys if key.needed and needed])


def _item(shelf: str) -> Schema:
    """An item of a shelf: what keys it has depends on the shelf."""
    names = stock_keys(shelf)
    keys = tuple(key for key in STOCK.keys if key.name in names)
    schema = _closed(keys, [key.name for key in keys if key.needed])
    schema["properties"]["shelf"] = {"description": _meaning(STOCK, "shelf"), "const": shelf}
    schema["properties"]["id"] |= ID_SCHEMA
    return schema


def _closed(keys: tuple[LanguageKey, ...], needed: list[str]) -> Schema:
    properties = {key.name: {"description": key.meaning, **_MAKERS[key.sort](key)} for key in keys}
    return closed_table(properties, needed)


def _one_or_many(one: Schema) -> Schema:
    many = {"type": "array", "items": one, "minItems": 1, "maxItems": 50, "uniqueItems": True}
    return {"anyOf": [one, many]}


def _words(key: LanguageKey) -> Schema:
    return {"enum": list(key.words)}


_MAKERS: Final[Mapping[Sort, Callable[[LanguageKey], Schema]]] = {
    Sort.TEXT: lambda _: dict(TEXT_SCHEMA),
    Sort.TEXTS: lambda _: _one_or_many(TEXT_SCHEMA),
    Sort.WORD: _words,
    Sort.WORDS: lambda key: _one_or_many(_words(key)),
    Sort.NUMBER: lambda _: {"type": "number", **bounded(0, None)},
    Sort.WHOLE: lambda _: {"type": "integer", **bounded(0, None)},
    Sort.FLAG: lambda _: {"type": "boolean"},
    Sort.UNIT: lambda key: {**TEXT_SCHEMA, "examples": list(key.words)},
    Sort.LENGTH: lambda _: dict(_AMOUNT),
    Sort.TRACK: lambda _: dict(_AMOUNT),
    Sort.MASS: lambda _: dict(_AMOUNT),
    Sort.ANGLE: lambda _: dict(_AMOUNT),
    Sort.AMOUNT: lambda _: dict(_AMOUNT),
    Sort.AMOUNTS: lambda _: {"type": "array", "items": _AMOUNT, "minItems": 1, "maxItems": 50},
    Sort.ITEM: lambda _: dict(ID_SCHEMA),
    Sort.STOCKED: lambda _: dict(ID_SCHEMA),
    Sort.TABLE: lambda _: {"type": "object"},
    Sort.TABLES: lambda _: {"type": "array", "items": {"type": "object"}},
}

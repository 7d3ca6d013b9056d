"""JSON Schemas of TOML files (draft 2020-12 of json-schema.org), for editors that complete and check.

What every schema of a file is made of, and the schemas of declared tables (`declared`). A schema knows no
units and no geometry, so a file may satisfy it and still have problems.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from bodyshop.foundation.toml.declared import ID, ColumnKind, TomlColumn, columns_of

__all__ = [
    "ID_SCHEMA",
    "TEXT_SCHEMA",
    "Schema",
    "bounded",
    "closed_table",
    "file_schema",
    "headed",
    "table_schema",
]

Schema = dict[str, Any]

TEXT_SCHEMA: Final[Schema] = {"type": "string", "minLength": 1}
ID_SCHEMA: Final[Schema] = {"type": "string", "pattern": f"^{ID.pattern}$"}


def headed(title: str, schema: Schema) -> Schema:
    """The schema of a whole file."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": title, **schema}


def closed_table(
    properties: Mapping[str, Schema], required: Sequence[str] = (), ways: Sequence[Sequence[str]] = ()
) -> Schema:
    """A table with no other keys; where `ways` says so, with exactly one of those sets of keys."""
    schema: Schema = {"type": "object", "additionalProperties": False, "properties": dict(properties)}
    if required:
        schema["required"] = list(required)
    if ways:
        schema["oneOf"] = [{"required": list(keys)} for keys in ways]
    return schema


def bounded(low: float | None, high: float | None) -> Schema:
    """Bounds that may be reached."""
    return {name: limit for name, limit in (("minimum", low), ("maximum", high)) if limit is not None}


def file_schema(title: str, tables: Mapping[str, type]) -> Schema:
    """The schema of a file of arrays of declared tables."""
    arrays = {
        name: {"type": "array", "minItems": 1, "items": table_schema(declared)}
        for name, declared in tables.items()
    }
    return headed(title, closed_table(arrays, list(tables)))


def table_schema(declared: type) -> Schema:
    """The schema of one declared table."""
    columns = columns_of(declared)
    required = [column.name for column in columns if not column.optional]
    return {
        "description": (declared.__doc__ or "").strip().split("\n\n")[0].replace("\n", " "),
        **closed_table({column.name: _value(column) for column in columns}, required),
    }


def _value(column: TomlColumn) -> Schema:  # noqa: PLR0911 - one case for each kind
    bounds = bounded(column.key.low, column.key.high)
    text: Schema = {"type": "string"} if column.key.empty else {"type": "string", "pattern": r"\S"}
    match column.kind:
        case ColumnKind.ID:
            return ID_SCHEMA
        case ColumnKind.TEXT | ColumnKind.ITEM:
            return text
        case ColumnKind.TEXTS:
            return {"type": "array", "items": {"type": "string"}}
        case ColumnKind.NUMBER:
            return {"type": "number", **bounds}
        case ColumnKind.NUMBERS:
            return {"type": "array", "items": {"type": "number", **bounds}}
        case ColumnKind.WHOLE:
            return {"type": "integer", **bounds}
        case ColumnKind.FLAG:
            return {"type": "boolean"}
        case ColumnKind.WORD:
            return {"enum": column.words}
        case ColumnKind.WORDS:
            return {"type": "array", "items": {"enum": column.words}, "minItems": 1, "uniqueItems": True}

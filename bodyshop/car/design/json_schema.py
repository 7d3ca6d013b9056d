"""A JSON Schema of the design file, for editors that complete and check while one types.

It is made from the table of fields and the stock when it is asked for. A schema cannot know units or
geometry, so a file may satisfy it and still have problems.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from bodyshop.car.design.fields import (
    FORMAT,
    HARDWARE_SHELVES,
    LEAST_G,
    LEAST_MM,
    MAX_TEXT,
    NONE,
    REACH_MM,
    Field,
    KeyKind,
    names,
)
from bodyshop.car.design.schema import POINT_FIELDS, ROOT
from bodyshop.foundation.toml.json_schema import ID_SCHEMA, Schema, bounded, closed_table, headed

__all__ = ["design_schema"]


def design_schema() -> Schema:
    """The schema as data."""
    schema = {
        "description": "One car: blank, outlines, bore, axles and what goes on them.",
        **_object(ROOT),
        "$defs": {
            "length": {
                "description": "A number in the unit of the file, or text: 12.5 mm, 1 5/8 in, length / 2.",
                "anyOf": [
                    {"type": "number", "minimum": -REACH_MM, "maximum": REACH_MM},
                    {"type": "string", "minLength": 1},
                ],
            },
            "point": {
                "description": "Two lengths: [x, height] in the profile, [x, y] in the plan.",
                "type": "array",
                "items": {"$ref": "#/$defs/length"},
                "minItems": 2,
                "maxItems": 2,
            },
            "outlinePoint": {
                "description": "A point with a straight line to it, or a table that says more.",
                "anyOf": [{"$ref": "#/$defs/point"}, _object(POINT_FIELDS)],
            },
        },
    }
    return headed(f"bodyshop design file, format {FORMAT}", schema)


def _object(fields: Sequence[Field], ways: Sequence[Sequence[str]] = ()) -> Schema:
    required = [field.key for field in fields if field.required]
    return closed_table({field.key: _documented(field) for field in fields}, required, ways)


def _documented(field: Field) -> Schema:
    description = field.doc + (f" Left out: {field.default}." if field.default else "")
    return {"description": description, **_value(field)}


def _value(field: Field) -> Schema:
    return _MAKERS[field.kind](field)


def _length(field: Field) -> Schema:
    # Bounds other than zero depend on the unit of the file.
    sign = {key: value for key, value in _bounds(field).items() if value == 0 and key != "maximum"}
    return {"$ref": "#/$defs/length", **sign}


def _quantity(field: Field) -> Schema:
    return {"type": ["number", "string"], **_bounds(field)}


def _text(field: Field) -> Schema:
    return {"type": "string", "minLength": 1, "maxLength": field.limit or MAX_TEXT}


def _points(field: Field) -> Schema:
    items = {"$ref": "#/$defs/outlinePoint"}
    return {"type": "array", "items": items, "minItems": 2, "maxItems": field.limit}


def _lengths(field: Field) -> Schema:
    lengths = {"$ref": "#/$defs/length"}
    return {"type": "object", "additionalProperties": lengths, "maxProperties": field.limit}


def _tables(field: Field) -> Schema:
    return {"type": "array", "items": _object(field.fields, field.ways), "maxItems": field.limit}


def _stock(field: Field) -> Schema:
    if field.shelf is None:
        raise ValueError(f"{field.key} names no shelf")
    known = {"enum": [*names(field.shelf), *([NONE] if field.may_be_none else [])]}
    if field.shelf not in HARDWARE_SHELVES:
        return known
    own = {**ID_SCHEMA, "description": "Hardware of the event's own."}
    return {"anyOf": [known, own]}


def _bounds(field: Field) -> Schema:
    if field.least in (LEAST_MM, LEAST_G):  # the unit of the file is not known here
        return {"exclusiveMinimum": 0.0, **bounded(None, field.most)}
    return bounded(field.least, field.most)


_POINT: Final = {"$ref": "#/$defs/point"}
_MAKERS: Final[Mapping[KeyKind, Callable[[Field], Schema]]] = {
    KeyKind.LENGTH: _length,
    KeyKind.MASS: _quantity,
    KeyKind.ANGLE: _quantity,
    KeyKind.COUNT: lambda field: {"type": "integer", **_bounds(field)},
    KeyKind.TEXT: _text,
    KeyKind.FLAG: lambda _: {"type": "boolean"},
    KeyKind.UNIT: lambda _: {"type": "string", "minLength": 1, "examples": ["mm", "cm", "in"]},
    KeyKind.CHOICE: lambda field: {"enum": list(field.words)},
    KeyKind.STOCK: _stock,
    KeyKind.WHEEL: lambda field: {"anyOf": [_stock(field), _object(field.fields)]},
    KeyKind.POINT: lambda _: _POINT,
    KeyKind.HANDLES: lambda _: {"type": "array", "items": _POINT, "minItems": 2, "maxItems": 2},
    KeyKind.POINTS: _points,
    KeyKind.LENGTHS: _lengths,
    KeyKind.TABLE: lambda field: _object(field.fields, field.ways),
    KeyKind.TABLES: _tables,
}

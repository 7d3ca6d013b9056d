"""A document of `--json`: typed records under one head, their text, and the JSON Schema made from them.

A record is a `msgspec.Struct`: its fields are declared once, and the encoder, the strict reader and the
schema all come from them. What may change without a new version: keys are added, sentences are worded better.
Anything else counts the version of its format up.
"""

from __future__ import annotations

import json
import math
import re
from importlib import import_module
from typing import Annotated, Any, Final, Literal, overload

import msgspec
from msgspec import Meta, Struct

from bodyshop import __version__

__all__ = [
    "FORMATS",
    "HEAD",
    "Document",
    "JsonRecord",
    "about",
    "document_of",
    "encoded",
    "json_text",
    "number",
    "schema_of",
    "whole",
    "whole_characters",
]


def about(words: str) -> Meta:
    """What a reader of the schema is told of a field."""
    return Meta(description=words)


class JsonRecord(Struct, frozen=True, forbid_unknown_fields=True):
    """An object of a document. Every key is always there; none stands for what is not known."""


class Document(JsonRecord, frozen=True, tag_field="format"):
    """A whole document. `tag` is the name of its format; one that has changed declares its version anew."""

    program: Annotated[str, about("The program and its version.")]
    version: Annotated[
        Literal[1], about("Of the format; it is counted up when a key changes its meaning or goes.")
    ]


HEAD: Final[tuple[str, Literal[1]]] = (f"bodyshop {__version__}", 1)
"""What every document begins with: program and version."""

FORMATS: Final = {
    "check": "check",
    "measure": "check",
    "class": "classroom",
    "inspect": "inspection",
    "trial-add": "book",
    "trial-book": "book",
    "trial-check": "book",
    "trial-list": "book",
    "trial-show": "book",
    "trial-meaning": "findings",
    "race-predict": "forecast",
    "race-change": "forecast",
    "race-drag": "findings",
    "race-freeze": "findings",
    "race-compare": "findings",
    "race-fit": "findings",
    "raceday": "raceday",
}
"""Every format, and the module here that declares its document: no other is loaded for it."""

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
_PLACES: Final = 6
_BEYOND_ASCII: Final = re.compile(r"[^\x00-\x7f]+")
_HALF: Final = re.compile("[\ud800-\udfff]")


@overload
def number(value: float) -> float: ...
@overload
def number(value: float | None) -> float | None: ...
def number(value: float | None) -> float | None:
    """A number without the dust of sums: six places, no minus zero."""
    if value is None:
        return None
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot stand in a report")
    return round(value, _PLACES) + 0.0


def json_text(document: JsonRecord) -> str:
    """The document as text, the same on every system: in ASCII, so that no code page can spoil it."""
    text = msgspec.json.format(encoded(document), indent=2).decode("utf-8")
    return _BEYOND_ASCII.sub(lambda found: json.dumps(found[0])[1:-1], text) + "\n"


def encoded(value: object) -> bytes:
    """Records and plain data as JSON. A file name may hold bytes that are no letters: they are made whole."""
    try:
        return msgspec.json.encode(value)
    except UnicodeEncodeError:
        return msgspec.json.encode(whole(msgspec.to_builtins(value)))


def whole_characters(text: str) -> str:
    """A text that can be written as UTF-8: half of a pair of UTF-16 units becomes U+FFFD.

    So do encoders of browsers (WHATWG, Encoding Standard; Unicode 16.0, 3.9, D93b). The text is as long as
    it was, in characters and in units, so that offsets stay right.
    """
    return _HALF.sub("\ufffd", text)


def whole(value: Any) -> Any:
    """Plain data with every text in it made whole."""
    match value:
        case str():
            return whole_characters(value)
        case list() | tuple():
            return [whole(each) for each in value]
        case dict():
            return {whole_characters(name): whole(each) for name, each in value.items()}
        case _:
            return value


def document_of(name: str) -> type[Document]:
    """The document of a format."""
    import_module(f"bodyshop.output.json.{FORMATS[name]}")
    return next(kind for kind in Document.__subclasses__() if kind.__struct_config__.tag == name)


def schema_of(kind: type[Document]) -> dict[str, Any]:
    """The JSON Schema of a document."""
    made = msgspec.json.schema(kind)
    parts = made["$defs"]
    root = {**parts.pop(kind.__name__), "title": f"bodyshop --json, format {kind.__struct_config__.tag}"}
    return {"$schema": _DRAFT, **root, "$defs": parts}

"""What `--json` printed, read twice: strictly by its record, and by the schema that is made from it."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import msgspec

from bodyshop.output.json.document import Document, document_of, json_text, schema_of

__all__ = ["valid"]


def valid(printed: str | Document) -> dict[str, Any]:
    """The document, once its record takes it and jsonschema finds nothing against it."""
    text = printed if isinstance(printed, str) else json_text(printed)
    assert text.isascii()
    data: dict[str, Any] = json.loads(text)
    kind = document_of(data["format"])
    msgspec.json.decode(text, type=kind)
    schema = schema_of(kind)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(data, schema, jsonschema.Draft202012Validator)
    return data

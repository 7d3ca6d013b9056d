"""What the bench's pages and its server say to each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

from fastapi.responses import Response

from bodyshop.output.json.document import JsonRecord, encoded

__all__ = ["Data", "answer"]

Data: TypeAlias = "Mapping[str, Data] | Sequence[Data] | JsonRecord | str | int | float | bool | None"
"""What a page is told."""


def answer(data: Data, status: int = 200) -> Response:
    """An answer to a page."""
    return Response(encoded(data), status, media_type="application/json")

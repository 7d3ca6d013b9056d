"""What the bench's pages and its server say to each other."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeAlias

from bodyshop.output.json.document import JsonRecord

__all__ = ["Data"]

Data: TypeAlias = "Mapping[str, Data] | Sequence[Data] | JsonRecord | str | int | float | bool | None"
"""What a page is told."""

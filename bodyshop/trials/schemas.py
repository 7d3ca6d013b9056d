"""Where the JSON Schemas of what the trial book's commands print are."""

from __future__ import annotations

from pathlib import Path
from typing import Final

__all__ = ["BOOK_CHECK_SCHEMA", "LIST_SCHEMA", "SHOW_SCHEMA"]

BOOK_CHECK_SCHEMA: Final = Path(__file__).with_name("check.schema.json")
"""The schema of `trial check --json`."""

LIST_SCHEMA: Final = Path(__file__).with_name("list.schema.json")
"""The schema of `trial list KIND --json`."""

SHOW_SCHEMA: Final = Path(__file__).with_name("show.schema.json")
"""The schema of `trial show CAR --json`."""

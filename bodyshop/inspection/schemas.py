"""Where the JSON Schema of what `inspect` prints is."""

from __future__ import annotations

from pathlib import Path
from typing import Final

__all__ = ["INSPECT_SCHEMA"]

INSPECT_SCHEMA: Final = Path(__file__).with_name("inspect.schema.json")
"""The schema of `inspect --json`."""

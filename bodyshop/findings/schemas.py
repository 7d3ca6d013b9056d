"""Where the JSON Schemas are of what the commands on findings print."""

from __future__ import annotations

from pathlib import Path
from typing import Final

__all__ = ["COMPARE_SCHEMA", "DRAG_SCHEMA", "FIT_SCHEMA", "FREEZE_SCHEMA", "MEANING_SCHEMA"]

_HERE: Final = Path(__file__).resolve().parent

DRAG_SCHEMA: Final = _HERE / "drag.schema.json"
MEANING_SCHEMA: Final = _HERE / "meaning.schema.json"
FREEZE_SCHEMA: Final = _HERE / "freeze.schema.json"
COMPARE_SCHEMA: Final = _HERE / "compare.schema.json"
FIT_SCHEMA: Final = _HERE / "fit.schema.json"

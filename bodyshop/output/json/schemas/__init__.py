"""JSON Schemas of what the commands print, and where each file is."""

from __future__ import annotations

from pathlib import Path
from typing import Final

__all__ = [
    "BOOK_CHECK_SCHEMA",
    "CHANGE_SCHEMA",
    "COMPARE_SCHEMA",
    "DRAG_SCHEMA",
    "FIT_SCHEMA",
    "FREEZE_SCHEMA",
    "INSPECT_SCHEMA",
    "LIST_SCHEMA",
    "MEANING_SCHEMA",
    "PREDICT_SCHEMA",
    "SHOW_SCHEMA",
]

_FOLDER: Final = Path(__file__).resolve().parent

BOOK_CHECK_SCHEMA: Final = _FOLDER / "trial-check.schema.json"
CHANGE_SCHEMA: Final = _FOLDER / "change.schema.json"
COMPARE_SCHEMA: Final = _FOLDER / "compare.schema.json"
DRAG_SCHEMA: Final = _FOLDER / "drag.schema.json"
FIT_SCHEMA: Final = _FOLDER / "fit.schema.json"
FREEZE_SCHEMA: Final = _FOLDER / "freeze.schema.json"
INSPECT_SCHEMA: Final = _FOLDER / "inspect.schema.json"
LIST_SCHEMA: Final = _FOLDER / "list.schema.json"
MEANING_SCHEMA: Final = _FOLDER / "meaning.schema.json"
PREDICT_SCHEMA: Final = _FOLDER / "predict.schema.json"
SHOW_SCHEMA: Final = _FOLDER / "show.schema.json"

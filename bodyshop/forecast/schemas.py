"""Where the JSON Schemas of predictions are, for those who want nothing else of them."""

from __future__ import annotations

from pathlib import Path
from typing import Final

__all__ = ["CHANGE_SCHEMA", "PREDICT_SCHEMA"]

_FOLDER: Final = Path(__file__).resolve().parent
PREDICT_SCHEMA: Final = _FOLDER / "predict.schema.json"
CHANGE_SCHEMA: Final = _FOLDER / "change.schema.json"

"""The sentence that closes every report and every table of a class; it loads nothing."""

from __future__ import annotations

from typing import Final

__all__ = ["CLOSING"]

CLOSING: Final = (
    "This report only checks sizes on a drawing. Your teacher and the officials judge the real car."
)

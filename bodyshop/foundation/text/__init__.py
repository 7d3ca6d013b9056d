"""Text for a terminal: columns of one letter's width, and colour as an extra."""

from __future__ import annotations

__all__: list[str] = []

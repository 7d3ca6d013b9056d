"""Pages for a terminal."""

from __future__ import annotations

__all__: list[str] = []

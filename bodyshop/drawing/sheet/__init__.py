"""The sheet itself: items, pens, lettering, paper sizes, and the flat run that writers replay."""

from __future__ import annotations

__all__: list[str] = []

"""What knows no car: problems and places, units, statistics, small words, files, and TOML with positions."""

from __future__ import annotations

__all__: list[str] = []

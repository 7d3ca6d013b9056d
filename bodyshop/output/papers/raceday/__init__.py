"""The papers of race day: heats to write into, standings, final sheet, certificates, class data."""

from __future__ import annotations

__all__: list[str] = []

"""Rulebooks, one design checked from its name to its verdict, and what would make it pass."""

from __future__ import annotations

__all__: list[str] = []

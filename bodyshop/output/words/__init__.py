"""Sentences and short words, the same wherever they stand: terminal, paper, page, JSON."""

from __future__ import annotations

__all__: list[str] = []

"""Drawings that paper and page share: the car in three views with its call-outs, and the bar of its mass."""

from __future__ import annotations

__all__: list[str] = []

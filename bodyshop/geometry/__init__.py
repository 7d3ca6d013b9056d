"""Exact plane geometry: curves and outlines, paths, affine maps, clipping, packing."""

from __future__ import annotations

__all__: list[str] = []

"""A neutral sheet of strokes, fills and text in mm, its layout, and the writers of PDF, SVG and DXF."""

from __future__ import annotations

__all__: list[str] = []

"""What goes on a sheet and where: page flow, tables, tiles, frames, marks, dimensions, charts."""

from __future__ import annotations

__all__: list[str] = []

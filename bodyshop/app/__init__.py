"""The faces: the command line, and the bench in a browser."""

from __future__ import annotations

__all__: list[str] = []

"""Documents for other programs, each described by a JSON Schema."""

from __future__ import annotations

__all__: list[str] = []

"""One way to change a number of a design: its notation stays as its writer had it."""

from __future__ import annotations

__all__: list[str] = []

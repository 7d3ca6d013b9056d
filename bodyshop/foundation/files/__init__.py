"""Files: written whole or not at all, names for them, the list of what we wrote, and what is shipped."""

from __future__ import annotations

__all__: list[str] = []

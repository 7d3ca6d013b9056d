"""Everything a person or a program reads: words, figures, and the media that carry them."""

from __future__ import annotations

__all__: list[str] = []

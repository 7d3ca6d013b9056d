"""The guide that ships with the program: pages in Markdown, read in the terminal and in the bench."""

from __future__ import annotations

__all__: list[str] = []

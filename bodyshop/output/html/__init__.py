"""Pages for a browser: the annotated report of a car, and the page of a class."""

from __future__ import annotations

__all__: list[str] = []

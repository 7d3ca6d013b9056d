"""Everything printed: templates, build sheet, inspection form, annotated report, race day, class set."""

from __future__ import annotations

__all__: list[str] = []

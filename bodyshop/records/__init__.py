"""What was measured and decided: the trial book, inspections, findings, race day, and a class of designs."""

from __future__ import annotations

__all__: list[str] = []

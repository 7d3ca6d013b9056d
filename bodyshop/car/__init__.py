"""What a car is: stock, design, body, assembly, measures; and one way to change a number of a design."""

from __future__ import annotations

__all__: list[str] = []

"""Tables for spreadsheet programs, RFC 4180."""

from __future__ import annotations

__all__: list[str] = []

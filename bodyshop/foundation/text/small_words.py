"""Small words: a capital at the beginning, counts in words."""

from __future__ import annotations

__all__ = ["capital", "number_words"]


def capital(text: str) -> str:
    """The text with a capital letter at its beginning."""
    return text[:1].upper() + text[1:]


def number_words(count: int, one: str, many: str = "") -> str:
    """`1 rule`, `3 rules`."""
    return f"{count} {one if count == 1 else many or one + 's'}"

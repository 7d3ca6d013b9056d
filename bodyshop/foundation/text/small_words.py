"""Small words: a capital at the beginning, counts in words."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["capital", "listed", "number_words"]


def capital(text: str) -> str:
    """The text with a capital letter at its beginning."""
    return text[:1].upper() + text[1:]


def number_words(count: int, one: str, many: str = "") -> str:
    """`1 rule`, `3 rules`."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(words: Sequence[str], last: str = "and") -> str:
    """`a`, `a and b`, `a, b and c`; nothing for none.

    >>> listed(["nose", "tail", "left side"], "or")
    'nose, tail or left side'
    """
    return f"{', '.join(words[:-1])} {last} {words[-1]}" if len(words) > 1 else "".join(words)

"""Text in columns of one letter's width: how wide it is, where it may break, what may not be shown."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from typing import Final

__all__ = ["LEAST_WIDTH", "MOST_WIDTH", "PAGE_WIDTH", "clip", "pad", "printable", "width_of", "wrap"]

LEAST_WIDTH: Final = 60
PAGE_WIDTH: Final = 80
MOST_WIDTH: Final = 100
"""Columns of a page: never fewer, usually, and never more, since longer lines are hard to read."""

_WIDE: Final = frozenset("WF")
_NO_WIDTH: Final = frozenset(("Mn", "Me", "Cf"))
_STUCK: Final = "\u00a0"
"""A no-break space holds a number and its unit, and a tick box and its words, on one line."""


def width_of(text: str) -> int:
    """Columns that a text takes: two for wide letters, none for marks set over another."""
    if text.isascii():
        return len(text)
    return sum(
        0
        if unicodedata.category(char) in _NO_WIDTH
        else 2
        if unicodedata.east_asian_width(char) in _WIDE
        else 1
        for char in text
    )


def printable(text: str) -> str:
    """A text from a file, fit for a terminal: what would steer it or turn the line round is a `?`.

    Tabs become single spaces.
    """
    if text.isprintable():
        return text
    return "".join(
        char if char.isprintable() or char == _STUCK else " " if char in "\t\n\r" else "?" for char in text
    )


def pad(text: str, columns: int) -> str:
    """The text with spaces behind it, up to a width."""
    return text + " " * max(0, columns - width_of(text))


def clip(text: str, columns: int) -> str:
    """The text, ending in dots where it is too wide."""
    if width_of(text) <= columns:
        return text
    kept = ""
    used = 0
    for char in text:
        used += width_of(char)
        if used > columns - 3:
            break
        kept += char
    return kept.rstrip() + "..."


def wrap(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    """Lines of at most `width` columns: `first` stands before the first of them, `rest` before the others.

    A word that is wider than a line is cut. `rest` is as many spaces as `first` is wide unless given.
    """
    rest = " " * width_of(first) if rest is None else rest
    lines: list[str] = []
    line, empty = first, True
    for word in _words(text, max(1, width - max(width_of(first), width_of(rest)))):
        if empty:
            line += word
        elif width_of(line) + 1 + width_of(word) <= width:
            line += " " + word
        else:
            lines.append(line)
            line = rest + word
        empty = False
    lines.append(line.rstrip())
    return [each.replace(_STUCK, " ") for each in lines]


def _words(text: str, room: int) -> Iterable[str]:
    for word in text.split(" "):
        left = word
        while width_of(left) > room:
            cut = _fitting(left, room)
            yield left[:cut]
            left = left[cut:]
        if left:
            yield left


def _fitting(word: str, room: int) -> int:
    """How many letters of a word fit into a room: one at least."""
    used = 0
    for count, char in enumerate(word):
        used += width_of(char)
        if used > room:
            return max(1, count)
    return len(word)

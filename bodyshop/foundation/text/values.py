"""Values that a file gave, in words for messages."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

__all__ = ["first_few", "is_number", "kind_of_value", "quoted", "quoted_words", "shortened", "shown"]

_KINDS = {str: "text", int: "a number", float: "a number", list: "a list", dict: "a table"}
_LONGEST_SHOWN = 60
_MOST_DIGITS = 40


def shortened(text: str, most: int = 40) -> str:
    """Text fit to be shown: at most `most` characters, none of them a control character."""
    cut = text if len(text) <= most else text[: most - 4] + "..."
    return cut if cut.isprintable() else repr(cut)[1:-1]


def is_number(value: object) -> bool:
    """A number, and not true or false."""
    return isinstance(value, int | float) and not isinstance(value, bool)


def kind_of_value(value: object) -> str:
    """What kind of TOML value it is, with an article."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return _KINDS.get(type(value), "a date or time")


def shown(value: object) -> str:
    """A value fit to be shown in a message.

    >>> shown(True), shown([1, 2]), shown("basswood")
    ('true', 'a list', 'basswood')
    """
    if isinstance(value, int) and abs(value) >= 10**_MOST_DIGITS:
        return f"a number of more than {_MOST_DIGITS} digits"
    if isinstance(value, bool | list | dict):
        return kind_of_value(value)
    return shortened(str(value), _LONGEST_SHOWN)


def quoted(value: object) -> str:
    """The same, a text in quotes."""
    return f'"{shown(value)}"' if isinstance(value, str) else shown(value)


def quoted_words(words: Iterable[str]) -> str:
    """The words of a closed list: `one of "front", "rear"`."""
    return "one of " + ", ".join(f'"{word}"' for word in words)


def first_few(words: Sequence[str], most: int) -> str:
    """The first `most` words, and how many more there are."""
    if len(words) <= most:
        return ", ".join(words)
    return ", ".join(words[:most]) + f" and {len(words) - most} more"

"""What is said of one key of the rulebook language, and of the table that it stands in."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

__all__ = ["LanguageKey", "LanguageTable", "Sort"]


class Sort(Enum):
    """What kind of value a key takes. The value is how a person is told."""

    TEXT = "text in quotes"
    TEXTS = "text in quotes, or a list of texts"
    WORD = "one of these words"
    WORDS = "one of these words, or a list of them"
    NUMBER = "a number"
    WHOLE = "a whole number"
    FLAG = "true or false"
    UNIT = "a unit of length"
    LENGTH = "a length: a number in the book's unit, or text with its own unit"
    TRACK = "a length, which may be in feet or metres too"
    MASS = "a mass: a number of grams, or text with its own unit"
    ANGLE = "an angle: a number of degrees, or text with its own unit"
    AMOUNT = "a number in the book's unit (grams for a mass, degrees for an angle), or text with its own unit"
    AMOUNTS = "a list of numbers in the book's unit, or of texts with their own"
    ITEM = "the name of an item in stock, or of one that the book brings"
    STOCKED = "the name of an item in stock"
    TABLE = "a table of its own"
    TABLES = "tables of their own, as many as there are"


@dataclass(frozen=True, slots=True)
class LanguageKey:
    """One key. `example` is TOML of its table with the key in it, and what must stand beside it.

    `heading` groups the keys of a long table. `words` are the values that a closed list has. `items` are
    the shelves whose items have the key; none means all. `changeable`: a `[[change]]` may name it.
    """

    name: str
    sort: Sort
    meaning: str
    example: str
    heading: str = ""
    words: tuple[str, ...] = ()
    needed: bool = False
    items: tuple[str, ...] = ()
    changeable: bool = False

    @property
    def value_words(self) -> str:
        """What it takes, in words: `one of these words: "up", "down", "nearest"`."""
        named = ", ".join(f'"{word}"' for word in self.words)
        return self.sort.value + (f": {named}" if named else "")


@dataclass(frozen=True, slots=True)
class LanguageTable:
    """A table of the file: `name` as it is written, empty for the top of the file."""

    name: str
    title: str
    meaning: str
    keys: tuple[LanguageKey, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of its keys."""
        return tuple(key.name for key in self.keys)

    def under(self, heading: str) -> tuple[str, ...]:
        """The names of the keys under a heading."""
        return tuple(key.name for key in self.keys if key.heading == heading)

    def sections(self) -> Iterator[tuple[str, tuple[LanguageKey, ...]]]:
        """The headings in order, each with its keys."""
        for heading in dict.fromkeys(key.heading for key in self.keys):
            yield heading, tuple(key for key in self.keys if key.heading == heading)

"""What a key of the design file can be: the words in which the table of keys is written."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

__all__ = [
    "FORMAT",
    "LEAST_G",
    "LEAST_MM",
    "MAX_TEXT",
    "NONE",
    "NOTHING_MM",
    "REACH_MM",
    "Field",
    "Kind",
    "Shelf",
    "all_fields",
]

FORMAT = 1
"""The version of the format that this table describes. Older versions stay readable."""

REACH_MM = 2000.0
"""No length in a design is longer: a car is cut from a block a foot long."""

NOTHING_MM = 1e-6
"""A length nearer to 0 is 0: what sums, and other programs, leave of nothing."""

LEAST_MM = 0.001
"""No size in a design is smaller: nothing finer is sawn, drilled, turned or sanded."""

LEAST_G = 0.001
"""No mass in a design is smaller: no balance of a school shows less."""

MAX_TEXT = 60

NONE = "none"
"""The word for a part that is left out."""


class Kind(Enum):
    """What a key holds."""

    LENGTH = "a length"
    MASS = "a mass"
    ANGLE = "an angle"
    COUNT = "a whole number"
    TEXT = "text in quotes"
    FLAG = "true or false"
    UNIT = "a unit of length"
    CHOICE = "a word"
    STOCK = "the name of a stock item"
    POINT = "a point, [x, y]"
    HANDLES = "two points, [[x, y], [x, y]]"
    POINTS = "a list of points"
    LENGTHS = "names and their lengths"
    TABLE = "a table"
    TABLES = "a list of tables"
    WHEEL = "the name of a wheel, or a table with its figures"


class Shelf(Enum):
    """The stock tables that names are looked up in."""

    BLANKS = "blanks"
    WOODS = "woods"
    WHEELS = "wheels"
    AXLES = "axles"
    BEARINGS = "bearings"
    WASHERS = "washers"
    SCREW_EYES = "screw eyes"
    CARTRIDGES = "cartridges"
    FINISHES = "finishes"
    GLUES = "glues"


@dataclass(frozen=True, slots=True)
class Field:
    """One key. `least` and `most` are bounds that may be reached.

    `default` says in words what holds when the key is left out. `may_be_none` allows the word "none".
    `limit` is the most entries of a list. `fields` are the keys of a table; where `ways` says so, it has
    exactly one of those sets of keys.
    """

    key: str
    kind: Kind
    doc: str
    required: bool = False
    default: str = ""
    least: float | None = None
    most: float | None = None
    shelf: Shelf | None = None
    words: tuple[str, ...] = ()
    may_be_none: bool = False
    limit: int | None = None
    fields: tuple[Field, ...] = ()
    ways: tuple[tuple[str, ...], ...] = ()


def all_fields(
    fields: tuple[Field, ...], above: tuple[str, ...] = ()
) -> Iterator[tuple[tuple[str, ...], Field]]:
    """Every field with its path, tables before what is in them."""
    for field in fields:
        path = (*above, field.key)
        yield path, field
        yield from all_fields(field.fields, path)

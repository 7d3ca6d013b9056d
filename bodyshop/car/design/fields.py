"""What a key of the design file can be, and the stock tables that a key can name from."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from enum import Enum
from typing import Final, TypeVar

from bodyshop.car.stock.blanks import blanks
from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import NOTHING, Hardware, hardware
from bodyshop.car.stock.woods import woods
from bodyshop.foundation.toml.rows import StockItem

__all__ = [
    "FORMAT",
    "Field",
    "HARDWARE_SHELVES",
    "KeyKind",
    "LEAST_G",
    "LEAST_MM",
    "MAX_TEXT",
    "NONE",
    "NOTHING_MM",
    "REACH_MM",
    "Shelf",
    "Shelves",
    "all_fields",
    "names",
    "shelf_items",
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


class KeyKind(Enum):
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
    kind: KeyKind
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


Item = TypeVar("Item", bound=StockItem)


_SHELVES: Final[Mapping[Shelf, Callable[[], Mapping[str, StockItem]]]] = {
    Shelf.BLANKS: blanks,
    Shelf.WOODS: woods,
    Shelf.WHEELS: lambda: hardware().wheels,
    Shelf.AXLES: lambda: hardware().axles,
    Shelf.BEARINGS: lambda: hardware().bearings,
    Shelf.WASHERS: lambda: hardware().washers,
    Shelf.SCREW_EYES: lambda: hardware().screw_eyes,
    Shelf.CARTRIDGES: lambda: hardware().cartridges,
    Shelf.FINISHES: finishes,
    Shelf.GLUES: glues,
}
HARDWARE_SHELVES: Final[Mapping[Shelf, str]] = {
    Shelf.WHEELS: "wheels",
    Shelf.AXLES: "axles",
    Shelf.BEARINGS: "bearings",
    Shelf.WASHERS: "washers",
    Shelf.SCREW_EYES: "screw-eyes",
    Shelf.CARTRIDGES: "cartridges",
}
"""The shelves on which an event may put something of its own."""


def shelf_items(shelf: Shelf) -> Mapping[str, StockItem]:
    """Everything in stock on a shelf, by name."""
    return _SHELVES[shelf]()


def names(shelf: Shelf) -> list[str]:
    """The names in stock on a shelf, in the order of its table."""
    return list(shelf_items(shelf))


class Shelves:
    """What one design can name: what is in stock, and what its event brings."""

    def __init__(self, brought: Hardware = NOTHING) -> None:
        self._brought = brought

    def names(self, shelf: Shelf) -> list[str]:
        """The names on a shelf, the event's own last."""
        return [*names(shelf), *(name for name in self._own(shelf) if name not in shelf_items(shelf))]

    def item(self, shelf: Shelf, name: str, kind: type[Item]) -> Item | None:
        """The item of that name, or None."""
        found = self._own(shelf).get(name) or shelf_items(shelf).get(name)
        return found if isinstance(found, kind) else None

    def _own(self, shelf: Shelf) -> Mapping[str, StockItem]:
        word = HARDWARE_SHELVES.get(shelf)
        return self._brought.shelf(word) if word is not None else {}

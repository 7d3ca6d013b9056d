"""Stock tables by the word that the table of fields uses for them, with what an event brings of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, TypeVar

from bodyshop.design.fields import Shelf
from bodyshop.stock.blanks import blanks
from bodyshop.stock.finish import finishes, glues
from bodyshop.stock.hardware import NOTHING, Hardware, hardware
from bodyshop.stock.tables import StockItem
from bodyshop.stock.woods import woods

__all__ = ["HARDWARE_SHELVES", "Shelves", "names", "shelf_items"]

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

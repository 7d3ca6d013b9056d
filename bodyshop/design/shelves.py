"""Stock tables by the word that the table of fields uses for them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, TypeVar

from bodyshop.design.fields import Shelf
from bodyshop.stock.blanks import blanks
from bodyshop.stock.finish import finishes, glues
from bodyshop.stock.hardware import hardware
from bodyshop.stock.tables import StockItem
from bodyshop.stock.woods import woods

__all__ = ["item", "names", "shelf_items"]

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


def shelf_items(shelf: Shelf) -> Mapping[str, StockItem]:
    """Everything on a shelf, by name."""
    return _SHELVES[shelf]()


def names(shelf: Shelf) -> list[str]:
    """The names on a shelf, in the order of its table."""
    return list(shelf_items(shelf))


def item(shelf: Shelf, name: str, kind: type[Item]) -> Item | None:
    """The item of that name, or None."""
    found = shelf_items(shelf).get(name)
    return found if isinstance(found, kind) else None

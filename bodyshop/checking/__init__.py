"""One design file checked from end to end: opened, measured, judged, with what would make it pass."""

from bodyshop.checking.check import Checked, check_car
from bodyshop.checking.opening import (
    DEFAULT_RULEBOOK,
    Bookshelf,
    Opened,
    find_design,
    open_car,
    open_source,
    shown_file,
)

__all__ = [
    "DEFAULT_RULEBOOK",
    "Bookshelf",
    "Checked",
    "Opened",
    "check_car",
    "find_design",
    "open_car",
    "open_source",
    "shown_file",
]

"""One design file checked from end to end: opened, measured, judged, with what would make it pass."""

from bodyshop.rules.checking.check import Checked, check_car
from bodyshop.rules.checking.opening import (
    DEFAULT_RULEBOOK,
    LoadedCar,
    RulebookCache,
    find_design,
    open_car,
    open_source,
    shown_file,
)

__all__ = [
    "DEFAULT_RULEBOOK",
    "RulebookCache",
    "Checked",
    "LoadedCar",
    "check_car",
    "find_design",
    "open_car",
    "open_source",
    "shown_file",
]

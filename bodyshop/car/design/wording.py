"""Bounds and names of keys in words, for messages."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from bodyshop.car.design.fields import LEAST_G, LEAST_MM, Field, all_fields
from bodyshop.car.design.schema import ROOT

__all__ = ["bounds", "home_of", "usual_name"]

_HOMES_SHOWN = 3

# What people write for a key of ours, though it is spelt nothing like it.
_USUAL = {
    "weight": ("weighed", "mass"),
    "radius": ("diameter",),
    "center": ("circle",),
    "centre": ("circle",),
    "middle": ("circle",),
    "thickness": ("width",),
}


def usual_name(key: str, known: Iterable[str]) -> str:
    """The key among `known` that people mean by another word; empty when there is none."""
    return next((name for name in _USUAL.get(key.casefold(), ()) if name in known), "")


def home_of(key: str) -> str:
    """The tables that a key out of place belongs in; empty when there are none, or too many to help."""
    found = [path[:-1] for path, _ in all_fields(ROOT) if path[-1] == key and len(path) > 1]
    homes = {"a point of an outline" if home[-1] == "points" else f"[{'.'.join(home)}]" for home in found}
    return " or ".join(sorted(homes)) if len(homes) <= _HOMES_SHOWN else ""


def bounds(field: Field, show: Callable[[float], str]) -> str:
    """The bounds of a field in words."""
    low = show(field.least) if field.least is not None else None
    high = show(field.most) if field.most is not None else None
    if field.least in (LEAST_MM, LEAST_G):  # what is no size at all: inches would show it as 0
        return f"more than {show(0.0)}" + (f", up to {high}" if high else "")
    if high is None:
        return f"{low} or more"
    if low is None:
        return f"at most {high}"
    return high if low == high else f"{low} to {high}"

"""How a value of a file is named: the path of keys and list positions that leads to it."""

from __future__ import annotations

__all__ = ["KeyPath", "Range", "dotted"]

KeyPath = tuple[str | int, ...]
"""Keys and list positions from the top of the file: `("profile", "points", 3, "x")`."""

Range = tuple[int, int]
"""Start and end offset in the text; the end is exclusive."""


def dotted(path: KeyPath) -> str:
    """A path as people write it: `profile.points[3].x`."""
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        else:
            plain = part.isprintable() and part and not set(part) & set(". \"'[]")
            name = part if plain else repr(part)
            text += f".{name}" if text else name
    return text

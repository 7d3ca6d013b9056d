"""File names made out of what a person called something."""

from __future__ import annotations

import unicodedata
from typing import Final

__all__ = ["safe_stem"]

_LONGEST: Final = 40
_FALLBACK: Final = "car"
# Names that one system keeps for its devices, in any case and with any ending.
_RESERVED: Final = frozenset(
    ("con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "0123456789"))
)


def safe_stem(name: str, fallback: str = _FALLBACK) -> str:
    """A stem for a file name that is legal on every system: letters, digits, - and _.

    Letters of any alphabet are kept; everything else becomes a single -, and never stands first or
    last. A name with nothing to keep becomes `fallback`.
    """
    kept: list[str] = []
    for char in unicodedata.normalize("NFC", name):
        if char.isalpha() or char.isdecimal() or char == "_" or (kept and _is_part_of_letter(char, kept[-1])):
            kept.append(char)
        elif kept and kept[-1] != "-":
            kept.append("-")
        if len(kept) >= _LONGEST:
            break
    stem = "".join(kept).strip("-_")
    if not stem:
        return fallback
    return f"{stem}-{fallback}" if stem.casefold() in _RESERVED else stem


def _is_part_of_letter(char: str, before: str) -> bool:
    """Whether a mark belongs to the letter before it, as vowels do in several scripts."""
    variation = "\ufe00" <= char <= "\ufe0f"
    return unicodedata.category(char) in ("Mn", "Mc") and before not in "-_" and not variation

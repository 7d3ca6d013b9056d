"""A commented rulebook to start from.

It stands alone: a teacher copies an event's sheet into it clause by clause, so nothing is inherited that
the sheet does not say. Its figures are invented, and it says so.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from bodyshop.car.design.starters import toml_text
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.rules.rulebook.find import shipped_rulebooks

__all__ = ["new_rulebook_file", "new_rulebook_text"]

_SHEET: Final = Path(__file__).resolve().parent / "starter.toml"
_NAME: Final = "{name}"
_SUFFIX: Final = ".toml"
_FALLBACK: Final = "rulebook"


def new_rulebook_text(name: str) -> str:
    """The text of a rulebook called `name`."""
    return _SHEET.read_text(encoding="utf-8").replace(f" = {_NAME}", f" = {toml_text(name)}")


def new_rulebook_file(name: str) -> Path:
    """The file in the current folder that a rulebook called `name` goes into.

    Raises:
        WriteRefusedError: a shipped rulebook is called so, and would be found in its place.
    """
    stem = safe_stem(name, _FALLBACK).lower()
    if stem in shipped_rulebooks():
        raise WriteRefusedError(
            f"{stem}{_SUFFIX}", "a rulebook that comes with the program is called so; choose another name"
        )
    return Path(f"{stem}{_SUFFIX}")

"""The one folder that the bench may touch: names to places in it, and nothing outside."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Final

from bodyshop.problems import Problem, ProblemsError

__all__ = ["Folder", "SUFFIX"]

SUFFIX: Final = ".toml"
_LONGEST: Final = 200
_DEEPEST: Final = 12
# Names that one system keeps for its devices, in any case and with any ending.
_RESERVED: Final = re.compile(r"(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\.|$)", re.IGNORECASE)
_NEVER: Final = frozenset('\\:*?"<>|')


class Folder:
    """A folder with designs. Every name in it is relative, its parts joined by `/`, and ends in `.toml`."""

    def __init__(self, root: Path) -> None:
        self.root = root.resolve()

    def place(self, name: str) -> Path:
        """The file that a name means, which need not be there.

        Raises:
            ProblemsError: the name leads out of the folder, by itself or by a link, or no design could have
                it.
        """
        parts = name.split("/")
        if not _is_plain(name) or len(parts) > _DEEPEST or not all(_is_part(part) for part in parts):
            raise _refused(name, "no design here can have this name", f"a name such as wren{SUFFIX}")
        if not name.casefold().endswith(SUFFIX):
            raise _refused(name, "this is not the name of a design", f"a name that ends in {SUFFIX}")
        place = self.root.joinpath(*parts)
        if not self.holds(place):
            raise _refused(name, "this leads out of the folder that the bench was opened on", "a file in it")
        return place

    def holds(self, place: Path) -> bool:
        """Whether a place is inside, links followed."""
        try:
            return place.resolve().is_relative_to(self.root)
        except (OSError, ValueError, RuntimeError):  # a circle of links
            return False

    def name_of(self, place: Path) -> str:
        """The name of a file inside. Raises `ValueError` where it is not."""
        return place.relative_to(self.root).as_posix()


def _is_plain(name: str) -> bool:
    return 0 < len(name) <= _LONGEST and name.isprintable() and not set(name) & _NEVER


def _is_part(part: str) -> bool:
    """Whether it may be a file or folder on every system: no hidden ones, no way up, no devices."""
    if not part or part != part.strip() or part.startswith(".") or part.endswith("."):
        return False
    return not _RESERVED.match(part) and os.sep not in part


def _refused(name: str, message: str, expected: str) -> ProblemsError:
    shown = name if name.isprintable() else repr(name)[1:-1]
    return ProblemsError(
        [Problem("bench-name", message, file=shown[:80], found=shown[:80], expected=expected)]
    )

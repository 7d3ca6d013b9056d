"""The one folder that the bench may touch, and the rulebooks it may read there: nothing outside it."""

from __future__ import annotations

import os
import re
from pathlib import Path
from typing import Final

from bodyshop.car.design import peek_rulebook
from bodyshop.foundation.files.shipped import rules_folder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import Source
from bodyshop.rules.checking import RulebookCache
from bodyshop.rules.rulebook import Rulebook, find_rulebook

__all__ = ["Folder", "FolderRulebooks", "SUFFIX"]


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


class FolderRulebooks(RulebookCache):
    """A shelf that lends no book from outside the folder, named by a design or inherited from."""

    def __init__(self, folder: Folder) -> None:
        super().__init__()
        self._folder = folder
        self._seen: dict[tuple[str, Path], bool] = {}

    def book(self, source: Source) -> tuple[Rulebook, bool]:
        """The rulebook for a design, and whether it is the default for want of a name.

        Raises:
            ProblemsError: there is no such rulebook, it is not legal, or it lies outside.
        """
        named, beside = peek_rulebook(source), Path(source.name).parent
        if named and not self._seen.get((named, beside)):
            if not self._may_read(find_rulebook(named, beside, at=(source, ("rulebook",)))):
                raise _outside(source)
            self._seen[named, beside] = True
        book, by_default = super().book(source)
        if not all(self._may_read(Path(file)) for file in {rule.spot.file for rule in book.rules}):
            raise _outside(source)
        return book, by_default

    def _may_read(self, file: Path) -> bool:
        return file.resolve().is_relative_to(rules_folder().resolve()) or self._folder.holds(file)


def _outside(source: Source) -> ProblemsError:
    return ProblemsError(
        [
            source.problem(
                ("rulebook",),
                "rulebook-outside",
                "this rulebook, or one it inherits from, is outside the folder that the bench was opened on",
                expected="a rulebook that comes along, or one in the folder",
            )
        ]
    )

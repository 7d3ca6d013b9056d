"""Rulebooks as the bench may read them: those that come along, and those in the folder it was opened on."""

from __future__ import annotations

from pathlib import Path

from bodyshop.bench.folder import Folder
from bodyshop.checking import Bookshelf
from bodyshop.design import peek_rulebook
from bodyshop.problems import ProblemsError
from bodyshop.resources import rules_folder
from bodyshop.rulebook import Rulebook, find_rulebook
from bodyshop.source import Source

__all__ = ["FolderShelf"]


class FolderShelf(Bookshelf):
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

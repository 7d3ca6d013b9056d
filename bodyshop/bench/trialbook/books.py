"""The trial books of the bench's folder: which there are, and opening one."""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Final

from bodyshop.bench.folder import Folder
from bodyshop.problems import Problem, ProblemsError
from bodyshop.source.names import safe_stem
from bodyshop.trials.book import DEFAULT_BOOK, Book
from bodyshop.trials.model import Event

__all__ = ["SUFFIX", "Books"]

SUFFIX: Final = Path(DEFAULT_BOOK).suffix
_MOST: Final = 100


class Books:
    """Books at the top of the folder. Each is opened once, and let go of at the end."""

    def __init__(self, folder: Folder) -> None:
        self._folder = folder
        self._open: dict[Path, Book] = {}
        self._lock = threading.Lock()

    def names(self) -> list[str]:
        """File names of the books, in order."""
        found = (path for path in self._folder.root.glob(f"*{SUFFIX}") if path.is_file())
        return sorted(path.name for path in found if self._folder.holds(path))[:_MOST]

    def book(self, name: str) -> Book:
        """A book of the folder by its file name.

        Raises:
            ProblemsError: there is none of that name, or it cannot be opened.
            WriteRefusedError: it is of an older form, and cannot be brought up to date.
        """
        if name not in self.names():
            raise ProblemsError(
                [Problem("bench-name", "there is no such trial book in this folder", found=name[:80])]
            )
        path = self._folder.root / name
        with self._lock:
            found = self._open.get(path)
            if found is None:
                found = self._open[path] = Book.open(path)
            return found

    def begin(self, event: Event) -> str:
        """Make a book for an event; its file name.

        Raises:
            ProblemsError: the event makes no sense.
            WriteRefusedError: there is such a file already.
        """
        stem = safe_stem(event.name).lower() if event.name.strip() else Path(DEFAULT_BOOK).stem
        name = f"{stem}{SUFFIX}"
        Book.create(self._folder.root / name, event).close()
        return name

    def close(self) -> None:
        """Let go of all books."""
        with self._lock:
            for book in self._open.values():
                book.close()
            self._open.clear()

"""All that one run of the bench holds: its folder, the designs on it, the work going on beside."""

from __future__ import annotations

import os
from pathlib import Path

from bodyshop.app.bench.file_sync import DesignFile
from bodyshop.app.bench.folder import SUFFIX, Folder
from bodyshop.app.bench.gallery import Gallery
from bodyshop.app.bench.jobs import Runner
from bodyshop.app.bench.session import Session
from bodyshop.app.bench.trialbook.routes import Books
from bodyshop.car.design.starters import starter_text
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.files.safe_writing import write_file
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.toml import SIZE_LIMIT, parse_source
from bodyshop.foundation.units import LengthUnit

__all__ = ["Bench"]


class Bench:
    """A folder, and its designs that are being worked on. One design has one worktop, however many tabs.

    `first` is the design to show at once, empty for the gallery.
    """

    def __init__(self, root: Path, first: str = "") -> None:
        self.folder = Folder(root)
        self.first = first
        self.gallery = Gallery(self.folder)
        self.runner = Runner()
        self.books = Books(self.folder)
        self._worktops: dict[str, Session] = {}

    def session(self, name: str) -> Session:
        """The worktop of a design of the folder.

        Raises:
            ProblemsError: there is none of that name, or it cannot be read.
        """
        found = self._worktops.get(name)
        if found is None:
            filed = DesignFile(name, self.folder)
            same = self._same_file(filed.path)
            if same is not None:
                return same
            found = self._worktops[name] = Session(filed, filed.read(), self.runner)
        return found

    def _same_file(self, path: Path) -> Session | None:
        """A worktop that has this file already, under another name: a link, or other capitals."""
        for session in self._worktops.values():
            try:
                if session.filed.path.samefile(path):
                    return session
            except OSError:
                continue
        return None

    def put(self, name: str, text: str) -> Session:
        """A design that is in no file yet.

        Raises:
            ProblemsError: the name leads out of the folder.
        """
        session = Session(DesignFile(name, self.folder), text, self.runner)
        self._worktops[name] = session
        return session

    def copy(self, name: str, as_name: str) -> str:
        """Write the present text of a design into a new file; the name that it got.

        Raises:
            ProblemsError: the name leads out of the folder.
            WriteRefusedError: there is such a file, or it cannot be written.
        """
        session = self.session(name)
        return self._write_new(as_name, session.document.text)

    def begin(self, name: str, style: str, unit: str) -> str:
        """Write a commented design to start from; the name of its file. Raises as `copy` does."""
        title = name.strip().removesuffix(SUFFIX)[:60] or "Wren"
        measured_in = LengthUnit.IN if unit == "in" else LengthUnit.MM
        text = starter_text(style, capital(title), measured_in)
        return self._write_new(f"{safe_stem(title).lower()}{SUFFIX}", text)

    def bring(self, name: str, data: bytes) -> str:
        """Take a file of somebody's into the folder; the name that it got. Raises as `copy` does.

        Only the last part of the name counts, and only text that is TOML is taken.
        """
        if len(data) > SIZE_LIMIT:
            raise ProblemsError([Problem("file-size", "the file is too large", expected="at most 1 MB")])
        last = name.replace("\\", "/").rpartition("/")[2]
        stem = last[: -len(SUFFIX)] if last.casefold().endswith(SUFFIX) else last
        try:
            text = data.decode("utf-8")
        except UnicodeDecodeError:
            raise ProblemsError([Problem("file-encoding", "the file is no UTF-8 text")]) from None
        parse_source(text, last)
        return self._write_new(f"{safe_stem(stem)}{SUFFIX}", text)

    def _write_new(self, name: str, text: str) -> str:
        name = name.strip()
        if not name.casefold().endswith(SUFFIX):
            name += SUFFIX
        path = self.folder.place(name)
        if os.path.lexists(path) or name in self._worktops:
            raise WriteRefusedError(name, "there is such a file already; choose another name")
        write_file(path, text.encode("utf-8"))
        return name

    def close(self) -> None:
        """Put unsaved work into drafts, and stop what runs beside."""
        for session in self._worktops.values():
            session.close()
        self.runner.stop()
        self.books.close()

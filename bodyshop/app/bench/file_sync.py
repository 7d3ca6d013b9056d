"""A design's file on the disk: read, written, watched, and the draft that survives a crash.

Nothing is written over what somebody else has written since: the file is compared with what was last read
or written here, by its content and not by its time.
"""

from __future__ import annotations

import hashlib
import os
from contextlib import suppress
from datetime import UTC, datetime
from enum import Enum
from pathlib import Path
from typing import Final, Literal

from bodyshop.app.bench.folder import Folder
from bodyshop.app.bench.messages import read_as
from bodyshop.app.bench.text_edits import with_endings
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.files.safe_writing import write_file
from bodyshop.foundation.problems import WriteRefusedError
from bodyshop.foundation.toml import SIZE_LIMIT, read_text
from bodyshop.output.json.document import JsonRecord, json_text

__all__ = ["DRAFTS", "ChangedOnDiskError", "Disk", "Draft", "DesignFile", "drafts_in"]

DRAFTS: Final = ".bodyshop-drafts"
"""The hidden folder, in the folder of the designs, that keeps work not yet saved."""

_FOUND: Final = "-found"
_BOM: Final = "\ufeff"


class ChangedOnDiskError(Exception):
    """The file is no longer what was last read or written here; nothing was done."""


class Disk(Enum):
    """How the file stands to what was last read or written here."""

    SAME = "same"
    CHANGED = "changed"
    GONE = "gone"


class Draft(JsonRecord, frozen=True, tag_field="format", tag="bench-draft"):
    """Work that was not saved when it was last heard of.

    `name` is the design's, `base` the print of the file that it grew from (empty for none), `when` the time
    in ISO 8601.
    """

    version: Literal[1]
    name: str
    base: str
    text: str
    when: str


class DesignFile:
    """One file of a design: `name` in the folder, `path` where it is.

    `folder` is the one it lies in, `known` the print of its content as last read or written here, empty while
    there is no such file.
    Raises `ProblemsError` where the name leads out of the folder.
    """

    def __init__(self, name: str, folder: Folder) -> None:
        self.name = name
        self.path = folder.place(name)
        self.known = ""
        self.folder = folder
        self._drafts = folder.root / DRAFTS
        self._original = ""
        self._saved: str | None = None
        self._stamp: tuple[int, int] | None = None
        self._bom = False

    def read(self) -> str:
        """The text, its lines ended by line feeds.

        Raises:
            ProblemsError: the file cannot be had, or is no text.
        """
        stamp = self._stamp_now()
        text = read_text(self.folder.place(self.name))
        self._take(text, stamp)
        return self._saved or ""

    def _take(self, text: str, stamp: tuple[int, int] | None) -> None:
        self._bom = text.startswith(_BOM)
        self._original = text.removeprefix(_BOM)
        self._saved = self._original.replace("\r\n", "\n").replace("\r", "\n")
        self.known = print_of(text.encode("utf-8"))
        self._stamp = stamp

    def is_saved(self, text: str) -> bool:
        """Whether the file holds this text, as far as is known here."""
        return self._saved is not None and text == self._saved

    def peek(self) -> str:
        """The text on the disk, without taking it for known.

        Raises:
            ProblemsError: the file cannot be had, or is no text.
        """
        return (
            read_text(self.folder.place(self.name))
            .removeprefix(_BOM)
            .replace("\r\n", "\n")
            .replace("\r", "\n")
        )

    def look(self) -> Disk:
        """Whether somebody else has changed the file. Cheap while nobody has."""
        stamp = self._stamp_now()
        if stamp is None:
            return Disk.GONE if self.known else Disk.SAME
        if stamp == self._stamp and self.known:
            return Disk.SAME
        found = self._print_now()
        if not found:
            return Disk.GONE if self.known else Disk.SAME
        if found != self.known:
            return Disk.CHANGED
        self._stamp = stamp
        return Disk.SAME

    def accept(self) -> None:
        """Take what is on the disk now for known: the next `save` may write over it."""
        self._stamp = self._stamp_now()
        self.known = self._print_now()
        self._saved = None

    def save(self, text: str) -> None:
        """Write the text, with the line ends and the byte-order mark that the file had.

        Raises:
            ChangedOnDiskError: somebody else has written the file, or one of this name, in the meantime.
            WriteRefusedError: it cannot be written.
        """
        if not self.folder.holds(self.path):  # a link has been put in its place since
            raise WriteRefusedError(self.name, "it leads out of the folder that the bench was opened on")
        if self._print_now() != self.known and not self._is_gone():
            raise ChangedOnDiskError
        whole = (_BOM if self._bom else "") + with_endings(self._original, text)
        data = whole.encode("utf-8")
        if len(data) > SIZE_LIMIT:
            raise WriteRefusedError(self.name, "it is longer than any design that can be read")
        write_file(self.path, data)
        self._take(whole, self._stamp_now())
        self.drop_draft()

    def _is_gone(self) -> bool:
        return not os.path.lexists(self.path)

    def _stamp_now(self) -> tuple[int, int] | None:
        try:
            found = self.path.stat()
        except (OSError, ValueError):
            return None
        return found.st_mtime_ns, found.st_size

    def _print_now(self) -> str:
        try:
            with self.path.open("rb") as stream:
                return print_of(stream.read(SIZE_LIMIT + 1))
        except (OSError, ValueError):
            return ""

    # ------------------------------------------------------------ the draft

    def _draft_file(self, of: str = "") -> Path:
        mark = hashlib.sha256(self.name.encode("utf-8", "surrogatepass")).hexdigest()[:8]
        return self._drafts / f"{safe_stem(Path(self.name).stem)}-{mark}{of}.json"

    def keep_draft(self, text: str) -> None:
        """Put work that is not saved where a crash cannot reach it.

        Raises:
            WriteRefusedError: it cannot be written.
        """
        when = datetime.now(tz=UTC).astimezone().isoformat(timespec="seconds")
        draft = Draft(1, self.name, self.known, text, when)
        if self._drafts.is_symlink():
            raise WriteRefusedError(DRAFTS, "it is a link, and may lead out of the folder")
        try:
            self._drafts.mkdir(exist_ok=True)
        except OSError as error:
            raise WriteRefusedError(DRAFTS, os.strerror(error.errno or 0).lower()) from None
        write_file(self._draft_file(), json_text(draft).encode("ascii"))

    def lay_aside(self) -> None:
        """Put a draft that was found out of the way of the next one, until somebody decides on it."""
        found = self._draft_file()
        if _read_draft(found) is not None:
            with suppress(OSError):
                found.replace(self._draft_file(_FOUND))

    def draft(self) -> Draft | None:
        """The draft that was laid aside, where it says something else than the file."""
        found = _read_draft(self._draft_file(_FOUND))
        if found is None or found.name != self.name or self.is_saved(found.text):
            return None
        return found

    def drop_found(self) -> None:
        """Remove the draft that was laid aside."""
        self._drop(self._draft_file(_FOUND))

    def drop_draft(self) -> None:
        """Remove the draft of the present work."""
        self._drop(self._draft_file())

    def _drop(self, file: Path) -> None:
        with suppress(OSError):
            file.unlink()
        with suppress(OSError):
            self._drafts.rmdir()  # with its last draft the folder goes


def drafts_in(root: Path) -> tuple[Draft, ...]:
    """All drafts that were left in a folder."""
    try:
        files = sorted((root / DRAFTS).glob("*.json"))
    except OSError:
        return ()
    return tuple(draft for file in files if (draft := _read_draft(file)) is not None)


def _read_draft(file: Path) -> Draft | None:
    """A draft file; None where there is none, or it is no draft of ours."""
    try:
        if file.is_symlink() or file.stat().st_size > 8 * SIZE_LIMIT:
            return None
        draft = read_as(file.read_bytes(), Draft)
    except (OSError, ValueError):
        return None
    return None if len(draft.text) > SIZE_LIMIT else draft


def print_of(data: bytes) -> str:
    """A short name of a file's content."""
    return hashlib.sha256(data).hexdigest()

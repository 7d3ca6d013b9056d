"""The book's file: made, opened, looked over and brought to the newest form."""

from __future__ import annotations

import os
import sqlite3
import stat
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bodyshop.problems import Problem, ProblemsError, WriteRefusedError, nearest
from bodyshop.source.passing import clear_stale, passing_place
from bodyshop.trials.chain import (
    FIRST_CHAINED,
    WHOLE_AT_OPENING,
    ChainFault,
    count_records,
    examine,
    examine_at_opening,
)
from bodyshop.trials.copies import back_up, copy_is_due, damaged, renew_copies
from bodyshop.trials.forms import FORM, bring_up, form_of, is_ours
from bodyshop.trials.store import BUSY_S, AlteredError, DamagedError, connect, told

__all__ = ["Filed", "create_file", "form_in", "look_at", "open_file", "page_faults"]

_MAGIC: Final = b"SQLite format 3\x00"
_SUFFIX: Final = ".trials"
_OLDER: Final = (
    "the book is of an older form ({}) and has to be brought up to date, but its file or folder is read-only"
)
_TAKEN: Final = "something has this name already; a book is never written over"
_NO_FOLDER: Final = "there is no folder to write it into"


@dataclass(frozen=True, slots=True)
class Filed:
    """How a file was found: whether it may be written; if it was of an older form, which, and the copy."""

    writable: bool
    migrated_from: int | None = None
    backup: Path | None = None


def create_file(path: Path) -> Filed:
    """An empty book of the newest form. Nothing is there under its name until it is whole.

    Raises:
        WriteRefusedError: something has this name, or it cannot be written.
    """
    name = str(path)
    if not name.strip() or "\0" in name or not path.name:
        raise WriteRefusedError(name or "the book", "no file can have this name")
    try:
        os.fsencode(path)
        if os.path.lexists(path):
            raise WriteRefusedError(name, _TAKEN)
        if not path.parent.is_dir():
            raise WriteRefusedError(name, _NO_FOLDER)
        clear_stale(path.parent)
        passing = passing_place(path)
    except (OSError, ValueError):
        raise WriteRefusedError(name, "no file can have this name") from None
    try:
        with told(name):
            connection = sqlite3.connect(passing, isolation_level=None)
            with closing(connection):
                # A larger page holds a whole record of the longer kinds; it can only be chosen now.
                connection.execute("PRAGMA page_size = 4096")
                connection.execute("PRAGMA synchronous = FULL")
                bring_up(connection)
                connection.execute("PRAGMA journal_mode = WAL")
        _put_in_place(passing, path)
    except DamagedError as error:
        raise WriteRefusedError(name, f"the disk does not keep what is written to it: {error}") from None
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else "unknown reason"
        raise WriteRefusedError(name, f"it cannot be written ({reason})") from None
    finally:
        for end in ("", "-wal", "-shm", "-journal"):
            with suppress(OSError):
                Path(f"{passing}{end}").unlink(missing_ok=True)
    return Filed(writable=True)


def _put_in_place(passing: Path, path: Path) -> None:
    """Give a whole file its name, never over another one."""
    try:
        path.hardlink_to(passing)
    except FileExistsError:
        raise WriteRefusedError(str(path), _TAKEN) from None
    except (OSError, NotImplementedError):  # a disk without such links
        if os.path.lexists(path):
            raise WriteRefusedError(str(path), _TAKEN) from None
        passing.replace(path)


def open_file(path: Path, *, wait_s: float = BUSY_S) -> Filed:
    """Look a book's file over, and bring it to the newest form.

    Raises:
        ProblemsError: there is none, it is no book, of a newer form, or damaged.
        WriteRefusedError: it is of an older form and may not be written.
    """
    name = str(path)
    look_at(path, name)
    writable = _may_write(path)
    try:
        with told(name), closing(connect(path, write=writable, wait_s=wait_s)) as connection:
            form = form_in(connection, name)
            _check_whole(connection, form)
            if form == FORM:
                if writable and copy_is_due(path):
                    if count_records(connection) > WHOLE_AT_OPENING:
                        _refuse_broken(examine(connection).faults)
                    renew_copies(connection, path)
                return Filed(writable)
            if not writable:
                raise WriteRefusedError(name, _OLDER.format(form))
            copy = back_up(connection, path, f"form{form}")
            try:
                bring_up(connection)
            except (ValueError, sqlite3.Error) as error:
                copy.unlink(missing_ok=True)  # nothing was changed
                if isinstance(error, sqlite3.Error):
                    raise
                raise DamagedError(str(error)) from None
            return Filed(writable=True, migrated_from=form, backup=copy)
    except DamagedError as error:
        raise damaged(path, error) from None


def _check_whole(connection: sqlite3.Connection, form: int) -> None:
    """Look over the pages, the indexes, and the chain of records."""
    if faults := page_faults(connection):
        raise DamagedError("; ".join(faults))
    if form >= FIRST_CHAINED:
        _refuse_broken(examine_at_opening(connection))


def page_faults(connection: sqlite3.Connection) -> tuple[str, ...]:
    """What is wrong with pages and indexes, in the words of the database; a few of it."""
    faults = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(3)")]
    return () if faults == ["ok"] else tuple(faults)


def _refuse_broken(faults: tuple[ChainFault, ...]) -> None:
    if faults:
        more = f", and {len(faults) - 1} more" if len(faults) > 1 else ""
        raise AlteredError(f"{faults[0].sentence}{more} (bodyshop trial check lists all)")


def form_in(connection: sqlite3.Connection, name: str) -> int:
    """The form of a book.

    Raises:
        ProblemsError: it is no book, or of a newer form.
        DamagedError: it is of a form that no book has.
    """
    form = form_of(connection)
    if not is_ours(connection):
        code, message, expected = "book-foreign", "this is a database, but no trial book", _expected()
    elif form > FORM:
        code = "book-newer"
        message = (
            f"this book was written by a newer bodyshop (form {form}; this one knows up to {FORM}), and "
            "nothing in it was touched"
        )
        expected = "the newest bodyshop"
    elif form < 1:
        raise DamagedError(f"it says that it is of form {form}, which no book has")
    else:
        return form
    raise ProblemsError([Problem(code, message, file=name, expected=expected)])


def _expected() -> str:
    return "a trial book, made with: bodyshop trial new"


def look_at(path: Path, name: str) -> None:
    """Refuse what is plainly no book. Nothing is opened that could change the file.

    Raises:
        ProblemsError: it is no book.
    """
    code, message = "", ""
    try:
        mode = path.stat().st_mode
        if stat.S_ISDIR(mode):
            code, message = "file-folder", "this is a folder"
        elif not stat.S_ISREG(mode):
            code, message = "file-special", "this is not an ordinary file"
        else:
            with path.open("rb") as stream:
                begins = stream.read(len(_MAGIC))
            if not begins:
                code, message = "book-empty", "the file is empty"
            elif begins != _MAGIC:
                code, message = "book-foreign", "this is no trial book"
    except (FileNotFoundError, NotADirectoryError):
        raise ProblemsError([_missing(path, name)]) from None
    except PermissionError:
        code, message = "file-unreadable", "the file may not be read"
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else "unknown reason"
        code, message = "file-unreadable", f"the file cannot be read ({reason})"
    except ValueError:
        code, message = "file-missing", "no file can have this name"
    if code:
        raise ProblemsError([Problem(code, message, file=name, expected=_expected())])


def _missing(path: Path, name: str) -> Problem:
    others: list[str] = []
    with suppress(OSError):
        others = sorted(each.name for each in path.parent.glob(f"*{_SUFFIX}"))
    close = nearest(path.name, others) or (others[0] if len(others) == 1 else "")
    shown = str(path.parent / close) if close else ""
    return Problem("file-missing", "there is no such book", file=name, expected=_expected(), nearest=shown)


def _may_write(path: Path) -> bool:
    """Whether the file is meant to be written: its mark counts even for those who could all the same."""
    try:
        mode = path.stat().st_mode
    except OSError:
        return False
    return (
        bool(mode & stat.S_IWUSR) and os.access(path, os.W_OK) and os.access(path.resolve().parent, os.W_OK)
    )

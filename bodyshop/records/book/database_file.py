"""The file of a trial book: opened, brought up to date, copied daily."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bodyshop.foundation.files.names import clear_stale, passing_place
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError, nearest
from bodyshop.records.book.hash_chain import (
    WHOLE_AT_OPENING,
    BrokenLink,
    count_records,
    examine,
    examine_at_opening,
)
from bodyshop.records.book.migrations import bring_up, form_of, is_ours, newest
from bodyshop.records.book.store import BUSY_S, AlteredError, DamagedError, connect, told

__all__ = [
    "BACKUP",
    "GENERATIONS",
    "OpenedFile",
    "back_up",
    "copy_is_due",
    "create_file",
    "damaged",
    "form_in",
    "look_at",
    "open_file",
    "page_faults",
    "renew_copies",
]


_MAGIC: Final = b"SQLite format 3\x00"
_SUFFIX: Final = ".trials"
_OLDER: Final = (
    "the book is of an older form ({}) and has to be brought up to date, but its file or folder is read-only"
)
_TAKEN: Final = "something has this name already; a book is never written over"
_NO_FOLDER: Final = "there is no folder to write it into"


@dataclass(frozen=True, slots=True)
class OpenedFile:
    """How a file was found: whether it may be written; if it was of an older form, which, and the copy."""

    writable: bool
    migrated_from: int | None = None
    backup: Path | None = None


def create_file(path: Path) -> OpenedFile:
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
    return OpenedFile(writable=True)


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


def open_file(path: Path, *, wait_s: float = BUSY_S) -> OpenedFile:
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
            copy = form == newest() and writable and copy_is_due(path)
            _check_whole(connection, every_page=copy or form != newest())
            if form == newest():
                if copy:
                    renew_copies(connection, path)
                return OpenedFile(writable)
            if not writable:
                raise WriteRefusedError(name, _OLDER.format(form))
            kept = back_up(connection, path, f"form{form}")
            try:
                bring_up(connection)
            except sqlite3.Error:
                kept.unlink(missing_ok=True)  # nothing was changed
                raise
            return OpenedFile(writable=True, migrated_from=form, backup=kept)
    except DamagedError as error:
        raise damaged(path, error) from None


def _check_whole(connection: sqlite3.Connection, *, every_page: bool) -> None:
    """Look over the pages, the indexes, and the chain of records.

    A book of many records is looked at whole (`every_page`) before it is copied, and before it is brought up
    to date; else only where it ends, so that adding a record takes as long however long the book is.
    """
    if every_page or count_records(connection) <= WHOLE_AT_OPENING:
        _refuse_pages(connection)
        _refuse_broken(examine(connection).faults)
        return
    _refuse_broken(examine_at_opening(connection))


def _refuse_pages(connection: sqlite3.Connection) -> None:
    if faults := page_faults(connection):
        raise DamagedError("; ".join(faults))


def page_faults(connection: sqlite3.Connection) -> tuple[str, ...]:
    """What is wrong with pages and indexes, in the words of the database; a few of it."""
    faults = [str(row[0]) for row in connection.execute("PRAGMA integrity_check(3)")]
    return () if faults == ["ok"] else tuple(faults)


def _refuse_broken(faults: tuple[BrokenLink, ...]) -> None:
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
    elif form > newest():
        code = "book-newer"
        message = (
            f"this book was written by a newer bodyshop (form {form}; this one knows up to {newest()}), and "
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


BACKUP: Final = "backup"
"""Ending of the copy that is kept beside a book, renewed once a day at most."""

_DAY_S: Final = 24 * 3600.0
_EARLY_S: Final = 4 * 3600.0
"""A school day after a school day is a little less than a day: each has its own copy all the same."""

GENERATIONS: Final = ((BACKUP, _DAY_S), (f"{BACKUP}-week", 7 * _DAY_S), (f"{BACKUP}-month", 28 * _DAY_S))
"""Endings of the copies, the newest first. Each is renewed from the one before it (the first from the book)
when it is so much older than that, s."""

_MOST_COPIES: Final = 1000


def back_up(connection: sqlite3.Connection, path: Path, mark: str) -> Path:
    """A copy of the book as it is, beside it, under a name that is free: `class.trials.form1`, then `-2`.

    Raises:
        WriteRefusedError: it cannot be written.
    """
    copy = _free(path, mark)
    _copy(connection, copy)
    return copy


def _copy(connection: sqlite3.Connection, copy: Path) -> None:
    clear_stale(copy.parent)
    passing = passing_place(copy)
    try:
        with told(str(copy)), closing(sqlite3.connect(passing, isolation_level=None)) as target:
            target.execute("PRAGMA synchronous = FULL")
            connection.backup(target)
            # A copy is one file: without a log beside it, it can be carried away whole.
            target.execute("PRAGMA journal_mode = DELETE")
        passing.replace(copy)
    except OSError as error:
        reason = os.strerror(error.errno).lower() if error.errno else "unknown reason"
        raise WriteRefusedError(str(copy), f"no copy of the book can be kept ({reason})") from None
    finally:
        for end in ("", "-wal", "-shm", "-journal"):
            with suppress(OSError):
                Path(f"{passing}{end}").unlink(missing_ok=True)


def copy_is_due(path: Path) -> bool:
    """Whether the newest copy is a day older than the last change of the book."""
    with suppress(OSError):
        copy = _generation(path, 0)
        return not copy.is_file() or _changed(path) - copy.stat().st_mtime >= _DAY_S - _EARLY_S
    return False


def renew_copies(connection: sqlite3.Connection, path: Path) -> None:
    """Put a new copy in the place of the newest one, which goes on to the next generation where that is due.

    The book itself was just found to be whole. That no copy can be kept is no reason not to work. A file that
    has the name of a copy and is no book is somebody's own, and stays.
    """
    with suppress(OSError, WriteRefusedError, DamagedError, ProblemsError):
        if _may_replace(_generation(path, 0)):
            _hand_on(path, 0)
            _copy(connection, _generation(path, 0))


def _hand_on(path: Path, place: int) -> None:
    """Let a copy take the place of the one of the generation after it, where that is due."""
    if place + 1 == len(GENERATIONS):
        return
    newer, older = _generation(path, place), _generation(path, place + 1)
    if not newer.is_file() or not _may_replace(older):
        return
    least = GENERATIONS[place + 1][1] - _EARLY_S
    if not older.is_file() or newer.stat().st_mtime - older.stat().st_mtime >= least:
        _hand_on(path, place + 1)
        newer.replace(older)


def _generation(path: Path, place: int) -> Path:
    return path.with_name(f"{path.name}.{GENERATIONS[place][0]}")


def _changed(path: Path) -> float:
    return max(each.stat().st_mtime for each in (path, Path(f"{path}-wal")) if each.is_file())


def _may_replace(copy: Path) -> bool:
    return not os.path.lexists(copy) or _is_copy(copy)


def _is_copy(copy: Path) -> bool:
    """Whether the file that has the copy's name is a book: anything else is somebody's own."""
    try:
        with closing(sqlite3.connect(copy.resolve().as_uri() + "?mode=ro", uri=True)) as connection:
            return is_ours(connection)
    except sqlite3.Error:
        return False


def _free(path: Path, mark: str) -> Path:
    for count in range(1, _MOST_COPIES):
        copy = path.with_name(f"{path.name}.{mark}" + (f"-{count}" if count > 1 else ""))
        if not os.path.lexists(copy):
            return copy
    raise WriteRefusedError(str(path), "there are too many copies of it already; take some away")


def damaged(path: Path, error: DamagedError) -> ProblemsError:
    """The error for a damaged book: it is left as it is, and a copy of it kept for the mending."""
    kept = _keep_damaged(path)
    said = str(error)
    words = ["the book is damaged" + (f": {said}" if isinstance(error, AlteredError) else "")]
    if kept is not None:
        words.append(f"a copy of it as it is was kept as {kept.name}")
    with suppress(OSError):
        copies = [
            each.name for place in range(len(GENERATIONS)) if (each := _generation(path, place)).is_file()
        ]
        if copies:
            words.append(f"earlier copies, whole when they were made: {', '.join(copies)}")
    words.append(f"what can still be read is brought out with: bodyshop trial salvage {path.name} NEW")
    first = said.splitlines()[0][:200] if said else ""
    return ProblemsError([Problem("book-damaged", "; ".join(words), file=str(path), found=first)])


def _keep_damaged(path: Path) -> Path | None:
    """A copy of the file and of its log, once for each state of the file."""
    with suppress(OSError, WriteRefusedError):
        for each in sorted(path.parent.glob(f"{path.name}.damaged*")):
            if each.stat().st_size == path.stat().st_size and each.read_bytes() == path.read_bytes():
                return each
        copy = _free(path, "damaged")
        shutil.copy2(path, copy)
        log = Path(f"{path}-wal")
        if log.is_file():
            shutil.copy2(log, f"{copy}-wal")
        return copy
    return None

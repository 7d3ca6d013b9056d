"""The book's file: made, opened, brought to the newest form, copied, and found to be damaged."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bodyshop.problems import Problem, ProblemsError, WriteRefusedError, nearest
from bodyshop.source.passing import clear_stale, passing_place
from bodyshop.trials.chain import FIRST_CHAINED, examine_at_opening
from bodyshop.trials.forms import FORM, bring_up, form_of, is_ours
from bodyshop.trials.store import BUSY_S, DamagedError, connect, told

__all__ = ["BACKUP", "Filed", "back_up", "create_file", "damaged", "open_file"]

BACKUP: Final = "backup"
"""Ending of the copy that is kept beside a book, renewed once a day at most."""

_MAGIC: Final = b"SQLite format 3\x00"
_DAY_S: Final = 20 * 3600.0
"""A school day after a school day: a little less than a day, so that each has its own copy."""
_SUFFIX: Final = ".trials"
_MOST_COPIES: Final = 1000
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
    _look(path, name)
    writable = _may_write(path)
    try:
        with told(name), closing(connect(path, write=writable, wait_s=wait_s)) as connection:
            form = _form(connection, name)
            _check_whole(connection, form)
            if form == FORM:
                if writable:
                    _daily_copy(connection, path)
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
        raise damaged(path, str(error)) from None


def _check_whole(connection: sqlite3.Connection, form: int) -> None:
    """Look over the pages, the indexes, and the chain of records."""
    faults = connection.execute("PRAGMA integrity_check(3)").fetchall()
    if faults != [("ok",)]:
        raise DamagedError("; ".join(str(fault[0]) for fault in faults))
    if form >= FIRST_CHAINED and (broken := examine_at_opening(connection)):
        more = f", and {len(broken) - 1} more" if len(broken) > 1 else ""
        raise DamagedError(f"{broken[0].sentence}{more}")


def _form(connection: sqlite3.Connection, name: str) -> int:
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
    else:
        return form
    raise ProblemsError([Problem(code, message, file=name, expected=expected)])


def _expected() -> str:
    return "a trial book, made with: bodyshop trial new"


def _look(path: Path, name: str) -> None:
    """Refuse what is plainly no book. Nothing is opened that could change the file."""
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


# ---------------------------------------------------------------- copies


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


def _daily_copy(connection: sqlite3.Connection, path: Path) -> None:
    """Renew the copy beside the book where it is older than a day and the book has changed since.

    The book itself was just found to be whole. That no copy can be kept is no reason not to work.
    """
    copy = path.with_name(f"{path.name}.{BACKUP}")
    with suppress(OSError, WriteRefusedError, DamagedError, ProblemsError):
        changed = max(each.stat().st_mtime for each in (path, Path(f"{path}-wal")) if each.is_file())
        if copy.is_file():
            kept = copy.stat().st_mtime
            if changed - kept < _DAY_S:
                return
            if not _is_copy(copy):
                return
        _copy(connection, copy)


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


def damaged(path: Path, said: str) -> ProblemsError:
    """The error for a damaged book: it is left as it is, and a copy of it kept for the mending."""
    kept = _keep_damaged(path)
    copy = path.with_name(f"{path.name}.{BACKUP}")
    words = ["the book is damaged"]
    if kept is not None:
        words.append(f"a copy of it as it is was kept as {kept.name}")
    try:
        if copy.is_file():
            words.append(f"an earlier whole copy is {copy.name}")
    except OSError:
        pass
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

"""Copies of a book beside it: of older forms, of each day, week and month, and of a damaged one."""

from __future__ import annotations

import os
import shutil
import sqlite3
from contextlib import closing, suppress
from pathlib import Path
from typing import Final

from bodyshop.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.source.passing import clear_stale, passing_place
from bodyshop.trials.forms import is_ours
from bodyshop.trials.store import AlteredError, DamagedError, told

__all__ = ["BACKUP", "GENERATIONS", "back_up", "copy_is_due", "damaged", "renew_copies"]

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

"""The file under the book: how it is opened, and what its troubles are called.

SQLite with a write-ahead log, foreign keys, and every commit down on the disk before it is acknowledged
(`synchronous = FULL`). One writer at a time; others wait for it.
"""

from __future__ import annotations

import sqlite3
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from sqlalchemy import Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool

from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError

__all__ = ["BUSY_S", "AlteredError", "DamagedError", "connect", "engine_for", "told"]

BUSY_S: Final = 20.0
"""How long to wait for another program that is writing to the book, s."""

_FROZEN: Final = "mode=ro&immutable=1"
_READS_ONLY: Final = "the book may be read but not written: its file or folder is read-only"
_LOST: Final = (
    "the disk does not take it: it may be full or unplugged; this was not stored, and all that was stored "
    "before is still there"
)
_FULL: Final = "the disk is full; this was not stored, and all that was stored before is still there"
_BUSY: Final = (
    "another program is writing to the book and does not let go of it; nothing was stored, try again"
)


class DamagedError(Exception):
    """The file is no whole database any more."""


class AlteredError(DamagedError):
    """A record, or the order of the records, is not as it was entered. The words are for people."""


def connect(path: Path, *, write: bool, wait_s: float = BUSY_S) -> sqlite3.Connection:
    """A connection with our settings. Transactions are begun by hand.

    A book that may not be written is opened so that nothing is: not even the files beside it.
    """
    settings = "mode=rw" if write else _FROZEN if _is_frozen(path) else "mode=ro"
    connection = _connected(path, settings, wait_s)
    try:
        _set_up(connection, write=write, wait_s=wait_s)
    except sqlite3.OperationalError as error:
        connection.close()
        if write or _code(error) not in (sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_READONLY):
            raise
        # No log can be laid beside a file in a folder that is read-only. Then nobody else writes either.
        connection = _connected(path, _FROZEN, wait_s)
        _set_up(connection, write=False, wait_s=wait_s)
    except BaseException:
        connection.close()
        raise
    return connection


def _is_frozen(path: Path) -> bool:
    """Whether nobody writes to a file: it is marked so, and there is no log beside it."""
    return not path.stat().st_mode & stat.S_IWUSR and not Path(f"{path}-wal").exists()


def _connected(path: Path, settings: str, wait_s: float) -> sqlite3.Connection:
    place = quote(path.resolve().as_posix(), safe="/:")
    place = place if place.startswith("/") else f"/{place}"
    return sqlite3.connect(
        f"file:{place}?{settings}", uri=True, timeout=wait_s, isolation_level=None, check_same_thread=False
    )


def _set_up(connection: sqlite3.Connection, *, write: bool, wait_s: float) -> None:
    connection.execute(f"PRAGMA busy_timeout = {int(wait_s * 1000)}")
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA cell_size_check = ON")
    if write:
        connection.execute("PRAGMA synchronous = FULL")
    connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()


def engine_for(path: Path, *, write: bool, wait_s: float = BUSY_S) -> Engine:
    """An engine whose connections have our settings. Every transaction is begun at once.

    One that writes takes the writer's place as it begins: it never finds out half way that somebody else
    has it.
    """
    engine = create_engine(
        "sqlite://",
        creator=lambda: connect(path, write=write, wait_s=wait_s),
        poolclass=QueuePool,
        pool_size=4,
    )

    @event.listens_for(engine, "begin")
    def _begin(connection: Any) -> None:
        immediate = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")

    return engine


@contextmanager
def told(path: str) -> Iterator[None]:
    """Whatever the database complains about, said so that a person knows what to do.

    What it says of a table, a column, a text or a value that is not what it should be is damage: whatever we
    ask for is in a whole book.

    Raises:
        WriteRefusedError: it cannot be written: full, read-only, in use.
        DamagedError: the file is damaged.
        ProblemsError: it cannot be read.
    """
    try:
        yield
    except DBAPIError as error:
        if not isinstance(error.orig, sqlite3.Error):
            raise
        raise _translated(error.orig, path) from None
    except sqlite3.Error as error:
        raise _translated(error, path) from None
    except UnicodeDecodeError:
        raise DamagedError("a text in it is no text") from None


def _code(error: sqlite3.Error) -> int:
    return int(getattr(error, "sqlite_errorcode", 0)) & 0xFF


def _translated(error: sqlite3.Error, path: str) -> Exception:
    code = _code(error)
    reading = "READ" in str(getattr(error, "sqlite_errorname", ""))
    if code == sqlite3.SQLITE_IOERR and reading:
        return DamagedError(str(error))
    if code == sqlite3.SQLITE_CANTOPEN:
        return ProblemsError([Problem("book-unreadable", "the book cannot be opened", file=path)])
    refused = _REFUSED.get(code)
    return DamagedError(str(error)) if refused is None else WriteRefusedError(path, refused)


_REFUSED: Final = {
    sqlite3.SQLITE_FULL: _FULL,
    sqlite3.SQLITE_IOERR: _LOST,
    sqlite3.SQLITE_BUSY: _BUSY,
    sqlite3.SQLITE_LOCKED: _BUSY,
    sqlite3.SQLITE_READONLY: _READS_ONLY,
    sqlite3.SQLITE_PERM: _READS_ONLY,
}

"""What can still be read of a damaged book, brought into a new one. The damaged file is left as it is.

A record that is not as it was entered is brought out all the same where it makes sense, with a doubt: it is
shown, and never counted with. Whatever the file holds, this ends with a new book or with words.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from bodyshop.foundation.files.names import is_file
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.records.book.book import Book
from bodyshop.records.book.database_file import OpenedFile, create_file
from bodyshop.records.book.hash_chain import START, ChainEnd, is_as_entered
from bodyshop.records.book.migrations import columns_now
from bodyshop.records.book.model import KINDS, Event
from bodyshop.records.book.ordering import in_order
from bodyshop.records.book.repair import UNSURE, loosened, mended
from bodyshop.records.book.store import DamagedError, connect, told

__all__ = ["SalvageResult", "salvage"]

_CHUNK: Final = 64
_MOST_ID: Final = 10_000_000
_LOST: Final = "it was corrected or struck, and that record is lost"
_MOST_FAILURES: Final = 50_000
"""So many times a table may refuse to be read before the rest of it is given up."""


@dataclass(frozen=True, slots=True)
class SalvageResult:
    """Records brought out, by kind; those among them that may not be as they were entered; those found but
    lost, since they or what they refer to make no sense; how many more the book should have had, as far as
    anything says; and the kinds of which a part could not be read.
    """

    saved: dict[str, int]
    unsure: dict[str, int]
    lost: dict[str, int]
    missing: int
    unread: tuple[str, ...]


def salvage(damaged: Path | str, target: Path | str) -> SalvageResult:
    """Bring what can be read of a damaged book into a new one.

    Raises:
        ProblemsError: nothing can be read of it, not even what it was for.
        WriteRefusedError: the new book cannot be written.
    """
    source, place = Path(damaged), Path(target)
    if not is_file(source):
        raise ProblemsError([Problem("file-missing", "there is no such book", file=str(source))])
    found = _Found()
    # A message of the database may hold text that is no text.
    with suppress(sqlite3.Error, ValueError), closing(_connect(source)) as connection:
        connection.execute("PRAGMA writable_schema = ON")  # a schema that complains is read all the same
        found.read(connection)
    if not found.rows["car"] and not found.rows["event"]:
        raise ProblemsError(
            [Problem("book-damaged", "nothing of this book can be read any more", file=str(source))]
        )
    filed = create_file(place)
    try:
        with told(str(place)):
            return _fill(place, filed, found)
    except BaseException as error:
        for end in ("", "-wal", "-shm"):
            with suppress(OSError):
                Path(f"{place}{end}").unlink(missing_ok=True)
        if isinstance(error, DamagedError):
            raise WriteRefusedError(
                str(place), f"the disk does not keep what is written to it: {error}"
            ) from None
        raise


# ---------------------------------------------------------------- out of the old file


def _connect(path: Path) -> sqlite3.Connection:
    # Without its log a file is read as it stood before the log: better with it, where there is one.
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None)
    connection.text_factory = lambda raw: raw.decode("utf-8", errors="replace")
    return connection


class _Found:
    """What was read of the old file."""

    def __init__(self) -> None:
        self.rows: dict[str, list[dict[str, Any]]] = {kind: [] for kind in KINDS}
        self.unread: list[str] = list(KINDS)
        self.sure: set[tuple[str, int]] = set()
        """The records that are as they were entered, by kind and number."""
        self._said = 0
        """How many records the end of the chain says that there are; 0 where it says nothing."""
        self._places: set[int] = set()
        """Places in the order of the book of the records that are as they were entered, and of the others."""
        self._claimed: set[Any] = set()

    def read(self, connection: sqlite3.Connection) -> None:
        """Read all that can be read."""
        for kind in KINDS:
            reader = _Reader(connection, kind, columns_now()[kind])
            self.rows[kind] = list(reader.all())
            if not reader.failures:
                self.unread.remove(kind)
            for row in self.rows[kind]:
                if is_as_entered(kind, row):
                    self.sure.add((kind, row["id"]))
                    self._places.add(row["book_order"])
                else:
                    self._claimed.add(row.get("book_order"))
        with suppress(sqlite3.Error, ValueError, TypeError):
            said = connection.execute("SELECT records FROM chain_end").fetchone()[0]
            self._said = said if isinstance(said, int) and said <= _MOST_ID else 0

    @property
    def missing(self) -> int:
        """How many records there should be more, as far as anything says."""
        last = max(self._said, max(self._places, default=0))
        return sum(place not in self._places and place not in self._claimed for place in range(1, last + 1))

    def keys(self, kind: str, rows: Sequence[dict[str, Any]]) -> list[Any]:
        """Keys for `in_order`: the order of the book; a record that lost its own follows the last one."""
        place, keys = 0, []
        for row in rows:
            place = row["book_order"] if (kind, row["id"]) in self.sure else place
            keys.append(place)
        return keys


class _Reader:
    """One table, whose columns are known by their places: their names may be damaged."""

    def __init__(self, connection: sqlite3.Connection, kind: str, names: Sequence[str]) -> None:
        self._connection = connection
        self._query = f'SELECT rowid, * FROM "{kind}" NOT INDEXED WHERE rowid BETWEEN ? AND ?'  # noqa: S608
        self._kind = kind
        self._names = names
        self.failures = 0

    def all(self) -> Iterator[dict[str, Any]]:
        """The rows that can still be read; wherever a stretch cannot, row by row."""
        try:
            self._connection.execute(self._query, (1, 0)).fetchall()
        except (sqlite3.Error, ValueError):  # the file does not know this table any more
            self.failures += 1
            return
        top = self._last()
        for first in range(1, top + 1, _CHUNK):
            yield from self._stretch(first, min(first + _CHUNK - 1, top))

    def _last(self) -> int:
        """The number that the table goes up to, as far as anything says."""
        for query in ("max(rowid)", "count(*)"):
            try:
                text = f'SELECT {query} FROM "{self._kind}" NOT INDEXED'  # noqa: S608 - a name of ours
                found = self._connection.execute(text).fetchone()[0]
            except (sqlite3.Error, ValueError):
                self.failures += 1
                continue
            if found is None:
                return 0
            if 0 <= found <= _MOST_ID:
                return int(found)
            self.failures += 1  # a number that no book has: something may lie there
        return 4096  # nothing says how far it goes: as far as a class gets in a year

    def _stretch(self, first: int, last: int) -> list[dict[str, Any]]:
        try:
            return [self._row(*row) for row in self._connection.execute(self._query, (first, last))]
        except (sqlite3.Error, OverflowError, ValueError):
            self.failures += 1
            if first == last or self.failures > _MOST_FAILURES:
                return []
            middle = (first + last) // 2
            return [*self._stretch(first, middle), *self._stretch(middle + 1, last)]

    def _row(self, number: int, *values: Any) -> dict[str, Any]:
        # The number is the place of the row in the table: its column holds nothing.
        return {**dict(zip(self._names, values, strict=False)), "id": number}


# ---------------------------------------------------------------- into the new one


def _fill(place: Path, filed: OpenedFile, found: _Found) -> SalvageResult:
    with closing(connect(place, write=True)) as connection:
        connection.execute("BEGIN IMMEDIATE")
        work = _Filling(connection)
        for kind, row in in_order(found.rows, found.keys):
            work.put(kind, row, sure=(kind, row["id"]) in found.sure)
        work.end()
        connection.execute("COMMIT")
    again = sorted(work.corrected - work.marked)
    if again or not work.saved.get("event"):
        with Book(place, filed) as book, book.writing() as writer:
            if not work.saved.get("event"):
                writer.add(Event("Salvaged book"))
            for kind, number in again:
                # It must not count again as if nothing had been said of it.
                entry = book.record(KINDS[kind], number)
                if entry.counts:
                    writer.correct(KINDS[kind], number, entry.record, _LOST, doubt=UNSURE)
                    _count(work.unsure, kind)
    return SalvageResult(work.saved, work.unsure, work.lost, found.missing, tuple(found.unread))


class _Filling:
    """Rows put into the new book, one by one, each with its place in the new chain."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self._connection = connection
        self._end = ChainEnd(0, "", 0, START)
        self._there: dict[str, dict[int, int]] = {kind: {} for kind in KINDS}
        self._before: dict[str, dict[str, Any]] = {}
        self.corrected: set[tuple[str, int]] = set()
        """Those that the old file had as corrected or struck, and those that are in the new one."""
        self.marked: set[tuple[str, int]] = set()
        self.saved: dict[str, int] = {}
        self.unsure: dict[str, int] = {}
        self.lost: dict[str, int] = {}

    def put(self, kind: str, row: dict[str, Any], *, sure: bool) -> None:
        """Put a row into the book if any sense can be made of it."""
        made = mended(kind, row, self._there, self._before.get(kind), sure=sure)
        if made is not None and not self._insert(kind, made):
            made = loosened(kind, made)
            made = made if self._insert(kind, made) else None
        if made is None:
            _count(self.lost, kind)
            return
        self._there[kind][made["id"]] = made["origin"]
        self._before[kind] = made
        if row.get("superseded_by") is not None:
            self.corrected.add((kind, made["id"]))
        _count(self.saved, kind)
        if UNSURE in made["doubt"]:
            _count(self.unsure, kind)

    def end(self) -> None:
        """Write down where the chain ends."""
        end = self._end
        if end.records:
            self._connection.execute(
                "UPDATE chain_end SET records = ?, kind = ?, id = ?, hash = ?",
                (end.records, end.kind, end.id, end.hash),
            )

    def _insert(self, kind: str, made: dict[str, Any]) -> bool:
        """Whether the book takes a row. What it corrects is marked first: names stay unique on the way."""
        linked, end = self._end.linked(kind, made)
        names, marks = ", ".join(f'"{name}"' for name in linked), ", ".join("?" * len(linked))
        insert = f'INSERT INTO "{kind}" ({names}) VALUES ({marks})'  # noqa: S608 - names of ours
        self._connection.execute("SAVEPOINT one")
        try:
            if made["supersedes"] is not None:
                self._connection.execute(
                    f'UPDATE "{kind}" SET superseded_by = ? WHERE id = ?',  # noqa: S608 - a name of ours
                    (made["id"], made["supersedes"]),
                )
            self._connection.execute(insert, tuple(linked.values()))
        except (sqlite3.IntegrityError, OverflowError):
            self._connection.execute("ROLLBACK TO one")
            return False
        finally:
            self._connection.execute("RELEASE one")
        self._end = end
        if made["supersedes"] is not None:
            self.marked.add((kind, made["supersedes"]))
        return True


def _count(counts: dict[str, int], kind: str) -> None:
    counts[kind] = counts.get(kind, 0) + 1

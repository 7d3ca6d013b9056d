"""What can still be read of a damaged book, brought into a new one. The damaged file is left as it is."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from bodyshop.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.source.looking import is_file
from bodyshop.trials.book import Book
from bodyshop.trials.columns import Shape, columns_of
from bodyshop.trials.filing import Filed, create_file
from bodyshop.trials.model import KINDS, Event, Record
from bodyshop.trials.rows import entry_of, row_of
from bodyshop.trials.tables import OWN_COLUMNS, TABLES
from bodyshop.trials.values import check_record

__all__ = ["Salvaged", "salvage"]

_CHUNK: Final = 64
_MOST_ID: Final = 10_000_000


@dataclass(frozen=True, slots=True)
class Salvaged:
    """Records brought out, by kind; and those found but lost, since they or what they refer to is gone."""

    saved: dict[str, int]
    lost: dict[str, int]


def salvage(damaged: Path | str, target: Path | str) -> Salvaged:
    """Bring what can be read of a damaged book into a new one.

    Raises:
        ProblemsError: nothing can be read of it, not even what it was for.
        WriteRefusedError: the new book cannot be written.
    """
    source, place = Path(damaged), Path(target)
    if not is_file(source):
        raise ProblemsError([Problem("file-missing", "there is no such book", file=str(source))])
    found = {kind: list(_rows(source, kind)) for kind in KINDS}
    if not found["car"] and not found["event"]:
        raise ProblemsError(
            [Problem("book-damaged", "nothing of this book can be read any more", file=str(source))]
        )
    filed = create_file(place)
    try:
        return _fill(place, filed, found)
    except BaseException:
        for end in ("", "-wal", "-shm"):
            with suppress(OSError):
                Path(f"{place}{end}").unlink(missing_ok=True)
        raise


def _rows(path: Path, kind: str) -> Iterator[dict[str, Any]]:
    """The rows of a kind that can still be read; wherever a stretch cannot, row by row."""
    with suppress(sqlite3.Error), closing(_connect(path)) as connection:
        # A table that the file does not know any more says so at once.
        connection.execute(f'SELECT id FROM "{kind}" LIMIT 0')  # noqa: S608 - a name of ours
        top = _last(connection, kind)
        for first in range(1, top + 1, _CHUNK):
            yield from _stretch(connection, kind, first, min(first + _CHUNK - 1, top))


def _connect(path: Path) -> sqlite3.Connection:
    # Without its log a file is read as it stood before the log: better with it, where there is one.
    connection = sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True, isolation_level=None)
    connection.row_factory = sqlite3.Row
    connection.text_factory = lambda raw: raw.decode("utf-8", errors="replace")
    connection.execute("PRAGMA writable_schema = ON")  # a schema that complains is read all the same
    return connection


def _last(connection: sqlite3.Connection, kind: str) -> int:
    for query in (
        f'SELECT max(id) FROM "{kind}"',  # noqa: S608 - a name of ours
        f'SELECT max(id) FROM "{kind}" NOT INDEXED',  # noqa: S608
        f'SELECT count(*) FROM "{kind}" NOT INDEXED',  # noqa: S608
    ):
        with suppress(sqlite3.Error):
            found = connection.execute(query).fetchone()[0]
            if found is not None and 0 < found <= _MOST_ID:
                return int(found)
    return 4096  # nothing says how far it goes: as far as a class gets in a year


def _stretch(connection: sqlite3.Connection, kind: str, first: int, last: int) -> list[dict[str, Any]]:
    query = f'SELECT * FROM "{kind}" NOT INDEXED WHERE id BETWEEN ? AND ?'  # noqa: S608 - a name of ours
    try:
        return [dict(row) for row in connection.execute(query, (first, last))]
    except (sqlite3.Error, OverflowError):
        if first == last:
            return []
        middle = (first + last) // 2
        return [
            *_stretch(connection, kind, first, middle),
            *_stretch(connection, kind, middle + 1, last),
        ]


def _fill(place: Path, filed: Filed, found: dict[str, list[dict[str, Any]]]) -> Salvaged:
    saved: dict[str, int] = {}
    lost: dict[str, int] = {}
    kept: dict[str, set[int]] = {kind: set() for kind in KINDS}
    with Book(place, filed) as book, book.writing() as writer:
        for kind, record in KINDS.items():
            rows = _whole(kind, record, found[kind], kept)
            writer.insert_rows(record, rows)
            if rows:
                saved[kind] = len(rows)
            if len(rows) < len(found[kind]):
                lost[kind] = len(found[kind]) - len(rows)
        if not kept["event"]:
            writer.add(Event("Salvaged book"))
    return Salvaged(saved, lost)


def _whole(
    kind: str, record: type[Record], rows: list[dict[str, Any]], kept: dict[str, set[int]]
) -> list[dict[str, Any]]:
    """The rows that make sense and whose references are there, made anew as we write them."""
    good: dict[int, dict[str, Any]] = {}
    for row in sorted(rows, key=lambda each: each.get("id") or 0):
        made = _made(record, row, kept)
        if made is not None:
            good[made["id"]] = made
            kept[kind].add(made["id"])  # records of a kind may refer to earlier ones
    # A correction whose first version is lost becomes a first version; links to what is lost go.
    for row in good.values():
        if row["origin"] not in good:
            row["origin"] = row["id"]
        for link in ("supersedes", "superseded_by"):
            if row[link] is not None and row[link] not in good:
                row[link] = None
    for row in good.values():
        later = row["superseded_by"]
        if later is not None and good[later]["supersedes"] != row["id"]:
            row["superseded_by"] = None
    columns = {column.name for column in TABLES[kind].c}
    return [{name: value for name, value in row.items() if name in columns} for row in good.values()]


def _made(record: type[Record], row: dict[str, Any], kept: dict[str, set[int]]) -> dict[str, Any] | None:
    columns = columns_of(record)
    full = {column.stored_as: None for column in columns} | row
    try:
        for column in columns:
            value = full[column.stored_as]
            refers = "car" if column.shape is Shape.CAR else column.field.refers
            if refers and value is not None and value not in kept[refers]:
                return None
            if value is None and column.shape is Shape.TEXT and not column.optional:
                full[column.stored_as] = ""
        cars = {number: str(number) for number in kept["car"]}
        entry = entry_of(record, full, cars)
        check_record(entry.record)
        numbers = {str(number): number for number in kept["car"]}
        made = row_of(entry.id, entry.origin, entry.at, entry.record, numbers)
        own = ("noted_by", "note", "doubt", "supersedes", "superseded_by", "reason", "struck")
        return {**made, **{name: row[name] for name in own if name in OWN_COLUMNS}}
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, ProblemsError, WriteRefusedError):
        return None

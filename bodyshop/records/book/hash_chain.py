"""The chain through all records of a book: each carries the hash of the one that came in before it.

A record's hash is SHA-256 over the hash before it, its kind and its values. Whoever alters a record, takes
one out or puts one in between breaks the chain there. The last record's hash stands in `chain_end` as well,
with the number of records, so that the end cannot be cut off unseen. What the chain cannot show: a book whose
whole chain was made anew. For that, somebody has to have written a code of the chain on paper.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from sqlalchemy import Connection, Text, select

from bodyshop.records.book.model import KINDS
from bodyshop.records.book.store import AlteredError, DamagedError
from bodyshop.records.book.tables import CHAIN_END, TABLES

__all__ = [
    "CHAIN_COLUMNS",
    "START",
    "WHOLE_AT_OPENING",
    "ChainEnd",
    "BrokenLink",
    "ChainReport",
    "count_records",
    "examine",
    "examine_at_opening",
    "hash_of",
    "is_as_entered",
    "read_end",
    "read_rows",
    "store_end",
]

START: Final = "0" * 64
"""The hash before the first record."""

CHAIN_COLUMNS: Final = ("book_order", "hash_before", "hash")
"""The columns that tie a record into the chain."""

WHOLE_AT_OPENING: Final = 5000
"""Up to so many records the whole chain is looked over at each opening: some 10 ms for 1000 records."""

_UNHASHED: Final = frozenset(("superseded_by", "hash_before", "hash"))
"""`superseded_by` is written later; the record that takes the place says the same in `supersedes`."""


@dataclass(frozen=True, slots=True)
class BrokenLink:
    """A record that is not as it was entered, or the chain itself: then `kind` is empty."""

    kind: str
    id: int | None
    message: str

    @property
    def sentence(self) -> str:
        """Which record, and what is wrong with it."""
        return f"{self.kind} record {self.id} {self.message}" if self.kind else self.message


@dataclass(frozen=True, slots=True)
class ChainReport:
    """A book's chain: how many records it has, the hash of the last, all hashes in order, and the faults."""

    records: int
    end: str
    hashes: tuple[str, ...]
    faults: tuple[BrokenLink, ...]


# ---------------------------------------------------------------- one record


def hash_of(kind: str, row: Mapping[str, Any], before: str) -> str:
    """The hash of a row that comes after the record with the hash `before`.

    Raises `TypeError` for a value that we never store.
    """
    values: dict[str, Any] = {}
    for name, empty in _hashed(kind, tuple(row)):
        value = row[name]
        if value is None or value == "":
            if value != empty:
                raise TypeError(f"{name} is empty as no such column is")
            continue  # what a column is in older records that a later form gave it to
        # The database stores a negative zero as zero.
        values[name] = value + 0.0 if isinstance(value, float) else value
    text = json.dumps([before, kind, values], separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


@lru_cache(maxsize=256)
def _hashed(kind: str, names: tuple[str, ...]) -> tuple[tuple[str, str | None], ...]:
    """Names of the columns that are hashed, each with what it holds where it is empty."""
    texts = {column.name for column in TABLES[kind].c if isinstance(column.type, Text)}
    hashed = sorted(name for name in names if name not in _UNHASHED)
    return tuple((name, "" if name in texts else None) for name in hashed)


def is_as_entered(kind: str, row: Mapping[str, Any]) -> bool:
    """Whether a row is what its own hash says."""
    try:
        return bool(hash_of(kind, row, row["hash_before"]) == row["hash"])
    except (TypeError, KeyError, IndexError, ValueError):
        return False


# ---------------------------------------------------------------- adding


@dataclass(frozen=True, slots=True)
class ChainEnd:
    """Where the chain ends: how many records there are, and which is the last of them."""

    records: int
    kind: str
    id: int
    hash: str

    def linked(self, kind: str, row: Mapping[str, Any]) -> tuple[dict[str, Any], ChainEnd]:
        """A row with its place in the chain, and the end that the chain has with it."""
        made = {**row, "book_order": self.records + 1, "hash_before": self.hash}
        made["hash"] = hash_of(kind, made, self.hash)
        return made, ChainEnd(made["book_order"], kind, made["id"], made["hash"])


def read_end(connection: Connection) -> ChainEnd:
    """The end of the chain, inside a transaction that writes.

    Raises:
        AlteredError: the book does not end where it says.
    """
    found = connection.execute(select(CHAIN_END)).mappings().one_or_none()
    if found is None:
        raise AlteredError("the end of the chain of records is lost")
    end = ChainEnd(found["records"], found["kind"], found["id"], found["hash"])
    if end.records and not _is_there(connection, end):
        raise AlteredError(_no_end().message)
    return end


def _is_there(connection: Connection, end: ChainEnd) -> bool:
    table = TABLES.get(end.kind)
    if table is None:
        return False
    row = connection.execute(select(table).where(table.c.id == end.id)).mappings().one_or_none()
    return (
        row is not None
        and (row["book_order"], row["hash"]) == (end.records, end.hash)
        and is_as_entered(end.kind, dict(row))
    )


def store_end(connection: Connection, end: ChainEnd) -> None:
    """Write the end of the chain down."""
    connection.execute(
        CHAIN_END.update().values(records=end.records, kind=end.kind, id=end.id, hash=end.hash)
    )


# ---------------------------------------------------------------- looking the chain over


def examine_at_opening(connection: sqlite3.Connection) -> tuple[BrokenLink, ...]:
    """Faults that show where a long book ends: the number of records, the last one, the event and the cars.

    The whole chain is looked at by `examine`. Each record is held against its own hash whenever it is read.
    """
    with _one_state(connection):
        return _faults_at_opening(connection)


@contextmanager
def _one_state(connection: sqlite3.Connection) -> Iterator[None]:
    """Read the book as it is at one moment, whoever writes to it meanwhile."""
    is_ours = not connection.in_transaction
    if is_ours:
        connection.execute("BEGIN")
    try:
        yield
    finally:
        if is_ours:
            connection.execute("ROLLBACK")


def _faults_at_opening(connection: sqlite3.Connection) -> tuple[BrokenLink, ...]:
    count = count_records(connection)
    records, kind, number, end = _end(connection)
    if records != count:
        return (_miscounted(records, count),)
    faults: list[BrokenLink] = []
    with _any_text(connection):
        last = list(read_rows(connection, kind, number)) if kind in KINDS else []
        if not last or last[0]["hash"] != end or last[0]["book_order"] != records:
            faults.append(_no_end())
        for each in dict.fromkeys(("event", "car", kind)):
            rows = last if each == kind else read_rows(connection, each)
            faults += [_altered(each, row["id"]) for row in rows if not is_as_entered(each, row)]
    return tuple(faults)


def examine(connection: sqlite3.Connection) -> ChainReport:
    """Look every record over, and the whole chain."""
    with _one_state(connection):
        return _examined(connection)


def _examined(connection: sqlite3.Connection) -> ChainReport:
    faults: list[BrokenLink] = []
    links: list[tuple[Any, Any, Any, str, int]] = []
    with _any_text(connection):
        for kind in KINDS:
            for row in read_rows(connection, kind):
                if any(name not in row for name in ("id", *CHAIN_COLUMNS)):
                    raise DamagedError(f"the table of {kind} records has lost a column")
                if not is_as_entered(kind, row):
                    faults.append(_altered(kind, row["id"]))
                links.append((row["book_order"], row["hash_before"], row["hash"], kind, row["id"]))
            faults += _link_faults(kind, *_links(connection, kind))
        records, last_kind, last_id, end = _end(connection)
    try:
        links.sort(key=lambda link: link[0])
    except TypeError:
        return ChainReport(len(links), str(end), (), (*faults, _disordered()))
    before, place = START, 0
    for order, said_before, own, kind, number in links:
        if order != place + 1:
            faults.append(BrokenLink(kind, number, f"is number {order} in the book, after number {place}"))
        elif said_before != before:
            faults.append(BrokenLink(kind, number, "does not carry the hash of the record before it"))
        before, place = own, order
    if records != len(links):
        faults.append(_miscounted(records, len(links)))
    elif (before, place) != (end, records) or (links and (last_kind, last_id) != links[-1][3:]):
        faults.append(_no_end())
    hashes = tuple(str(link[2]) for link in links)
    return ChainReport(len(links), hashes[-1] if hashes else START, hashes, tuple(faults))


def read_rows(connection: sqlite3.Connection, kind: str, number: object = None) -> Iterator[dict[str, Any]]:
    """All rows of a kind, or the one with a number."""
    where = "" if number is None else " WHERE id = ?"
    found = connection.execute(
        f'SELECT * FROM "{kind}"{where}',  # noqa: S608 - a name of ours
        () if number is None else (number,),
    )
    names = [each[0] for each in found.description]
    return (dict(zip(names, row, strict=True)) for row in found)


def count_records(connection: sqlite3.Connection) -> int:
    """How many records a book has, of all kinds."""
    counted = (connection.execute(f'SELECT count(*) FROM "{kind}"').fetchone()[0] for kind in KINDS)  # noqa: S608
    return sum(counted)


def _end(connection: sqlite3.Connection) -> tuple[Any, Any, Any, Any]:
    found = connection.execute("SELECT records, kind, id, hash FROM chain_end").fetchone()
    return (None, "", None, "") if found is None else tuple(found)


def _links(connection: sqlite3.Connection, kind: str) -> tuple[set[Any], set[Any]]:
    """Pairs of old and new, as the new ones say and as the old ones say."""
    new = connection.execute(f'SELECT supersedes, id FROM "{kind}" WHERE supersedes IS NOT NULL')  # noqa: S608
    said = set(new.fetchall())
    old = connection.execute(
        f'SELECT id, superseded_by FROM "{kind}" WHERE superseded_by IS NOT NULL'  # noqa: S608
    )
    return said, set(old.fetchall())


def _link_faults(kind: str, new: set[Any], old: set[Any]) -> list[BrokenLink]:
    return [
        BrokenLink(kind, number, "is marked as corrected, but no such correction was entered")
        for number, _ in sorted(old - new, key=str)
    ] + [
        BrokenLink(kind, number, "was corrected, but the mark for it is gone")
        for number, _ in sorted(new - old, key=str)
    ]


@contextmanager
def _any_text(connection: sqlite3.Connection) -> Iterator[None]:
    """Read texts that are no texts as well: what is odd about them shows in the hash."""
    had = connection.text_factory
    connection.text_factory = lambda raw: raw.decode("utf-8", errors="surrogateescape")
    try:
        yield
    finally:
        connection.text_factory = had


def _altered(kind: str, number: Any) -> BrokenLink:
    return BrokenLink(kind, number, "is not as it was entered")


def _disordered() -> BrokenLink:
    return BrokenLink("", None, "the order of the records is lost")


def _miscounted(records: Any, count: int) -> BrokenLink:
    return BrokenLink("", None, f"the book should have {records} records and has {count}")


def _no_end() -> BrokenLink:
    return BrokenLink("", None, "the last record is not the one that the chain of records ends with")

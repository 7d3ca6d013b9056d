"""Books that were damaged in ways that a seed decides, and what became of them; for a test and a benchmark.

Every case is a copy of one book, damaged once or twice: bytes flipped, pages swapped, lost or overwritten,
the file cut, values altered by another program, marks of the file forged. Then it is opened and read whole,
and salvaged, and what comes out is held against what was in the book.
"""

from __future__ import annotations

import sqlite3
import struct
from collections.abc import Callable, Sequence
from contextlib import closing, suppress
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any, Final, TypeVar

import numpy as np

from bodyshop.foundation.problems import ProblemsError, WriteRefusedError
from bodyshop.records.book.book import Book
from bodyshop.records.book.check import check_book
from bodyshop.records.book.hash_chain import read_rows
from bodyshop.records.book.model import KINDS, Entry, FrozenPrediction, MassReading, TrackRun, WeighingStage
from bodyshop.records.book.repair import UNSURE
from bodyshop.records.book.salvage import salvage
from bodyshop.records.book.store import connect
from bodyshop.records.book.tables import entry_of
from tests.records.trial_books import DAY, full_book

PAGE: Final = 4096
T = TypeVar("T")


class Chance:
    """Choices that a seed and the number of a case decide."""

    def __init__(self, seed: int, case: int) -> None:
        self._made = np.random.default_rng((seed, case))

    def random(self) -> float:
        return float(self._made.random())

    def randrange(self, low: int, high: int | None = None) -> int:
        return int(self._made.integers(low, high))

    def choice(self, some: Sequence[T]) -> T:
        return some[self.randrange(len(some))]

    def sample(self, some: Sequence[T], count: int) -> list[T]:
        return [some[int(k)] for k in self._made.permutation(len(some))[:count]]

    def randbytes(self, count: int) -> bytes:
        return self._made.bytes(count)


Entries = dict[tuple[str, int], Entry[Any]]


def class_book(place: Path) -> Entries:
    """A book with records of all kinds, some of them over several pages; what it holds."""
    with full_book(place) as book, book.writing() as writer:
        for k in range(12):
            car = ("Kestrel", "Wren", "Häher")[k % 3]
            at = DAY + timedelta(minutes=k)
            writer.add(
                MassReading(car, WeighingStage.COMPLETE, 80.0 + k / 10), at=at, note=f"note {k} " * (k % 9)
            )
            writer.add(FrozenPrediction(car, 1.0 + k / 100, 0.9, 1.5, inputs='{"a": 1}' * 20), at=at)
            run = writer.add(TrackRun(car, 20000.0, 1.04 + k / 100, lane=1 + k % 2), at=at)
            if k % 5 == 0:
                better = replace(run.record, time_s=1.01 + k / 100)
                writer.correct(TrackRun, run.id, better, "misread")
            if k % 11 == 0:
                writer.strike(
                    MassReading, writer.add(MassReading(car, WeighingStage.BLANK, 5.0), at=at).id, "slip"
                )
    return read_all(place)


def read_all(place: Path) -> Entries:
    """All that a book holds, read in the ways in which the program reads it."""
    with Book.open(place, wait_s=0.01) as book:
        _ = book.event, book.stamp()
        found: Entries = {}
        for kind in KINDS.values():
            every = book.records(kind, history=True)
            found |= {(entry.kind, entry.id): entry for entry in every}
            standing = sorted((entry for entry in every if entry.counts), key=lambda entry: entry.id)
            if sorted(book.records(kind), key=lambda entry: entry.id) != standing:
                raise AssertionError(f"what stands of {kind} is not what should")
        for car in book.cars():
            book.records(TrackRun, car=car.record.name)
        return found


def _entries(place: Path) -> Entries:
    """All that a book holds, once the opening has found it whole; quicker than asking for each kind."""
    Book.open(place).close()
    found: Entries = {}
    with closing(connect(place, write=False)) as connection:
        cars = dict(connection.execute("SELECT origin, name FROM car WHERE superseded_by IS NULL").fetchall())
        for name, kind in KINDS.items():
            for row in read_rows(connection, name):
                found[name, row["id"]] = entry_of(kind, row, cars)
    return found


# ---------------------------------------------------------------- ways to damage


def _flipped(chance: Chance, data: bytearray, begin: int, end: int, count: int) -> None:
    there = np.flatnonzero(np.frombuffer(bytes(data[begin:end]), np.uint8))  # where something is written
    for _ in range(count if len(there) else 0):
        data[begin + int(there[chance.randrange(len(there))])] ^= 1 << chance.randrange(8)


def flips(chance: Chance, data: bytearray) -> None:
    _flipped(chance, data, 100, len(data), chance.choice((1, 1, 2, 5, 30)))


def head_flips(chance: Chance, data: bytearray) -> None:
    _flipped(chance, data, 16, 100, chance.choice((1, 2, 4)))


def schema_flips(chance: Chance, data: bytearray) -> None:
    _flipped(chance, data, 100, 6 * PAGE, chance.choice((1, 2, 4)))


def cut(chance: Chance, data: bytearray) -> None:
    end = chance.randrange(1, len(data))
    del data[end - end % PAGE if chance.random() < 0.5 and end > PAGE else end :]


def swapped(chance: Chance, data: bytearray) -> None:
    one, two = (PAGE * chance.randrange(len(data) // PAGE) for _ in range(2))
    data[one : one + PAGE], data[two : two + PAGE] = data[two : two + PAGE], data[one : one + PAGE]


def stale(chance: Chance, data: bytearray) -> None:
    one, two = (PAGE * chance.randrange(len(data) // PAGE) for _ in range(2))
    data[one : one + PAGE] = data[two : two + PAGE]


def spoilt(chance: Chance, data: bytearray) -> None:
    at, size = chance.randrange(100, len(data)), chance.choice((8, 100, 512, PAGE))
    made = bytes(size) if chance.random() < 0.5 else chance.randbytes(size)
    data[at : at + size] = made[: len(data) - at]


def forged(chance: Chance, data: bytearray) -> None:
    at = chance.choice((60, 68))  # user_version and application_id, by the SQLite file format, 1.3
    known = int.from_bytes(data[at : at + 4], "big")
    value = chance.choice((0, 1, 2, 3, known + 1, -1, 2**31 - 1, -(2**31), chance.randrange(2**31)))
    data[at : at + 4] = struct.pack(">i", value)


BYTES: Final[tuple[Callable[[Chance, bytearray], None], ...]] = (
    flips, flips, head_flips, schema_flips, cut, swapped, stale, spoilt, forged,
)  # fmt: skip

ODD: Final[tuple[Any, ...]] = (
    None, "", "x", "Wren", "kestrel", "0", "1e308", "a\0b", "\x1b[2J", "ж" * 3000, "9999-12-31T23:59:59.999Z",
    "2031-05-14T08:30:00.000Z", "0000-00-00", b"\xff\xfe\x41", b"", 0, 1, 2, -1, 2**53, 2**63 - 1, -(2**63),
    0.5, 1e308, -1e308, 5e-324, float("inf"), float("-inf"), 1.043,
)  # fmt: skip


def _rows(connection: sqlite3.Connection) -> list[tuple[str, int]]:
    return [
        (kind, row[0])
        for kind in KINDS
        for row in connection.execute(f'SELECT id FROM "{kind}"')  # noqa: S608
    ]


def alter_value(chance: Chance, connection: sqlite3.Connection) -> None:
    kind, number = chance.choice(_rows(connection))
    names = [row[1] for row in connection.execute(f'PRAGMA table_info("{kind}")')]
    name = chance.choice(names)
    values: tuple[Any, ...]
    if chance.random() < 0.3:  # what a person would do
        change = chance.choice(
            ("\"{0}\" || '0'", '"{0}" + 1', '"{0}" * 0.99', '-"{0}"', "replace(\"{0}\", '1', '7')")
        )
        statement, values = f'UPDATE "{kind}" SET "{name}" = {change.format(name)} WHERE id = ?', (number,)  # noqa: S608
    elif chance.random() < 0.3:  # text that is no text
        statement = f'UPDATE "{kind}" SET "{name}" = CAST(? AS TEXT) WHERE id = ?'  # noqa: S608
        values = (chance.randbytes(chance.randrange(1, 12)), number)
    else:
        statement, values = f'UPDATE "{kind}" SET "{name}" = ? WHERE id = ?', (chance.choice(ODD), number)  # noqa: S608
    connection.execute(statement, values)


def alter_time(chance: Chance, connection: sqlite3.Connection) -> None:
    kind, number = chance.choice(_rows(connection))
    name = chance.choice(("zone_min", "at_utc"))
    statement = f'UPDATE "{kind}" SET "{name}" = ? WHERE id = ?'  # noqa: S608
    connection.execute(statement, (chance.choice(ODD), number))


def alter_links(chance: Chance, connection: sqlite3.Connection) -> None:
    kind, number = chance.choice(_rows(connection))
    name = chance.choice(("superseded_by", "supersedes", "struck", "origin"))
    statement = f'UPDATE "{kind}" SET "{name}" = ? WHERE id = ?'  # noqa: S608
    connection.execute(statement, (chance.choice((None, 0, 1, 2, 3, number, number + 1)), number))


def take_out(chance: Chance, connection: sqlite3.Connection) -> None:
    for kind, number in chance.sample(_rows(connection), chance.choice((1, 1, 3))):
        connection.execute(f'DELETE FROM "{kind}" WHERE id = ?', (number,))  # noqa: S608


def put_in(chance: Chance, connection: sqlite3.Connection) -> None:
    kind, number = chance.choice(_rows(connection))
    names = [row[1] for row in connection.execute(f'PRAGMA table_info("{kind}")')]
    row = list(connection.execute(f'SELECT * FROM "{kind}" WHERE id = ?', (number,)).fetchone())  # noqa: S608
    row[0] = chance.choice((1000, number + 1, 2**40))
    row[1], row[names.index("supersedes")] = row[0], None
    row[names.index("superseded_by")] = None
    marks = ", ".join("?" * len(row))
    connection.execute(f'INSERT INTO "{kind}" VALUES ({marks})', row)  # noqa: S608


def alter_end(chance: Chance, connection: sqlite3.Connection) -> None:
    name = chance.choice(("records", "kind", "id", "hash"))
    connection.execute(f"UPDATE chain_end SET {name} = ?", (chance.choice((*ODD, "car", "run", 30)),))  # noqa: S608


def alter_schema(chance: Chance, connection: sqlite3.Connection) -> None:
    names = [row[0] for row in connection.execute("SELECT name FROM sqlite_schema WHERE sql IS NOT NULL")]
    name = chance.choice((*names, *KINDS, "chain_end"))
    connection.execute("PRAGMA writable_schema = ON")
    how = chance.randrange(4)
    if how == 0:
        connection.execute("DELETE FROM sqlite_schema WHERE name = ?", (name,))
    elif how == 1:
        connection.execute("UPDATE sqlite_schema SET name = 'x', tbl_name = 'x' WHERE name = ?", (name,))
    elif how == 2:
        column = chance.choice(
            ("id", "hash", "superseded_by", "car_id", "INTEGER", "TEXT", "records", "NULL")
        )
        put = chance.choice(("odd", "x y", "note", ""))
        connection.execute(
            "UPDATE sqlite_schema SET sql = replace(sql, ?, ?) WHERE name = ?", (column, put, name)
        )
    else:
        connection.execute(
            "UPDATE sqlite_schema SET rootpage = ? WHERE name = ?", (chance.randrange(200), name)
        )


SQL: Final[tuple[Callable[[Chance, sqlite3.Connection], None], ...]] = (
    alter_value, alter_value, alter_value, alter_time, alter_links, take_out, put_in, alter_end, alter_schema,
)  # fmt: skip


def damage(chance: Chance, whole: bytes, place: Path) -> str:
    """A copy of a book, damaged. Says how."""
    place.write_bytes(whole)
    told = []
    for _ in range(chance.choice((1, 1, 1, 2))):
        if chance.random() < 0.5:
            how = chance.choice(BYTES)
            data = bytearray(place.read_bytes())
            if len(data) > 3 * PAGE:
                how(chance, data)
                place.write_bytes(bytes(data))
            told.append(how.__name__)
        else:
            by_sql = chance.choice(SQL)
            _by_sql(chance, place, by_sql)
            told.append(by_sql.__name__)
    return "+".join(told)


def _by_sql(chance: Chance, place: Path, how: Callable[[Chance, sqlite3.Connection], None]) -> None:
    """Another program at work on the file, without the triggers that keep records as they are."""
    # Refused by the database itself, or the book was damaged before so that it cannot be done any more.
    with (
        suppress(sqlite3.Error, ValueError, IndexError, TypeError),
        closing(sqlite3.connect(place, isolation_level=None)) as connection,
    ):
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("PRAGMA journal_mode = MEMORY")
        triggers = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            connection.execute(f'DROP TRIGGER "{name}"')
        how(chance, connection)
        if how is not alter_schema:
            connection.execute("PRAGMA journal_mode = WAL")
    for end in ("-wal", "-shm", "-journal"):
        Path(f"{place}{end}").unlink(missing_ok=True)


# ---------------------------------------------------------------- what becomes of them


def opened(place: Path, wanted: Entries) -> tuple[str, str]:
    """Whether a damaged book opened unaltered or altered, was refused with words, or crashed; and more."""
    try:
        found = read_all(place)
    except (ProblemsError, WriteRefusedError) as error:
        words = str(error.problems[0].sentence) if isinstance(error, ProblemsError) else error.reason
        return ("refused", words) if words.strip() else ("crashed", "no words")
    except Exception as error:  # noqa: BLE001 - that is what is looked for
        return "crashed", repr(error)
    if found == wanted:
        return "unaltered", ""
    odd = [key for key in {*found, *wanted} if found.get(key) != wanted.get(key)]
    return "altered", str(odd[:5])


def checked(place: Path, opening: str) -> tuple[str, str]:
    """The same of `trial check`: it may find more than opening does, never less."""
    try:
        faults = check_book(place).faults
    except ProblemsError:
        return "refused", ""
    except Exception as error:  # noqa: BLE001 - that is what is looked for
        return "crashed", repr(error)
    if faults:
        return "faults", ""
    return ("unaltered", "") if opening == "unaltered" else ("missed", opening)


def salvaged(place: Path, target: Path, wanted: Entries) -> tuple[str, str]:
    """What salvage makes of a damaged book: all of it, a part, words, a record altered unseen, or a crash."""
    try:
        done = salvage(place, target)
        found = _entries(target)
    except (ProblemsError, WriteRefusedError) as error:
        words = str(error.problems[0].sentence) if isinstance(error, ProblemsError) else error.reason
        return ("refused", words) if words.strip() and not target.exists() else ("crashed", words)
    except Exception as error:  # noqa: BLE001 - that is what is looked for
        return "crashed", repr(error)
    doubtful = {
        entry.record.name for entry in found.values() if entry.kind == "car" and UNSURE in entry.doubt
    }
    odd = [key for key, entry in found.items() if not _is_true(entry, wanted.get(key), doubtful)]
    if odd:
        return "altered", str(odd[:5])
    # One that lost its number comes along under another.
    gone = max(0, len(wanted.keys() - found.keys()) - len(found.keys() - wanted.keys()))
    if not gone and not done.unsure:
        return "whole", ""
    return (
        ("part", "") if done.lost or done.missing or done.unread or not gone else ("gone unsaid", str(gone))
    )


def _is_true(entry: Entry[Any], was: Entry[Any] | None, doubtful: set[str]) -> bool:
    """Whether an entry is as it was, or is said to be in doubt. Its order may have moved up.

    It knows its car by a number: where the name of the car is in doubt, that is said with the car.
    """
    if UNSURE in entry.doubt or entry.record == _SALVAGED:
        return True
    if was is not None and getattr(entry.record, "car", None) in doubtful:
        entry = replace(entry, record=replace(entry.record, car=was.record.car))
    return was is not None and replace(entry, order=0, superseded_by=was.superseded_by) == replace(
        was, order=0
    )


def _salvaged_event() -> Any:
    from bodyshop.records.book.model import Event

    return Event("Salvaged book")


_SALVAGED: Final = _salvaged_event()

"""The trial book: one file for a class or an event, opened by the command line and the bench alike."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from sqlalchemy import Connection, Engine, Select, collate, func, select

from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError, nearest
from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.database_file import OpenedFile, create_file, damaged, open_file
from bodyshop.records.book.hash_chain import is_as_entered
from bodyshop.records.book.model import DEFAULT_BOOK, KIND_NAMES, KINDS, CarRecord, Entry, Event, R, Record
from bodyshop.records.book.store import BUSY_S, AlteredError, DamagedError, engine_for, told
from bodyshop.records.book.tables import TABLES, entry_of
from bodyshop.records.book.writing import Writer

__all__ = ["DEFAULT_BOOK", "Book", "car_names", "kind_named"]


class Book:
    """An open trial book. Use it in a `with`, or close it.

    Every method may raise:
        ProblemsError: what is asked for is not in the book, or the file is damaged.
        WriteRefusedError: it cannot be written: read-only, full, or held by another program for too long.

    A book may be used from several threads, and by several programs at once.

    >>> import tempfile
    >>> from bodyshop.records.book.model import CarRecord, Event
    >>> with Book.create(Path(tempfile.mkdtemp()) / "class.trials", Event(name="Quarry Lane Sprint")) as book:
    ...     entry = book.add(CarRecord(name="Wren"))
    ...     entry.id, [each.record.name for each in book.records(CarRecord)]
    (1, ['Wren'])
    """

    def __init__(self, path: Path, filed: OpenedFile, *, wait_s: float = BUSY_S) -> None:
        self.path = path
        self.name = str(path)
        self.writable = filed.writable
        self.migrated_from = filed.migrated_from
        self.backup = filed.backup
        self._engine: Engine = engine_for(path, write=filed.writable, wait_s=wait_s)
        self._writing = self._engine.execution_options(writes=True)

    # ------------------------------------------------------------ opening

    @classmethod
    def create(cls, path: Path | str, event: Event, *, at: datetime | None = None) -> Self:
        """Make a new book at a place where there is no file yet.

        Raises:
            WriteRefusedError: something is there already, or it cannot be written.
        """
        place = Path(path)
        filed = create_file(place)
        book = cls(place, filed)
        try:
            book.add(event, at=at)
        except BaseException:
            book.close()
            place.unlink(missing_ok=True)
            raise
        return book

    @classmethod
    def open(cls, path: Path | str, *, wait_s: float = BUSY_S) -> Self:
        """Open a book; one of an older form is brought up to date, and a copy of it kept (`backup`).

        Raises:
            ProblemsError: there is none, it is no trial book, of a newer form, or damaged.
            WriteRefusedError: it is of an older form and cannot be written.
        """
        place = Path(path)
        return cls(place, open_file(place, wait_s=wait_s), wait_s=wait_s)

    def close(self) -> None:
        """Let go of the file."""
        self._engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    # ------------------------------------------------------------ reading

    @property
    def event(self) -> Entry[Event]:
        """What the book is for."""
        found = self.records(Event)
        if not found:
            raise ProblemsError([Problem("book-event", "the book is for no event", file=self.name)])
        return found[0]

    def cars(self) -> tuple[Entry[CarRecord], ...]:
        """The cars, in the order in which they came into the book."""
        return tuple(sorted(self.records(CarRecord), key=lambda entry: entry.origin))

    def car(self, name: str) -> Entry[CarRecord]:
        """One car by its name, in any case.

        Raises:
            ProblemsError: with the nearest name.
        """
        return self.records(CarRecord, origin=self._number_of(name))[0]

    def _number_of(self, name: str) -> int:
        """The number that others know a car by."""
        table = TABLES["car"]
        query = select(table.c.origin, table.c.name).where(
            table.c.superseded_by.is_(None), table.c.struck == 0
        )
        wanted = " ".join(name.split())
        with self._reading() as connection:
            by_index = query.where(collate(table.c.name, "NOCASE") == wanted)
            # What cannot be printed is in no name, and half a character would not even reach the database.
            found = connection.execute(by_index).first() if wanted.isprintable() else None
            if found is not None:
                return int(found.origin)
            # The index knows capitals of the English alphabet only.
            rows = connection.execute(query.order_by(table.c.origin)).all()
        for row in rows:
            if row.name.casefold() == wanted.casefold():
                return int(row.origin)
        raise ProblemsError([self._no_car(name, [row.name for row in rows])])

    def _no_car(self, name: str, names: list[str]) -> Problem:
        few = ", ".join(names[:8]) + (", ..." if len(names) > 8 else "")
        return Problem(
            "book-car",
            f'there is no car "{name}" in the book',
            file=self.name,
            found=name,
            expected=f"one of {few}" if names else "a car added with: bodyshop trial add car",
            nearest=nearest(name, names),
        )

    def records(
        self,
        kind: type[R],
        *,
        car: str | None = None,
        history: bool = False,
        newest: int | None = None,
        **where: object,
    ) -> tuple[Entry[R], ...]:
        """Entries of a kind in the order in which they were measured.

        Only those that stand, unless `history` asks for the corrected and struck as well. `car` picks those
        of one car, `where` those whose fields have these values (`heat=3`; `origin=7` for a record by the
        number of its first version), `newest` the last so many.
        """
        table = TABLES[KIND_NAMES[kind]]
        query = select(table)
        if car is not None:
            query = query.where(table.c.car_id == self._number_of(car))
        for name, value in where.items():
            if name == "origin":
                query = query.where(table.c.origin == value)
                continue
            column = next((each for each in columns_of(kind) if each.name == name), None)
            if column is None or column.shape is ValueType.CAR:
                raise ValueError(f"records of {kind.__name__} cannot be picked by {name}")
            query = query.where(table.c[column.stored_as] == getattr(value, "value", value))
        if not history:
            query = query.where(table.c.superseded_by.is_(None), table.c.struck == 0)
        if newest is None:
            return self._entries(kind, query.order_by(table.c.at_utc, table.c.id))
        last = query.order_by(table.c.at_utc.desc(), table.c.id.desc()).limit(newest)
        return self._entries(kind, last)[::-1]

    def record(self, kind: type[R], number: int) -> Entry[R]:
        """One entry by its number, whether it stands or not.

        Raises:
            ProblemsError: there is none.
        """
        table = TABLES[KIND_NAMES[kind]]
        found = self._entries(kind, select(table).where(table.c.id == number))
        if not found:
            raise ProblemsError([self._no_record(kind, number)])
        return found[0]

    def history(self, kind: type[R], number: int) -> tuple[Entry[R], ...]:
        """All versions of the record that an entry belongs to, the first one first."""
        table = TABLES[KIND_NAMES[kind]]
        origin = self.record(kind, number).origin
        return self._entries(kind, select(table).where(table.c.origin == origin).order_by(table.c.id))

    def current(self, kind: type[R], number: int) -> Entry[R]:
        """The last version of the record that an entry belongs to; it may be struck."""
        return self.history(kind, number)[-1]

    def count(self, kind: type[Record], *, car: str | None = None) -> int:
        """How many records of a kind stand."""
        table = TABLES[KIND_NAMES[kind]]
        query = select(func.count()).where(table.c.superseded_by.is_(None), table.c.struck == 0)
        if car is not None:
            query = query.where(table.c.car_id == self._number_of(car))
        with self._reading() as connection:
            return int(connection.execute(query.select_from(table)).scalar_one())

    def stamp(self) -> tuple[int, ...]:
        """Numbers that differ as soon as anybody has added anything: to see whether a page is stale."""
        query = select(*(select(func.max(table.c.id)).scalar_subquery() for table in TABLES.values()))
        with self._reading() as connection:
            return tuple(int(each or 0) for each in connection.execute(query).one())

    def _entries(self, kind: type[R], query: Select[Any]) -> tuple[Entry[R], ...]:
        with self._reading() as connection:
            rows = [dict(row) for row in connection.execute(query).mappings()]
            names = car_names(connection) if rows else {}
        name = KIND_NAMES[kind]
        for row in rows:
            if not is_as_entered(name, row):
                raise damaged(self.path, AlteredError(f"{name} record {row['id']} is not as it was entered"))
        try:
            return tuple(entry_of(kind, row, names) for row in rows)
        except (ValueError, KeyError, AttributeError, TypeError, OverflowError) as error:
            raise damaged(self.path, DamagedError(f"a record of {name} makes no sense: {error}")) from None

    def _no_record(self, kind: type[Record], number: int) -> Problem:
        return Problem(
            "book-record",
            f"there is no {KIND_NAMES[kind]} record number {number} in the book",
            file=self.name,
            found=str(number),
        )

    @contextmanager
    def _reading(self) -> Iterator[Connection]:
        with self._watched(), self._engine.begin() as connection:
            yield connection

    @contextmanager
    def _watched(self) -> Iterator[None]:
        try:
            with told(self.name):
                yield
        except DamagedError as error:
            raise damaged(self.path, error) from None

    # ------------------------------------------------------------ writing

    def add(
        self,
        record: R,
        *,
        at: datetime | None = None,
        by: str = "",
        note: str = "",
        doubt: str = "",
    ) -> Entry[R]:
        """Put a record into the book. When this returns it is down on the disk.

        `at` is when it was measured, with its zone (default: now). `doubt` is what was asked about it at
        entry, and confirmed.
        """
        with self.writing() as writer:
            return writer.add(record, at=at, by=by, note=note, doubt=doubt)

    def correct(
        self, kind: type[R], number: int, record: R, reason: str, *, by: str = "", doubt: str = ""
    ) -> Entry[R]:
        """Put a record into the place of another. The old one stays, and is shown as corrected.

        Raises:
            ProblemsError: no reason, no such record, or it is corrected or struck already.
        """
        with self.writing() as writer:
            return writer.correct(kind, number, record, reason, by=by, doubt=doubt)

    def strike(self, kind: type[R], number: int, reason: str, *, by: str = "") -> Entry[R]:
        """Say that a record does not count any more, and why. It stays."""
        with self.writing() as writer:
            return writer.strike(kind, number, reason, by=by)

    @contextmanager
    def writing(self) -> Iterator[Writer]:
        """Several records at once, all or none of them: `with book.writing() as writer: writer.add(...)`."""
        if not self.writable:
            raise WriteRefusedError(
                self.name, "the book may be read but not written: its file or folder is read-only"
            )
        with self._watched(), self._writing.begin() as connection:
            writer = Writer(connection, self.name, car_names(connection))
            yield writer
            writer.seal()


def car_names(connection: Connection) -> Mapping[int, str]:
    """The name that each car has now, by the number that others know it by."""
    table = TABLES["car"]
    rows = connection.execute(select(table.c.origin, table.c.name).where(table.c.superseded_by.is_(None)))
    return {int(origin): str(name) for origin, name in rows}


def kind_named(name: str) -> type[Record]:
    """The kind of record of a name.

    Raises:
        ProblemsError: with the nearest name.
    """
    found = KINDS.get(name.strip().casefold().replace("-", "_"))
    if found is None:
        close = nearest(name, KINDS)
        expected = "" if close else f"one of {', '.join(KINDS)}"
        problem = Problem(
            "book-kind", f'there is no kind of record "{name}"', found=name, expected=expected, nearest=close
        )
        raise ProblemsError([problem])
    return found

"""Putting records into the book: what is checked, and how one takes the place of another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, func, select

from bodyshop.foundation.problems import Problem, ProblemsError, nearest
from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.hash_chain import ChainEnd, read_end, store_end
from bodyshop.records.book.model import KIND_NAMES, CarRecord, Entry, Event, R, Record
from bodyshop.records.book.tables import TABLES, entry_of, row_of
from bodyshop.records.book.value_codecs import check_record, check_text, moment_now

__all__ = ["Writer"]


class Writer:
    """One transaction. Nothing of it is in the book before the `with` that gave it has ended."""

    def __init__(self, connection: Connection, file: str, cars: Mapping[int, str]) -> None:
        self._connection = connection
        self._file = file
        self._names = dict(cars)
        self._numbers = {name.casefold(): number for number, name in cars.items()}
        self._last: dict[type[Record], int] = {}
        self._end: ChainEnd | None = None

    def add(
        self,
        record: R,
        *,
        at: datetime | None = None,
        by: str = "",
        note: str = "",
        doubt: str = "",
    ) -> Entry[R]:
        """Put a record into the book; as `Book.add`."""
        self._check(record, by=by, note=note, doubt=doubt)
        self._check_name(record, origin=None)
        if isinstance(record, Event) and self._standing_event() is not None:
            raise self._refused("book-event", "the book has its event already: correct that one")
        number = self._next(type(record))
        return self._put(number, number, at or moment_now(), record, noted_by=by, note=note, doubt=doubt)

    def correct(
        self, kind: type[R], number: int, record: R, reason: str, *, by: str = "", doubt: str = ""
    ) -> Entry[R]:
        """Put a record into the place of another; as `Book.correct`."""
        self._check(record, by=by, doubt=doubt, reason=reason)
        old = self._correctable(kind, number, reason)
        self._check_name(record, origin=old.origin)
        return self._succeed(old, record, reason=reason, noted_by=by, note=old.note, doubt=doubt)

    def strike(self, kind: type[R], number: int, reason: str, *, by: str = "") -> Entry[R]:
        """Say that a record does not count any more; as `Book.strike`."""
        self._check(None, by=by, reason=reason)
        old = self._correctable(kind, number, reason)
        if kind is Event:
            raise self._refused("book-event", "a book without an event is no book: correct it instead")
        return self._succeed(
            old, old.record, reason=reason, noted_by=by, note=old.note, doubt=old.doubt, struck=1
        )

    def bring(
        self,
        record: R,
        *,
        number: int | None,
        at: datetime | None,
        supersedes: int | None,
        struck: bool,
        texts: Mapping[str, str],
    ) -> Entry[R]:
        """Put in a record that comes from elsewhere with its own number, or without one.

        `texts` holds `by`, `note`, `doubt` and `reason`. It may correct or strike a record that is there.

        Raises:
            ProblemsError: the key of the problem is the column it is about.
        """
        kind = type(record)
        self._check(record, **texts)
        more = {
            "noted_by": texts["by"],
            "note": texts["note"],
            "doubt": texts["doubt"],
            "reason": texts["reason"],
            "struck": int(struck),
        }
        if supersedes is None:
            self._check_name(record, origin=None)
            if isinstance(record, Event) and self._standing_event() is not None:
                raise self._refused("book-event", "the book has its event already: correct that one")
            number = self._next(kind) if number is None else number
            return self._put(number, number, at or moment_now(), record, **more)
        old = self._correctable(kind, supersedes, texts["reason"])
        self._check_name(record, origin=old.origin)
        return self._succeed(old, record, at=at, number=number, supersedes=supersedes, **more)

    # ------------------------------------------------------------ below

    def insert_rows(self, kind: type[Record], rows: list[dict[str, Any]]) -> None:
        """Put rows as they are, checked by whoever made them."""
        self._last.pop(kind, None)
        if rows:
            name = KIND_NAMES[kind]
            made, end = [], self._chain_end()
            for row in rows:
                linked, end = end.linked(name, row)
                made.append(linked)
            self._connection.execute(TABLES[name].insert(), made)
            self._end = end

    def seal(self) -> None:
        """Write down where the chain of records ends now: the last thing before the transaction ends."""
        if self._end is not None:
            store_end(self._connection, self._end)

    def _chain_end(self) -> ChainEnd:
        return self._end or read_end(self._connection)

    @property
    def connection(self) -> Connection:
        """The transaction itself, for those who bring rows in whole."""
        return self._connection

    @property
    def car_numbers(self) -> Mapping[str, int]:
        """The number of each car by its folded name."""
        return self._numbers

    def _succeed(
        self,
        old: Entry[R],
        record: R,
        *,
        at: datetime | None = None,
        number: int | None = None,
        **more: Any,
    ) -> Entry[R]:
        table = TABLES[KIND_NAMES[type(record)]]
        number = self._next(type(record)) if number is None else number
        self._connection.execute(table.update().where(table.c.id == old.id).values(superseded_by=number))
        # When a mistake is corrected the measuring is not done again: the moment stays.
        return self._put(number, old.origin, at or old.at, record, **{"supersedes": old.id, **more})

    def _put(self, number: int, origin: int, at: datetime, record: R, **more: Any) -> Entry[R]:
        kind = type(record)
        self._check_references(record)
        row, end = self._chain_end().linked(
            KIND_NAMES[kind], row_of(number, origin, at, record, self._numbers, **more)
        )
        self._connection.execute(TABLES[KIND_NAMES[kind]].insert(), row)
        self._end = end
        if kind in self._last:
            self._last[kind] = max(number, self._last[kind])
        if isinstance(record, CarRecord):
            self._numbers = {folded: n for folded, n in self._numbers.items() if n != origin}
            self._numbers[record.name.casefold()] = origin
            self._names[origin] = record.name
        return entry_of(kind, row, self._names)

    def _next(self, kind: type[Record]) -> int:
        last = self._last.get(kind)
        if last is None:  # nobody else adds any while this transaction lasts
            table = TABLES[KIND_NAMES[kind]]
            last = int(self._connection.execute(select(func.max(table.c.id))).scalar_one() or 0)
            self._last[kind] = last
        return last + 1

    def _standing_event(self) -> int | None:
        table = TABLES["event"]
        query = select(table.c.id).where(table.c.superseded_by.is_(None), table.c.struck == 0)
        return self._connection.execute(query).scalar()

    def _correctable(self, kind: type[R], number: int, reason: str) -> Entry[R]:
        if not reason.strip():
            raise self._refused("book-reason", "a correction says why", expected="a reason in a few words")
        table = TABLES[KIND_NAMES[kind]]
        row = self._connection.execute(select(table).where(table.c.id == number)).mappings().one_or_none()
        name = KIND_NAMES[kind]
        if row is None:
            message = f"there is no {name} record number {number} in the book"
            raise self._refused("book-record", message, key="supersedes")
        if row["superseded_by"] is not None:
            raise self._refused(
                "book-corrected",
                f"{name} record number {number} was corrected already",
                near=str(row["superseded_by"]),
                key="supersedes",
            )
        if row["struck"]:
            raise self._refused("book-struck", f"{name} record number {number} is struck")
        return entry_of(kind, row, self._names)

    def _check(self, record: Record | None, **texts: str) -> None:
        faults = [
            Problem("trial-value", f"the {name} {said}", file=self._file, key=name)
            for name, text in texts.items()
            if (said := check_text(text, lines=True))
        ]
        if faults:
            raise ProblemsError(faults)
        if record is None:
            return
        try:
            check_record(record)
        except ProblemsError as error:
            raise ProblemsError(replace(each, file=self._file) for each in error.problems) from None

    def _check_name(self, record: Record, origin: int | None) -> None:
        if not isinstance(record, CarRecord):
            return
        if record.name != " ".join(record.name.split()):
            message = "a car's name has no spaces at its ends, nor two together"
            raise self._refused("book-car", message, key="name")
        taken = self._numbers.get(record.name.casefold())
        if taken is not None and taken != origin:
            message = f'there is a car "{record.name}" in the book already'
            raise self._refused("book-car", message, key="name")

    def _check_references(self, record: Record) -> None:
        for column in columns_of(type(record)):
            value = getattr(record, column.name)
            if value is None:
                continue
            if column.shape is ValueType.CAR and value.casefold() not in self._numbers:
                names = list(self._names.values())
                raise self._refused(
                    "book-car",
                    f'there is no car "{value}" in the book',
                    found=value,
                    near=nearest(value, names),
                    key=column.name,
                )
            if column.shape is ValueType.RECORD:
                table = TABLES[column.field.refers]
                query = select(table.c.origin).where(table.c.id == value)
                found = self._connection.execute(query).scalar()
                if found != value:
                    what = f"there is no {column.field.refers} record number {value} in the book"
                    near = "" if found is None else str(found)
                    raise self._refused("book-record", what, found=str(value), near=near, key=column.name)

    def _refused(
        self, code: str, message: str, *, found: str = "", expected: str = "", near: str = "", key: str = ""
    ) -> ProblemsError:
        problem = Problem(
            code, message, file=self._file, key=key, found=found, expected=expected, nearest=near
        )
        return ProblemsError([problem])

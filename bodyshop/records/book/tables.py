"""The tables of the book, one for each kind of record, and rows to entries and back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from sqlalchemy import Column as SqlColumn
from sqlalchemy import Float, ForeignKey, Index, Integer, MetaData, Table, Text, and_, collate, literal_column

from bodyshop.records.book.columns import RecordColumn, ValueType, columns_of
from bodyshop.records.book.model import KINDS, Entry, R
from bodyshop.records.book.value_codecs import from_store, moment_text, read_moment, to_store

__all__ = ["CHAIN_END", "METADATA", "OWN_COLUMNS", "TABLES", "entry_of", "row_of"]


METADATA: Final = MetaData()

OWN_COLUMNS: Final = (
    "id",
    "origin",
    "at_utc",
    "zone_min",
    "noted_by",
    "note",
    "doubt",
    "supersedes",
    "superseded_by",
    "reason",
    "struck",
    "book_order",
    "hash_before",
    "hash",
)
"""What every table has beside the fields of its records."""

_SQL: Final = {
    ValueType.TEXT: Text,
    ValueType.CHOICE: Text,
    ValueType.NUMBERS: Text,
    ValueType.PAIRS: Text,
    ValueType.NUMBER: Float,
    ValueType.WHOLE: Integer,
    ValueType.YES_NO: Integer,
    ValueType.CAR: Integer,
    ValueType.RECORD: Integer,
}


def _own(table: str) -> list[SqlColumn[Any]]:
    return [
        SqlColumn("id", Integer, primary_key=True),
        SqlColumn("origin", Integer, ForeignKey(f"{table}.id"), nullable=False),
        SqlColumn("at_utc", Text, nullable=False),
        SqlColumn("zone_min", Integer, nullable=False),
        SqlColumn("noted_by", Text, nullable=False),
        SqlColumn("note", Text, nullable=False),
        SqlColumn("doubt", Text, nullable=False),
        SqlColumn("supersedes", Integer, ForeignKey(f"{table}.id")),
        # The old version is marked before the new one is there: names stay unique on the way.
        SqlColumn(
            "superseded_by",
            Integer,
            ForeignKey(f"{table}.id", deferrable=True, initially="DEFERRED"),
        ),
        SqlColumn("reason", Text, nullable=False),
        SqlColumn("struck", Integer, nullable=False),
        SqlColumn("book_order", Integer, nullable=False),
        SqlColumn("hash_before", Text, nullable=False),
        SqlColumn("hash", Text, nullable=False),
    ]


def _field(column: RecordColumn) -> SqlColumn[Any]:
    refers = "car" if column.shape is ValueType.CAR else column.field.refers
    return SqlColumn(
        column.stored_as,
        _SQL[column.shape],
        *([ForeignKey(f"{refers}.id")] if refers else []),
        nullable=column.optional,
    )


def _table(kind: str) -> Table:
    columns = columns_of(KINDS[kind])
    table = Table(kind, METADATA, *_own(kind), *(_field(column) for column in columns))
    Index(f"{kind}_by_origin", table.c.origin)
    for link in ("supersedes", "superseded_by"):
        # Partial: whoever asks for what is not corrected must not be led through an index of nothing.
        there = table.c[link].is_not(None)
        Index(f"{kind}_by_{link}", table.c[link], unique=True, sqlite_where=there)
    Index(f"{kind}_by_time", table.c.at_utc, table.c.id)
    for column in columns:
        if column.shape in (ValueType.CAR, ValueType.RECORD):
            name = column.stored_as
            Index(f"{kind}_by_{name}", table.c[name], table.c.at_utc, table.c.id)
    standing = and_(table.c.superseded_by.is_(None), table.c.struck == literal_column("0"))
    if kind == "car":
        name_index = collate(table.c.name, "NOCASE")
        Index("car_by_name", name_index, unique=True, sqlite_where=table.c.superseded_by.is_(None))
    if kind == "event":
        Index("event_is_one", table.c.struck, unique=True, sqlite_where=standing)
    return table


TABLES: Final[Mapping[str, Table]] = MappingProxyType({kind: _table(kind) for kind in KINDS})
"""Every table by the name of its kind."""

CHAIN_END: Final = Table(
    "chain_end",
    METADATA,
    SqlColumn("one", Integer, primary_key=True),
    SqlColumn("records", Integer, nullable=False),
    SqlColumn("kind", Text, nullable=False),
    SqlColumn("id", Integer, nullable=False),
    SqlColumn("hash", Text, nullable=False),
)
"""One row: how many records the book has, and which is the last of them."""


def entry_of(kind: type[R], row: Mapping[Any, Any], cars: Mapping[int, str]) -> Entry[R]:
    """The entry that a row holds. Raises `ValueError` or `KeyError` for a row that we never wrote."""
    values: dict[str, Any] = {}
    for column in columns_of(kind):
        stored = row[column.stored_as]
        if column.shape is ValueType.CAR and stored is not None:
            values[column.name] = cars[stored]
        else:
            values[column.name] = from_store(column, stored)
    return Entry(
        id=row["id"],
        origin=row["origin"],
        at=read_moment(row["at_utc"], row["zone_min"]),
        record=kind(**values),
        by=row["noted_by"],
        note=row["note"],
        doubt=row["doubt"],
        reason=row["reason"],
        supersedes=row["supersedes"],
        superseded_by=row["superseded_by"],
        struck=bool(row["struck"]),
        order=row["book_order"],
    )


def row_of(
    number: int,
    origin: int,
    at: datetime,
    record: R,
    numbers: Mapping[str, int],
    **more: Any,
) -> dict[str, Any]:
    """The row of a new entry. `numbers` are the cars' numbers by folded name, `more` columns of our own."""
    utc, zone_min = moment_text(at)
    row: dict[str, Any] = {
        "id": number,
        "origin": origin,
        "at_utc": utc,
        "zone_min": zone_min,
        "noted_by": "",
        "note": "",
        "doubt": "",
        "supersedes": None,
        "superseded_by": None,
        "reason": "",
        "struck": 0,
        **more,
    }
    for column in columns_of(type(record)):
        value = getattr(record, column.name)
        if column.shape is ValueType.CAR and value is not None:
            row[column.stored_as] = numbers[value.casefold()]
        else:
            row[column.stored_as] = to_store(column, value)
    return row

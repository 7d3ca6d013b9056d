"""The tables of the book, one for each kind of record, as the library that reads and writes them sees them.

How a book of any form comes to have them is the business of `forms` and its SQL; a test holds both together.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from sqlalchemy import Column as SqlColumn
from sqlalchemy import Float, ForeignKey, Index, Integer, MetaData, Table, Text, and_, collate, literal_column

from bodyshop.trials.columns import Column, Shape, columns_of
from bodyshop.trials.model import KINDS

__all__ = ["CHAIN_END", "METADATA", "OWN_COLUMNS", "TABLES"]

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
    Shape.TEXT: Text,
    Shape.CHOICE: Text,
    Shape.NUMBERS: Text,
    Shape.PAIRS: Text,
    Shape.NUMBER: Float,
    Shape.WHOLE: Integer,
    Shape.YES_NO: Integer,
    Shape.CAR: Integer,
    Shape.RECORD: Integer,
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


def _field(column: Column) -> SqlColumn[Any]:
    refers = "car" if column.shape is Shape.CAR else column.field.refers
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
        if column.shape in (Shape.CAR, Shape.RECORD):
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

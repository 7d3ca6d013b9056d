"""The form of a book, and how an older one is brought up to date.

The tables of a new book are made from the declared records. A form is a number in the file (`user_version`);
a record that is declared otherwise makes a new form, and a `Step` says how a book of the form before becomes
one of it. What keeps records from being altered, and the indexes, are laid anew each time from the tables as
they are now.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import cache
from typing import Final

from sqlalchemy.dialects import sqlite as dialect
from sqlalchemy.schema import CreateIndex, CreateTable

from bodyshop.records.book.hash_chain import START
from bodyshop.records.book.tables import CHAIN_END, METADATA, TABLES

__all__ = [
    "APPLICATION_ID",
    "STEPS",
    "Step",
    "bring_up",
    "columns_in",
    "columns_now",
    "form_of",
    "is_ours",
    "newest",
]


@dataclass(frozen=True, slots=True)
class Step:
    """How a book of one form becomes one of the next: statements, run in their order.

    A column that is added has to be empty in the records that are there already: an empty column is not part
    of a record's hash, so the chain stays as it was.
    """

    statements: tuple[str, ...]


STEPS: Final[tuple[Step, ...]] = ()
"""The first one leads from form 1 to form 2. Nothing is taken out of this list once a release has it."""

APPLICATION_ID: Final = 0x62735462
"""Marks a database file as a trial book of ours (`bsTb`)."""

_KEPT: Final = "records are never altered: correct them"


def is_ours(connection: sqlite3.Connection) -> bool:
    """Whether a database is a trial book."""
    return int(connection.execute("PRAGMA application_id").fetchone()[0]) == APPLICATION_ID


def form_of(connection: sqlite3.Connection) -> int:
    """The form of the book."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def newest(steps: Sequence[Step] | None = None) -> int:
    """The newest form."""
    return 1 + len(STEPS if steps is None else steps)


def bring_up(connection: sqlite3.Connection, steps: Sequence[Step] | None = None) -> int:
    """Bring a book (or an empty database) to the newest form, in one transaction. Returns the form it had.

    Another program may have done it while we waited for our turn: the form is read again inside.
    """
    taken = STEPS if steps is None else steps
    connection.execute("BEGIN IMMEDIATE")
    try:
        had = form_of(connection)
        for statement in _whole_book() if had == 0 else _statements(taken[had - 1 :]):
            connection.execute(statement)
        if had < newest(taken):
            _guard(connection)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {newest(taken)}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return had


@cache
def columns_now() -> dict[str, tuple[str, ...]]:
    """The columns of every table of a book of the newest form, in the order in which they lie in the file."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        bring_up(connection)
        return columns_in(connection)


def columns_in(connection: sqlite3.Connection) -> dict[str, tuple[str, ...]]:
    """The columns of every table that a book has."""
    tables = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
    return {
        name: tuple(row[1] for row in connection.execute("SELECT * FROM pragma_table_info(?)", (name,)))
        for (name,) in tables
    }


def _whole_book() -> list[str]:
    """The statements that make an empty book."""
    made = [str(CreateTable(table).compile(dialect=dialect.dialect())) for table in METADATA.sorted_tables]
    return [*made, f"INSERT INTO \"{CHAIN_END.name}\" VALUES (1, 0, '', 0, '{START}')"]  # noqa: S608


def _statements(steps: Sequence[Step]) -> list[str]:
    return [statement for step in steps for statement in step.statements]


@cache
def _indexes(kind: str) -> tuple[tuple[str, str], ...]:
    """The indexes of a table: name, and the statement that makes it."""
    named = sorted((str(index.name), index) for index in TABLES[kind].indexes)
    return tuple((name, str(CreateIndex(index).compile(dialect=dialect.dialect()))) for name, index in named)


def _guard(connection: sqlite3.Connection) -> None:
    """Lay indexes, and triggers that let a record be added and marked as corrected, and nothing else.

    The end of the chain may only go forward.
    """
    for kind in (*TABLES, "chain_end"):
        for trigger in ("kept", "stays", "once"):
            connection.execute(f'DROP TRIGGER IF EXISTS "{kind}_{trigger}"')
    refuse = f"BEGIN SELECT RAISE(ABORT, '{_KEPT}'); END"
    connection.execute(
        'CREATE TRIGGER "chain_end_kept" BEFORE UPDATE ON "chain_end" '
        f"WHEN NEW.records <= OLD.records {refuse}"
    )
    connection.execute(f'CREATE TRIGGER "chain_end_stays" BEFORE DELETE ON "chain_end" {refuse}')
    for kind, table in TABLES.items():
        for name, made in _indexes(kind):
            connection.execute(f'DROP INDEX IF EXISTS "{name}"')
            connection.execute(made)
        kept = ", ".join(f'"{column.name}"' for column in table.c if column.name != "superseded_by")
        connection.execute(f'CREATE TRIGGER "{kind}_kept" BEFORE UPDATE OF {kept} ON "{kind}" {refuse}')
        connection.execute(f'CREATE TRIGGER "{kind}_stays" BEFORE DELETE ON "{kind}" {refuse}')
        connection.execute(
            f'CREATE TRIGGER "{kind}_once" BEFORE UPDATE OF superseded_by ON "{kind}" '
            f"WHEN OLD.superseded_by IS NOT NULL {refuse}"
        )

"""The forms that a book has had, and how an older one becomes the newest.

A form is a number in the file (`user_version`). Form n is made of form n - 1 by `schema/n.sql`, which is
never changed once a release has it; a new book goes through all of them. What keeps records from being
altered, and the indexes, are laid anew each time from the tables as they are now.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from functools import cache
from pathlib import Path
from typing import Final

from sqlalchemy.dialects import sqlite as dialect
from sqlalchemy.schema import CreateIndex

from bodyshop.records.book.hash_chain import FIRST_CHAINED, START, hash_of, read_rows
from bodyshop.records.book.model import KINDS
from bodyshop.records.book.ordering import in_order, moments_in_order
from bodyshop.records.book.tables import TABLES, entry_of

__all__ = ["APPLICATION_ID", "FORM", "bring_up", "columns_in", "columns_of_form", "form_of", "is_ours"]

APPLICATION_ID: Final = 0x62735462
"""Marks a database file as a trial book of ours (`bsTb`)."""

FORM: Final = 4
"""The newest form."""

_SCHEMA: Final = Path(__file__).with_name("schema")
_KEPT: Final = "records are never altered: correct them"


def is_ours(connection: sqlite3.Connection) -> bool:
    """Whether a database is a trial book."""
    return int(connection.execute("PRAGMA application_id").fetchone()[0]) == APPLICATION_ID


def form_of(connection: sqlite3.Connection) -> int:
    """The form of the book."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def bring_up(connection: sqlite3.Connection, to: int = FORM) -> int:
    """Bring a book (or an empty database) to a form, in one transaction. Returns the form it had.

    Another program may have done it while we waited for our turn: the form is read again inside.

    Raises:
        ValueError: a record of the older book makes no sense.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        had = form_of(connection)
        for form in range(had + 1, to + 1):
            for statement in _statements(_sql(form)):
                connection.execute(statement)
        if had < to:
            if to == FORM:
                _unguard(connection)
                if had < FIRST_CHAINED:
                    _chain(connection)
                _guard(connection)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {to}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
    return had


@cache
def columns_of_form(form: int) -> dict[str, tuple[str, ...]]:
    """The columns of every table in a book of a form, in the order in which they lie in the file."""
    with closing(sqlite3.connect(":memory:", isolation_level=None)) as connection:
        bring_up(connection, form)
        return columns_in(connection)


def columns_in(connection: sqlite3.Connection) -> dict[str, tuple[str, ...]]:
    """The columns of every table that a book has."""
    tables = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table'").fetchall()
    return {
        name: tuple(row[1] for row in connection.execute("SELECT * FROM pragma_table_info(?)", (name,)))
        for (name,) in tables
    }


def _sql(form: int) -> str:
    return (_SCHEMA / f"{form}.sql").read_text(encoding="utf-8")


def _statements(text: str) -> list[str]:
    """The statements of a script. `executescript` will not do: it ends the transaction."""
    found: list[str] = []
    pending = ""
    for line in text.splitlines(keepends=True):
        if not pending and (not line.strip() or line.startswith("--")):
            continue
        pending += line
        if sqlite3.complete_statement(pending):
            found.append(pending)
            pending = ""
    if pending.strip():
        raise ValueError(f"a statement without an end: {pending[:60]}")
    return found


def _chain(connection: sqlite3.Connection) -> None:
    """Link the records of a book that knew no order of all records: by their numbers, then by the clock."""
    cars: dict[int, str] = {}
    found = {kind: sorted(read_rows(connection, kind), key=lambda row: row["id"]) for kind in KINDS}
    for row in found["car"]:
        cars.setdefault(row["origin"], row["name"])
    end, kind, number, count = START, "", 0, 0
    for count, (kind, row) in enumerate(in_order(found, moments_in_order), 1):
        try:
            entry_of(KINDS[kind], row, cars)
        except (ValueError, KeyError, AttributeError, TypeError, OverflowError) as error:
            raise ValueError(f"{kind} record {row['id']} makes no sense: {error}") from None
        number = row["id"]
        linked = {**row, "book_order": count, "hash_before": end}
        end, before = hash_of(kind, linked, end), end
        connection.execute(
            f'UPDATE "{kind}" SET book_order = ?, hash_before = ?, hash = ? WHERE id = ?',  # noqa: S608
            (count, before, end, number),
        )
    connection.execute(
        "UPDATE chain_end SET records = ?, kind = ?, id = ?, hash = ?", (count, kind, number, end)
    )


def _unguard(connection: sqlite3.Connection) -> None:
    for kind in (*TABLES, "chain_end"):
        for trigger in ("kept", "stays", "once"):
            connection.execute(f'DROP TRIGGER IF EXISTS "{kind}_{trigger}"')


@cache
def _indexes(kind: str) -> tuple[tuple[str, str], ...]:
    """The indexes of a table: name, and the statement that makes it."""
    named = sorted((str(index.name), index) for index in TABLES[kind].indexes)
    return tuple((name, str(CreateIndex(index).compile(dialect=dialect.dialect()))) for name, index in named)


def _guard(connection: sqlite3.Connection) -> None:
    """Lay indexes, and triggers that let a record be added and marked as corrected, and nothing else.

    The end of the chain may only go forward.
    """
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

"""The book's tables as CSV for spreadsheet programs: every record with all its versions, nothing rounded.

Units stand in the names of the columns.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from bodyshop.source.csv_text import csv_bytes, guarded
from bodyshop.trials.book import Book
from bodyshop.trials.columns import columns_of
from bodyshop.trials.csv_cells import write_cell
from bodyshop.trials.model import KIND_NAMES, KINDS, Entry, Record

__all__ = ["CSV_OWN", "csv_columns", "csv_of", "export_tables", "template_csv"]

CSV_OWN: Final[dict[str, str]] = {
    "id": "The record's number. Leave it empty to add a record: it is given the next one.",
    "at": "When it was measured, ISO 8601 with the zone. Empty: when it is read in.",
    "by": "Who noted it.",
    "note": "Anything else.",
    "doubt": "What was asked about it at entry, and confirmed.",
    "supersedes": "The number of the record that this one corrects.",
    "reason": "Why it was corrected or struck.",
    "struck": "Yes where the record does not count any more.",
    "order": "Its place among all records of the book. Tables that tell it in every row are read in in this "
    "order; others kind by kind, predictions last.",
}
"""The columns that every table has, before those of its kind, and what they mean."""


def csv_columns(kind: type[Record]) -> dict[str, str]:
    """All columns of a kind's table, in order, and what they mean."""
    return {**CSV_OWN, **{column.name: column.about for column in columns_of(kind)}}


def csv_of(kind: type[Record], entries: Iterable[Entry[Any]]) -> bytes:
    """Entries as a table."""
    rows: list[list[str]] = [list(csv_columns(kind))]
    columns = columns_of(kind)
    for entry in entries:
        own = (
            str(entry.id),
            entry.at.isoformat(timespec="milliseconds"),
            guarded(entry.by),
            guarded(entry.note),
            guarded(entry.doubt),
            "" if entry.supersedes is None else str(entry.supersedes),
            guarded(entry.reason),
            "yes" if entry.struck else "",
            str(entry.order),
        )
        rows.append([*own, *(write_cell(column, getattr(entry.record, column.name)) for column in columns)])
    return csv_bytes(rows)


def template_csv(kind: type[Record]) -> bytes:
    """An empty table with its heading, to be filled in."""
    return csv_of(kind, ())


def export_tables(book: Book, kinds: Iterable[type[Record]] | None = None) -> dict[str, bytes]:
    """Files by name, one for each kind that has records; for each of `kinds` where they are named."""
    asked = None if kinds is None else set(kinds)
    files: dict[str, bytes] = {}
    for kind in KINDS.values():
        if asked is not None and kind not in asked:
            continue
        entries = sorted(book.records(kind, history=True), key=lambda entry: entry.id)
        if entries or asked is not None:
            files[f"{KIND_NAMES[kind].replace('_', '-')}.csv"] = csv_of(kind, entries)
    return files

"""Rows of a table that the book holds already, known by what they say: a sheet may be read in again.

Two equal readings are two readings. So a row is known as often as the book has its content, and no more: of
three equal rows where the book has two, one is new.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import Any

from bodyshop.trials.book import Book
from bodyshop.trials.columns import Shape, columns_of
from bodyshop.trials.csv_rows import RowRead
from bodyshop.trials.model import Entry, Record

__all__ = ["Recogniser"]


class Recogniser:
    """What the book held before an import. Each record in it is taken for one row at most."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._kinds: dict[type[Record], dict[Hashable, list[Entry[Any]]]] = {}
        self._taken: set[tuple[type[Record], int]] = set()

    def knows(self, row: RowRead) -> bool:
        """Whether the book has the record of a row that has no number of its own.

        The moment and the person count where the row tells them. A record that was corrected or struck since
        is still that of its row: the mistake does not come back with the sheet.
        """
        found = self._of_kind(row.kind).get(_content(row.record), ())
        for entry in found:
            # A correction is known by the record that it corrects, any other by the whole of its history.
            number = entry.origin if row.supersedes is None else entry.id
            if (row.kind, number) in self._taken or not _fits(entry, row):
                continue
            self._taken.add((row.kind, number))
            return True
        return False

    def _of_kind(self, kind: type[Record]) -> dict[Hashable, list[Entry[Any]]]:
        if kind not in self._kinds:
            by_content: dict[Hashable, list[Entry[Any]]] = {}
            # What stands goes first: a row is rather that of the newest version.
            entries = sorted(self._book.records(kind, history=True), key=lambda entry: not entry.counts)
            for entry in entries:
                by_content.setdefault(_content(entry.record), []).append(entry)
            self._kinds[kind] = by_content
        return self._kinds[kind]


def _fits(entry: Entry[Any], row: RowRead) -> bool:
    by = row.texts["by"]
    return (
        (row.supersedes is None or (entry.supersedes == row.supersedes and entry.struck is row.struck))
        and (not row.told_at or entry.at == row.at)
        and (not by or entry.by == by)
    )


def _content(record: Record) -> Hashable:
    """All that a record says; a car by its folded name."""
    return tuple(
        value.casefold() if column.shape is Shape.CAR and isinstance(value, str) else value
        for column in columns_of(type(record))
        for value in (getattr(record, column.name),)
    )

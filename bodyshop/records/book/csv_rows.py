"""Rows of a CSV table to records, and rows that the book holds already."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, TypeVar

from bodyshop.foundation.problems import Problem, nearest
from bodyshop.foundation.text.csv_text import unguarded
from bodyshop.records.book.book import Book
from bodyshop.records.book.columns import ValueType, columns_of
from bodyshop.records.book.csv_table import (
    CellError,
    CsvCell,
    CsvTable,
    csv_columns,
    read_cell,
    read_moment_cell,
    read_record_number,
    read_yes_no,
)
from bodyshop.records.book.model import KIND_NAMES, Entry, Record
from bodyshop.records.book.value_codecs import check_text, fault_of, moment_now

__all__ = ["CsvRow", "Recogniser", "cell_problem", "read_rows"]


class Recogniser:
    """What the book held before an import. Each record in it is taken for one row at most."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._kinds: dict[type[Record], dict[Hashable, list[Entry[Any]]]] = {}
        self._taken: set[tuple[type[Record], int]] = set()

    def knows(self, row: CsvRow) -> bool:
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


def _fits(entry: Entry[Any], row: CsvRow) -> bool:
    by = row.texts["by"]
    return (
        (row.supersedes is None or (entry.supersedes == row.supersedes and entry.struck is row.struck))
        and (not row.told_at or entry.at == row.at)
        and (not by or entry.by == by)
    )


def _content(record: Record) -> Hashable:
    """All that a record says; a car by its folded name."""
    return tuple(
        value.casefold() if column.shape is ValueType.CAR and isinstance(value, str) else value
        for column in columns_of(type(record))
        for value in (getattr(record, column.name),)
    )


_OWN_TEXTS: Final = ("by", "note", "doubt", "reason")
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class CsvRow:
    """A row as read. `number` is None until it is given one; `told_at` says whether it told its moment.

    `texts` holds `by`, `note`, `doubt` and `reason`; `cells` the cells by the names of their columns, and
    `first` the one at the row's beginning.
    """

    kind: type[Record]
    file: str
    first: CsvCell
    cells: Mapping[str, CsvCell]
    record: Record
    at: datetime
    told_at: bool
    texts: Mapping[str, str]
    struck: bool
    number: int | None
    supersedes: int | None
    order: int | None


def cell_problem(
    code: str, message: str, file: str, cell: CsvCell, expected: str = "", close: str = ""
) -> Problem:
    """A problem with a cell."""
    return Problem(
        code, message, file=file, span=cell.span, found=cell.text[:40], expected=expected, nearest=close
    )


def read_rows(kind: type[Record], table: CsvTable, problems: list[Problem]) -> list[CsvRow]:
    """The rows that are right; what is wrong with the others is added to `problems`."""
    names = _headings(kind, table, problems)
    if names is None:
        return []
    rows = (_RowReader(kind, table.name, names, cells, problems).read() for cells in table.rows)
    return [row for row in rows if row is not None]


def _headings(kind: type[Record], table: CsvTable, problems: list[Problem]) -> list[str] | None:
    """The name of each column; None where a heading is wrong, since every row would be."""
    known = csv_columns(kind)
    before = len(problems)
    found: list[str] = []
    for cell in table.heading:
        name = cell.text.strip().casefold()
        if name and name not in known:
            close = nearest(name, known)
            expected = "" if close else f"some of {', '.join(known)}"
            message = f'a table of {KIND_NAMES[kind]} has no column "{cell.text.strip()}"'
            problems.append(cell_problem("csv-column", message, table.name, cell, expected, close))
        elif name and name in found:
            problems.append(
                cell_problem("csv-column", f'the column "{name}" is there twice', table.name, cell)
            )
        else:
            found.append(name)
    missing = [each.name for each in columns_of(kind) if each.required and each.name not in found]
    if len(problems) == before and missing:
        few = len(missing) == 1
        message = f"the column{'' if few else 's'} {', '.join(missing)} {'is' if few else 'are'} missing"
        problems.append(cell_problem("csv-column", message, table.name, table.heading[0]))
    return found if len(problems) == before else None


class _RowReader:
    """One row being read."""

    def __init__(
        self,
        kind: type[Record],
        file: str,
        names: Sequence[str],
        cells: Sequence[CsvCell],
        problems: list[Problem],
    ) -> None:
        self._kind = kind
        self._file = file
        self._all = cells
        self._cells = {name: cell for name, cell in zip(names, cells, strict=False) if name}
        self._problems = problems
        self._before = len(problems)
        if any(cell.text.strip() for cell in cells[len(names) :]):
            self._tell("csv-row", "there are more cells than headings", cells[len(names)])

    def read(self) -> CsvRow | None:
        """The row, or None where something is wrong with it."""
        record = self._record()
        texts = {name: self._own(name, unguarded, "") for name in _OWN_TEXTS}
        for name, text in texts.items():
            if said := check_text(text, lines=True):
                self._tell("csv-cell", f"this cell {said}", self._cells[name])
        moment: datetime | None = self._own("at", read_moment_cell, None)
        number: int | None = self._own("id", read_record_number, None)
        supersedes: int | None = self._own("supersedes", read_record_number, None)
        order: int | None = self._own("order", read_record_number, None)
        struck = self._own("struck", read_yes_no, False)
        if supersedes is not None and not texts["reason"].strip():
            self._tell("csv-reason", "a correction says why", self._cells["supersedes"], "a reason")
        if struck and supersedes is None:
            message = "a struck record names the one it strikes"
            self._tell("csv-struck", message, self._cells["struck"], "its number under supersedes")
        if record is None or self._wrong():
            return None
        return CsvRow(
            kind=self._kind,
            file=self._file,
            first=self._all[0],
            cells=self._cells,
            record=record,
            at=moment or moment_now(),
            told_at=moment is not None,
            texts=texts,
            struck=struck,
            number=number,
            supersedes=supersedes,
            order=order,
        )

    def _wrong(self) -> bool:
        return len(self._problems) > self._before

    def _tell(self, code: str, message: str, cell: CsvCell, expected: str = "", close: str = "") -> None:
        self._problems.append(cell_problem(code, message, self._file, cell, expected, close))

    def _own(self, name: str, read: Callable[[str], _T], default: _T) -> _T:
        """What a column that every table has holds."""
        cell = self._cells.get(name)
        if cell is None or not cell.text.strip():
            return default
        try:
            return read(cell.text)
        except CellError as error:
            self._tell("csv-cell", error.message, cell, error.expected, error.nearest)
            return default

    def _record(self) -> Record | None:
        values: dict[str, Any] = {}
        for column in columns_of(self._kind):
            cell = self._cells.get(column.name)
            if cell is None and column.required:
                self._tell("csv-cell", f"the row ends before {column.name}", self._all[-1])
            empty = cell is None or not cell.text.strip()
            keeps_default = not column.required and not column.optional and column.shape is not ValueType.TEXT
            if cell is None or (empty and keeps_default):
                continue  # as the field's default says
            try:
                values[column.name] = read_cell(column, cell.text)
            except CellError as error:
                self._tell("csv-cell", error.message, cell, error.expected, error.nearest)
        if self._wrong():
            return None
        record = self._kind(**values)
        for column in columns_of(self._kind):
            fault = fault_of(column, record)
            if fault is not None:
                self._tell("csv-cell", fault.message, self._cells[column.name], fault.expected)
        return None if self._wrong() else record

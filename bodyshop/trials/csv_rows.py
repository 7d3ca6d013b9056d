"""Rows of a table to records: every cell read, every wrong one told."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, TypeVar

from bodyshop.problems import Problem, nearest
from bodyshop.source.csv_text import unguarded
from bodyshop.trials.columns import Shape, columns_of
from bodyshop.trials.csv_cells import (
    CellError,
    read_cell,
    read_moment_cell,
    read_record_number,
    read_yes_no,
)
from bodyshop.trials.csv_out import csv_columns
from bodyshop.trials.csv_table import Cell, CsvTable
from bodyshop.trials.model import KIND_NAMES, Record
from bodyshop.trials.values import check_text, fault_of, moment_now

__all__ = ["RowRead", "cell_problem", "read_rows"]

_OWN_TEXTS: Final = ("by", "note", "doubt", "reason")
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class RowRead:
    """A row as read. `number` is None until it is given one; `told_at` says whether it told its moment.

    `texts` holds `by`, `note`, `doubt` and `reason`; `cells` the cells by the names of their columns, and
    `first` the one at the row's beginning.
    """

    kind: type[Record]
    file: str
    first: Cell
    cells: Mapping[str, Cell]
    record: Record
    at: datetime
    told_at: bool
    texts: Mapping[str, str]
    struck: bool
    number: int | None
    supersedes: int | None
    order: int | None


def cell_problem(
    code: str, message: str, file: str, cell: Cell, expected: str = "", close: str = ""
) -> Problem:
    """A problem with a cell."""
    return Problem(
        code, message, file=file, span=cell.span, found=cell.text[:40], expected=expected, nearest=close
    )


def read_rows(kind: type[Record], table: CsvTable, problems: list[Problem]) -> list[RowRead]:
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
        cells: Sequence[Cell],
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

    def read(self) -> RowRead | None:
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
        return RowRead(
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

    def _tell(self, code: str, message: str, cell: Cell, expected: str = "", close: str = "") -> None:
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
            keeps_default = not column.required and not column.optional and column.shape is not Shape.TEXT
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

"""Tables of a spreadsheet read into the book: all of it, or nothing and a list of every wrong row.

A row whose record is in the book already is passed over: a file may be read in again. A row with a number is
known by it, and wrong where the book has something else under that number: records are never altered. A row
without one is known by what it says.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from sqlalchemy import select

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.records.book.book import Book
from bodyshop.records.book.csv_rows import CsvRow, Recogniser, cell_problem, read_rows
from bodyshop.records.book.csv_table import csv_columns, read_table
from bodyshop.records.book.database_file import create_file
from bodyshop.records.book.earlier import EarlierRecords, known_about
from bodyshop.records.book.hash_chain import CHAIN_COLUMNS
from bodyshop.records.book.model import KIND_NAMES, KINDS, Event, FrozenPrediction, Record, TrackRun
from bodyshop.records.book.plausibility import questions
from bodyshop.records.book.tables import TABLES, row_of
from bodyshop.records.book.writing import Writer

__all__ = ["ImportResult", "create_from_csv", "import_csv", "kind_of_file"]


@dataclass(frozen=True, slots=True)
class ImportResult:
    """What became of the rows, by kind: added, in the book already, and how many of these were known by what
    they say, since they have no number.
    """

    added: Mapping[str, int]
    known: Mapping[str, int]
    alike: Mapping[str, int]


def kind_of_file(name: str) -> type[Record] | None:
    """The kind whose table a file of this name is, None where it is none: `heat-lane.csv`."""
    stem = Path(name).stem.casefold().replace("-", "_")
    return KINDS.get(stem)


def import_csv(
    book: Book, tables: Sequence[tuple[type[Record], bytes, str]], *, confirm: bool = False
) -> ImportResult:
    """Read tables (kind, content, name of the file) into a book.

    What cannot be true is asked about as at entry: such rows are wrong, unless they bring their doubt along
    or `confirm` says that they are so.

    Raises:
        ProblemsError: every wrong cell and row, with line and column. Nothing was stored then.
        WriteRefusedError: the book cannot be written.
    """
    problems: list[Problem] = []
    rows: list[CsvRow] = []
    for kind, data, name in tables:
        try:
            table = read_table(data, name, frozenset(csv_columns(kind)))
            rows += read_rows(kind, table, problems)
        except ProblemsError as error:
            problems += error.problems
    known = _Knowledge(book)
    with book.writing() as writer:
        done = _Import(writer, problems, known, Recogniser(book), confirm=confirm)
        for group in _in_order(rows):
            done.put(group)
        if problems:
            raise ProblemsError(problems)
    return ImportResult(done.added, done.passed, done.alike)


def create_from_csv(
    path: Path | str, tables: Sequence[tuple[type[Record], bytes, str]], *, confirm: bool = False
) -> ImportResult:
    """Make a new book out of tables, one of them that of the event.

    Raises:
        ProblemsError: as `import_csv`, or there is no event; then there is no book either.
        WriteRefusedError: something has this name, or it cannot be written.
    """
    place = Path(path)
    if not any(kind is Event for kind, _, _ in tables):
        problem = Problem("csv-event", "a new book needs the table of its event", expected="event.csv")
        raise ProblemsError([problem])
    filed = create_file(place)
    try:
        with Book(place, filed) as book:
            return import_csv(book, tables, confirm=confirm)
    except BaseException:
        for end in ("", "-wal", "-shm"):
            Path(f"{place}{end}").unlink(missing_ok=True)
        raise


def _in_order(rows: Sequence[CsvRow]) -> list[list[CsvRow]]:
    """Rows in the order of the book that they came from, where all of them tell it; else kind by kind.

    Then predictions come last: nothing says that they were made before the runs.
    """
    if all(row.order is not None for row in rows):
        return [[row] for row in sorted(rows, key=lambda row: row.order or 0)]
    kinds = sorted(KINDS.values(), key=lambda kind: kind is FrozenPrediction)
    return [[row for row in rows if row.kind is kind] for kind in kinds]


# ---------------------------------------------------------------- into the book


class _Knowledge:
    """What the book said of each car before the import, asked for once each."""

    def __init__(self, book: Book) -> None:
        self._book = book
        self._known: dict[tuple[type[Record], str, float | None], EarlierRecords] = {}
        events = book.records(Event)
        self._event = bool(events)
        self.timing_s = events[0].record.timing_s if events else None
        self._cars = {entry.record.name.casefold() for entry in book.cars()}

    def about(self, record: Record, but: int | None = None) -> EarlierRecords:
        """What bears on a record. `but` is the entry that it corrects: that is no witness."""
        car = str(getattr(record, "car", "")).casefold()
        if not self._event or (car and car not in self._cars):
            return EarlierRecords()
        if but is not None:
            try:
                return known_about(self._book, record, but=but)
            except ProblemsError:  # there is no such entry, as will be said when the row is put in
                return EarlierRecords()
        key = (type(record), car, getattr(record, "length_mm", None))
        if key not in self._known:
            self._known[key] = known_about(self._book, record)
        return self._known[key]


@dataclass(slots=True)
class _Import:
    """One import inside its transaction."""

    writer: Writer
    problems: list[Problem]
    knowledge: _Knowledge
    recogniser: Recogniser
    confirm: bool
    added: dict[str, int] = field(default_factory=dict)
    passed: dict[str, int] = field(default_factory=dict)
    alike: dict[str, int] = field(default_factory=dict)

    def put(self, rows: list[CsvRow]) -> None:
        """Rows of one kind. Those with numbers go in first, in the order of their numbers."""
        for row in sorted((row for row in rows if row.number is not None), key=lambda row: row.number or 0):
            if not self._is_known(row):
                self._put(row)
        for each in rows:
            row = self._timed(each)
            if row.number is None and self.recogniser.knows(row):
                name = KIND_NAMES[row.kind]
                self.passed[name] = self.passed.get(name, 0) + 1
                self.alike[name] = self.alike.get(name, 0) + 1
            elif row.number is None:
                self._put(row)

    def _timed(self, row: CsvRow) -> CsvRow:
        """A run whose row does not tell the timer's step was timed as the event is."""
        step = self.knowledge.timing_s
        if step is None or not isinstance(row.record, TrackRun):
            return row
        told = row.cells.get("resolution_s")
        if told is not None and told.text.strip():
            return row
        return replace(row, record=replace(row.record, resolution_s=step))

    def _put(self, row: CsvRow) -> None:
        doubt = row.texts["doubt"]
        if not doubt and not row.struck:
            asked = questions(row.record, self.knowledge.about(row.record, row.supersedes))
            if asked and not self.confirm:
                # A question is no fault of a cell: the row is what is asked about.
                self.problems += [
                    cell_problem("trial-doubt", ask.rstrip("."), row.file, row.first) for ask in asked
                ]
                return
            doubt = " ".join(asked)
        try:
            self.writer.bring(
                row.record,
                number=row.number,
                at=row.at if row.told_at or row.supersedes is None else None,
                supersedes=row.supersedes,
                struck=row.struck,
                texts={**row.texts, "doubt": doubt},
            )
        except ProblemsError as error:
            for each in error.problems:
                cell = row.cells.get(each.key, row.first)
                self.problems.append(
                    cell_problem(each.code, each.message, row.file, cell, each.expected, each.nearest)
                )
            return
        name = KIND_NAMES[row.kind]
        self.added[name] = self.added.get(name, 0) + 1

    def _is_known(self, row: CsvRow) -> bool:
        """Whether the book has this very record under this number; tells where it has another."""
        name = KIND_NAMES[row.kind]
        table = TABLES[name]
        there = (
            self.writer.connection.execute(select(table).where(table.c.id == row.number))
            .mappings()
            .one_or_none()
        )
        if there is None:
            return False
        try:
            wanted = row_of(
                row.number or 0,
                there["origin"],
                row.at,
                row.record,
                self.writer.car_numbers,
                noted_by=row.texts["by"],
                note=row.texts["note"],
                doubt=row.texts["doubt"],
                supersedes=row.supersedes,
                superseded_by=there["superseded_by"],
                reason=row.texts["reason"],
                struck=int(row.struck),
            )
        except KeyError:
            wanted = {}
        wanted |= {name: there[name] for name in CHAIN_COLUMNS}
        if not row.told_at:
            wanted.update(at_utc=there["at_utc"], zone_min=there["zone_min"])
        if wanted == dict(there):
            self.passed[name] = self.passed.get(name, 0) + 1
        else:
            self.problems.append(
                cell_problem(
                    "csv-number",
                    f"the book has another {name} record number {row.number}, and records are never altered",
                    row.file,
                    row.cells["id"],
                    "an empty cell, to add this one as a new record",
                )
            )
        return True

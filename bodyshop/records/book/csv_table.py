"""A CSV table of records: its cells, its rows as text, and how it is written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import Any, Final

from bodyshop.foundation.problems import Problem, ProblemsError, Span, nearest
from bodyshop.foundation.text.csv_text import csv_bytes, guarded, unguarded
from bodyshop.foundation.text.values import shortened
from bodyshop.foundation.units import QuantityError
from bodyshop.foundation.units.instruments import parse_quantity, plain_number
from bodyshop.records.book.book import Book
from bodyshop.records.book.columns import RecordColumn, ValueType, columns_of
from bodyshop.records.book.model import KIND_NAMES, KINDS, Entry, Record
from bodyshop.records.book.value_codecs import numbers_text, pairs_text

__all__ = [
    "CSV_OWN",
    "CellError",
    "CsvCell",
    "CsvTable",
    "csv_columns",
    "csv_of",
    "export_tables",
    "read_cell",
    "read_moment_cell",
    "read_record_number",
    "read_table",
    "read_yes_no",
    "template_csv",
    "write_cell",
]


SIZE_LIMIT: Final = 100_000_000
_MARKS: Final = ",;\t"
_WIDE: Final = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


@dataclass(frozen=True, slots=True)
class CsvCell:
    """The text of a cell, and where it begins; lines and columns count from 1."""

    text: str
    line: int
    column: int

    @property
    def span(self) -> Span:
        """The cell's first line, as far as it is known."""
        width = max(1, len(self.text.split("\n", 1)[0]))
        return Span(self.line, self.column, self.line, self.column + width)


@dataclass(frozen=True, slots=True)
class CsvTable:
    """A heading and rows of as many cells or fewer."""

    name: str
    heading: tuple[CsvCell, ...]
    rows: tuple[tuple[CsvCell, ...], ...]


def read_table(data: bytes, name: str, known: Collection[str]) -> CsvTable:
    """Cut a file into cells. `known` are the headings to look for, by which the mark between cells is found.

    Raises:
        ProblemsError: it is no text, or has no heading.
    """
    text = _decoded(data, name)
    mark, first = "", 1
    if text[:4].casefold() == "sep=":
        line, _, text = text.partition("\n")
        mark, first = line.strip("\r")[4:5], 2
    rows = [
        row
        for row in _rows(text, mark or _mark(text, known), name, first)
        if any(c.text.strip() for c in row)
    ]
    if not rows:
        raise ProblemsError([Problem("csv-empty", "there is nothing in this file", file=name)])
    return CsvTable(name, rows[0], tuple(rows[1:]))


def _decoded(data: bytes, name: str) -> str:
    if len(data) > SIZE_LIMIT:
        raise ProblemsError(
            [Problem("file-size", "the file is too large", file=name, expected="at most 100 MB")]
        )
    for mark, encoding in _WIDE:
        if data.startswith(mark):
            try:
                return data[len(mark) :].decode(encoding)
            except UnicodeDecodeError:
                break
    try:
        text = data.removeprefix(b"\xef\xbb\xbf").decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = len(before[before.rfind(b"\n") + 1 :].decode("utf-8", errors="replace")) + 1
        problem = Problem(
            "file-encoding",
            f"the byte 0x{data[error.start]:02x} here is not UTF-8",
            file=name,
            span=Span(line, column, line, column + 1),
            expected="the table saved again as CSV UTF-8",
        )
        raise ProblemsError([problem]) from None
    if "\0" in text:
        raise ProblemsError(
            [Problem("file-binary", "this is no text file", file=name, expected="a table saved as CSV")]
        )
    return text


def _mark(text: str, known: Collection[str]) -> str:
    """The mark that cuts the first line into the most headings that we know."""
    line = text.lstrip("\r\n").split("\n", 1)[0]

    def told(mark: str) -> tuple[int, int]:
        cells = [cell.strip(' "\r').casefold() for cell in line.split(mark)]
        return sum(cell in known for cell in cells), len(cells)

    return max(_MARKS, key=told)


def _rows(text: str, mark: str, name: str, first: int) -> Iterator[tuple[CsvCell, ...]]:
    at, line, begin = 0, first, 0
    row: list[CsvCell] = []
    end = len(text)
    while at < end:
        where = (line, at - begin + 1)
        if text[at] == '"':
            at, cell, more = _quoted(text, at, where, name, mark)
            if more:
                line += more
                begin = max(text.rfind("\n", 0, at), text.rfind("\r", 0, at)) + 1
        else:
            start = at
            while at < end and text[at] != mark and text[at] not in "\r\n":
                at += 1
            cell = text[start:at]
        row.append(CsvCell(cell, *where))
        if at < end and text[at] == mark:
            at += 1
            if at == end or text[at] in "\r\n":
                row.append(CsvCell("", line, at - begin + 1))
            else:
                continue
        if at < end and text[at] in "\r\n":
            at += 2 if text[at : at + 2] == "\r\n" else 1
            line, begin = line + 1, at
            yield tuple(row)
            row = []
    if row:
        yield tuple(row)


def _quoted(text: str, at: int, where: tuple[int, int], name: str, mark: str) -> tuple[int, str, int]:
    """A cell in quotes: where it ends, what it holds, and how many lines it goes on for."""
    parts: list[str] = []
    start = at + 1
    while True:
        close = text.find('"', start)
        if close < 0:
            problem = Problem(
                "csv-quote",
                "the quotes that begin here are never closed",
                file=name,
                span=Span(*where, where[0], where[1] + 1),
            )
            raise ProblemsError([problem])
        parts.append(text[start:close])
        if text[close + 1 : close + 2] != '"':
            break
        parts.append('"')
        start = close + 2
    inside = "".join(parts)
    after = close + 1
    # What stands between the closing quotes and the next mark belongs to the cell, as programs read it.
    stop = after
    while stop < len(text) and text[stop] not in "\r\n" + mark:
        stop += 1
    lines = inside.count("\n") + inside.count("\r") - inside.count("\r\n")
    return stop, inside + text[after:stop], lines


_FIRST_YEAR: Final = 1900
_LAST_YEAR: Final = 2999
_YES: Final = frozenset(("yes", "true", "1", "y"))
_NO: Final = frozenset(("no", "false", "0", "n"))


class CellError(ValueError):
    """A cell that cannot be read: why, what was expected, and the nearest word."""

    def __init__(self, message: str, expected: str = "", close: str = "") -> None:
        self.message = message
        self.expected = expected
        self.nearest = close
        super().__init__(message)


def write_cell(column: RecordColumn, value: Any) -> str:  # noqa: PLR0911 - one case for each shape
    """A value of a record as a cell; empty for None. Numbers keep every digit."""
    if value is None:
        return ""
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    if column.shape is ValueType.NUMBERS:
        return numbers_text(value)
    if column.shape is ValueType.PAIRS:
        return pairs_text(value)
    return guarded(str(value))


def read_cell(column: RecordColumn, cell: str) -> Any:  # noqa: PLR0911 - one case for each shape
    """The value that a cell holds; None for an empty one that may be empty. Raises `CellError`."""
    shape = column.shape
    if shape is ValueType.TEXT or (shape is ValueType.CAR and cell.strip()):
        text = unguarded(cell)
        return " ".join(text.split()) if shape is ValueType.CAR else text
    text = cell.strip()
    if not text:
        if column.optional:
            return None
        if shape in (ValueType.NUMBERS, ValueType.PAIRS):
            return ()
        raise CellError("this cell is empty", _wanted(column))
    try:
        if shape is ValueType.CHOICE:
            return _choice(column, text)
        if shape is ValueType.YES_NO:
            return read_yes_no(text)
        if shape in (ValueType.WHOLE, ValueType.RECORD):
            return _whole(text)
        if shape is ValueType.NUMBERS:
            return tuple(plain_number(part) for part in text.split(";") if part.strip())
        if shape is ValueType.PAIRS:
            return tuple(_pair(part) for part in text.split(";") if part.strip())
        return parse_quantity(text, column.unit)
    except QuantityError as error:
        raise CellError(error.message, error.expected or _wanted(column), error.nearest) from None


def _choice(column: RecordColumn, text: str) -> Enum:
    if column.choices is None:
        raise CellError("this cell has no words to choose from")
    words = {str(each.value).casefold(): each for each in column.choices}
    found = words.get(" ".join(text.split()).casefold()) or words.get(text.casefold().replace("-", " "))
    if found is None:
        close = nearest(text, [str(each.value) for each in column.choices])
        raise CellError(f'"{shortened(text)}" is none of the words of this column', _wanted(column), close)
    return found


def read_yes_no(text: str) -> bool:
    """A cell that says yes or no. Raises `CellError`."""
    folded = text.strip().casefold()
    if folded in _YES:
        return True
    if folded in _NO:
        return False
    raise CellError(f'"{shortened(text)}" is neither yes nor no', "yes or no")


def _whole(text: str) -> int:
    digits = text.removesuffix(".0").removesuffix(",0")
    if not (digits.isascii() and digits.removeprefix("-").isdecimal() and len(digits) < 16):
        raise CellError(f'"{shortened(text)}" is not a whole number', "a whole number")
    return int(digits)


def read_record_number(text: str) -> int:
    """A cell that holds the number of a record. Raises `CellError`."""
    number = _whole(text.strip())
    if number < 1:
        raise CellError(f'"{shortened(text)}" is no number of a record', "a whole number from 1")
    return number


def _pair(part: str) -> tuple[float, float]:
    at, mark, time = part.partition("=")
    if not mark:
        raise CellError(f'"{shortened(part)}" is no pair', "a distance in mm, =, and a time in s: 5000=0.41")
    return parse_quantity(at, "mm"), parse_quantity(time, "s")


def read_moment_cell(text: str) -> datetime:
    """A moment by ISO 8601 with its zone: `2031-05-14T10:30:00+01:00`, or with a space for the T.

    One without a zone is on the clock of this computer. Raises `CellError`.
    """
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError:
        raise CellError(f'"{shortened(text)}" is no moment', "2031-05-14T10:30:00+01:00") from None
    if not _FIRST_YEAR <= at.year <= _LAST_YEAR:
        raise CellError(
            f'"{shortened(text)}" is no moment of a class', f"a year from {_FIRST_YEAR} to {_LAST_YEAR}"
        )
    try:
        return at if at.utcoffset() is not None else at.replace(tzinfo=None).astimezone()
    except (OverflowError, OSError, ValueError):
        raise CellError(f'"{shortened(text)}" is no moment on this computer\'s clock') from None


def _wanted(column: RecordColumn) -> str:
    if column.choices is not None:
        return " or ".join(str(each.value) for each in column.choices)
    return {
        ValueType.NUMBER: f"a number in {column.unit}" if column.unit else "a number",
        ValueType.WHOLE: "a whole number",
        ValueType.RECORD: f"the number of a {column.field.refers} record",
        ValueType.CAR: "the name of a car",
        ValueType.YES_NO: "yes or no",
    }.get(column.shape, "")


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

"""A CSV as spreadsheet programs write it, cut into cells that know their line and column.

RFC 4180, and what is met beside it: cells parted by semicolons or tabs (as where the comma is the decimal
mark), a byte-order mark, UTF-16, a first line `sep=;`, lines that end in any way.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from typing import Final

from bodyshop.problems import Problem, ProblemsError, Span

__all__ = ["Cell", "CsvTable", "read_table"]

SIZE_LIMIT: Final = 100_000_000
_MARKS: Final = ",;\t"
_WIDE: Final = ((b"\xff\xfe", "utf-16-le"), (b"\xfe\xff", "utf-16-be"))


@dataclass(frozen=True, slots=True)
class Cell:
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
    heading: tuple[Cell, ...]
    rows: tuple[tuple[Cell, ...], ...]


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


def _rows(text: str, mark: str, name: str, first: int) -> Iterator[tuple[Cell, ...]]:
    at, line, begin = 0, first, 0
    row: list[Cell] = []
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
        row.append(Cell(cell, *where))
        if at < end and text[at] == mark:
            at += 1
            if at == end or text[at] in "\r\n":
                row.append(Cell("", line, at - begin + 1))
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

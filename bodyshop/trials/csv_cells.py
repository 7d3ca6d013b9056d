"""Single cells of a spreadsheet's CSV: values to text that loses nothing, and text to values.

A text that a spreadsheet program would take for a formula is guarded; reading takes the guard away again.
"""

from __future__ import annotations

from datetime import datetime
from enum import Enum
from typing import Any, Final

from bodyshop.lengths import QuantityError
from bodyshop.problems import nearest
from bodyshop.source.csv_text import guarded, unguarded
from bodyshop.trials.columns import Column, Shape
from bodyshop.trials.instruments import parse_quantity, plain_number
from bodyshop.trials.values import numbers_text, pairs_text

__all__ = [
    "CellError",
    "read_cell",
    "read_moment_cell",
    "read_record_number",
    "read_yes_no",
    "write_cell",
]

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


def write_cell(column: Column, value: Any) -> str:  # noqa: PLR0911 - one case for each shape
    """A value of a record as a cell; empty for None. Numbers keep every digit."""
    if value is None:
        return ""
    if isinstance(value, Enum):
        return str(value.value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return repr(value)
    if column.shape is Shape.NUMBERS:
        return numbers_text(value)
    if column.shape is Shape.PAIRS:
        return pairs_text(value)
    return guarded(str(value))


def read_cell(column: Column, cell: str) -> Any:  # noqa: PLR0911 - one case for each shape
    """The value that a cell holds; None for an empty one that may be empty. Raises `CellError`."""
    shape = column.shape
    if shape is Shape.TEXT or (shape is Shape.CAR and cell.strip()):
        text = unguarded(cell)
        return " ".join(text.split()) if shape is Shape.CAR else text
    text = cell.strip()
    if not text:
        if column.optional:
            return None
        if shape in (Shape.NUMBERS, Shape.PAIRS):
            return ()
        raise CellError("this cell is empty", _wanted(column))
    try:
        if shape is Shape.CHOICE:
            return _choice(column, text)
        if shape is Shape.YES_NO:
            return read_yes_no(text)
        if shape in (Shape.WHOLE, Shape.RECORD):
            return _whole(text)
        if shape is Shape.NUMBERS:
            return tuple(plain_number(part) for part in text.split(";") if part.strip())
        if shape is Shape.PAIRS:
            return tuple(_pair(part) for part in text.split(";") if part.strip())
        return parse_quantity(text, column.unit)
    except QuantityError as error:
        raise CellError(error.message, error.expected or _wanted(column), error.nearest) from None


def _choice(column: Column, text: str) -> Enum:
    if column.choices is None:
        raise CellError("this cell has no words to choose from")
    words = {str(each.value).casefold(): each for each in column.choices}
    found = words.get(" ".join(text.split()).casefold()) or words.get(text.casefold().replace("-", " "))
    if found is None:
        close = nearest(text, [str(each.value) for each in column.choices])
        raise CellError(f'"{_short(text)}" is none of the words of this column', _wanted(column), close)
    return found


def read_yes_no(text: str) -> bool:
    """A cell that says yes or no. Raises `CellError`."""
    folded = text.strip().casefold()
    if folded in _YES:
        return True
    if folded in _NO:
        return False
    raise CellError(f'"{_short(text)}" is neither yes nor no', "yes or no")


def _whole(text: str) -> int:
    digits = text.removesuffix(".0").removesuffix(",0")
    if not (digits.isascii() and digits.removeprefix("-").isdecimal() and len(digits) < 16):
        raise CellError(f'"{_short(text)}" is not a whole number', "a whole number")
    return int(digits)


def read_record_number(text: str) -> int:
    """A cell that holds the number of a record. Raises `CellError`."""
    number = _whole(text.strip())
    if number < 1:
        raise CellError(f'"{_short(text)}" is no number of a record', "a whole number from 1")
    return number


def _pair(part: str) -> tuple[float, float]:
    at, mark, time = part.partition("=")
    if not mark:
        raise CellError(f'"{_short(part)}" is no pair', "a distance in mm, =, and a time in s: 5000=0.41")
    return parse_quantity(at, "mm"), parse_quantity(time, "s")


def read_moment_cell(text: str) -> datetime:
    """A moment by ISO 8601 with its zone: `2031-05-14T10:30:00+01:00`, or with a space for the T.

    One without a zone is on the clock of this computer. Raises `CellError`.
    """
    try:
        at = datetime.fromisoformat(text.strip())
    except ValueError:
        raise CellError(f'"{_short(text)}" is no moment', "2031-05-14T10:30:00+01:00") from None
    if not _FIRST_YEAR <= at.year <= _LAST_YEAR:
        raise CellError(
            f'"{_short(text)}" is no moment of a class', f"a year from {_FIRST_YEAR} to {_LAST_YEAR}"
        )
    try:
        return at if at.utcoffset() is not None else at.replace(tzinfo=None).astimezone()
    except (OverflowError, OSError, ValueError):
        raise CellError(f'"{_short(text)}" is no moment on this computer\'s clock') from None


def _wanted(column: Column) -> str:
    if column.choices is not None:
        return " or ".join(str(each.value) for each in column.choices)
    return {
        Shape.NUMBER: f"a number in {column.unit}" if column.unit else "a number",
        Shape.WHOLE: "a whole number",
        Shape.RECORD: f"the number of a {column.field.refers} record",
        Shape.CAR: "the name of a car",
        Shape.YES_NO: "yes or no",
    }.get(column.shape, "")


def _short(text: str) -> str:
    shown = text if len(text) <= 40 else text[:36] + "..."
    return shown if shown.isprintable() else repr(shown)[1:-1]

"""Values on their way into the book and out of it, and what no value may be."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta, timezone
from enum import Enum
from typing import Any, Final

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.values import shortened
from bodyshop.records.book.columns import RecordColumn, ValueType, columns_of
from bodyshop.records.book.model import KIND_NAMES, Record

__all__ = [
    "check_record",
    "check_text",
    "from_store",
    "fault_of",
    "moment_now",
    "moment_text",
    "numbers_text",
    "pairs_text",
    "read_moment",
    "to_store",
]

_LONGEST_NOTE: Final = 2000


def check_record(record: Record) -> None:
    """Refuse a record that holds a value no such field can have.

    Raises:
        ProblemsError: with one problem for each such field; the key is the field's name.
    """
    faults = [fault for column in columns_of(type(record)) if (fault := fault_of(column, record))]
    if faults:
        raise ProblemsError(faults)


def fault_of(column: RecordColumn, record: Record) -> Problem | None:
    """What is wrong with one field of a record."""
    value = getattr(record, column.name)
    said = _fault(column, value)
    if not said:
        return None
    return Problem(
        "trial-value",
        f"{KIND_NAMES[type(record)].replace('_', ' ')}: {column.words} {said}",
        key=column.name,
        found=_shown(value),
        expected=_expected(column),
    )


def _fault(column: RecordColumn, value: Any) -> str:  # noqa: C901, PLR0911 - one case for each shape
    if value is None:
        return "" if column.optional else "is missing"
    shape = column.shape
    if shape in (ValueType.TEXT, ValueType.CAR):
        if not isinstance(value, str):
            return "is not a text"
        if shape is ValueType.CAR and not value.strip():
            return "names no car"
        if column.required and shape is ValueType.TEXT and not value.strip():
            return "is empty"
        return check_text(value, column.field.longest, lines=column.field.lines)
    if shape is ValueType.CHOICE:
        return "" if column.choices is not None and isinstance(value, column.choices) else "is no such word"
    if shape is ValueType.YES_NO:
        return "" if isinstance(value, bool) else "is neither yes nor no"
    if shape in (ValueType.WHOLE, ValueType.RECORD):
        if isinstance(value, bool) or not isinstance(value, int):
            return "is not a whole number"
        return _out_of_reach(column, value)
    if shape is ValueType.NUMBER:
        return _number_fault(column, value)
    if not isinstance(value, tuple):
        return "is not a row of numbers"
    flat = value if shape is ValueType.NUMBERS else [each for pair in value for each in pair]
    if shape is ValueType.PAIRS and any(len(pair) != 2 for pair in value):
        return "is not made of pairs"
    return next((said for each in flat if (said := _number_fault(column, each))), "")


def _number_fault(column: RecordColumn, value: Any) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return "is not a number"
    if not math.isfinite(value):
        return "is not a number that can be measured"
    return _out_of_reach(column, value)


def _out_of_reach(column: RecordColumn, value: float) -> str:
    low, high = column.field.low, column.field.high
    if low is not None and value < low:
        return f"is below {low:g}"
    if high is not None and value > high:
        return f"is above {high:g}"
    return "" if abs(value) < 2**53 else "is too large"


def check_text(text: str, longest: int = _LONGEST_NOTE, *, lines: bool = False) -> str:
    """What is wrong with a text, in a clause; empty where nothing is. `lines` lets it have several."""
    if len(text) > longest:
        return f"is longer than {longest} letters"
    allowed = "\n\r\t" if lines else ""
    for char in text:
        if (ord(char) < 32 and char not in allowed) or 0xD800 <= ord(char) <= 0xDFFF or char == "\x7f":
            return "holds a letter that cannot be written" if lines else "holds more than one line of letters"
    return ""


def _expected(column: RecordColumn) -> str:
    if column.choices is not None:
        return " or ".join(str(each.value) for each in column.choices)
    low, high = column.field.low, column.field.high
    unit = f" {column.unit}" if column.unit else ""
    if low is not None and high is not None:
        return f"{low:g} to {high:g}{unit}"
    if low is not None:
        return f"at least {low:g}{unit}"
    return ""


def _shown(value: object) -> str:
    text = str(value.value) if isinstance(value, Enum) else str(value)
    return shortened(text)


# ---------------------------------------------------------------- as stored


def to_store(column: RecordColumn, value: Any) -> Any:
    """A value as its column of the book holds it. A car has to be its number by then."""
    if value is None:
        return None
    if column.shape is ValueType.CHOICE:
        return value.value
    if column.shape is ValueType.NUMBERS:
        return numbers_text(value)
    if column.shape is ValueType.PAIRS:
        return pairs_text(value)
    if column.shape is ValueType.YES_NO:
        return int(value)
    return float(value) if column.shape is ValueType.NUMBER else value


def from_store(column: RecordColumn, stored: Any) -> Any:
    """The value that a column of the book holds. Raises `ValueError` for what we never stored."""
    if stored is None:
        return () if column.shape in (ValueType.NUMBERS, ValueType.PAIRS) else None
    if column.choices is not None:
        return column.choices(stored)
    if column.shape is ValueType.NUMBERS:
        return tuple(float(part) for part in stored.split(";") if part.strip())
    if column.shape is ValueType.PAIRS:
        pairs = (part.split("=") for part in stored.split(";") if part.strip())
        return tuple((float(at), float(time)) for at, time in pairs)
    if column.shape is ValueType.YES_NO:
        return bool(stored)
    return float(stored) if column.shape is ValueType.NUMBER else stored


def numbers_text(numbers: tuple[float, ...]) -> str:
    """`2000; 5000`: every digit is kept."""
    return "; ".join(_plain(each) for each in numbers)


def pairs_text(pairs: tuple[tuple[float, float], ...]) -> str:
    """`2000=0.31; 5000=0.52`: every digit is kept."""
    return "; ".join(f"{_plain(at)}={_plain(time)}" for at, time in pairs)


def _plain(number: float) -> str:
    text = repr(float(number))
    return text.removesuffix(".0")


# ---------------------------------------------------------------- moments


def moment_now() -> datetime:
    """This moment with this place's zone, to the millisecond."""
    now = datetime.now(tz=UTC).astimezone()
    return now.replace(microsecond=now.microsecond // 1000 * 1000)


def moment_text(at: datetime) -> tuple[str, int]:
    """A moment as stored: UTC by ISO 8601, and what the local clock was ahead of it, minutes.

    Texts of moments sort as the moments do. Raises `ValueError` for a moment without a zone.
    """
    ahead = at.utcoffset()
    if ahead is None:
        raise ValueError("a moment without a zone")
    utc = at.astimezone(UTC).replace(tzinfo=None)
    return f"{utc.isoformat(timespec='milliseconds')}Z", round(ahead.total_seconds() / 60)


def read_moment(utc: str, zone_min: int) -> datetime:
    """A moment as stored, on the clock of the place where it was noted."""
    at = datetime.fromisoformat(utc)
    return at.astimezone(timezone(timedelta(minutes=zone_min)))

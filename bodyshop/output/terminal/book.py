"""Entries of the trial book in words and columns, as a terminal shows them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from datetime import datetime
from itertools import zip_longest
from typing import TYPE_CHECKING, Any, Final

from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import clip, pad, printable, width_of, wrap
from bodyshop.foundation.units.instruments import force_text
from bodyshop.records.book.columns import RecordColumn, ValueType, columns_of
from bodyshop.records.book.model import Entry, TunnelReading
from bodyshop.records.book.repeats import RepeatGroup, groups_of
from bodyshop.records.book.value_codecs import numbers_text

if TYPE_CHECKING:
    from bodyshop.records.book.book import Book

__all__ = ["entries_text", "groups_text", "moment_words", "record_words", "repeats_after", "table_text"]

_LONG: Final = frozenset(("design_text", "verdicts", "inputs", "fit", "settings", "photo_sha256"))
"""Fields that are not for reading on a terminal."""

_LONG_MM: Final = 2000.0
_GAP: Final = "  "


def moment_words(at: datetime) -> str:
    """`2031-05-14 10:30`, on the clock of the place where it was noted."""
    return at.strftime("%Y-%m-%d %H:%M")


def record_words(entry: Entry[Any], *, car: bool = True) -> str:
    """What a record says, in a line: `Kestrel, blank, mass 341.2 g, resolution 0.1 g`."""
    record = entry.record
    parts = [
        words
        for column in columns_of(type(record))
        if column.name not in _LONG and (words := _field_words(record, column, car=car))
    ]
    return ", ".join(parts)


def _field_words(record: Any, column: RecordColumn, *, car: bool) -> str:  # noqa: PLR0911 - a case a shape
    value = getattr(record, column.name)
    if column.name == "unit" and isinstance(record, TunnelReading):
        return ""  # every force is told in it
    if value is None or value in ("", ()) or (column.shape is ValueType.CAR and not car):
        return ""
    if not column.required and value == _default(record, column.name):
        return ""
    name = column.plain.replace("_", " ")
    if column.shape in (ValueType.CAR, ValueType.CHOICE) or (
        column.shape is ValueType.TEXT and column.required
    ):
        return printable(str(getattr(value, "value", value)))
    if column.shape is ValueType.TEXT:
        return f"{name} {printable(value)}"
    if column.shape is ValueType.YES_NO:
        return name if value else f"not {name}"
    if column.shape is ValueType.NUMBERS:
        return f"{name} {numbers_text(value)} {column.unit}"
    if column.shape is ValueType.PAIRS:
        return f"{name} " + ", ".join(f"{at / 1000:g} m {time:g} s" for at, time in value)
    if isinstance(record, TunnelReading) and column.unit == "N":
        return f"{name} {force_text(value, record.unit)}"
    if column.unit == "mm" and abs(value) >= _LONG_MM:
        return f"{name} {_number(value / 1000)} m"
    return f"{name} {_number(value)}{f' {column.unit}' if column.unit else ''}"


def _default(record: Any, name: str) -> object:
    return next((each.default for each in fields(record) if each.name == name), None)


def _number(value: float) -> str:
    return f"{value:.6g}"


def table_text(
    heading: Sequence[str], rows: Sequence[Sequence[str]], width: int, right: frozenset[int] = frozenset()
) -> list[str]:
    """Rows in columns; the last column takes what room is left and is wrapped into it."""
    return [line for lines in _laid(heading, rows, width, right) for line in lines]


def _laid(
    heading: Sequence[str], rows: Sequence[Sequence[str]], width: int, right: frozenset[int]
) -> list[list[str]]:
    """The lines of the heading, then those of each row."""
    count = len(heading)
    widths = [max(width_of(row[k]) for row in (heading, *rows)) for k in range(count - 1)]
    indent = sum(widths) + len(_GAP) * (count - 1)
    if width - indent < 20:
        # No room beside the others: the last column goes below.
        indent = 4
    laid: list[list[str]] = []
    for row in (heading, *rows):
        cells = [
            " " * (widths[k] - width_of(row[k])) + row[k] if k in right else pad(row[k], widths[k])
            for k in range(count - 1)
        ]
        first = _GAP.join(cells) + _GAP
        if indent == 4:
            laid.append([clip(first.rstrip(), width), *(wrap(row[-1], width, " " * 4) if row[-1] else ())])
        else:
            laid.append([line.rstrip() for line in wrap(row[-1], width, first, " " * indent)])
    return laid


def entries_text(entries: Sequence[Entry[Any]], width: int, ink: TextStyle, *, car: bool = True) -> str:
    """Entries one below the other, with what tells corrected, struck and doubtful ones."""
    rows = []
    for entry in entries:
        words = record_words(entry, car=car)
        words += f"; by {printable(entry.by)}" if entry.by else ""
        words += f"; note: {printable(entry.note)}" if entry.note else ""
        words += f"; DOUBT: {printable(entry.doubt)}" if entry.doubt else ""
        if entry.supersedes is not None:
            words += (
                f"; {'strikes' if entry.struck else 'corrects'} {entry.supersedes}: {printable(entry.reason)}"
            )
        if entry.superseded_by is not None:
            words = f"(replaced by {entry.superseded_by}) {words}"
        elif entry.struck:
            words = f"(struck) {words}"
        rows.append((str(entry.id), moment_words(entry.at), words))
    lines = table_text(("no.", "when", "what"), rows, width, frozenset((0,)))
    return "\n".join([ink.strong(lines[0]), *lines[1:]]) + "\n"


# ---------------------------------------------------------------- repeats

_LABEL: Final = 30
_MOST_VALUES: Final = 12


def groups_text(groups: Sequence[RepeatGroup], width: int, ink: TextStyle) -> str:
    """Repeats with mean, spread and interval, and below each its values."""
    labels = [wrap(f"{group.what}, {group.when}", _LABEL) for group in groups]
    wide = max(width_of(line) for lines in labels for line in lines)
    rows = []
    for group in groups:
        summed = group.repeats
        rows.append(
            (
                str(summed.count),
                _with_unit(group, summed.mean),
                "-" if summed.spread is None else _figure(group, summed.spread),
                "-" if summed.low is None else _interval(group),
            )
        )
    heading = ("n", "mean", "spread", "mean lies in, 95 %")
    head, *laid = _laid(heading, rows, max(width - wide - len(_GAP), _LABEL), frozenset((0, 1, 2)))
    out = [ink.strong(line) for line in _beside(["measured"], head, wide)]
    for group, lines, row in zip(groups, labels, laid, strict=True):
        out += _beside(lines, row, wide)
        if group.repeats.count > 1:
            out += [ink.quiet(line) for line in wrap(_values(group), width, "    ")]
    return "\n".join(out) + "\n"


def _beside(left: Sequence[str], right: Sequence[str], wide: int) -> list[str]:
    """Two blocks of lines side by side, the left one `wide` columns."""
    return [
        f"{pad(one, wide)}{_GAP}{other}".rstrip() for one, other in zip_longest(left, right, fillvalue="")
    ]


def _values(group: RepeatGroup) -> str:
    values = group.repeats.values
    shown = [_figure(group, value) for value in values[-_MOST_VALUES:]]
    more = f"{len(values) - _MOST_VALUES} more, " if len(values) > _MOST_VALUES else ""
    return f"{more}{', '.join(shown)} {_unit(group)}"


def _interval(group: RepeatGroup) -> str:
    low, high = group.repeats.low, group.repeats.high
    if low is None or high is None:
        return ""
    return f"{_figure(group, low)} to {_figure(group, high)} {_unit(group)}"


def _unit(group: RepeatGroup) -> str:
    first = group.entries[0].record
    return str(first.unit.value) if isinstance(first, TunnelReading) else group.unit


def _figure(group: RepeatGroup, value: float) -> str:
    first = group.entries[0].record
    if isinstance(first, TunnelReading):
        return force_text(value, first.unit).rpartition(" ")[0]
    places = {"g": 2, "mm": 0, "s": 4}.get(group.unit, 3)
    return f"{value:.{places}f}"


def _with_unit(group: RepeatGroup, value: float) -> str:
    return f"{_figure(group, value)} {_unit(group)}"


def repeats_after(book: Book, entry: Entry[Any]) -> str:
    """How the repeats stand with the newest one, in a sentence; empty for the first of its kind."""
    words = []
    for group in groups_of(book, entry.record.car):
        if any(each.id == entry.id for each in group.entries if each.kind == entry.kind):
            summed = group.repeats
            if summed.low is not None:
                words.append(
                    f"{group.what} {group.when}: {summed.count} readings, mean "
                    f"{_with_unit(group, summed.mean)}, interval {_interval(group)}"
                )
    return ". ".join(words) + ("." if words else "")

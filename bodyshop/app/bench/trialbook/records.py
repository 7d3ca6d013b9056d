"""Trials on the page: a form for each kind of record, made from its own columns, and what was noted."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import Any, Final

from bodyshop.app.bench.messages import Data
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.records.book.book import Book, kind_named
from bodyshop.records.book.columns import RecordColumn, ValueType, columns_of
from bodyshop.records.book.csv_table import write_cell
from bodyshop.records.book.earlier import known_about
from bodyshop.records.book.entering import record_from_words
from bodyshop.records.book.model import Entry
from bodyshop.records.book.plausibility import questions
from bodyshop.records.book.repeats import groups_of

__all__ = ["ENTERED", "add_record", "forms_data", "records_data", "strike_record"]

ENTERED: Final = ("mass", "airflow", "drag", "roll", "run")
"""Kinds that are entered on the page, in shop order."""

_NEWEST: Final = 200
_TITLES: Final = {
    "mass": "balance",
    "airflow": "airflow",
    "drag": "drag balance",
    "roll": "roll ramp",
    "run": "track",
}


def forms_data() -> Data:
    """The fields of each form: name, what it means, unit, words to choose from, whether it must be filled."""
    return [
        {
            "kind": kind,
            "title": _TITLES[kind],
            "fields": [
                _field(column)
                for column in columns_of(kind_named(kind))
                if column.shape not in (ValueType.CAR, ValueType.RECORD)
                and not column.name.endswith("_sha256")
            ],
        }
        for kind in ENTERED
    ]


def _field(column: RecordColumn) -> Data:
    return {
        "name": column.name,
        "label": column.words,
        "about": column.about,
        "unit": column.unit,
        "choices": None if column.choices is None else [str(each.value) for each in column.choices],
        "required": column.required,
    }


def add_record(
    book: Book,
    kind: str,
    car: str,
    given: Mapping[str, str],
    *,
    confirmed: bool,
    by: str = "",
) -> Data:
    """Put what a form holds into the book, or ask about it.

    Returns `{"asks": [...]}` where the record cannot well be true and is not confirmed; else its number.

    Raises:
        ProblemsError: fields that cannot be read, each with its name as `key`.
        WriteRefusedError: the book cannot be written.
    """
    if kind not in ENTERED:
        raise ProblemsError([Problem("book-kind", "this is not entered here", found=kind[:40])])
    step = book.event.record.timing_s
    defaults: dict[str, Any] = {"car": book.car(car).record.name}
    if kind == "run" and step is not None:
        defaults["resolution_s"] = step  # timed as the event is
    words = [f"{name}={text}" for name, text in given.items() if text.strip()]
    record = record_from_words(kind_named(kind), words, defaults=defaults)
    asks = questions(record, known_about(book, record))
    if asks and not confirmed:
        return {"asks": list(asks)}
    entry = book.add(record, by=by, doubt=" ".join(asks))
    return {"id": entry.id, "at": entry.at.isoformat(timespec="seconds")}


def strike_record(book: Book, kind: str, number: int, reason: str) -> None:
    """Say that a record does not count, and why.

    Raises:
        ProblemsError: there is none, or no reason.
        WriteRefusedError: the book cannot be written.
    """
    book.strike(kind_named(kind), number, reason)


def records_data(book: Book, car: str) -> Data:
    """What was noted of a car: every record with its history, and repeats summed up.

    Raises:
        ProblemsError: there is no such car.
    """
    name = book.car(car).record.name
    return {
        "car": name,
        "tables": [_table(book, kind, name) for kind in ENTERED],
        "groups": [
            {
                "what": group.what,
                "when": group.when,
                "unit": group.unit,
                "count": len(group.entries),
                "mean": group.repeats.mean,
                "low": group.repeats.low,
                "high": group.repeats.high,
                "spread": group.repeats.spread,
            }
            for group in groups_of(book, name)
        ],
    }


def _table(book: Book, kind: str, car: str) -> Data:
    made = kind_named(kind)
    entries = book.records(made, car=car, history=True, newest=_NEWEST)
    columns = [
        column
        for column in columns_of(made)
        if column.shape is not ValueType.CAR
        and any(_has(getattr(entry.record, column.name)) for entry in entries)
    ]
    return {
        "kind": kind,
        "title": _TITLES[kind],
        "columns": [{"label": column.words, "unit": column.unit} for column in columns],
        "rows": [_row(entry, columns) for entry in entries],
    }


def _has(value: object) -> bool:
    return value not in (None, "", (), 0.0)


def _row(entry: Entry[Any], columns: list[RecordColumn]) -> Data:
    return {
        "id": entry.id,
        "at": entry.at.strftime("%Y-%m-%d %H:%M"),
        "cells": [_shown(column, getattr(entry.record, column.name)) for column in columns],
        "counts": entry.counts,
        "struck": entry.struck,
        "corrected": entry.superseded_by is not None,
        "doubt": entry.doubt,
        "reason": entry.reason,
        "note": entry.note,
    }


def _shown(column: RecordColumn, value: object) -> str:
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Enum):
        return str(value.value)
    return write_cell(column, value)

"""A class as a table for spreadsheet programs, one line a file."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bodyshop.foundation.text.csv_text import csv_bytes, guarded
from bodyshop.output.words.classroom import clean, problem_words, verdict_words
from bodyshop.records.classroom.discovery import CarRow, CarState, UnreadRow
from bodyshop.records.classroom.summary import ClassReport

__all__ = ["CSV_HEADER", "class_csv"]

CSV_HEADER: Final = (
    "file",
    "car",
    "bench",
    "verdict",
    "passes",
    "rules broken",
    "clauses broken",
    "too close to tell",
    "close",
    "advised against",
    "not judged",
    "points off",
    "mass g",
    "mass from g",
    "mass to g",
    "mass with cartridge g",
    "mark",
    "shape",
    "rulebook",
    "warnings",
    "first problem",
    "problems",
)

_PASSES: Final = {
    CarState.PASSES: "yes",
    CarState.NOT_JUDGED: "not known",
    CarState.PROBABLY_FAILS: "probably not",
}


def class_csv(report: ClassReport) -> bytes:
    """Cars worst first, then the files that could not be read."""
    names = {
        book.key: f"{book.name}, {book.division}" if book.division else book.name for book in report.books
    }
    cars = [_car(car, names[car.book]) for car in report.cars]
    return csv_bytes([CSV_HEADER, *cars, *(_unread(row) for row in report.unread)])


def _car(car: CarRow, book: str) -> list[str]:
    return [
        _text(car.file),
        _text(car.name),
        _text(car.bench),
        verdict_words(car),
        _PASSES.get(car.standing, "no"),
        str(len(car.failed)),
        _list(car.failed),
        _list(car.too_close),
        _list(car.near),
        _list(car.advised),
        _list(car.unjudged),
        f"{car.points_off:g}",
        *(f"{mass:.1f}" for mass in (car.mass_g, car.low_g, car.high_g, car.loaded_g)),
        car.fingerprint,
        car.shape,
        _text(book),
        str(len(car.warnings)),
        "",
        "",
    ]


def _unread(row: UnreadRow) -> list[str]:
    empty = [""] * (len(CSV_HEADER) - 6)
    return [
        _text(row.file),
        "",
        "",
        "cannot be read",
        *empty,
        _text(problem_words(row.problems[0])),
        str(row.count),
    ]


def _text(text: str) -> str:
    """A text that no spreadsheet program takes for a formula."""
    return guarded(clean(text))


def _list(words: Sequence[str]) -> str:
    return _text("; ".join(words))

"""`bodyshop trial add, enter, correct, strike`: records into the book, one by one."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any, Final

from bodyshop.app.cli.actions import verb
from bodyshop.app.cli.arguments import (
    CONFIRM,
    JSON,
    NOTED,
    Argument,
    book_file,
    design_file,
    flag,
    operand,
    option,
    whole,
)
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import UsageError, one_of
from bodyshop.app.cli.trial_common import open_book, refuse_doubtful
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.columns import printable

if TYPE_CHECKING:
    from bodyshop.records.book.book import Book
    from bodyshop.records.book.columns import RecordColumn
    from bodyshop.records.book.model import Entry, Record

__all__ = ["ENTRY_VERBS"]


_CAR: Final = "car"
_KINDS: Final = (_CAR, "mass", "airflow", "drag", "roll", "run")


_CORRECTED: Final = (
    operand("kind", "KIND", "the kind of record: mass, drag, run ..."),
    operand(
        "number", "NUMBER", "its number, which trial list shows", whole("number of a record", 1, 10**15 - 1)
    ),
)
_BECAUSE: Final = (
    option("--because", "TEXT", "why", required=True),
    option("--by", "TEXT", "who says so"),
    book_file(),
)


def _kind(kinds: tuple[str, ...]) -> Argument:
    return operand("kind", "KIND", ", ".join(kinds), one_of(kinds, "kind"))


# ---------------------------------------------------------------- add


@verb(
    "add",
    "note a car or one measurement",
    "Note one record: trial add car DESIGN; trial add mass CAR 52.3g stage=complete; trial add airflow "
    'CAR "behind the front wheel" disturbed; trial add drag CAR speed=20m/s drag=18gf drag-zero=0.2gf; '
    "trial add roll CAR ramp-height=150 ramp-length=580 run-out=6.6m; trial add run CAR 1.043s lane=2. "
    "Values take the units of their kind. What cannot be true is asked about, and not stored before it "
    "is confirmed. bodyshop trial columns KIND explains every name.",
    _kind(_KINDS),
    operand("car", "CAR", "a car of the book; with car: a design"),
    operand("values", "VALUE", "name=value, or a bare value", nargs="*"),
    *NOTED,
    CONFIRM,
    JSON,
    book_file(),
)
def _add(options: argparse.Namespace, console: Console) -> Exit:
    return _add_car(options, console) if options.kind == _CAR else _add_measured(options, console)


def _add_car(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.entering import with_changes
    from bodyshop.records.findings.cars import car_record
    from bodyshop.rules.checking import open_car, shown_file

    opened = open_car(design_file(options.car, console))
    record = car_record(opened, shown_file(opened.source.name))
    if options.values:
        record = with_changes(record, options.values)
    with open_book(options.book, console) as book:
        entry = book.add(record, at=options.at, by=options.by, note=options.note)
        _acknowledge(book, entry, options, console)
    return Exit.PASSES


def _add_measured(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.earlier import known_about
    from bodyshop.records.book.entering import ENTERED_BY_HAND, record_from_words, with_defaults
    from bodyshop.records.book.plausibility import questions

    kind = ENTERED_BY_HAND[options.kind]
    with open_book(options.book, console) as book:
        defaults = with_defaults(book, kind, options.car)
        record = record_from_words(kind, options.values, defaults=defaults)
        asked = questions(record, known_about(book, record))
        if asked and not options.confirm:
            refuse_doubtful(console, asked, "This record")
            return Exit.UNREADABLE
        entry = book.add(record, at=options.at, by=options.by, note=options.note, doubt=" ".join(asked))
        _acknowledge(book, entry, options, console)
    return Exit.PASSES


def _acknowledge(book: Book, entry: Entry[Any], options: argparse.Namespace, console: Console) -> None:
    from bodyshop.output.terminal.book import record_words

    if getattr(options, "json", False):
        from bodyshop.output.json.book import EntryDocument, entry_data
        from bodyshop.output.json.document import HEAD

        console.write_json(EntryDocument(*HEAD, entry_data(entry)))
        return
    console.tell(f"Saved: {entry.kind} {entry.id}, {record_words(entry)}", rest="  ")
    if entry.doubt:
        console.tell(f"With this doubt: {entry.doubt}", rest="  ")
    car = getattr(entry.record, "car", None)
    if car is not None:
        from bodyshop.output.terminal.book import repeats_after

        words = repeats_after(book, entry)
        if words:
            console.tell(words, rest="  ")


# ---------------------------------------------------------------- enter


@verb(
    "enter",
    "note measurements at the keyboard, one after the other",
    "Ask for one record after the other at the keyboard. An empty answer keeps what stands in brackets, "
    "a dash leaves the field out; an empty line for the car, or the end of the input, stops.",
    _kind(_KINDS[1:]),
    operand("car", "CAR", "a car (default: ask each time)", nargs="?"),
    flag("--all", "ask for every field, not only the usual ones"),
    option("--by", "TEXT", "who measures"),
    book_file(),
)
def _enter(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.entering import ENTERED_BY_HAND

    kind = ENTERED_BY_HAND[options.kind]
    stored = 0
    with open_book(options.book, console) as book:
        if options.car:
            book.car(options.car)  # a wrong name is told before anything is asked
        last: dict[str, str] = {}
        while True:
            try:
                done = _enter_one(book, kind, options, console, last)
            except (EOFError, _StopError):
                break
            stored += done
    console.write(f"\n{stored} {'record' if stored == 1 else 'records'} noted.\n")
    return Exit.PASSES


class _StopError(Exception):
    """Nothing more is to be entered."""


def _enter_one(
    book: Book,
    kind: type[Record],
    options: argparse.Namespace,
    console: Console,
    last: dict[str, str],
) -> int:
    from bodyshop.records.book.earlier import known_about
    from bodyshop.records.book.entering import asked_fields, record_from_words, with_defaults
    from bodyshop.records.book.plausibility import questions

    car = options.car or _ask_car(book, console)
    defaults = with_defaults(book, kind, car)
    words = []
    for column in asked_fields(kind):
        usual = column.required or column.name in _USUAL.get(options.kind, ())
        if not usual and not options.all:
            continue
        text = _ask_field(column, defaults, last, console)
        if text:
            words.append(f"{column.name}={text}")
    try:
        record = record_from_words(kind, words, defaults=defaults)
        asked = questions(record, known_about(book, record))
        if asked and not _confirmed(asked, console):
            console.write("Not stored.\n")
            return 0
        entry = book.add(record, by=options.by, doubt=" ".join(asked))
    except ProblemsError as error:
        for problem in error.problems:
            _tell_problem(problem, console)
        return 0
    _acknowledge(book, entry, argparse.Namespace(json=False), console)
    return 1


_USUAL: Final = {
    "mass": ("resolution_g",),
    "airflow": ("speed_m_s",),
    "drag": (
        "unit",
        "drag_zero_n",
        "drag_lowest_n",
        "drag_highest_n",
        "front_lift_n",
        "front_zero_n",
        "rear_lift_n",
        "rear_zero_n",
        "temperature_c",
        "pressure_hpa",
    ),
    "roll": ("measured_from", "surface", "direction"),
    "run": ("time_s", "lane", "speed_m_s", "cartridge_before_g", "cartridge_after_g", "cartridge_c"),
}
"""Fields asked for beside those that have to be told."""

_KEPT: Final = frozenset(
    (
        "stage",
        "resolution_g",
        "unit",
        "speed_m_s",
        "drag_zero_n",
        "front_zero_n",
        "rear_zero_n",
        "temperature_c",
        "pressure_hpa",
        "ramp_height_mm",
        "ramp_length_mm",
        "measured_from",
        "surface",
        "length_mm",
    )
)
"""Answers that stay for the next record: what belongs to the setting, not to the car."""


def _tell_problem(problem: Problem, console: Console) -> None:
    sentence = problem.sentence
    console.tell(sentence if sentence.endswith("?") else f"{sentence}.", rest="  ", err=True)


def _ask_car(book: Book, console: Console) -> str:
    while True:
        name = _line(console, "car: ").strip()
        if not name:
            raise _StopError
        try:
            return book.car(name).record.name
        except ProblemsError as error:
            _tell_problem(error.problems[0], console)


def _ask_field(column: RecordColumn, defaults: dict[str, Any], last: dict[str, str], console: Console) -> str:
    """What was typed for a field, checked as far as one field can be; empty to leave it at its default."""
    from bodyshop.records.book.csv_table import CellError, write_cell
    from bodyshop.records.book.entering import read_field

    kept = last.get(column.name, "")
    if not kept and column.name in defaults:
        kept = write_cell(column, defaults[column.name])
    choices = "" if column.choices is None else f" ({', '.join(str(each.value) for each in column.choices)})"
    unit = f", {column.unit}" if column.unit else ""
    prompt = f"  {column.words}{unit}{choices}{f' [{kept}]' if kept else ''}: "
    while True:
        text = _line(console, prompt).strip()
        if text == "-":
            return ""
        text = text or kept
        if not text and not column.required:
            return ""
        try:
            read_field(column, text)
        except CellError as error:
            near = f"; did you mean {error.nearest}?" if error.nearest else ""
            console.tell(f"  {error.message}; expected {error.expected}{near}", rest="  ", err=True)
            continue
        if column.name in _KEPT:
            last[column.name] = text
        return text


def _confirmed(asked: tuple[str, ...], console: Console) -> bool:
    for ask in asked:
        console.tell(f"? {ask}", rest="  ")
    return console.confirm()


def _line(console: Console, prompt: str) -> str:
    """One line typed. Raises `EOFError` at the end of the input."""
    console.write(prompt)
    line = console.ask()
    if line is None:
        raise EOFError
    return printable(line)


# ---------------------------------------------------------------- correct and strike


@verb(
    "correct",
    "correct a record",
    "Put a corrected record into the place of another: trial correct mass 12 mass=341.0g --because "
    '"digits swapped". The old one stays in the book and is shown as corrected.',
    *_CORRECTED,
    operand("values", "NAME=VALUE", "what changes", nargs="*"),
    *_BECAUSE,
    CONFIRM,
)
def _correct(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.book import kind_named
    from bodyshop.records.book.earlier import known_about
    from bodyshop.records.book.entering import with_changes
    from bodyshop.records.book.model import FrozenPrediction
    from bodyshop.records.book.plausibility import questions

    kind = kind_named(options.kind)
    if kind is FrozenPrediction:
        message = "a frozen prediction is never corrected: freeze another one"
        raise ProblemsError([Problem("book-frozen", message)])
    if not options.because.strip():
        raise UsageError("bodyshop trial correct", "--because wants a reason")
    with open_book(options.book, console) as book:
        old = book.record(kind, options.number)
        record = with_changes(old.record, options.values)
        asked = questions(record, known_about(book, record, but=old.id))
        if asked and not options.confirm and old.counts:
            refuse_doubtful(console, asked, "This correction")
            return Exit.UNREADABLE
        entry = book.correct(kind, old.id, record, options.because, by=options.by, doubt=" ".join(asked))
        console.tell(f"{entry.kind} {old.id} is corrected by {entry.kind} {entry.id}.", rest="  ")
        _acknowledge(book, entry, argparse.Namespace(json=False), console)
    return Exit.PASSES


@verb(
    "strike",
    "say that a record does not count",
    "Say that a record does not count any more. It stays in the book and is shown as struck.",
    *_CORRECTED,
    *_BECAUSE,
)
def _strike(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.book import kind_named

    kind = kind_named(options.kind)
    if not options.because.strip():
        raise UsageError("bodyshop trial strike", "--because wants a reason")
    with open_book(options.book, console) as book:
        entry = book.strike(kind, options.number, options.because, by=options.by)
    console.tell(f"{entry.kind} {options.number} does not count any more; it stays in the book.", rest="  ")
    return Exit.PASSES


ENTRY_VERBS: Final = (_add, _enter, _correct, _strike)

"""`bodyshop trial`: the trial book; here what it says, what that means, and whether it is whole."""

from __future__ import annotations

import argparse
import string
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from bodyshop.app.cli.actions import Verbs, verb
from bodyshop.app.cli.arguments import JSON, above_nothing, book_file, flag, operand, option, whole
from bodyshop.app.cli.console import Console, Exit, answer
from bodyshop.app.cli.trial_book import BOOK_VERBS
from bodyshop.app.cli.trial_common import open_book
from bodyshop.app.cli.trial_entry import ENTRY_VERBS
from bodyshop.foundation.text.columns import pad, printable, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bodyshop.records.book.book import Book
    from bodyshop.records.book.check import BookCheck
    from bodyshop.records.book.model import Entry

__all__ = ["trial"]

_NEWEST: Final = 30
_MOST: Final = 30
_LEAST_CODE: Final = 8
_MM2_PER_CM2: Final = 100.0


@verb(
    "list",
    "list records",
    "List the records of a kind, or tell what the book holds.",
    operand("kind", "KIND", "mass, drag, run, car ...", nargs="?"),
    option("--car", "CAR", "those of this car alone", default=None),
    option(
        "--newest",
        "N",
        f"the last so many (default: {_NEWEST})",
        whole("number of records", 1, 10**9),
        default=_NEWEST,
    ),
    flag("--all", "all of them"),
    flag("--history", "corrected and struck ones as well"),
    JSON,
    book_file(),
)
def _list(options: argparse.Namespace, console: Console) -> Exit:
    with open_book(options.book, console) as book:
        return _records(book, options, console) if options.kind else _overview(book, options, console)


def _overview(book: Book, options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.model import KINDS

    counts = {name: book.count(kind) for name, kind in KINDS.items()}
    event = book.event
    if options.json:
        from bodyshop.output.json.book import BookDocument, entries_data, entry_data
        from bodyshop.output.json.document import HEAD

        console.write_json(BookDocument(*HEAD, entry_data(event), entries_data(book.cars()), counts))
        return Exit.PASSES
    words = printable(event.record.name)
    if event.record.track_mm is not None:
        words += f", {event.record.track_mm / 1000:g} m"
    words += f", {event.record.lanes} lanes"
    if event.record.timing_s is not None:
        words += f", timed to {event.record.timing_s:g} s"
    lines = [console.ink.strong(words)]
    names = [entry.record.name for entry in book.cars()]
    lines += wrap(
        f"cars: {', '.join(printable(name) for name in names) or 'none yet'}", console.width, "", "  "
    )
    lines += [f"  {pad(name, 16)} {count}" for name, count in counts.items() if count and name != "event"]
    console.write("\n".join(lines) + "\n")
    return Exit.PASSES


def _records(book: Book, options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.foundation.problems import Problem, ProblemsError
    from bodyshop.output.json.book import list_data
    from bodyshop.output.terminal.book import entries_text
    from bodyshop.records.book.book import kind_named
    from bodyshop.records.book.columns import ValueType, columns_of

    kind = kind_named(options.kind)
    if options.car is not None and not any(each.shape is ValueType.CAR for each in columns_of(kind)):
        raise ProblemsError([Problem("trial-words", f"records of {options.kind} are not of a car")])
    newest = None if options.all else options.newest
    entries = book.records(kind, car=options.car, history=options.history, newest=newest)
    if options.json:
        console.write_json(list_data(entries))
        return Exit.PASSES
    if not entries:
        console.write("There is none.\n")
        return Exit.PASSES
    console.write(entries_text(entries, console.width, console.ink))
    left = book.count(kind, car=options.car) - sum(entry.counts for entry in entries)
    if left > 0:
        console.tell(f"{left} earlier ones are not shown; --all shows them.", rest="  ")
    return Exit.PASSES


@verb(
    "show",
    "show all that is known of a car",
    "Show all that was measured on a car: repeats with their mean, spread and interval, what was seen, "
    "inspections, doubts and corrections.",
    operand("car", "CAR", "a car of the book"),
    JSON,
    book_file(),
)
def _show(options: argparse.Namespace, console: Console) -> Exit:
    with open_book(options.book, console) as book:
        return _car(book, options, console)


def _car(book: Book, options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.output.terminal.book import entries_text, groups_text, moment_words
    from bodyshop.records.book.model import AirflowSeen, FrozenPrediction, Inspection, TrackRun
    from bodyshop.records.book.repeats import groups_of

    entry = book.car(options.car)
    name = entry.record.name
    groups = groups_of(book, name)
    airflow = book.records(AirflowSeen, car=name)
    inspections = book.records(Inspection, car=name)
    predictions = book.records(FrozenPrediction, car=name)
    runs = book.records(TrackRun, car=name)
    doubtful, corrected = _odd(book, name)
    if options.json:
        from bodyshop.output.json.book import ShowDocument, entries_data, entry_data, group_data
        from bodyshop.output.json.document import HEAD

        lists: tuple[Sequence[Entry[Any]], ...] = (
            airflow,
            inspections,
            predictions,
            runs,
            doubtful,
            corrected,
        )
        repeats = tuple(group_data(group) for group in groups)
        console.write_json(ShowDocument(*HEAD, entry_data(entry), repeats, *map(entries_data, lists)))
        return Exit.PASSES
    ink = console.ink
    out = [ink.strong(", ".join(part for part in (printable(name), printable(entry.record.bench)) if part))]
    if entry.record.design_file:
        out += wrap(
            f"design {printable(entry.record.design_file)}, fingerprint {entry.record.fingerprint}, noted "
            f"{moment_words(entry.at)}",
            console.width,
        )
    parts = ["\n".join(out) + "\n"]
    if groups:
        parts.append(groups_text(groups, console.width, ink))
    for heading, entries in (
        ("Airflow", airflow),
        ("Inspections", inspections),
        ("Predictions", predictions),
        ("Runs", runs),
        ("Asked about and confirmed", doubtful),
        ("Corrected or struck", corrected),
    ):
        if entries:
            parts.append(f"{heading}\n{entries_text(entries, console.width, ink, car=False)}")
    if len(parts) == 1:
        parts.append("Nothing is measured yet.\n")
    console.write("\n".join(parts))
    return Exit.PASSES


def _odd(book: Book, car: str) -> tuple[list[Entry[Any]], list[Entry[Any]]]:
    """Entries of a car that stand with a doubt, and those that do not stand any more."""
    from bodyshop.records.book.entering import ENTERED_BY_HAND

    doubtful: list[Entry[Any]] = []
    gone: list[Entry[Any]] = []
    for kind in ENTERED_BY_HAND.values():
        for entry in book.records(kind, car=car, history=True):
            if entry.counts and entry.doubt:
                doubtful.append(entry)
            elif not entry.counts:
                gone.append(entry)
    return doubtful, gone


@verb(
    "meaning",
    "tell what a car's measurements mean",
    "Tell what the measurements of a car mean: drag area, lift against what the axles carry, rolling "
    "friction, mass, times; each with the range that holds it in 19 cases of 20, a sentence, the formula "
    "and its source. Readings that can hardly be true are questioned.",
    operand("car", "CAR", "the car's name in the book"),
    option("--design", "DESIGN", "its design file (default: as the book keeps it)"),
    option(
        "--speed",
        "M_S",
        "race speed, m/s (default: the fastest of its gates and its last prediction, else 20)",
        above_nothing("speed"),
    ),
    option(
        "--tunnel-section",
        "CM2",
        "width times height of a closed tunnel, cm², to allow for how much of it the car fills",
        above_nothing("area"),
    ),
    flag("--short", "leave out readings, notes and formulas"),
    JSON,
    book_file(),
)
def _meaning(options: argparse.Namespace, console: Console) -> None:
    from bodyshop.output.json.findings import meaning_data
    from bodyshop.output.terminal.findings import meaning_text
    from bodyshop.records.findings.meaning import MeaningOptions, meaning

    section = options.tunnel_section
    asked = MeaningOptions(options.design, options.speed, None if section is None else section * _MM2_PER_CM2)
    with open_book(options.book, console) as book:
        told = meaning(book, options.car, asked)
    answer(console, options, lambda: meaning_data(told), partial(meaning_text, told, short=options.short))


def _code(text: str) -> str:
    code = "".join(text.split()).casefold()
    if len(code) < _LEAST_CODE or not set(code) <= set(string.hexdigits):
        raise argparse.ArgumentTypeError(f'"{text}" is not a code of a book, such as 3f1c20d49ab07e65')
    return code


@verb(
    "check",
    "check that no record was changed",
    "Check the whole book: the file, and that every record is as it was entered, in its place and not "
    "taken out. It changes nothing. It ends with 0 when all is well, 1 when a record was changed, and 2 "
    "when the book cannot be read. The code that it prints stands for all records up to the last: write "
    "it down, and --code tells later whether those records are still the same.",
    option("--code", "CODE", "a code that an earlier check printed", _code),
    JSON,
    book_file(),
)
def _check(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.check import check_book

    found = check_book(Path(options.book), options.code or "")
    if options.json:
        from bodyshop.output.json.book import book_check_data

        console.write_json(book_check_data(options.book, found))
    else:
        _text(options, found, console)
    return Exit.FAILS if found.faults else Exit.PASSES


def _text(options: argparse.Namespace, found: BookCheck, console: Console) -> None:
    name = printable(options.book)
    if not found.faults:
        console.tell(
            f"{name}: {found.records} records, all as they were entered and in their order.", rest="  "
        )
        if found.since is not None:
            words = f"Code {options.code} is right: nothing before it was changed."
            console.tell(f"{words} New records since: {found.since}.", rest="  ")
        console.tell(f"Code of the book now: {found.code}", rest="  ")
        return
    count = len(found.faults)
    console.tell(
        f"{name}: {found.records} records. {count} {'fault' if count == 1 else 'faults'} found:", rest="  "
    )
    lines: list[str] = []
    for each in found.faults[:_MOST]:
        lines += wrap(printable(each.sentence), console.width, "  - ", "    ")
    if count > _MOST:
        lines.append(f"  and {count - _MOST} more")
    console.write("\n".join(lines) + "\n")
    console.tell(
        "The book was damaged, or changed by something other than bodyshop. Go on with an earlier copy, or "
        f"bring out what can be read with: bodyshop trial salvage {name} NEW",
        rest="  ",
    )


trial: Final = Verbs(*BOOK_VERBS, *ENTRY_VERBS, _list, _show, _meaning, _check)

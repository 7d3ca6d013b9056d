"""`bodyshop trial list` and `trial show`: what the book says."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any, Final

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_json
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.trial_options import add_book, open_book, tell
from bodyshop.foundation.text.columns import pad, printable, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from bodyshop.records.book.book import Book
    from bodyshop.records.book.model import Entry

__all__ = ["VERBS", "configure", "run"]

VERBS: Final = frozenset(("list", "show"))

_NEWEST: Final = 30


def configure(parser: Parser) -> None:
    """Add the verbs."""
    show_list = parser.add_verb(
        "list",
        "list records",
        "List the records of a kind, or tell what the book holds.",
    )
    show_list.add_argument("kind", metavar="KIND", nargs="?", default="", help="mass, drag, run, car ...")
    show_list.add_argument("--car", metavar="CAR", default=None, help="those of this car alone")
    show_list.add_argument(
        "--newest", metavar="N", type=_count, default=_NEWEST, help=f"the last so many (default: {_NEWEST})"
    )
    show_list.add_argument("--all", action="store_true", help="all of them")
    show_list.add_argument("--history", action="store_true", help="corrected and struck ones as well")
    show = parser.add_verb(
        "show",
        "show all that is known of a car",
        "Show all that was measured on a car: repeats with their mean, spread and interval, what was seen, "
        "inspections, doubts and corrections.",
    )
    show.add_argument("car", metavar="CAR", help="a car of the book")
    for verb in (show_list, show):
        add_json(verb)
        add_book(verb)


def _count(text: str) -> int:
    if not (text.isascii() and text.isdecimal() and int(text[:9]) > 0):
        raise argparse.ArgumentTypeError(f'"{text}" is no number of records')
    return int(text[:9])


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Do what the verb says."""
    with open_book(options.book, console) as book:
        if options.verb == "show":
            return _show(book, options, console)
        return _list(book, options, console) if options.kind else _overview(book, options, console)


def _overview(book: Book, options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.model import KINDS

    counts = {name: book.count(kind) for name, kind in KINDS.items()}
    event = book.event
    if options.json:
        from bodyshop.output.json.book import BookDocument, entries_data, entry_data
        from bodyshop.output.json.document import HEAD, json_text

        console.write(json_text(BookDocument(*HEAD, entry_data(event), entries_data(book.cars()), counts)))
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


def _list(book: Book, options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.foundation.problems import Problem, ProblemsError
    from bodyshop.output.json.book import list_data
    from bodyshop.output.json.document import json_text
    from bodyshop.output.terminal.book import entries_text
    from bodyshop.records.book.book import kind_named
    from bodyshop.records.book.columns import ValueType, columns_of

    kind = kind_named(options.kind)
    if options.car is not None and not any(each.shape is ValueType.CAR for each in columns_of(kind)):
        raise ProblemsError([Problem("trial-words", f"records of {options.kind} are not of a car")])
    newest = None if options.all else options.newest
    entries = book.records(kind, car=options.car, history=options.history, newest=newest)
    if options.json:
        console.write(json_text(list_data(entries)))
        return Exit.PASSES
    if not entries:
        console.write("There is none.\n")
        return Exit.PASSES
    console.write(entries_text(entries, console.width, console.ink))
    left = book.count(kind, car=options.car) - sum(entry.counts for entry in entries)
    if left > 0:
        tell(console, f"{left} earlier ones are not shown; --all shows them.")
    return Exit.PASSES


def _show(book: Book, options: argparse.Namespace, console: Console) -> Exit:
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
        from bodyshop.output.json.document import HEAD, json_text

        lists: tuple[Sequence[Entry[Any]], ...] = (
            airflow,
            inspections,
            predictions,
            runs,
            doubtful,
            corrected,
        )
        repeats = tuple(group_data(group) for group in groups)
        console.write(json_text(ShowDocument(*HEAD, entry_data(entry), repeats, *map(entries_data, lists))))
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

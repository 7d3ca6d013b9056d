"""`bodyshop trial new, columns, export, import, salvage`: the book as a whole."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.actions import verb
from bodyshop.app.cli.arguments import CONFIRM, book_file, expanded, flag, operand, option
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import UsageError
from bodyshop.app.cli.trial_common import open_book
from bodyshop.foundation.files.names import is_folder, is_there
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.columns import pad, printable, wrap
from bodyshop.foundation.text.small_words import number_words
from bodyshop.output.terminal.problems import problems_report
from bodyshop.records.book.model import DEFAULT_BOOK

if TYPE_CHECKING:
    from bodyshop.records.book.model import Record

__all__ = ["BOOK_VERBS"]


_MOST_BYTES: Final = 100_000_000


@verb(
    "new",
    "start a trial book",
    "Start a trial book for a class or an event. It never writes over a file.",
    operand("name", "NAME", "what the event or the class is called"),
    option("--rulebook", "NAME", "its rulebook, which tells the track too"),
    option("--division", "NAME", "the division of the event"),
    option("--track", "LENGTH", "from start to finish: 20m, 65.6ft"),
    option("--lanes", "N", "lanes side by side (default: 2)", int, default=2),
    option("--gates", "LIST", "where timing gates stand: 5m,10m"),
    option(
        "--timing",
        "STEP",
        "the smallest step that the timing shows: 0.01s for a stop-watch, 0.001s for a gate",
    ),
    option("--owner", "TEXT", "the school or workshop"),
    book_file(),
)
def _new(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.foundation.units import QuantityError
    from bodyshop.foundation.units.instruments import parse_quantity
    from bodyshop.records.book.book import Book
    from bodyshop.records.book.model import Event
    from bodyshop.rules.rulebook import find_rulebook, read_rulebook

    track: float | None = None
    gates: list[float] = []
    timing: float | None = None
    if options.rulebook:
        track = read_rulebook(find_rulebook(options.rulebook), division=options.division).track_mm
    try:
        if options.track:
            track = parse_quantity(options.track, "mm")
        timing = parse_quantity(options.timing, "s") if options.timing else None
        gates = [parse_quantity(part, "mm") for part in options.gates.split(",") if part.strip()]
    except QuantityError as error:
        raise UsageError("bodyshop trial new", f"{error.message}; expected {error.expected}") from None
    event = Event(
        name=options.name.strip(),
        rulebook=options.rulebook,
        division=options.division,
        track_mm=track,
        lanes=options.lanes,
        gates_mm=tuple(gates),
        owner=options.owner,
        timing_s=timing,
    )
    with Book.create(Path(options.book), event):
        pass
    length = "" if track is None else f", {track / 1000:g} m"
    console.tell(f"A trial book for {options.name.strip()}{length}: {options.book}", rest="  ")
    if options.book == DEFAULT_BOOK:
        console.tell("Next: bodyshop trial add car DESIGN", rest="  ")
    return Exit.PASSES


@verb(
    "columns",
    "explain the columns of the tables",
    "Explain the columns of a kind's table, with units.",
    operand("kind", "KIND", "a kind (default: list them)", nargs="?"),
)
def _columns(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.book import kind_named
    from bodyshop.records.book.columns import columns_of
    from bodyshop.records.book.csv_table import csv_columns
    from bodyshop.records.book.model import KINDS

    if not options.kind:
        wide = max(len(name) for name in KINDS)
        lines: list[str] = []
        for name, kind in KINDS.items():
            lines += wrap((kind.__doc__ or "").split("\n", 1)[0], console.width, f"{pad(name, wide)}  ")
        console.write("\n".join(lines) + "\n")
        return Exit.PASSES
    kind = kind_named(options.kind)
    units = {column.name: column for column in columns_of(kind)}
    named = csv_columns(kind)
    wide = max(len(name) for name in named)
    lines = []
    for name, about in named.items():
        column = units.get(name)
        words = about
        if column is not None and column.choices is not None:
            words += f" One of: {', '.join(str(each.value) for each in column.choices)}."
        if column is not None and column.unit:
            words += f" In {column.unit}."
        if column is not None and column.required:
            words += " Needed."
        lines += wrap(words, console.width, f"{pad(name, wide)}  ")
    console.write("\n".join(lines) + "\n")
    return Exit.PASSES


@verb(
    "export",
    "write the tables as CSV",
    "Write the book's tables as CSV files, one for each kind of record, for spreadsheet programs. "
    "Nothing is rounded, and every version of every record is there: reading the files in again "
    "makes the same book.",
    operand("kinds", "KIND", "these kinds alone (default: all with records)", nargs="*"),
    option("--out", "FOLDER", "the folder (default: the book's name)"),
    flag("--empty", "write headings alone, to be filled in"),
    book_file(),
)
def _export(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.app.cli.papers import tell_written
    from bodyshop.output.bundle import write_parts
    from bodyshop.records.book.book import kind_named
    from bodyshop.records.book.csv_table import export_tables, template_csv
    from bodyshop.records.book.model import KIND_NAMES

    kinds = [kind_named(name) for name in options.kinds]
    if options.empty:
        if not kinds:
            raise UsageError("bodyshop trial export", "--empty wants the kinds named")
        files = {f"{KIND_NAMES[kind].replace('_', '-')}.csv": template_csv(kind) for kind in kinds}
    else:
        with open_book(options.book, console) as book:
            files = export_tables(book, kinds or None)
    folder = Path(options.out) if options.out else Path(f"{Path(options.book).stem}-tables")
    done = write_parts(folder, "", set(), files)
    tell_written(console, folder, done, {})
    return Exit.PASSES


@verb(
    "import",
    "read tables from CSV",
    "Read CSV tables into the book: all of them, or nothing and a list of every wrong row. The name of a "
    "file says its kind: mass.csv. Commas, semicolons or tabs may part the cells, and a comma may be the "
    "decimal mark. Where there is no book of that name yet, one is made from the tables.",
    operand("files", "FILE", "CSV files, or a folder with such files", nargs="+"),
    option("--kind", "KIND", "the kind of the one file that is named"),
    CONFIRM,
    book_file(),
)
def _import(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.csv_in import create_from_csv, import_csv

    tables = _tables(options)
    place = Path(options.book)
    fresh = not is_there(place)
    try:
        if fresh:
            done = create_from_csv(place, tables, confirm=options.confirm)
        else:
            with open_book(options.book, console) as book:
                done = import_csv(book, tables, confirm=options.confirm)
    except ProblemsError as error:
        # Every wrong row is told: whoever mends a table wants the whole list.
        report = problems_report(
            error.problems, width=console.width, ink=console.err_ink, most=len(error.problems)
        )
        console.complain(report)
        console.tell("Nothing was read in.", rest="  ", err=True)
        return Exit.UNREADABLE
    if fresh:
        console.tell(f"A new trial book: {options.book}", rest="  ")
    for name, count in done.added.items():
        console.write(f"{pad(name, 16)} {count} added\n")
    for name, count in done.known.items():
        console.write(f"{pad(name, 16)} {count} there already\n")
    if done.alike:
        count = sum(done.alike.values())
        few = count == 1
        console.tell(
            f"{number_words(count, 'row')} without a number {'says' if few else 'say'} what a record of the "
            f"book says already, and so {'was' if few else 'were'} not added again. An equal reading that is "
            "really a new one needs its own moment in the column at.",
            rest="  ",
        )
    if not done.added and not done.known:
        console.write("There was nothing to read in.\n")
    return Exit.PASSES


def _tables(options: argparse.Namespace) -> list[tuple[type[Record], bytes, str]]:
    from bodyshop.records.book.book import kind_named
    from bodyshop.records.book.csv_in import kind_of_file

    files: list[Path] = []
    for name in expanded(options.files):
        path = Path(name)
        files += sorted(path.glob("*.csv")) if is_folder(path) else [path]
    if options.kind and len(files) != 1:
        raise UsageError("bodyshop trial import", "--kind is for one file alone")
    tables: list[tuple[type[Record], bytes, str]] = []
    problems: list[Problem] = []
    for file in files:
        kind = kind_named(options.kind) if options.kind else kind_of_file(file.name)
        if kind is None:
            problems.append(
                Problem(
                    "csv-kind",
                    "the file's name does not say what kind of record it holds",
                    file=str(file),
                    expected="a name such as mass.csv, or --kind",
                )
            )
            continue
        try:
            if file.stat().st_size > _MOST_BYTES:
                problems.append(Problem("file-size", "the file is too large", file=str(file)))
                continue
            tables.append((kind, file.read_bytes(), str(file)))
        except (OSError, ValueError):
            problems.append(Problem("file-missing", "there is no such file", file=str(file)))
    if problems or not tables:
        raise ProblemsError(
            problems or [Problem("csv-empty", "there is no table here", file=options.files[0])]
        )
    return tables


@verb(
    "salvage",
    "bring what can be read of a damaged book into a new one",
    "Bring what can still be read of a damaged book into a new one. The damaged file is left as it is. "
    "A record that may not be as it was entered comes along with a doubt.",
    operand("damaged", "BOOK", "the damaged book"),
    operand("new", "NEW", "the file of the new one"),
)
def _salvage(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.records.book.salvage import salvage

    done = salvage(Path(options.damaged), Path(options.new))
    console.tell(f"Brought out of {printable(options.damaged)} into {printable(options.new)}:", rest="  ")
    for name in sorted({*done.saved, *done.lost}):
        lost = f", {done.lost[name]} lost" if name in done.lost else ""
        unsure = f", {done.unsure[name]} of them in doubt" if name in done.unsure else ""
        console.write(f"  {pad(name, 16)} {done.saved.get(name, 0)}{unsure}{lost}\n")
    if done.missing:
        console.tell(f"The book should have {done.missing} more, which cannot be read any more.", rest="  ")
    if done.unread:
        console.tell(f"A part of this could not be read: {', '.join(done.unread)}.", rest="  ")
    if done.unsure:
        console.tell(
            "Records in doubt may not be as they were entered. They are shown with their doubt and count for "
            "nothing until somebody corrects them.",
            rest="  ",
        )
    return Exit.PASSES


BOOK_VERBS: Final = (_new, _columns, _export, _import, _salvage)

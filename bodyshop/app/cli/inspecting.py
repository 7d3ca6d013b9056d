"""`bodyshop inspect`: a finished car measured, looked at, and judged by the same rulebook as its design."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import (
    CONFIRM,
    DIVISION,
    JSON,
    NOTED,
    OUT,
    RULEBOOK,
    design_file,
    flag,
    operand,
    option,
    sheet,
)
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import UsageError
from bodyshop.app.cli.trial_common import open_book, refuse_doubtful
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.foundation.text.columns import printable
from bodyshop.records.book.model import DEFAULT_BOOK

if TYPE_CHECKING:
    from bodyshop.records.book.book import Book
    from bodyshop.records.inspection import EarlierInspection, InspectionInput, InspectionResult
    from bodyshop.rules.checking import Checked, LoadedCar

__all__ = ["inspect"]

_MOST_BYTES: Final = 10_000_000


@action(
    operand("car", "CAR", "a car of the trial book, or a design"),
    operand(
        "found",
        "NAME=VALUE",
        "what was found: a clause or a measure and its value, with the instrument's step behind it "
        "(B1=304.5mm@0.5mm); a clause over several measures, and a value for each (W2=3;12); a clause "
        "that is looked at, and yes or no (I1=yes)",
        nargs="*",
    ),
    option("--values", "FILE", "a CSV with columns clause, value, resolution, instrument"),
    option("--step", "LENGTH", "step of the caliper or ruler used"),
    option("--balance-step", "MASS", "step of the scale used"),
    option("--instrument", "TEXT", "what was measured with"),
    option("--book", "FILE", f"the trial book to save it in (default: {DEFAULT_BOOK} where there is one)"),
    flag("--pdf", "print the sheet to be signed, PDF, into --out"),
    flag("--full", "list every rule, also those not checked yet"),
    flag("--history", "only list the inspections so far"),
    RULEBOOK,
    DIVISION,
    *NOTED,
    CONFIRM,
    JSON,
    sheet(),
    OUT,
    option("--owner", "TEXT", "the school or workshop, for the sheet"),
)
def inspect(options: argparse.Namespace, console: Console) -> Exit:
    """Judge the car as built, keep it in the book where there is one, print the sheet."""
    name = options.book or (DEFAULT_BOOK if Path(DEFAULT_BOOK).is_file() else "")
    if not name:
        if options.history:
            raise UsageError("bodyshop inspect", "there is no trial book here; name one with --book")
        return _inspect(options, console, None)
    with open_book(name, console) as book:
        return _history(book, options, console) if options.history else _inspect(options, console, book)


def _inspect(options: argparse.Namespace, console: Console, book: Book | None) -> Exit:
    from bodyshop.records.inspection import inspect as judged_as_built
    from bodyshop.records.inspection import keep, past_inspections
    from bodyshop.records.inspection.judging import odd_values
    from bodyshop.rules.checking import check_car

    opened, car = _open(options, console, book)
    console.warn(opened.warnings)
    checked = check_car(opened)
    found = _found(checked, options)
    inspected = judged_as_built(checked, found)
    asked = odd_values(inspected)
    if asked and not options.confirm:
        refuse_doubtful(console, asked, "This inspection")
        return Exit.UNREADABLE
    past = () if book is None or car is None else past_inspections(book, car)
    folder, file = _sheet_place(options, opened)
    if folder is not None:
        from bodyshop.foundation.files.safe_writing import OutputFolder

        OutputFolder(folder).check([file])
    number: int | None = None
    empty = not found.values and not found.answers
    when = ""
    if book is not None and car is not None and not empty:
        doubt = " ".join(asked)
        entry = keep(book, car, inspected, at=options.at, by=options.by, note=options.note, doubt=doubt)
        number, when = entry.id, entry.at.date().isoformat()
    _tell(inspected, past, number, options, console)
    if folder is not None:
        _write_sheet(inspected, past, number, when, options, console, folder, file)
    if not options.json:
        _last_words(number, book, console, empty=empty)
    if not inspected.judgement.passes:
        return Exit.FAILS
    return Exit.UNREADABLE if inspected.open_rows else Exit.PASSES


def _open(options: argparse.Namespace, console: Console, book: Book | None) -> tuple[LoadedCar, str | None]:
    """The car as designed, and its name in the book, None where it has no place there."""
    from bodyshop.records.findings.cars import recorded_design
    from bodyshop.rules.checking import RulebookCache, open_car

    if book is None:
        return open_car(
            design_file(options.car, console), shelf=RulebookCache(options.rulebook, options.division)
        ), None
    event = book.event.record
    shelf = RulebookCache(options.rulebook or event.rulebook, options.division or event.division)
    names = {entry.record.name.casefold(): entry for entry in book.cars()}
    entry = names.get(" ".join(options.car.split()).casefold())
    if entry is None:
        try:
            opened = open_car(design_file(options.car, console), shelf=shelf)
        except ProblemsError as error:
            raise ProblemsError([*error.problems, *_not_in_book(book, options.car)]) from None
        entry = names.get(" ".join(opened.design.name.split()).casefold())
        if entry is None:
            raise ProblemsError(_not_in_book(book, opened.design.name))
        return opened, entry.record.name
    return recorded_design(book, entry.record, shelf), entry.record.name


def _not_in_book(book: Book, name: str) -> list[Problem]:
    try:
        book.car(name)
    except ProblemsError as error:
        return list(error.problems)
    return []


def _found(checked: Checked, options: argparse.Namespace) -> InspectionInput:
    from bodyshop.records.inspection import InspectionInput, read_values_csv, read_words
    from bodyshop.records.inspection.input import read_steps

    steps = read_steps(options.step, options.balance_step, options.instrument)
    words = read_words(checked, options.found, steps)
    if not options.values:
        return words
    path = Path(options.values)
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise ProblemsError([Problem("file-size", "the file is too large", file=options.values)])
        data = path.read_bytes()
    except (OSError, ValueError):
        raise ProblemsError([Problem("file-missing", "there is no such file", file=options.values)]) from None
    table = read_values_csv(checked, data, options.values, steps)
    # What is typed is the last word.
    return InspectionInput({**table.values, **words.values}, {**table.answers, **words.answers})


# ---------------------------------------------------------------- out


def _tell(
    inspected: InspectionResult,
    past: tuple[EarlierInspection, ...],
    number: int | None,
    options: argparse.Namespace,
    console: Console,
) -> None:
    from bodyshop.output.json.inspection import inspected_data
    from bodyshop.output.terminal.inspection import inspected_text

    if options.json:
        console.write_json(inspected_data(inspected, past, number))
        return
    console.write(inspected_text(inspected, past, full=options.full, width=console.width, ink=console.ink))


def _last_words(number: int | None, book: Book | None, console: Console, *, empty: bool) -> None:
    console.write("\n")
    if number is not None and book is not None:
        console.tell(f"Saved as inspection {number} in {printable(book.name)}.", rest="  ")
    elif empty:
        console.tell("Nothing was measured or checked, so nothing was saved.", rest="  ")
    else:
        console.tell(
            f"Not saved: there is no trial book {DEFAULT_BOOK}. Start one with: bodyshop trial new NAME",
            rest="  ",
        )
    console.tell(
        "The judge at the event has the last word. This only checks sizes against a rulebook.",
        rest="  ",
    )


def _sheet_place(options: argparse.Namespace, opened: LoadedCar) -> tuple[Path | None, str]:
    from bodyshop.output.bundle import default_folder, file_stem

    if not options.pdf:
        return None, ""
    folder = options.out if options.out is not None else default_folder(opened.design)
    return Path(folder), f"{file_stem(opened.design)}-as-built.pdf"


def _write_sheet(
    inspected: InspectionResult,
    past: tuple[EarlierInspection, ...],
    number: int | None,
    when: str,
    options: argparse.Namespace,
    console: Console,
    folder: Path,
    file: str,
) -> None:
    from bodyshop.app.cli.papers import sheet_for, tell_written
    from bodyshop.output.bundle import file_stem, write_parts
    from bodyshop.output.papers.inspection_form.document import as_built_pdf

    opened = inspected.checked.opened
    earlier = f"{len(past)} earlier" if past else "first"
    told = "" if number is None else f"inspection no. {number} ({earlier} for this car)"
    paper = sheet_for(options, opened)
    date = options.at.date().isoformat() if options.at is not None else when
    data = as_built_pdf(inspected, paper, owner=options.owner, date=date, told=told)
    try:
        done = write_parts(folder, file_stem(opened.design), (), {file: data})
    except WriteRefusedError:
        if number is not None:
            console.tell(f"The inspection was saved anyway, as number {number}.", rest="  ", err=True)
        raise
    if not options.json:
        console.write("\n")
        tell_written(console, folder, done, {})


def _history(book: Book, options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.output.json.book import list_data
    from bodyshop.output.terminal.book import entries_text
    from bodyshop.records.book.model import Inspection

    entries = book.records(Inspection, car=options.car)
    if options.json:
        console.write_json(list_data(entries))
    elif entries:
        console.write(entries_text(entries, console.width, console.ink, car=False))
    else:
        console.write("Not inspected yet.\n")
    return Exit.PASSES

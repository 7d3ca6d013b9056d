"""`bodyshop rulebook`: a rulebook begun, looked over, shown and printed, and its language."""

from __future__ import annotations

import argparse
import os
from pathlib import Path
from typing import Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import (
    DATE,
    DIVISION,
    OUT,
    OWNER,
    design_file,
    operand,
    option,
    plain_name,
    sheet,
)
from bodyshop.app.cli.check import exit_of
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.papers import date_of, tell_written
from bodyshop.app.cli.parser import UsageError, one_of
from bodyshop.foundation.problems import Severity, WriteRefusedError
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.text.small_words import number_words
from bodyshop.output.terminal.problems import problems_report
from bodyshop.output.words.verdict import headline
from bodyshop.rules.checking import Checked, RulebookCache, check_car, open_car, shown_file
from bodyshop.rules.rulebook import Rulebook, find_rulebook, read_rulebook

__all__ = ["rulebook"]

_LINT: Final = "lint"
_SHOW: Final = "show"
_PRINT: Final = "print"
_NEW: Final = "new"
_REFERENCE: Final = "reference"
_FOR_PRINT: Final = {
    "design": "--design",
    "sheet": "--sheet",
    "out": "--out",
    "date": "--date",
    "owner": "--owner",
}
_NEEDED: Final = {
    _LINT: "a rulebook to look over",
    _SHOW: "a rulebook to show",
    _PRINT: "a rulebook to print",
    _NEW: "what the new rulebook is called",
}
_MOST_TOLD: Final = 500


@action(
    operand(
        "action",
        "ACTION",
        "lint: tell all that is wrong or doubtful, in every division (exit code 1 where there is "
        "anything); show: print it as a sheet to read; print: make the officials' inspection sheet, PDF; "
        "new: write a commented rulebook to start from; reference: tell every key that a rulebook can have",
        one_of((_LINT, _SHOW, _PRINT, _NEW, _REFERENCE), "action"),
    ),
    operand(
        "file",
        "NAME",
        "a rulebook: its file, or the name of one that comes along; with new, what yours is called; "
        "with reference, one key or table, such as points or stock (default: all of them)",
        nargs="?",
    ),
    DIVISION,
    option(
        "--design",
        "DESIGN",
        "with print: fill in what this design measures, and the verdict on it (default: a blank sheet)",
    ),
    sheet(),
    OUT,
    DATE,
    OWNER,
)
def rulebook(options: argparse.Namespace, console: Console) -> Exit:
    """Do the action."""
    if options.action != _PRINT:
        for name, option in _FOR_PRINT.items():
            if getattr(options, name):
                raise UsageError("bodyshop rulebook", f"{option} is for rulebook print alone")
    if options.action != _REFERENCE and not options.file:
        raise UsageError("bodyshop rulebook", f"please name {_NEEDED[options.action]}")
    if options.action in (_NEW, _REFERENCE):
        if options.division:
            raise UsageError(
                "bodyshop rulebook", f"{options.action} knows no divisions; leave --division out"
            )
        return _new(options.file, console) if options.action == _NEW else _reference(options.file, console)
    if options.action == _LINT:
        if options.division:
            raise UsageError("bodyshop rulebook", "lint looks at every division; leave --division out")
        return _lint(options.file, console)
    if options.action == _SHOW:
        return _show(options, console)
    return _print(options, console)


def _reference(about: str, console: Console) -> Exit:
    from bodyshop.output.terminal.rulebook_language import language_text

    console.write(language_text(width=console.width, ink=console.ink, about=about))
    return Exit.PASSES


def _new(typed: str, console: Console) -> Exit:
    """Write the sheet, unless a file of its name is there."""
    from bodyshop.foundation.files.safe_writing import write_file
    from bodyshop.rules.rulebook.starter import new_rulebook_file, new_rulebook_text

    try:
        name = plain_name(typed, "rulebook").removesuffix(".toml")
    except argparse.ArgumentTypeError as error:
        raise UsageError("bodyshop rulebook", str(error)) from None
    path = new_rulebook_file(name)
    if os.path.lexists(path):
        raise WriteRefusedError(str(path), "there is such a file already; choose another name")
    write_file(path, new_rulebook_text(name).encode("utf-8"))
    console.write(f"{path} is ready. Put in the figures of your event's sheet, then:\n")
    console.write(f"  bodyshop rulebook lint {path}\n")
    console.write(f"  bodyshop check wren --rulebook {path}\n")
    return Exit.PASSES


def _lint(file: str, console: Console) -> Exit:
    from bodyshop.rules.rulebook.lint import look_over

    path = find_rulebook(file)
    linted = look_over(path)
    findings = linted.findings
    name = printable(shown_file(str(path)))
    accepted = len(linted.accepted)
    also = f" ({number_words(accepted, 'warning')} accepted by the book)" if accepted else ""
    if not findings:
        console.write(f"{name}: nothing to find fault with{also}.\n")
        return Exit.PASSES
    console.write(problems_report(findings, width=console.width, ink=console.ink, most=_MOST_TOLD))
    errors = sum(1 for finding in findings if finding.severity is Severity.ERROR)
    counts = [number_words(errors, "error")] if errors else []
    counts += [number_words(len(findings) - errors, "warning")] if len(findings) > errors else []
    console.write(f"{name}: {' and '.join(counts)}{also}.\n")
    return Exit.FAILS


def _book(options: argparse.Namespace, console: Console) -> Rulebook:
    book = read_rulebook(find_rulebook(options.file), division=options.division)
    console.warn(book.warnings)
    return book


def _show(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.output.terminal.rulebook import rulebook_text

    console.write(rulebook_text(_book(options, console), width=console.width, ink=console.ink))
    return Exit.PASSES


def _print(options: argparse.Namespace, console: Console) -> Exit:
    from bodyshop.drawing.sheet.paper import sheet_sizes, usual_sheet
    from bodyshop.foundation.files.names import safe_stem
    from bodyshop.foundation.files.safe_writing import OutputFolder
    from bodyshop.output.bundle import file_stem, write_parts
    from bodyshop.output.bundle.files import OUTPUT_FOLDER
    from bodyshop.output.papers.inspection_form import InspectionOptions, inspection_pdf

    checked: Checked | None = None
    if options.design:
        path = design_file(options.design, console)
        checked = check_car(open_car(path, shelf=RulebookCache(options.file, options.division)))
        book, stem = checked.opened.rulebook, file_stem(checked.opened.design)
        console.warn(checked.opened.warnings)
    else:
        book = _book(options, console)
        stem = safe_stem(f"{book.stem}-{book.division}" if book.division else book.stem)
    folder = options.out if options.out is not None else Path(OUTPUT_FOLDER) / stem
    name = f"{stem}-inspection.pdf"
    OutputFolder(folder).check([name])
    paper = sheet_sizes()[options.sheet] if options.sheet else usual_sheet(book.unit)
    chosen = InspectionOptions(date=date_of(options), owner=options.owner)
    done = write_parts(folder, stem, (), {name: inspection_pdf(book, paper, checked, chosen)})
    if checked is not None:
        console.write(headline(checked) + "\n")
    tell_written(console, folder, done, {})
    return Exit.PASSES if checked is None else exit_of(checked)

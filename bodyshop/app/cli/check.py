"""`bodyshop check`: designs judged by a rulebook."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import (
    DIVISION,
    JSON,
    RULEBOOK,
    design_file,
    expanded,
    flag,
    named,
    operand,
    option,
    read_date,
)
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.parser import UsageError
from bodyshop.app.cli.targets import refuse_foreign
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.foundation.text.columns import printable
from bodyshop.output.terminal.verdict import summary_line, terminal_report, totals_line, unread_line
from bodyshop.output.words.hints import Hints
from bodyshop.rules.checking import Checked, RulebookCache, check_car, open_car
from bodyshop.rules.rulebook import CarResult

if TYPE_CHECKING:
    from bodyshop.output.json.check import CheckedData, UnreadData

__all__ = ["check", "exit_of"]


def exit_of(checked: Checked) -> Exit:
    """The exit code that one car comes to."""
    if not checked.judgement.passes:
        return Exit.FAILS
    if checked.judgement.result is CarResult.NEEDS_INSPECTOR:
        return Exit.UNREADABLE
    return Exit.PASSES


@dataclass
class _Tally:
    """What the designs so far come to."""

    passing: int = 0
    failing: int = 0
    probable: int = 0
    unknown: int = 0
    unread: int = 0
    data: list[CheckedData | UnreadData] = field(default_factory=list)

    @property
    def exit(self) -> Exit:
        if self.unread:
            return Exit.UNREADABLE
        if self.failing or self.probable:
            return Exit.FAILS
        return Exit.UNREADABLE if self.unknown else Exit.PASSES

    def count(self, checked: Checked) -> None:
        code = exit_of(checked)
        probable = code is Exit.FAILS and not checked.judgement.failed
        self.passing += code is Exit.PASSES
        self.failing += code is Exit.FAILS and not probable
        self.probable += probable
        self.unknown += code is Exit.UNREADABLE


def _file(text: str) -> Path:
    path = named("file")(text)
    if text.casefold().endswith(".toml"):
        raise argparse.ArgumentTypeError(
            f"{printable(text)} is the name of a design or rulebook, not of a report"
        )
    return path


@action(
    operand("designs", "DESIGN", "a design file, or the name of a shipped sample", nargs="+"),
    RULEBOOK,
    DIVISION,
    JSON,
    flag("--full", "tell everything about every broken rule"),
    option("--html", "FILE", "also write the report as one web page", _file),
    option("--pdf", "FILE", "also write the report on paper, as a PDF", _file),
    option(
        "--date",
        "DATE",
        "the date on the page or paper: today, or as 2031-05-14 (default: today)",
        read_date,
    ),
)
def check(options: argparse.Namespace, console: Console) -> Exit:
    """Judge every design; several get a line each."""
    names = list(expanded(options.designs))
    _refuse_reports(options, len(names))
    shelf = RulebookCache(options.rulebook, options.division)
    tally = _Tally()
    # Without JSON each design's own line tells how far it has come.
    with Progress(console, len(names), log=False) as progress:
        for name in names:
            if options.json and len(names) > 1:
                progress.step(name)
            _one(options, console, tally, shelf, name, alone=len(names) == 1)
    _total(options, console, tally, len(names))
    return tally.exit


def _one(
    options: argparse.Namespace,
    console: Console,
    tally: _Tally,
    shelf: RulebookCache,
    name: str,
    *,
    alone: bool,
) -> None:
    file = name
    try:
        path = design_file(name, console)
        file = str(path)
        checked = check_car(open_car(path, shelf=shelf))
    except ProblemsError as error:
        tally.unread += 1
        _unread(options, console, tally, file, error.problems, alone=alone)
        return
    tally.count(checked)
    hints = _hints(checked) if alone else None
    if options.json:
        from bodyshop.output.json.check import checked_data

        tally.data.append(checked_data(checked, hints))
        _write_reports(options, console, checked, hints)
        return
    console.warn(checked.opened.warnings)
    if alone:
        console.write(
            terminal_report(checked, width=console.width, ink=console.ink, full=options.full, hints=hints)
        )
        _write_reports(options, console, checked, hints)
    else:
        console.write(summary_line(checked, width=console.width) + "\n")


def _hints(checked: Checked) -> Hints:
    """What holds of several broken rules at once; what looks for it is loaded for a car that fails alone."""
    if checked.judgement.passes:
        return Hints()
    from bodyshop.output.words.hints import hints_of

    return hints_of(checked)


def _unread(
    options: argparse.Namespace,
    console: Console,
    tally: _Tally,
    file: str,
    problems: tuple[Problem, ...],
    *,
    alone: bool,
) -> None:
    if options.json:
        from bodyshop.output.json.check import unread_data

        tally.data.append(unread_data(file, problems))
        return
    if not alone:
        console.write(unread_line(file, len(problems), width=console.width) + "\n")
    console.warn(problems)


def _total(options: argparse.Namespace, console: Console, tally: _Tally, designs: int) -> None:
    if options.json:
        from bodyshop.output.json.check import check_data

        console.write_json(check_data(tally.data, tally.exit))
        if tally.unread:
            console.complain(f"{tally.unread} of {designs} cannot be read: see problems in the JSON.\n")
    elif designs > 1:
        told = totals_line(tally.passing, tally.failing, tally.probable, tally.unknown, tally.unread)
        console.write(f"{told}\n")


def _refuse_reports(options: argparse.Namespace, designs: int) -> None:
    """Raises `UsageError` where a file could not hold what is asked for."""
    if designs != 1 and (options.html or options.pdf):
        raise UsageError("bodyshop check", f"--html and --pdf take one design at a time, not {designs}")
    if options.html and options.html == options.pdf:
        raise UsageError("bodyshop check", f"--html and --pdf name the same file, {options.html}")


def _write_reports(
    options: argparse.Namespace, console: Console, checked: Checked, hints: Hints | None
) -> None:
    """Write what was asked for, each file whole or not at all, and say so.

    Raises:
        WriteRefusedError: a file cannot be written.
    """
    if not (options.html or options.pdf):
        return
    from bodyshop.foundation.files.safe_writing import write_file
    from bodyshop.output.html.annotated_report import teaching_html
    from bodyshop.output.papers.annotated_report import teaching_pdf

    on = options.date or datetime.now(tz=UTC).astimezone().date()
    for target in (options.html, options.pdf):
        if target is not None and _is_source(target, checked):
            raise WriteRefusedError(str(target), "the report would write over what it is about")
    if options.html:
        refuse_foreign(options.html, b'name="generator" content="bodyshop"', b"report on the drawing")
    if options.pdf:
        refuse_foreign(options.pdf, b"%PDF-", b"(bodyshop)", b"report on the drawing")
    if options.html:
        write_file(options.html, teaching_html(checked, on, hints).encode("utf-8"))
    if options.pdf:
        write_file(options.pdf, teaching_pdf(checked, on, hints=hints))
    names = " and ".join(str(target) for target in (options.html, options.pdf) if target)
    # With --json the standard output is for another program.
    tell = console.complain if options.json else console.write
    tell(f"Wrote {printable(names)}\n")


def _is_source(target: Path, checked: Checked) -> bool:
    """Whether a file to be written is the design or a rulebook that was read."""
    opened = checked.opened
    read = (opened.source.name, opened.rulebook.source.name)
    try:
        return any(target.samefile(name) for name in read if is_there(name) and is_there(target))
    except OSError:
        return False

"""`bodyshop check`: designs judged by a rulebook."""

from __future__ import annotations

import argparse
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.options import add_division, add_json, add_rulebook, design_file, expanded
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.teaching import add_teaching, refuse_teaching, write_teaching
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.output.terminal.problems import problems_report
from bodyshop.output.terminal.verdict import summary_line, terminal_report, totals_line, unread_line
from bodyshop.output.words.hints import Hints
from bodyshop.rules.checking import Checked, RulebookCache, check_car, open_car
from bodyshop.rules.rulebook import CarResult

if TYPE_CHECKING:
    from bodyshop.output.json.check import CheckedData, UnreadData

__all__ = ["configure", "exit_of", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "designs", metavar="DESIGN", nargs="+", help="a design file, or the name of a shipped sample"
    )
    add_rulebook(parser)
    add_division(parser)
    add_json(parser)
    parser.add_argument("--full", action="store_true", help="tell everything about every broken rule")
    add_teaching(parser)


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


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Judge every design; several get a line each."""
    names = list(expanded(options.designs))
    refuse_teaching(options, len(names))
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
        write_teaching(options, console, checked, hints)
        return
    _warn(console, checked.opened.warnings)
    if alone:
        console.write(
            terminal_report(checked, width=console.width, ink=console.ink, full=options.full, hints=hints)
        )
        write_teaching(options, console, checked, hints)
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
    _warn(console, problems)


def _warn(console: Console, problems: tuple[Problem, ...]) -> None:
    if problems:
        console.complain(problems_report(problems, width=console.width, ink=console.err_ink))


def _total(options: argparse.Namespace, console: Console, tally: _Tally, designs: int) -> None:
    if options.json:
        from bodyshop.output.json.check import check_data
        from bodyshop.output.json.document import json_text

        console.write(json_text(check_data(tally.data, tally.exit)))
        if tally.unread:
            console.complain(f"{tally.unread} of {designs} cannot be read: see problems in the JSON.\n")
    elif designs > 1:
        told = totals_line(tally.passing, tally.failing, tally.probable, tally.unknown, tally.unread)
        console.write(f"{told}\n")

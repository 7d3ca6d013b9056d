"""`bodyshop fix`: the smallest changes of a design's own numbers that make it pass."""

from __future__ import annotations

import argparse
import math
from pathlib import Path
from typing import Final

from bodyshop.app.cli.actions import action
from bodyshop.app.cli.arguments import DESIGN, DIVISION, RULEBOOK, design_file, flag, option, within
from bodyshop.app.cli.console import Console, Exit, Progress
from bodyshop.app.cli.parser import UsageError
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import WriteRefusedError, nearest
from bodyshop.foundation.text.columns import printable, wrap
from bodyshop.foundation.text.small_words import capital
from bodyshop.output.words.remedies import conflict_sentences, fix_sentence, headline, side_sentences
from bodyshop.rules.checking import LoadedCar, RulebookCache, find_design, open_car
from bodyshop.rules.remedies import Conflict, Fix, Plan, diff, make_plan, write
from bodyshop.rules.rulebook import Rule

__all__ = ["fix"]

_SECONDS: Final = 15.0
"""Longer than the search's own default: somebody is waiting for this one car."""

_MOST_SECONDS: Final = 3600.0


@action(
    DESIGN,
    RULEBOOK,
    DIVISION,
    option("--rule", "CLAUSE", "fix only this rule, such as C8 (advice too)"),
    flag("--write", "change the numbers in the file; comments and layout stay as they are"),
    option(
        "--seconds",
        "N",
        f"how long to search at most (default: {_SECONDS:g})",
        within(
            "time",
            math.nextafter(0.0, 1.0),
            _MOST_SECONDS,
            f"more than 0 and at most {_MOST_SECONDS:g} seconds",
        ),
        default=_SECONDS,
    ),
)
def fix(options: argparse.Namespace, console: Console) -> Exit:
    """Search, show what would change, and change it when that is asked for."""
    path = design_file(options.design, console)
    if options.write and (find_design(options.design)[1] or _is_shipped(path)):
        raise WriteRefusedError(
            str(path), "this is a sample that comes with bodyshop; copy it and change the copy"
        )
    opened = open_car(path, shelf=RulebookCache(options.rulebook, options.division))
    console.warn(opened.warnings)
    clause = _clause(options.rule, opened)
    with Progress(console, 1) as progress:
        progress.step("searching for the smallest changes")
        plan = make_plan(opened, clause=clause, seconds=options.seconds)
    console.write(_page(headline(plan, opened.design.name), plan, console))
    changes = diff(plan)
    if changes:
        console.write("\n" + "".join(f"{printable(line)}\n" for line in changes.splitlines()) + "\n")
        if options.write:
            write(plan)
            console.tell(f"Written: {path}. Only these numbers differ.")
        else:
            console.tell("Nothing is written yet. Add --write to change these numbers in the file.")
    return _exit(plan, clause)


def _is_shipped(path: Path) -> bool:
    """Whether a path leads to a sample that comes with bodyshop, however it is spelt."""
    try:
        return path.resolve().parent == samples_folder().resolve()
    except OSError:
        return False


def _clause(asked: str, opened: LoadedCar) -> str:
    """The clause as the rulebook spells it. Raises `UsageError` where it has none of that name."""
    word = asked.strip()
    if not word:
        return ""
    clauses = {rule.clause.casefold(): rule.clause for rule in opened.rulebook.rules}
    found = clauses.get(word.casefold())
    if found is None:
        close = nearest(word, list(clauses.values()))
        hint = f"; did you mean {close}?" if close else ""
        raise UsageError("bodyshop fix", f'{opened.rulebook.name} has no rule "{word}"{hint}')
    return found


def _exit(plan: Plan, clause: str) -> Exit:
    """Fails while a rule that was to be seen to is still broken."""
    broken = {verdict.rule.clause for verdict in plan.remaining}
    left = broken & {clause} if clause else broken
    return Exit.FAILS if left or plan.conflicts else Exit.PASSES


def _page(head: str, plan: Plan, console: Console) -> str:
    width, ink = console.width, console.ink
    paint = ink.bad if plan.conflicts else ink.good
    lines = [paint(line) for line in wrap(printable(head), width)]
    for number, each in enumerate(plan.fixes, 1):
        lines += ["", *_fix_lines(number, each, console)]
    if plan.conflicts:
        lines += ["", ink.strong("Still broken")]
        for conflict in plan.conflicts:
            lines += _conflict_lines(conflict, console)
    if plan.cut:
        lines += ["", *wrap("Time ran out before everything was tried: --seconds gives it more.", width)]
    return "\n".join(lines) + "\n"


def _fix_lines(number: int, found: Fix, console: Console) -> list[str]:
    told = [fix_sentence(found), *side_sentences(found)]
    title = f"{number:2}  {_title(found.rule)}"
    lines = [console.ink.strong(line) for line in wrap(title, console.width, "", "    ")]
    for sentence in told:
        lines += wrap(f"{capital(printable(sentence))}.", console.width, "    ")
    return lines


def _conflict_lines(conflict: Conflict, console: Console) -> list[str]:
    lines = [console.ink.bad(line) for line in wrap(_title(conflict.rule), console.width, "    ")]
    for sentence in conflict_sentences(conflict):
        lines += wrap(f"{capital(printable(sentence))}.", console.width, "    ")
    return lines


def _title(rule: Rule) -> str:
    return f"{printable(rule.clause)}  {printable(rule.title)}"

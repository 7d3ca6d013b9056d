"""`bodyshop trial check`: whether every record of the book is as it was entered."""

from __future__ import annotations

import argparse
import string
from pathlib import Path
from typing import TYPE_CHECKING, Final

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_json
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.trial_options import add_book, tell
from bodyshop.foundation.text.columns import printable, wrap

if TYPE_CHECKING:
    from bodyshop.records.book.check import BookCheck

__all__ = ["VERBS", "configure", "run"]

VERBS: Final = frozenset(("check",))

_MOST: Final = 30
_LEAST_CODE: Final = 8


def configure(parser: Parser) -> None:
    """Add the verb."""
    check = parser.add_verb(
        "check",
        "check that no record was changed",
        "Check the whole book: the file, and that every record is as it was entered, in its place and not "
        "taken out. It changes nothing. It ends with 0 when all is well, 1 when a record was changed, and 2 "
        "when the book cannot be read. The code that it prints stands for all records up to the last: write "
        "it down, and --code tells later whether those records are still the same.",
    )
    check.add_argument(
        "--code", metavar="CODE", type=_code, default=None, help="a code that an earlier check printed"
    )
    add_json(check)
    add_book(check)


def _code(text: str) -> str:
    code = "".join(text.split()).casefold()
    if len(code) < _LEAST_CODE or not set(code) <= set(string.hexdigits):
        raise argparse.ArgumentTypeError(f'"{text}" is not a code of a book, such as 3f1c20d49ab07e65')
    return code


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Do what the verb says."""
    from bodyshop.records.book.check import check_book

    found = check_book(Path(options.book), options.code or "")
    if options.json:
        from bodyshop.output.json.book import book_check_data
        from bodyshop.output.json.document import json_text

        console.write(json_text(book_check_data(options.book, found)))
    else:
        _text(options, found, console)
    return Exit.FAILS if found.faults else Exit.PASSES


def _text(options: argparse.Namespace, found: BookCheck, console: Console) -> None:
    name = printable(options.book)
    if not found.faults:
        tell(console, f"{name}: {found.records} records, all as they were entered and in their order.")
        if found.since is not None:
            words = f"Code {options.code} is right: nothing before it was changed."
            tell(console, f"{words} New records since: {found.since}.")
        tell(console, f"Code of the book now: {found.code}")
        return
    count = len(found.faults)
    tell(console, f"{name}: {found.records} records. {count} {'fault' if count == 1 else 'faults'} found:")
    lines: list[str] = []
    for each in found.faults[:_MOST]:
        lines += wrap(printable(each.sentence), console.width, "  - ", "    ")
    if count > _MOST:
        lines.append(f"  and {count - _MOST} more")
    console.write("\n".join(lines) + "\n")
    tell(
        console,
        "The book was damaged, or changed by something other than bodyshop. Go on with an earlier copy, or "
        f"bring out what can be read with: bodyshop trial salvage {name} NEW",
    )

"""`bodyshop race compare`: frozen predictions against the times."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_json
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.trial_options import add_book, open_book, tell

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the verb's arguments."""
    add_json(parser)
    add_book(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Compare, and tell it."""
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.findings import comparison_data
    from bodyshop.output.terminal.findings import comparison_text
    from bodyshop.records.findings.prediction_check import compare_book

    with open_book(options.book, console) as book:
        found = compare_book(book)
    if options.json:
        console.write(json_text(comparison_data(found)))
    elif found is None:
        tell(
            console,
            "There is nothing to compare yet: it takes predictions frozen before the race (bodyshop race "
            "freeze) and timed runs after it.",
        )
    else:
        console.write(comparison_text(found, width=console.width, ink=console.ink))
    return Exit.PASSES

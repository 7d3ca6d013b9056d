"""`bodyshop race fit`: what the class's runs tell of its cartridges."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.options import add_json
from bodyshop.app.cli.parser import Parser
from bodyshop.app.cli.trial_options import add_book, open_book

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the verb's arguments."""
    parser.add_argument("--dry", action="store_true", help="do not keep the fit in the book")
    add_json(parser)
    add_book(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Fit, keep, and tell it."""
    from bodyshop.output.json.document import json_text
    from bodyshop.output.json.findings import fit_data
    from bodyshop.output.terminal.findings import fit_text
    from bodyshop.records.findings.classruns import fit_book, store_fit

    with open_book(options.book, console) as book:
        fit = fit_book(book)
        stored = None if options.dry else store_fit(book, fit).id
    if options.json:
        console.write(json_text(fit_data(fit, stored)))
    else:
        console.write(fit_text(fit, width=console.width, ink=console.ink, stored=stored))
    return Exit.PASSES

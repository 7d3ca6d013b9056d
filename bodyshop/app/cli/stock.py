"""`bodyshop stock`: what designs and rulebooks can name."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.car.stock.hardware import NOTHING
from bodyshop.foundation.units import MassUnit
from bodyshop.output.terminal.tables import SHELVES, stock_table

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments."""
    parser.add_argument(
        "shelves",
        metavar="SHELF",
        nargs="*",
        type=one_of(SHELVES, "shelf"),
        help=f"only these: {', '.join(SHELVES)}",
    )
    parser.add_argument(
        "--rulebook",
        metavar="NAME",
        default="",
        help="list what this event brings as well: the name of a rulebook, or its file",
    )


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the shelves asked for, or all; with a rulebook also what its event brings."""
    brought, unit = NOTHING, MassUnit.G
    if options.rulebook:
        from bodyshop.rules.rulebook import find_rulebook, read_rulebook

        book = read_rulebook(find_rulebook(options.rulebook))
        brought, unit = book.kit.brought, book.mass_unit
    shelves = options.shelves or SHELVES
    console.write(stock_table(shelves, brought, unit=unit, width=console.width, ink=console.ink))
    return Exit.PASSES

"""`bodyshop stock`: what designs and rulebooks can name."""

from __future__ import annotations

import argparse

from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.parser import Parser, one_of
from bodyshop.report.stock_table import SHELVES, stock_table

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


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Print the shelves asked for, or all."""
    console.write(stock_table(options.shelves or SHELVES, width=console.width, ink=console.ink))
    return Exit.PASSES

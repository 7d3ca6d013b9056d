"""`bodyshop measures`: the catalogue that rules name their measures from."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser
from bodyshop.car.measures import catalogue
from bodyshop.output.terminal.tables import catalogue_table

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments: none."""


def run(options: argparse.Namespace, console: Console) -> Exit:  # noqa: ARG001
    """Print the catalogue."""
    console.write(catalogue_table(catalogue(), width=console.width, ink=console.ink))
    return Exit.PASSES

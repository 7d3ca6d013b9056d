"""`bodyshop measures`: the catalogue that rules name their measures from."""

from __future__ import annotations

import argparse

from bodyshop.cli.console import Console
from bodyshop.cli.exits import Exit
from bodyshop.cli.parser import Parser
from bodyshop.measures import catalogue
from bodyshop.report.measure_table import catalogue_table

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments: none."""


def run(options: argparse.Namespace, console: Console) -> Exit:  # noqa: ARG001
    """Print the catalogue."""
    console.write(catalogue_table(catalogue(), width=console.width, ink=console.ink))
    return Exit.PASSES

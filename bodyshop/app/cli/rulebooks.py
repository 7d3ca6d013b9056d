"""`bodyshop rulebooks`: the rulebooks that come with the program."""

from __future__ import annotations

import argparse

from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser
from bodyshop.foundation.text.columns import wrap
from bodyshop.foundation.text.small_words import number_words
from bodyshop.rules.checking import DEFAULT_RULEBOOK
from bodyshop.rules.rulebook import find_rulebook, read_rulebook, shipped_rulebooks

__all__ = ["configure", "run"]


def configure(parser: Parser) -> None:
    """Add the command's arguments: none."""


def run(options: argparse.Namespace, console: Console) -> Exit:  # noqa: ARG001
    """Print name, size and note of each."""
    lines: list[str] = []
    for name in shipped_rulebooks():
        book = read_rulebook(find_rulebook(name))
        default = ", the default" if name == DEFAULT_RULEBOOK else ""
        size = f"{number_words(len(book.rules), 'rule')} in {book.unit.symbol}{default}"
        lines.append(console.ink.strong(name) + f"  {book.name}: {size}")
        lines += wrap(book.note, console.width, "    ") if book.note else []
    console.write("\n".join(lines) + "\n")
    return Exit.PASSES

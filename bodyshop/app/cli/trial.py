"""`bodyshop trial`: the trial book, from a new one to what it says of a car."""

from __future__ import annotations

import argparse
from typing import Final, Protocol

from bodyshop.app.cli import trial_book, trial_check, trial_entry, trial_meaning, trial_show
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser

__all__ = ["configure", "run"]


class _Part(Protocol):
    """A module that does some of the verbs."""

    VERBS: frozenset[str]

    def configure(self, parser: Parser) -> None: ...

    def run(self, options: argparse.Namespace, console: Console) -> Exit: ...


_PARTS: Final[tuple[_Part, ...]] = (trial_book, trial_entry, trial_show, trial_meaning, trial_check)
"""In the order of the help. A new group of verbs is a module of its own and an entry here."""


def configure(parser: Parser) -> None:
    """Add the verbs of all parts."""
    for part in _PARTS:
        part.configure(parser)


def run(options: argparse.Namespace, console: Console) -> Exit:
    """Do what the verb says."""
    part = next(part for part in _PARTS if options.verb in part.VERBS)
    return part.run(options, console)

"""What a command does: a function with the arguments that it declares, or several of them by a verb."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass

from bodyshop.app.cli.arguments import Argument
from bodyshop.app.cli.console import Console, Exit
from bodyshop.app.cli.parser import Parser

__all__ = ["Action", "Verbs", "Work", "action", "verb"]

Work = Callable[[argparse.Namespace, Console], Exit | None]
"""Does it; nothing returned means that all went well. May raise `ProblemsError`, `WriteRefusedError`."""


@dataclass(frozen=True, slots=True)
class Action:
    """A function and its arguments; as a verb of a command with its name and the words of its help."""

    work: Work
    arguments: tuple[Argument | Callable[[], Argument], ...]
    name: str = ""
    summary: str = ""
    description: str = ""

    def configure(self, parser: Parser) -> None:
        """Add the arguments; those that take something to load are made only now."""
        for declared in self.arguments:
            argument = declared if isinstance(declared, Argument) else declared()
            parser.add_argument(*argument.names, **argument.how)  # type: ignore[arg-type]

    def run(self, options: argparse.Namespace, console: Console) -> Exit:
        """Do it."""
        return self.work(options, console) or Exit.PASSES


class Verbs:
    """The verbs of a command, in the order of its help."""

    def __init__(self, *verbs: Action) -> None:
        self._verbs = {each.name: each for each in verbs}

    def configure(self, parser: Parser) -> None:
        """Add the verbs, each with its arguments."""
        for each in self._verbs.values():
            each.configure(parser.add_verb(each.name, each.summary, each.description))

    def run(self, options: argparse.Namespace, console: Console) -> Exit:
        """Do what the verb says."""
        return self._verbs[options.verb].run(options, console)


def action(*arguments: Argument | Callable[[], Argument]) -> Callable[[Work], Action]:
    """Makes a function what a command does."""
    return lambda work: Action(work, arguments)


def verb(
    name: str, summary: str, description: str, *arguments: Argument | Callable[[], Argument]
) -> Callable[[Work], Action]:
    """Makes a function a verb of a command."""
    return lambda work: Action(work, arguments, name, summary, description)

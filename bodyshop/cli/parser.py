"""Arguments read with argparse, and slips in them told in a sentence with the nearest word."""

from __future__ import annotations

import argparse
from collections.abc import Iterable, Sequence
from typing import Final, NoReturn

from bodyshop.problems import nearest

__all__ = ["Parser", "UsageError", "one_of"]

_UNKNOWN: Final = "unrecognized arguments: "


class UsageError(Exception):
    """A command line that makes no sense. `command` is what was being run."""

    def __init__(self, command: str, message: str) -> None:
        self.command = command
        self.message = message
        super().__init__(f"{command}: {message}")


class Parser(argparse.ArgumentParser):
    """An argparse parser that raises instead of leaving, and takes no shortened options."""

    def __init__(self, command: str, description: str, width: int) -> None:
        def formatter(prog: str) -> argparse.HelpFormatter:
            return argparse.RawDescriptionHelpFormatter(prog, width=width, max_help_position=26)

        super().__init__(
            prog=f"bodyshop {command}",
            description=description,
            formatter_class=formatter,
            allow_abbrev=False,
            add_help=False,
        )
        self.color = False  # later versions of argparse colour their help on their own
        self.add_argument("-h", "--help", action="store_true", help="show this and stop")

    def error(self, message: str) -> NoReturn:
        """Raise a `UsageError`, with the nearest option where one was misspelt."""
        if message.startswith(_UNKNOWN):
            word = message.removeprefix(_UNKNOWN).split(" ")[0].partition("=")[0]
            message = f'"{word}" means nothing here'
            options = [option for action in self._actions for option in action.option_strings]
            close = nearest(word, options) if word.startswith("-") else ""
            message += f"; did you mean {close}?" if close else ""
        raise UsageError(self.prog, message.replace("the following arguments are required: ", "please name "))

    def read(self, arguments: Sequence[str]) -> argparse.Namespace | None:
        """The options, or None when help is asked for. Raises `UsageError`."""
        if any(word in ("-h", "--help") for word in _before(arguments, "--")):
            return None
        return self.parse_args(arguments)


def _before(words: Sequence[str], end: str) -> Sequence[str]:
    return words[: words.index(end)] if end in words else words


def one_of(names: Iterable[str], what: str) -> type[str]:
    """A converter for argparse that takes one of some names, in any case, and tells the nearest."""
    known = list(names)

    def convert(text: str) -> str:
        word = text.strip().casefold()
        if word in known:
            return word
        close = nearest(word, known)
        hint = f"did you mean {close}?" if close else f"there are {', '.join(known)}"
        raise argparse.ArgumentTypeError(f'there is no {what} "{text}"; {hint}')

    return convert  # type: ignore[return-value]  # argparse calls it as it calls a type

"""Arguments read with argparse, and slips in them told in a sentence with the nearest word."""

from __future__ import annotations

import argparse
import re
from collections.abc import Iterable, Sequence
from typing import Final, NoReturn

from bodyshop.foundation.problems import nearest
from bodyshop.foundation.text.columns import wrap
from bodyshop.foundation.text.small_words import listed

__all__ = ["Parser", "UsageError", "one_of", "some_of"]

_UNKNOWN: Final = "unrecognized arguments: "
_MANY: Final = ("*", "+")


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
        self._width = width
        self._command = command
        self._verbs: dict[str, Parser] = {}
        self._group: argparse._SubParsersAction[Parser] | None = None
        self._asked: Parser | None = None

    def add_verb(self, name: str, summary: str, description: str = "") -> Parser:
        """The parser of one of several things that a command does: `bodyshop race predict`.

        The word goes into the option `verb`. Not to be mixed with positional arguments of the command's own.
        """
        if self._group is None:
            # argparse asks the class for no more than a call.
            self._group = self.add_subparsers(  # type: ignore[call-overload]
                dest="verb", metavar="VERB", required=True, parser_class=self._verb_parser
            )
        told = "\n".join(wrap(description or summary, self._width))
        verb = self._group.add_parser(name, help=summary, description=told)
        self._verbs[name] = verb
        return verb

    def _verb_parser(self, prog: str, description: str, **_: object) -> Parser:
        return Parser(prog.split(" ", 1)[1], description, self._width)

    def format_help(self) -> str:
        """The help; that of a verb where it was asked about."""
        return super().format_help() if self._asked is None else self._asked.format_help()

    def error(self, message: str) -> NoReturn:
        """Raise a `UsageError`, with the nearest option where one was misspelt."""
        if message.startswith(_UNKNOWN):
            word = message.removeprefix(_UNKNOWN).split(" ")[0].partition("=")[0]
            if re.match(r"-[0-9.,]", word):
                raise UsageError(self.prog, f'"{word}" begins with a minus, and nothing below 0 goes here')
            message = f'"{word}" means nothing here'
            options = [option for action in self._actions for option in action.option_strings]
            close = nearest(word, options) if word.startswith("-") else ""
            message += f"; did you mean {close}?" if close else ""
        raise UsageError(self.prog, message.replace("the following arguments are required: ", "please name "))

    def parse_known_args(  # type: ignore[override]  # argparse overloads it for namespaces of one's own
        self, args: Sequence[str] | None = None, namespace: argparse.Namespace | None = None
    ) -> tuple[argparse.Namespace, list[str]]:
        """As argparse does it; but plain words behind an option still belong to the words before it."""
        found, rest = super().parse_known_args(args, namespace)
        many = next((each for each in self._actions if not each.option_strings and each.nargs in _MANY), None)
        if many is not None and not any(word.startswith("-") for word in rest):
            before = getattr(found, many.dest) or []
            setattr(found, many.dest, [*before, *(self._get_value(many, word) for word in rest)])
            rest = []
        return found, rest

    def read(self, arguments: Sequence[str]) -> argparse.Namespace | None:
        """The options, or None when help is asked for. Raises `UsageError`."""
        verb = next((word for word in arguments if not word.startswith("-")), None) if self._verbs else None
        if any(word in ("-h", "--help") for word in _before(arguments, "--")):
            self._asked = self._verbs.get(verb or "")
            return None
        if verb is not None and verb not in self._verbs:
            close = nearest(verb, self._verbs)
            hint = f"did you mean {close}?" if close else f"there are {', '.join(self._verbs)}"
            self.error(f'{self._command} has no verb "{verb}"; {hint}')
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


def some_of(names: Sequence[str], unknown: str, none: str) -> type[tuple[str, ...]]:
    """A converter for argparse that takes some of the names with commas between, and tells the nearest.

    `unknown` is what to say of another, with `{}` for it, and `none` of no name at all. They come in the
    order of `names`.
    """

    def convert(text: str) -> tuple[str, ...]:
        words = {word.strip().casefold() for word in text.split(",") if word.strip()}
        for word in sorted(words - set(names)):
            close = nearest(word, names)
            hint = f"did you mean {close}?" if close else f"there are {listed(names)}"
            raise argparse.ArgumentTypeError(f"{unknown.format(word)}; {hint}")
        if not words:
            raise argparse.ArgumentTypeError(f"{none}; there are {listed(names)}")
        return tuple(name for name in names if name in words)

    return convert  # type: ignore[return-value]  # argparse calls it as it calls a type

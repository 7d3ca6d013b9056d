"""The console: what is printed where, progress, and exit codes."""

from __future__ import annotations

import argparse
import codecs
import errno
import io
import os
import sys
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING, Final, Self, TextIO

from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import LEAST_WIDTH, MOST_WIDTH, PAGE_WIDTH, clip, pad, printable, wrap

if TYPE_CHECKING:
    from bodyshop.foundation.problems import Problem
    from bodyshop.output.json.document import Document

__all__ = ["Console", "Exit", "LostOutputError", "Progress", "answer", "process_console"]


class Exit(IntEnum):
    """Exit codes of every command."""

    PASSES = 0
    """The design passes; or the command did what it was asked."""
    FAILS = 1
    """The design can be read, and breaks a rule."""
    UNREADABLE = 2
    """Something cannot be read, judged or written, or the command line makes no sense."""
    STOPPED = 130
    """Stopped from the keyboard."""


_SPELT: Final = {
    "−": "-",
    "–": "-",
    "—": "-",
    "×": "x",
    "±": "+/-",
    "°": " deg",
    "²": "2",
    "³": "3",
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "’": "'",
    "…": "...",
    "→": "->",
    "·": "-",
    "Ø": "dia. ",
    "√": "root of ",
}
"""How our own signs are spelt on a console whose code page lacks them."""

_HANDLER: Final = "bodyshop-spelt"


class LostOutputError(Exception):
    """Words for the output could not be written, for a reason that is not a closed pipe."""


@dataclass
class Console:
    """Where a run writes. `closed` is set once the reader of the output has gone away."""

    out: TextIO
    err: TextIO
    width: int = PAGE_WIDTH
    ink: TextStyle = field(default_factory=TextStyle)
    err_ink: TextStyle = field(default_factory=TextStyle)
    err_is_terminal: bool = False
    closed: bool = False

    def write(self, text: str) -> None:
        """Results, to the standard output.

        Raises `LostOutputError` when they cannot be written, for instance on a full disk.
        """
        if self.closed:
            return
        try:
            self.out.write(text)
            self.out.flush()
        except OSError as error:
            if not _is_gone(error):
                raise LostOutputError(os.strerror(error.errno).lower() if error.errno else "") from None
            self.closed = True
            _silence(self.out)

    def ask(self) -> str | None:
        """A line from the standard input, without its end; None where there are no more."""
        if sys.stdin is None:
            return None
        try:
            line = sys.stdin.readline()
        except (OSError, UnicodeDecodeError):
            return None
        return line.rstrip("\r\n") if line else None

    def confirm(self, question: str = "Is it so? yes or no: ") -> bool:
        """Whether the answer typed is yes."""
        self.write(question)
        return (self.ask() or "").strip().casefold() in ("y", "yes")

    def complain(self, text: str) -> None:
        """Problems and progress, to the standard error; lost in silence where nobody listens."""
        try:
            self.err.write(text)
            self.err.flush()
        except (OSError, ValueError):
            _silence(self.err)

    def tell(self, words: str, first: str = "", rest: str = "", *, err: bool = False) -> None:
        """A sentence or more, wrapped: `first` stands before the first line, `rest` before the others."""
        text = "\n".join(wrap(printable(words), self.width, first, rest)) + "\n"
        (self.complain if err else self.write)(text)

    def warn(self, problems: Iterable[Problem]) -> None:
        """Problems in what the user gave us, to the standard error; nothing where there are none."""
        from bodyshop.output.terminal.problems import problems_report

        told = tuple(problems)
        if told:
            self.complain(problems_report(told, width=self.width, ink=self.err_ink))

    def write_json(self, document: Document) -> None:
        """A result for another program."""
        from bodyshop.output.json.document import json_text

        self.write(json_text(document))


def answer(
    console: Console,
    options: argparse.Namespace,
    data: Callable[[], Document],
    text: Callable[..., str],
) -> None:
    """What a command found out: JSON for other programs where `--json` asks for it, else words."""
    if options.json:
        console.write_json(data())
    else:
        console.write(text(width=console.width, ink=console.ink))


def process_console(environment: Mapping[str, str] | None = None) -> Console:
    """The console of this process, its streams made able to take any letter."""
    environment = os.environ if environment is None else environment
    codecs.register_error(_HANDLER, _spelt)
    # A program started without a console on Windows has no streams.
    out = sys.stdout if sys.stdout is not None else io.StringIO()
    err = sys.stderr if sys.stderr is not None else io.StringIO()
    for stream in (out, err):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors=_HANDLER)
    colour = _colour_wanted(environment)
    return Console(
        out,
        err,
        width=_width(out, environment),
        ink=TextStyle(colour and _is_terminal(out)),
        err_ink=TextStyle(colour and _is_terminal(err)),
        err_is_terminal=_is_terminal(err) and environment.get("TERM") != "dumb",
    )


def _spelt(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    encoding = error.encoding
    told = ""
    for char in error.object[error.start : error.end]:
        word = _SPELT.get(char, "?")
        with suppress(UnicodeEncodeError):
            word.encode(encoding)
            told += word
    return told, error.end


def _colour_wanted(environment: Mapping[str, str]) -> bool:
    """No colour where it is not wanted (see no-color.org) or may show as rubbish."""
    if environment.get("NO_COLOR") or environment.get("TERM") == "dumb":
        return False
    return os.name != "nt" or any(environment.get(name) for name in ("WT_SESSION", "ANSICON", "TERM"))


def _is_terminal(stream: TextIO) -> bool:
    try:
        return stream.isatty()
    except (OSError, ValueError):
        return False


def _width(out: TextIO, environment: Mapping[str, str]) -> int:
    told = environment.get("COLUMNS", "")
    if told.isdecimal() and int(told[:6]) > 0:
        columns = int(told[:6])
    else:
        columns = PAGE_WIDTH
        with suppress(OSError, ValueError, AttributeError):
            columns = os.get_terminal_size(out.fileno()).columns or PAGE_WIDTH
    return max(LEAST_WIDTH, min(columns, MOST_WIDTH))


def _is_gone(error: OSError) -> bool:
    """Whether the reader of a pipe went away: Windows says so with an invalid argument."""
    return isinstance(error, BrokenPipeError) or (os.name == "nt" and error.errno == errno.EINVAL)


def _silence(stream: TextIO) -> None:
    """Send what is still to come nowhere, so that closing the stream at the end does not complain."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        try:
            os.dup2(nowhere, stream.fileno())
        finally:
            os.close(nowhere)


_BAR = 12


class Progress:
    """Shares of a piece of work on the standard error.

    On a terminal one line is written over and over and taken away at the end; elsewhere each new step is
    a line of its own, so that a log stays readable, or nothing unless `log` is set. Use it in a `with`.
    """

    def __init__(self, console: Console, steps: int, *, log: bool = True) -> None:
        self._log = log
        self._console = console
        self._steps = max(1, steps)
        self._done = 0
        self._step = ""
        self._shown = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._console.err_is_terminal and self._shown:
            self._console.complain("\r" + " " * self._shown + "\r")

    def step(self, words: str) -> None:
        """Begin the next step."""
        self._done += 1 if self._step else 0
        self._step = words
        if self._console.err_is_terminal:
            self._draw(words, 0.0)
        elif self._log:
            self._console.complain(f"[{min(self._done + 1, self._steps)}/{self._steps}] {words}\n")

    def within(self, words: str, share: float) -> None:
        """How far the step has come, 0 to 1, and what it is at."""
        if self._console.err_is_terminal:
            self._draw(f"{self._step}: {words}" if words else self._step, share)

    def _draw(self, words: str, share: float) -> None:
        full = round(_BAR * min(1.0, (self._done + min(max(share, 0.0), 1.0)) / self._steps))
        text = clip(f"[{'#' * full}{'.' * (_BAR - full)}] {words}", self._console.width - 1)
        self._console.complain("\r" + pad(text, self._shown))
        self._shown = max(self._shown, len(text))

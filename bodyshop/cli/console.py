"""The two streams of a run: how wide, whether in colour, and what to do when they refuse."""

from __future__ import annotations

import codecs
import errno
import io
import os
import sys
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Final, TextIO

from bodyshop.report.columns import LEAST_WIDTH, MOST_WIDTH, PAGE_WIDTH
from bodyshop.report.ink import Ink

__all__ = ["Console", "LostOutputError", "process_console"]

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
    ink: Ink = field(default_factory=Ink)
    err_ink: Ink = field(default_factory=Ink)
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

    def complain(self, text: str) -> None:
        """Problems and progress, to the standard error; lost in silence where nobody listens."""
        try:
            self.err.write(text)
            self.err.flush()
        except (OSError, ValueError):
            _silence(self.err)


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
        ink=Ink(colour and _is_terminal(out)),
        err_ink=Ink(colour and _is_terminal(err)),
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

"""From the words typed to an exit code. Whatever happens, a person sees a sentence, never a traceback."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from typing import Final

from bodyshop import __version__
from bodyshop.app.cli.commands import COMMANDS
from bodyshop.app.cli.console import Console, Exit, LostOutputError, process_console
from bodyshop.app.cli.parser import Parser, UsageError
from bodyshop.foundation.files.names import is_file
from bodyshop.foundation.problems import ProblemsError, WriteRefusedError, nearest
from bodyshop.foundation.text.columns import pad, wrap

__all__ = ["DEBUG", "main"]

DEBUG: Final = "BODYSHOP_DEBUG"
"""Set to anything, this environment variable shows the traceback of a fault of our own."""


_ABOUT: Final = (
    "Bodies of wooden CO2 dragsters: designs are checked by a rulebook, weighed, "
    "and drawn at full size for the saw."
)
_MORE: Final = "bodyshop COMMAND --help tells more of a command, bodyshop --version which bodyshop this is."
_CODES: Final = {
    "0": "the design passes, or the command did what it was asked",
    "1": "the design breaks a rule",
    "2": "a file cannot be read, judged or written, or the command line makes no sense",
    "130": "stopped from the keyboard",
}
_ENVIRONMENT: Final = {
    "NO_COLOR": "set to anything: no colours",
    "COLUMNS": "width of the page, 60 to 100",
    DEBUG: "set to anything: show what went wrong inside the program",
}


_MADE_BEFORE_LOOKING: Final = 50_000


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program on the words behind its name; returns the exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    if arguments is None:
        # A run makes much and throws away little: looking for what to throw away costs a tenth of its time.
        gc.set_threshold(_MADE_BEFORE_LOOKING, 20, 50)
    console = process_console()
    try:
        return int(_run(words, console))
    except KeyboardInterrupt:
        console.complain("\nStopped.\n")
        return Exit.STOPPED
    except UsageError as error:
        console.tell(f"{error.command}: {error.message}", rest="  ", err=True)
        console.complain(f"Try: {error.command} --help\n")
    except ProblemsError as error:
        console.warn(error.problems)
    except WriteRefusedError as error:
        console.tell(f"{error.path} cannot be written: {error.reason}", rest="  ", err=True)
    except LostOutputError as error:
        console.tell(
            f"the output cannot be written ({error})" if str(error) else "the output cannot be written",
            rest="  ",
            err=True,
        )
    except Exception as error:  # noqa: BLE001 - the last one to catch it: nobody else would tell a person
        _apologise(console, words, error)
    return Exit.UNREADABLE


def _run(words: list[str], console: Console) -> Exit:
    first = words[0] if words else ""
    if first in ("-h", "--help", "help") and not words[1:]:
        console.write(_help(console.width))
        return Exit.PASSES
    if first == "--version":
        console.write(f"bodyshop {__version__}\n")
        return Exit.PASSES
    if not words:
        console.complain(_help(console.width))
        return Exit.UNREADABLE
    if first == "help":
        words = [*words[1:2], "--help"]
        first = words[0]
    command = COMMANDS.get(first)
    if command is None:
        close = nearest(first, COMMANDS)
        hint = f"did you mean {close}?" if close else "the commands are " + ", ".join(COMMANDS)
        raise UsageError("bodyshop", f'there is no command "{first}"; {hint}')
    description = "\n".join(wrap(command.description, console.width))
    parser = Parser(command.name, description, console.width)
    action = command.load()
    action.configure(parser)
    options = parser.read(words[1:])
    if options is None:
        console.write(parser.format_help())
        return Exit.PASSES
    return action.run(options, console)


def _help(width: int) -> str:
    lines = ["usage: bodyshop COMMAND ...", ""]
    lines += wrap(_ABOUT, width)
    lines += ["", "commands:"]
    for command in COMMANDS.values():
        lines += wrap(command.summary, width, f"  {pad(command.name, 11)} ")
    lines += ["", *wrap(_MORE, width)]
    lines += [
        "",
        "to begin:",
        "  bodyshop new wren",
        "  bodyshop check wren.toml",
        "  bodyshop make wren.toml",
    ]
    for heading, table in (("exit codes", _CODES), ("environment", _ENVIRONMENT)):
        column = max(len(name) for name in table)
        lines += ["", f"{heading}:"]
        for name, meaning in table.items():
            lines += wrap(meaning, width, f"  {pad(name, column)}  ")
    return "\n".join(lines) + "\n"


def _apologise(console: Console, words: list[str], error: Exception) -> None:
    """A fault of our own: say so in a few lines, and what would help to mend it."""
    if os.environ.get(DEBUG):
        import traceback

        console.complain("".join(traceback.format_exception(error)))
        return
    files = [word for word in words[1:] if is_file(word)]
    send = f"{' and '.join(files)}, with " if files else ""
    console.tell(
        "Sorry: bodyshop has stumbled over a fault of its own. Your files are as they were. To help us "
        f"mend it, send {send}these lines and what you typed, to whoever gave you bodyshop:",
        rest="  ",
        err=True,
    )
    where = _place(error)
    console.tell(
        f"bodyshop {__version__}, Python {sys.version.split()[0]}, {sys.platform}", rest="  ", err=True
    )
    console.tell(f"{type(error).__name__}{where}: {str(error)[:400]}", rest="  ", err=True)
    console.tell(f"(With {DEBUG}=1 set, all of it is shown.)", rest="  ", err=True)


def _place(error: Exception) -> str:
    """The last place in our own code on the way to a fault."""
    found = ""
    trace = error.__traceback__
    while trace is not None:
        name = trace.tb_frame.f_globals.get("__name__", "")
        if isinstance(name, str) and name.startswith("bodyshop."):
            found = f" in {name}, line {trace.tb_lineno}"
        trace = trace.tb_next
    return found

"""Arguments of commands, each declared once: its name, what reads it, and its line of the help."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

from bodyshop.app.cli.console import Console
from bodyshop.app.cli.parser import one_of
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.text.columns import printable

__all__ = [
    "CALIBRATE",
    "CONFIRM",
    "DATE",
    "DESIGN",
    "DIVISION",
    "JSON",
    "NOTED",
    "OUT",
    "OWNER",
    "PRESSURE",
    "RULEBOOK",
    "TEMPERATURE",
    "Argument",
    "above_nothing",
    "book_file",
    "design_file",
    "expanded",
    "flag",
    "named",
    "operand",
    "option",
    "plain_name",
    "read_date",
    "sheet",
    "whole",
    "within",
]


@dataclass(frozen=True, slots=True)
class Argument:
    """One argument as argparse takes it: its names, and how it is read and explained."""

    names: tuple[str, ...]
    how: Mapping[str, object]


def flag(name: str, words: str) -> Argument:
    """`--name`, which is said or not."""
    return Argument((name,), {"action": "store_true", "help": words})


def option(
    name: str, metavar: str, words: str, read: Callable[[str], object] = str, **how: object
) -> Argument:
    """`--name VALUE`. One that is not said is empty where it is a plain text, else None."""
    default = "" if read is str else None
    return Argument((name,), {"metavar": metavar, "type": read, "default": default, "help": words, **how})


def operand(
    name: str, metavar: str, words: str, read: Callable[[str], object] = str, **how: object
) -> Argument:
    """A word without a dash; `nargs` says how many, and one that may be left out is empty then."""
    usual: dict[str, object] = {"default": ""} if how.get("nargs") == "?" else {}
    return Argument((name,), {"metavar": metavar, "type": read, "help": words, **usual, **how})


# ---------------------------------------------------------------- what reads them


def above_nothing(what: str) -> Callable[[str], float]:
    """A converter for argparse that takes a number over 0."""
    return within(what, math.nextafter(0.0, 1.0), 1e7, "a number over 0")


def within(what: str, low: float, high: float, expected: str = "", unit: str = "") -> Callable[[str], float]:
    """A converter for argparse that takes a number from `low` to `high`, with its unit behind it or not."""

    def convert(text: str) -> float:
        try:
            value = float(text.strip().removesuffix(unit))
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            wanted = expected or f"a number from {low:g} to {high:g}"
            raise argparse.ArgumentTypeError(f'"{text}" is not {a(what)}; say {wanted}')
        return value

    return convert


def a(what: str) -> str:
    """The word with its article."""
    return f"{'an' if what[0] in 'aeiou' else 'a'} {what}"


def whole(what: str, low: int, high: int) -> Callable[[str], int]:
    """A converter for argparse that takes a whole number between two limits."""

    def convert(text: str) -> int:
        number = int(text) if text.isascii() and text.isdecimal() and len(text) < 17 else -1
        if not low <= number <= high:
            raise argparse.ArgumentTypeError(f'"{text}" is not {a(what)}; say {low} to {high}')
        return number

    return convert


def named(what: str) -> Callable[[str], Path]:
    """A converter for argparse that takes the place of a file or folder."""

    def convert(text: str) -> Path:
        if not text.strip() or "\0" in text:
            raise argparse.ArgumentTypeError(f"no {what} is named")
        return Path(text)

    return convert


_LONGEST_NAME: Final = 60


def plain_name(text: str, thing: str) -> str:
    """What a person calls a new `thing`, whose file goes into the current folder.

    Raises `argparse.ArgumentTypeError` for a name that is none, a path, or not fit to be printed.
    """
    name = text.strip()
    if not name:
        raise argparse.ArgumentTypeError(f"the {thing} needs a name")
    if not name.isprintable() or len(name) > _LONGEST_NAME:
        raise argparse.ArgumentTypeError(f"the name has at most {_LONGEST_NAME} letters that can be printed")
    if "/" in name or "\\" in name:
        raise argparse.ArgumentTypeError(
            f'"{text}" is a path; name the {thing} alone, its file goes into the current folder'
        )
    return name


def read_date(text: str) -> date:
    """A converter for argparse: `today`, or a day as 2031-05-14."""
    if text.strip().casefold() == "today":
        return datetime.now(tz=UTC).astimezone().date()
    try:
        return date.fromisoformat(text.strip())
    except ValueError:
        raise argparse.ArgumentTypeError(
            f'"{printable(text)}" is not a date; say today, or a date as 2031-05-14'
        ) from None


def _owner(text: str) -> str:
    if not text.isprintable() or len(text) > _LONGEST_NAME:
        raise argparse.ArgumentTypeError(f"the owner has at most {_LONGEST_NAME} letters that can be printed")
    return text.strip()


def _free_sheet(text: str) -> str:
    from bodyshop.drawing.sheet.paper import sheet_size
    from bodyshop.foundation.problems import ProblemsError

    try:
        return sheet_size(text).id
    except ProblemsError as error:
        raise argparse.ArgumentTypeError(error.problems[0].sentence) from None


def _moment(text: str) -> datetime:
    from bodyshop.records.book.csv_table import CellError, read_moment_cell

    try:
        return read_moment_cell(text)
    except CellError as error:
        raise argparse.ArgumentTypeError(f"{error.message}; say {error.expected}") from None


# ---------------------------------------------------------------- what several commands take

DESIGN: Final = operand("design", "DESIGN", "a design file, or the name of a shipped sample")
RULEBOOK: Final = option(
    "--rulebook",
    "NAME",
    "the rulebook to use instead of the design's own: a shipped name or the path of a file",
)
DIVISION: Final = option("--division", "NAME", "the division of the event, where its rulebook has any")
JSON: Final = flag("--json", "print JSON for other programs instead")
OUT: Final = option(
    "--out",
    "FOLDER",
    "the folder to write into (default: templates_out and the name of the design file)",
    named("folder"),
)
CALIBRATE: Final = Argument(
    ("--calibrate",),
    {
        "metavar": ("X", "Y"),
        "nargs": 2,
        "help": "what the check bars X and Y of a sheet printed at actual size measure on the paper (100 mm "
        "or 4 in each when the printer is true): PDF and SVG are corrected for that printer, and say so",
    },
)
DATE: Final = option(
    "--date",
    "DATE",
    "the date on the sheets: today, or as 2031-05-14 (default: a line to write it on, so that the "
    "same design makes the same files on any day)",
    read_date,
)
OWNER: Final = option("--owner", "TEXT", "the school or workshop", _owner, default="")
TEMPERATURE: Final = option("--temperature", "C", "of the air, °C", within("temperature", -50, 60))
PRESSURE: Final = option("--pressure", "HPA", "of the air, hPa", within("pressure", 300, 1200))
CONFIRM: Final = flag("--confirm", "save it anyway; the warning is saved with it")
NOTED: Final = (
    option("--at", "MOMENT", "when it was measured, as 2031-05-14T10:30 (default: now)", _moment),
    option("--by", "TEXT", "who measured: a bench, initials"),
    option("--note", "TEXT", "anything else that matters"),
)


def sheet(*, free: bool = False) -> Argument:
    """--sheet SIZE; `free` lets it be a size of one's own or a roll, which `sheet_size` understands."""
    from bodyshop.drawing.sheet.paper import FREE_FORMS, sheet_sizes

    names = list(sheet_sizes())
    more = f", or a size such as {FREE_FORMS}" if free else ""
    return option(
        "--sheet",
        "SIZE",
        f"the paper: {', '.join(names)}{more} (default: a4, or letter for a rulebook in inches)",
        _free_sheet if free else one_of(names, "sheet"),
    )


def book_file() -> Argument:
    """--book FILE, a trial book."""
    from bodyshop.records.book.model import DEFAULT_BOOK

    return option(
        "--book", "FILE", f"the trial book (default: {DEFAULT_BOOK} in this folder)", default=DEFAULT_BOOK
    )


# ---------------------------------------------------------------- the files that they name


def design_file(name: str, console: Console) -> Path:
    """The file of a design; says so when it is a sample that comes with the program.

    Raises:
        ProblemsError: there is none of that name.
    """
    # Not every command that shares these arguments measures cars itself.
    from bodyshop.rules.checking import find_design

    path, shipped = find_design(name)
    if shipped:
        console.complain(f'No file "{name}" here, so this is the built-in sample {path.stem}.\n')
    return path


def expanded(names: Iterable[str]) -> Iterator[str]:
    """Names with `*` and `?` filled in where no shell has done so, as on Windows."""
    for name in names:
        found: list[str] = []
        if any(mark in name for mark in "*?") and not is_there(name):
            from glob import glob

            found = sorted(glob(name))  # noqa: PTH207 - keeps the path as typed
        yield from found or [name]

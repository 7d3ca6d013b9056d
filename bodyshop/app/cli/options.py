"""Options that several commands share."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Iterable, Iterator
from datetime import UTC, date, datetime
from pathlib import Path

from bodyshop.app.cli.console import Console
from bodyshop.app.cli.parser import Parser, one_of
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.text.columns import printable

__all__ = [
    "above_nothing",
    "add_calibrate",
    "add_design",
    "add_division",
    "add_json",
    "add_out",
    "add_rulebook",
    "add_sheet",
    "design_file",
    "expanded",
    "plain_name",
    "read_date",
    "within",
]


def above_nothing(what: str) -> Callable[[str], float]:
    """A converter for argparse that takes a number over 0."""
    return within(what, math.nextafter(0.0, 1.0), 1e7, "a number over 0")


def within(what: str, low: float, high: float, expected: str = "") -> Callable[[str], float]:
    """A converter for argparse that takes a number from `low` to `high`."""

    def convert(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = math.nan
        if not low <= value <= high:
            wanted = expected or f"a number from {low:g} to {high:g}"
            raise argparse.ArgumentTypeError(f'"{text}" is no {what}; say {wanted}')
        return value

    return convert


_LONGEST_NAME = 60


def add_design(parser: Parser) -> None:
    """DESIGN: one design."""
    parser.add_argument("design", metavar="DESIGN", help="a design file, or the name of a shipped sample")


def add_rulebook(parser: Parser) -> None:
    """--rulebook FILE."""
    parser.add_argument(
        "--rulebook",
        metavar="NAME",
        default="",
        help="the rulebook to use instead of the design's own: a shipped name or the path of a file",
    )


def add_division(parser: Parser) -> None:
    """--division NAME."""
    parser.add_argument(
        "--division", metavar="NAME", default="", help="the division of the event, where its rulebook has any"
    )


def add_json(parser: Parser) -> None:
    """--json."""
    parser.add_argument("--json", action="store_true", help="print JSON for other programs instead")


def add_sheet(parser: Parser, *, free: bool = False) -> None:
    """--sheet SIZE; `free` lets it be a size of one's own or a roll, which `sheet_size` understands."""
    from bodyshop.drawing.sheet.paper import FREE_FORMS, sheet_sizes

    names = list(sheet_sizes())
    more = f", or a size such as {FREE_FORMS}" if free else ""
    parser.add_argument(
        "--sheet",
        metavar="SIZE",
        type=_free_sheet if free else one_of(names, "sheet"),
        default=None,
        help=f"the paper: {', '.join(names)}{more} (default: a4, or letter for a design in inches)",
    )


def _free_sheet(text: str) -> str:
    from bodyshop.drawing.sheet.paper import sheet_size
    from bodyshop.foundation.problems import ProblemsError

    try:
        return sheet_size(text).id
    except ProblemsError as error:
        raise argparse.ArgumentTypeError(error.problems[0].sentence) from None


def add_calibrate(parser: Parser) -> None:
    """--calibrate X Y."""
    parser.add_argument(
        "--calibrate",
        metavar=("X", "Y"),
        nargs=2,
        default=None,
        help="what the check bars X and Y of a sheet printed at actual size measure on the paper (100 mm or "
        "4 in each when the printer is true): PDF and SVG are corrected for that printer, and say so",
    )


def add_out(parser: Parser) -> None:
    """--out FOLDER."""
    parser.add_argument(
        "--out",
        metavar="FOLDER",
        type=_folder,
        default=None,
        help="the folder to write into (default: templates_out and the name of the design file)",
    )


def _folder(text: str) -> Path:
    if not text.strip() or "\0" in text:
        raise argparse.ArgumentTypeError("no folder is named")
    return Path(text)


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


def design_file(name: str, console: Console) -> Path:
    """The file of a design; says so when it is a sample that comes with the program.

    Raises:
        ProblemsError: there is none of that name.
    """
    # Not every command that shares these arguments measures cars itself.
    from bodyshop.rules.checking import find_design

    path, shipped = find_design(name)
    if shipped:
        console.complain(
            f"There is no {name} here: this is the sample {path.stem} that comes with bodyshop.\n"
        )
    return path


def expanded(names: Iterable[str]) -> Iterator[str]:
    """Names with `*` and `?` filled in where no shell has done so, as on Windows."""
    for name in names:
        found: list[str] = []
        if any(mark in name for mark in "*?") and not is_there(name):
            from glob import glob

            found = sorted(glob(name))  # noqa: PTH207 - keeps the path as typed
        yield from found or [name]

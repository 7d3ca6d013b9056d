"""What the verbs of `bodyshop trial` have in common: the book, and arguments that several of them share."""

from __future__ import annotations

import argparse
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from bodyshop.app.cli.console import Console
from bodyshop.app.cli.parser import Parser
from bodyshop.foundation.text.columns import printable, wrap
from bodyshop.records.book.model import DEFAULT_BOOK

if TYPE_CHECKING:
    from bodyshop.records.book.book import Book

__all__ = ["add_book", "add_confirm", "add_noted", "open_book", "refuse_doubtful", "tell"]


def add_book(parser: Parser) -> None:
    """--book FILE."""
    parser.add_argument(
        "--book",
        metavar="FILE",
        default=DEFAULT_BOOK,
        help=f"the trial book (default: {DEFAULT_BOOK} in this folder)",
    )


def add_confirm(parser: Parser) -> None:
    """--confirm."""
    parser.add_argument(
        "--confirm",
        action="store_true",
        help="store it although it was asked about: it is so; the doubt is kept with the record",
    )


def add_noted(parser: Parser) -> None:
    """--at, --by and --note."""
    parser.add_argument(
        "--at",
        metavar="MOMENT",
        type=_moment,
        default=None,
        help="when it was measured, as 2031-05-14T10:30 (default: now)",
    )
    parser.add_argument("--by", metavar="TEXT", default="", help="who measured: a bench, initials")
    parser.add_argument("--note", metavar="TEXT", default="", help="anything else that matters")


def _moment(text: str) -> datetime:
    from bodyshop.records.book.csv_table import CellError, read_moment_cell

    try:
        return read_moment_cell(text)
    except CellError as error:
        raise argparse.ArgumentTypeError(f"{error.message}; say {error.expected}") from None


def open_book(name: str, console: Console) -> Book:
    """The book, with a word when it was brought to a newer form.

    Raises:
        ProblemsError: it cannot be read.
        WriteRefusedError: it would have to be written and cannot be.
    """
    from bodyshop.records.book.book import Book

    book = Book.open(Path(name))
    if book.migrated_from is not None and book.backup is not None:
        words = (
            f"{printable(name)} was of an older form and is brought up to date; a copy of it as it was is "
            f"{printable(book.backup.name)}."
        )
        tell(console, words, to_err=True)
    return book


def tell(console: Console, words: str, *, to_err: bool = False) -> None:
    """A sentence or two, wrapped."""
    text = "\n".join(wrap(printable(words), console.width, "", "  ")) + "\n"
    (console.complain if to_err else console.write)(text)


def refuse_doubtful(console: Console, asked: tuple[str, ...], what: str) -> None:
    """Say what was asked about a record, and how to store it all the same."""
    lines: list[str] = []
    for ask in asked:
        lines += wrap(printable(ask), console.width, "? ", "  ")
    lines += wrap(
        f"{what} is not stored. If it is so, say it once more with --confirm: it is stored then, and the "
        "doubt with it.",
        console.width,
    )
    console.complain("\n".join(lines) + "\n")

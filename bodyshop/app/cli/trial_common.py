"""What commands that use the trial book have in common."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from bodyshop.app.cli.console import Console
from bodyshop.foundation.text.columns import printable, wrap

if TYPE_CHECKING:
    from bodyshop.records.book.book import Book

__all__ = ["open_book", "refuse_doubtful"]


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
        console.tell(words, rest="  ", err=True)
    return book


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

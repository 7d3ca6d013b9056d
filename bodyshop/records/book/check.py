"""A whole look at a book: its pages, and whether every record is as it was entered."""

from __future__ import annotations

from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from bodyshop.records.book.database_file import damaged, form_in, look_at, page_faults
from bodyshop.records.book.hash_chain import BrokenLink, ChainReport, examine
from bodyshop.records.book.migrations import columns_in, columns_now, newest
from bodyshop.records.book.store import DamagedError, connect, told

__all__ = ["SHORT", "BookCheck", "check_book"]

SHORT = 16
"""So many letters of a hash are written down as the code of a book."""


@dataclass(frozen=True, slots=True)
class BookCheck:
    """What a whole look found. `since` is how many records came in after the one that a code was of; None
    where no code was asked about.
    """

    form: int
    records: int
    end: str
    faults: tuple[BrokenLink, ...]
    since: int | None = None

    @property
    def code(self) -> str:
        """What to write down of the chain: the beginning of the last record's hash."""
        return self.end[:SHORT]


def check_book(path: Path, code: str = "") -> BookCheck:
    """Look a book over without changing anything. `code` is one that was written down earlier.

    Raises:
        ProblemsError: it cannot be read, or is no book.
    """
    name = str(path)
    look_at(path, name)
    try:
        with told(name), closing(connect(path, write=False)) as connection:
            form = form_in(connection, name)
            pages = page_faults(connection)
            fits = form != newest() or columns_in(connection) == columns_now()
            found = examine(connection)
    except DamagedError as error:
        raise damaged(path, error) from None
    faults = (*(BrokenLink("", None, f"the file is damaged: {said}") for said in pages), *found.faults)
    if not fits:
        message = f"it says that it is of form {form}, and its tables are not those of that form"
        faults = (BrokenLink("", None, message), *faults)
    since = _since(found, code) if code else None
    if code and since is None:
        faults += (BrokenLink("", None, f"no record of the book has the code {code}"),)
    return BookCheck(form, found.records, found.end, faults, since)


def _since(found: ChainReport, code: str) -> int | None:
    """How many records came in after the one with a code; None where there is none."""
    wanted = "".join(code.split()).casefold()
    for place, own in enumerate(found.hashes, 1):
        if own.startswith(wanted):
            return found.records - place
    return None

"""A class checked, on every processor where that is quicker."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Final

from bodyshop.foundation.problems import Problem
from bodyshop.foundation.workers import Task, worked
from bodyshop.records.classroom.discovery import AppliedRulebook, CheckOptions, ClassFile, Row, UnreadRow

__all__ = ["CheckedFile", "Done", "check_files", "check_one", "program_fault", "ready_to_check"]

CHUNK: Final = 8
"""Files sent to a process at a time: a tenth of a second of work."""

_ENOUGH: Final = 30
"""Files that make one more process worth its start."""

Done = Callable[[int, int], None]
"""Called with how many files of how many are done."""

CheckedFile = tuple[Row, AppliedRulebook | None]
"""A file's row, and the book that a car was judged by."""


def check_files(
    files: Sequence[ClassFile], options: CheckOptions, *, jobs: int | None = None, done: Done | None = None
) -> tuple[list[Row], dict[str, AppliedRulebook]]:
    """A row for every file, in their order, and the books by key.

    `jobs` is how many processes may work, 1 meaning this one alone; as many as pay off when it is None.

    Raises:
        ProblemsError: the rulebook that `options` ask for cannot be used.
    """
    task = Task(partial(check_one, options=options), _failed, ready_to_check, _ENOUGH, CHUNK)
    rows: list[Row] = []
    books: dict[str, AppliedRulebook] = {}
    for row, book in worked(files, task, jobs):
        rows.append(row)
        if book is not None:
            books[book.key] = book
        if done is not None:
            done(len(rows), len(files))
    return rows, books


def check_one(entry: ClassFile, options: CheckOptions) -> CheckedFile:
    """One file checked in this process.

    Raises:
        ProblemsError: the rulebook asked for cannot be used.
    """
    # What a car takes is loaded by the processes that check cars, not by the one that waits for them.
    from bodyshop.records.classroom.check_file import checker

    return checker(options).row(entry)


def ready_to_check() -> None:
    """Load all that cars are measured with."""
    from bodyshop.records.classroom import check_file  # noqa: F401


def program_fault(entry: ClassFile, what: str) -> Problem:
    """The problem of a file that our own program cannot deal with."""
    return Problem(
        "program-fault", f"bodyshop has stumbled over a fault of its own here ({what})", entry.path
    )


def _failed(entry: ClassFile, what: str) -> CheckedFile:
    return UnreadRow(entry.shown, (program_fault(entry, what),), 1), None

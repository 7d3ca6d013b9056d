"""The papers of a class, drawn on every processor."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Final

from bodyshop.classpapers.model import Made, PapersAsked, Unmade
from bodyshop.classwork.found import Entry
from bodyshop.classwork.pool import pooled, processors
from bodyshop.problems import Problem

__all__ = ["make_papers", "papers_batch"]

_ENOUGH: Final = 4
"""Cars that make one more process worth its start."""

_MOST_JOBS: Final = 60
"""Windows waits for no more than 61 processes at once."""

Done = Callable[[int, int], None]
"""Told how many files of how many are done."""


def make_papers(
    files: Sequence[Entry], asked: PapersAsked, *, jobs: int | None = None, done: Done | None = None
) -> list[Made]:
    """What comes of every file, in their order.

    `jobs` is how many processes may work, 1 meaning this one alone; as many as pay off when it is None.
    """
    count = min(processors(), len(files) // _ENOUGH) if jobs is None else jobs
    count = min(count, len(files), _MOST_JOBS)
    work = partial(papers_batch, asked=asked)
    chunks = [(number, (entry,)) for number, entry in enumerate(files)]
    made: dict[int, Made] = {}
    results = pooled(chunks, work, _lost, count) if count > 1 else _here(chunks, work)
    for number, batch in results:
        made.update(enumerate(batch, number))
        if done is not None:
            done(len(made), len(files))
    return [made[number] for number in range(len(files))]


def papers_batch(files: tuple[Entry, ...], asked: PapersAsked) -> list[Made]:
    """Some files in this process. A fault of our own with one car does not stop the others."""
    # What a car takes is loaded by the processes that draw cars, not by the one that waits for them.
    from bodyshop.classpapers.one import made_papers

    made: list[Made] = []
    for entry in files:
        try:
            made.append(made_papers(entry, asked))
        except Exception as error:  # noqa: BLE001 - one car must not cost the whole class its papers
            made.append(_stumbled(entry, f"{type(error).__name__}: {str(error)[:200]}"))
    return made


def _here(
    chunks: Sequence[tuple[int, tuple[Entry, ...]]], work: Callable[[tuple[Entry, ...]], list[Made]]
) -> Iterator[tuple[int, list[Made]]]:
    for number, files in chunks:
        yield number, work(files)


def _lost(entry: Entry) -> list[Made]:
    return [_stumbled(entry, "the process that drew it came to an end")]


def _stumbled(entry: Entry, what: str) -> Unmade:
    problem = Problem(
        "program-fault", f"bodyshop has stumbled over a fault of its own here ({what})", entry.path
    )
    return Unmade(entry.shown, problem, 1)

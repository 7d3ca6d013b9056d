"""A class checked on every processor at once, or in this process where that is quicker or all there is.

Processes are spawned, not forked, so that it is the same on every system. They are sent paths and send
plain rows back; nothing of a car outlives its row, so memory does not grow with the class.
"""

from __future__ import annotations

import gc
import os
import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from itertools import islice
from multiprocessing import get_context
from typing import Final, TypeVar

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.records.classroom.discovery import AppliedRulebook, CheckOptions, ClassFile, Row, UnreadRow

__all__ = ["Batch", "Chunk", "check_batch", "check_files", "pooled", "processors"]

CHUNK: Final = 8
"""Files sent to a process at a time: a tenth of a second of work."""

_ENOUGH: Final = 30
"""Files that make one more process worth its start."""

_MOST_JOBS: Final = 60
"""Windows waits for no more than 61 processes at once."""

_AHEAD: Final = 2
"""Chunks on their way to each process, so that none has to wait for the next."""

Done = Callable[[int, int], None]
"""Told how many files of how many are done."""


@dataclass(frozen=True, slots=True)
class Batch:
    """What came of some files, in their order; `refused` when the rulebook asked for cannot be used."""

    rows: tuple[Row, ...]
    books: tuple[AppliedRulebook, ...]
    refused: tuple[Problem, ...] = ()


def processors() -> int:
    """How many processes of ours can run at once on this machine."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def check_files(
    files: Sequence[ClassFile], options: CheckOptions, *, jobs: int | None = None, done: Done | None = None
) -> tuple[list[Row], dict[str, AppliedRulebook]]:
    """A row for every file, in their order, and the books by key.

    `jobs` is how many processes may work, 1 meaning this one alone; as many as pay off when it is None.

    Raises:
        ProblemsError: the rulebook that `options` ask for cannot be used.
    """
    count = min(processors(), len(files) // _ENOUGH) if jobs is None else jobs
    count = min(count, len(files), _MOST_JOBS)
    chunks = [(start, tuple(files[start : start + CHUNK])) for start in range(0, len(files), CHUNK)]
    rows: dict[int, Row] = {}
    books: dict[str, AppliedRulebook] = {}
    work = partial(check_batch, options=options)
    batches = pooled(chunks, work, _lost, count) if count > 1 else _here(files, options)
    for start, batch in batches:
        if batch.refused:
            raise ProblemsError(batch.refused)
        rows.update(enumerate(batch.rows, start))
        books.update((book.key, book) for book in batch.books)
        if done is not None:
            done(len(rows), len(files))
    return [rows[number] for number in range(len(files))], books


def check_batch(files: Sequence[ClassFile], options: CheckOptions) -> Batch:
    """Some files checked in this process. A fault of our own with one car does not stop the others."""
    # What a car takes is loaded by the processes that check cars, not by the one that waits for them.
    from bodyshop.records.classroom.check_file import checker

    by_options = checker(options)
    if by_options.refused:
        return Batch((), (), by_options.refused)
    rows: list[Row] = []
    books: dict[str, AppliedRulebook] = {}
    for entry in files:
        try:
            row, book = by_options.row(entry)
        except Exception as error:  # noqa: BLE001 - one car must not cost the whole class its evening
            row, book = _stumbled(entry, f"{type(error).__name__}: {str(error)[:200]}"), None
        rows.append(row)
        if book is not None:
            books[book.key] = book
    return Batch(tuple(rows), tuple(books.values()))


def _stumbled(entry: ClassFile, what: str) -> UnreadRow:
    problem = Problem(
        "program-fault", f"bodyshop has stumbled over a fault of its own here ({what})", entry.path
    )
    return UnreadRow(entry.shown, (problem,), 1)


def _here(files: Sequence[ClassFile], options: CheckOptions) -> Iterator[tuple[int, Batch]]:
    for number, entry in enumerate(files):
        yield number, check_batch([entry], options)


def _lost(entry: ClassFile) -> Batch:
    return Batch((_stumbled(entry, "the process that checked it came to an end"),), ())


# ---------------------------------------------------------------- several processes

Chunk = tuple[int, tuple[ClassFile, ...]]
"""Some files, and the number of the first."""

_Result = TypeVar("_Result")
_Work = Callable[[tuple[ClassFile, ...]], _Result]


def pooled(
    chunks: Sequence[Chunk], work: _Work[_Result], lost: Callable[[ClassFile], _Result], jobs: int
) -> Iterator[tuple[int, _Result]]:
    """What `work` makes of each chunk, as it is ready, with the number of the chunk's first file.

    `work` can be sent to another process, and so can what it returns. `lost` tells of a file that brought
    its process to an end.
    """
    left = dict(chunks)
    try:
        while left:
            try:
                for start, result in _in_processes(list(left.items()), work, jobs):
                    del left[start]
                    yield start, result
            except BrokenProcessPool:
                # A process was ended from outside or ran out of memory. With one process alone it is clear
                # whose fault that was: the chunk that was being worked on, whose files are tried one by one.
                if jobs == 1:
                    start = min(left)
                    for number, entry in enumerate(left.pop(start), start):
                        yield number, _alone(entry, work, lost)
                jobs = 1
    except (OSError, ImportError, NotImplementedError):
        # A system without semaphores, or that lets us start no process: then all is done here.
        for start, files in left.items():
            yield start, work(files)


def _alone(entry: ClassFile, work: _Work[_Result], lost: Callable[[ClassFile], _Result]) -> _Result:
    try:
        (_, result), *_ = _in_processes([(0, (entry,))], work, 1)
    except BrokenProcessPool:
        return lost(entry)
    return result


def _in_processes(chunks: Sequence[Chunk], work: _Work[_Result], jobs: int) -> Iterator[tuple[int, _Result]]:
    """Results as they are ready. When the caller stops, what has not begun is dropped."""
    waiting = iter(chunks)
    running: dict[Future[_Result], int] = {}
    pool = ProcessPoolExecutor(jobs, mp_context=get_context("spawn"), initializer=_begin)

    def send(count: int) -> None:
        with _keyboard_ignored():
            for start, files in islice(waiting, count):
                running[pool.submit(work, files)] = start

    try:
        send(jobs * _AHEAD)
        while running:
            ready, _ = wait(running, return_when=FIRST_COMPLETED)
            send(len(ready))
            for future in ready:
                yield running.pop(future), future.result()
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin() -> None:
    """A process that checks leaves the keyboard to the one that asked: it is told when to stop."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    # One process for each processor is enough: the sums of one car are too small to be shared out.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from bodyshop.records.classroom import check_file as one  # noqa: F401 - loads all that cars are measured with

    # It stays to the end, so there is no need to look through it for what may be thrown away.
    gc.freeze()


@contextmanager
def _keyboard_ignored() -> Iterator[None]:
    """No interrupt while a process is being started, which would get it too: it comes a moment later."""
    if not hasattr(signal, "pthread_sigmask") or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)

"""Work over many items on every processor at once, or in this process where that is quicker or all there is.

Processes are spawned, not forked, so that it is the same on every system. They are sent items and send
results back; nothing else outlives an item, so memory does not grow with their number.
"""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from itertools import islice
from multiprocessing.process import BaseProcess
from typing import Final, Generic, TypeVar

from bodyshop.foundation.problems import ProblemsError

__all__ = ["MOST_JOBS", "Task", "keyboard_waits", "processors", "serve_parent", "worked"]

MOST_JOBS: Final = 60
"""Windows waits for no more than 61 processes at once."""

_AHEAD: Final = 4
"""Chunks on their way to each process, so that none has to wait while a slow one holds up the order."""

_LONGEST: Final = 200

Item = TypeVar("Item")
Result = TypeVar("Result")


def processors() -> int:
    """How many processes of ours can run at once on this machine."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


@dataclass(frozen=True, slots=True)
class Task(Generic[Item, Result]):
    """What is done with each item. Functions, items and results can all be sent to another process.

    `failed` makes a result of an item and of what went wrong in our own code, or with the process. A process
    calls `begin` once, before its first item. `chunk` items are sent at a time, and `enough` items make one
    more process worth its start.
    """

    do: Callable[[Item], Result]
    failed: Callable[[Item, str], Result]
    begin: Callable[[], None]
    enough: int
    chunk: int = 1

    def one(self, item: Item) -> Result:
        """The result of an item, in this process. A fault of our own with one does not stop the others.

        Raises:
            ProblemsError: what was asked for cannot be done with any item.
        """
        try:
            return self.do(item)
        except ProblemsError:
            raise
        except Exception as error:  # noqa: BLE001 - one item must not cost the others their results
            return self.failed(item, f"{type(error).__name__}: {str(error)[:_LONGEST]}")

    def many(self, items: tuple[Item, ...]) -> list[Result]:
        """The results of a chunk, in this process."""
        return [self.one(item) for item in items]


def worked(items: Sequence[Item], task: Task[Item, Result], jobs: int | None = None) -> Iterator[Result]:
    """The result of every item, in their order, as they come.

    `jobs` is how many processes may work, 1 meaning this one alone; as many as pay off when it is None.

    Raises:
        ProblemsError: as the task raises it.
    """
    count = min(processors(), len(items) // task.enough) if jobs is None else jobs
    count = min(count, len(items), MOST_JOBS)
    if count <= 1:
        yield from map(task.one, items)
        return
    left = deque(tuple(items[at : at + task.chunk]) for at in range(0, len(items), task.chunk))
    try:
        while left:
            try:
                for results in _in_processes(tuple(left), task, count):
                    left.popleft()
                    yield from results
            except BrokenProcessPool:
                # A process was ended from outside or ran out of memory. With one process alone it is clear
                # whose fault that was: the chunk that was being worked on, whose items are tried one by one.
                if count == 1:
                    tried = [_alone(item, task) for item in left[0]]
                    left.popleft()
                    yield from tried
                count = 1
    except (OSError, ImportError, NotImplementedError):
        # A system without semaphores, or that lets us start no process: then all is done here.
        for chunk in left:
            yield from task.many(chunk)


def _alone(item: Item, task: Task[Item, Result]) -> Result:
    try:
        ((result,),) = _in_processes(((item,),), task, 1)
    except BrokenProcessPool:
        return task.failed(item, "the process that worked on it came to an end")
    return result


def _in_processes(
    chunks: Sequence[tuple[Item, ...]], task: Task[Item, Result], jobs: int
) -> Iterator[list[Result]]:
    """Results of each chunk in their order. When the caller stops, what has not begun is dropped."""
    waiting = iter(chunks)
    running: deque[Future[list[Result]]] = deque()
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(jobs, mp_context=context, initializer=partial(_begin, task.begin))

    def send(count: int) -> None:
        with keyboard_waits():
            running.extend(pool.submit(task.many, chunk) for chunk in islice(waiting, count))

    try:
        send(jobs * _AHEAD)
        while running:
            results = running.popleft().result()
            send(1)
            yield results
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


def _begin(begin: Callable[[], None]) -> None:
    serve_parent()
    # One process for each processor is enough: the sums of one item are too small to be shared out.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    begin()
    # What is loaded stays to the end, so there is no need to look through it for what may be thrown away.
    gc.freeze()


def serve_parent() -> None:
    """Begin a process that works for another: it does not hear the keyboard, and ends with the other.

    Ctrl-C reaches every process of a terminal: it stops the one that asked, and that stops what works for it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_with, args=(parent,), daemon=True).start()


def _end_with(parent: BaseProcess) -> None:
    """Wait for the other's end, however it comes, and end at once."""
    parent.join()
    os._exit(1)


@contextmanager
def keyboard_waits() -> Iterator[None]:
    """No interrupt while a process is being started, which would get it too: it comes a moment later."""
    if not hasattr(signal, "pthread_sigmask") or threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)

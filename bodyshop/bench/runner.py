"""Jobs started, awaited and stopped: each in a fresh process, a few at a time."""

from __future__ import annotations

import asyncio
import multiprocessing
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from contextlib import contextmanager, suppress
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Final, TypeVar

from bodyshop.bench.jobs import Answer, Job, run_job, serve_parent
from bodyshop.problems import Problem

__all__ = ["Runner"]

Result = TypeVar("Result")

_AT_ONCE: Final = 2
_KEPT: Final = 24
_LONGEST_S: Final = 300.0


class Runner:
    """Runs jobs. What a paper came to is kept for a while: preview and download ask for the same one."""

    def __init__(self) -> None:
        self._room = asyncio.Semaphore(_AT_ONCE)
        self._running: set[BaseProcess] = set()
        self._kept: dict[Job, asyncio.Task[Answer]] = {}
        self._ready: ProcessPoolExecutor | None = None

    async def kept(self, job: Job) -> Answer:
        """The answer to a job; one that was asked for before is not done again."""
        task = self._kept.get(job)
        if task is None or (task.done() and (task.cancelled() or task.exception() or task.result().problems)):
            task = self._kept[job] = asyncio.create_task(self.run(job))
            while len(self._kept) > _KEPT:
                del self._kept[next(iter(self._kept))]
        return await asyncio.shield(task)

    async def run(self, job: Job) -> Answer:
        """Do a job. Stopping the task that awaits it stops the process."""
        async with self._room:
            process, receiver = _start(job)
            self._running.add(process)
            try:
                return await asyncio.wait_for(asyncio.to_thread(_answer, process, receiver), _LONGEST_S)
            except TimeoutError:
                return Answer(problems=(Problem("bench-slow", "this took far too long and was stopped"),))
            finally:
                self._running.discard(process)
                _stop(process)

    async def quick(self, work: Callable[..., Result], *given: object) -> Result | None:
        """Small work in a process that stays ready for it, so that the bench itself is not held up.

        None where that process has died; the next one is another.
        """
        if self._ready is None:
            context = multiprocessing.get_context("spawn")
            self._ready = ProcessPoolExecutor(1, mp_context=context, initializer=serve_parent)
        ready = self._ready
        try:
            with _deaf_meanwhile():
                doing = asyncio.get_running_loop().run_in_executor(ready, work, *given)
            return await doing
        except BrokenExecutor:
            if self._ready is ready:
                self._ready = None
            return None

    def stop(self) -> None:
        """Stop everything that runs."""
        for process in list(self._running):
            _stop(process)
        if self._ready is not None:
            self._ready.shutdown(wait=False, cancel_futures=True)
            self._ready = None


@contextmanager
def _deaf_meanwhile() -> Iterator[None]:
    """Processes started in here do not hear the keyboard, not even while they are still starting.

    Ctrl-C reaches every process of a terminal; none of ours shall show its own surprise about it.
    """
    main = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, signal.SIG_IGN) if main else None
    try:
        yield
    finally:
        if main:
            signal.signal(signal.SIGINT, before)


def _start(job: Job) -> tuple[BaseProcess, Connection]:
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=run_job, args=(job, sender), daemon=True)
    with _deaf_meanwhile():
        process.start()
    sender.close()
    return process, receiver


def _answer(process: BaseProcess, receiver: Connection) -> Answer:
    try:
        answer = receiver.recv()
    except (EOFError, OSError):
        return Answer(problems=(Problem("bench-stopped", "this was stopped before it was done"),))
    finally:
        receiver.close()
        process.join(5.0)
    assert isinstance(answer, Answer)  # noqa: S101 - what run_job sends
    return answer


def _stop(process: BaseProcess) -> None:
    with suppress(OSError, ValueError, AttributeError):
        if process.is_alive():
            process.kill()
        process.join(2.0)

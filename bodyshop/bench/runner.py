"""Jobs started, awaited and stopped: each in a fresh process, a few at a time."""

from __future__ import annotations

import asyncio
import multiprocessing
import signal
import threading
from contextlib import suppress
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Final

from bodyshop.bench.jobs import Answer, Job, run_job
from bodyshop.problems import Problem

__all__ = ["Runner"]

_AT_ONCE: Final = 2
_KEPT: Final = 24
_LONGEST_S: Final = 300.0


class Runner:
    """Runs jobs. What a paper came to is kept for a while: preview and download ask for the same one."""

    def __init__(self) -> None:
        self._room = asyncio.Semaphore(_AT_ONCE)
        self._running: set[BaseProcess] = set()
        self._kept: dict[Job, asyncio.Task[Answer]] = {}

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

    def stop(self) -> None:
        """Stop everything that runs."""
        for process in list(self._running):
            _stop(process)


def _start(job: Job) -> tuple[BaseProcess, Connection]:
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=run_job, args=(job, sender), daemon=True)
    # Ctrl-C reaches every process of a terminal; a job must not show its own surprise about it, not even
    # while it is still starting.
    main = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, signal.SIG_IGN) if main else None
    try:
        process.start()
    finally:
        if main:
            signal.signal(signal.SIGINT, before)
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

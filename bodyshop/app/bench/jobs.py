"""Work that takes longer than a blink, each piece in a process of its own that can be stopped."""

from __future__ import annotations

import asyncio
import multiprocessing
from collections.abc import Callable, Mapping
from concurrent.futures import BrokenExecutor, ProcessPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date
from enum import Enum
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Final, Protocol, TypeVar

from bodyshop.app.bench.document import judge_text
from bodyshop.app.bench.folder import Folder, FolderRulebooks
from bodyshop.drawing.sheet.paper import SheetSize, sheet_sizes, usual_sheet
from bodyshop.foundation.files.names import safe_stem
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.workers import keyboard_waits, serve_parent
from bodyshop.rules.checking import Checked

__all__ = ["Job", "JobAnswer", "JobKind", "Runner", "Sender", "do_job", "run_job"]


FIX_SECONDS: Final = 12.0
"""Time that the search for remedies may take."""


class JobKind(Enum):
    """What can be asked for."""

    TEMPLATES = "templates"
    BUILD_SHEET = "buildsheet"
    REPORT = "report"
    SOLID = "solid"
    FIX = "fix"


@dataclass(frozen=True, slots=True)
class Job:
    """What to do, and with which text. `day` is printed on papers, as an ISO date; empty leaves room for it.

    `root` is the folder that the bench was opened on. `sheet` is a size of paper, empty for the usual one.
    `clause` is the rule to mend, empty for all.
    """

    kind: JobKind
    text: str
    name: str
    root: str
    sheet: str = ""
    clause: str = ""
    day: str = ""


@dataclass(frozen=True, slots=True)
class JobAnswer:
    """What came of a job. `told` is what a plan of changes says; `text` the text that it makes."""

    files: Mapping[str, bytes] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()
    told: Mapping[str, object] = field(default_factory=dict)
    text: str = ""


class Sender(Protocol):
    """The end of a pipe that an answer goes into."""

    def send(self, answer: JobAnswer, /) -> None:
        """Hand the answer over."""


def run_job(job: Job, out: Sender) -> None:
    """Do a job in a process of its own, and send what came of it."""
    serve_parent()
    try:
        answer = do_job(job)
    except ProblemsError as error:
        answer = JobAnswer(problems=error.problems)
    except Exception as error:  # noqa: BLE001 - the bench stands whatever becomes of one paper
        words = f"bodyshop has stumbled over a fault of its own ({type(error).__name__}: {str(error)[:200]})"
        answer = JobAnswer(problems=(Problem("bench-fault", words),))
    out.send(answer)


def do_job(job: Job) -> JobAnswer:
    """Do a job here and now.

    Raises:
        ProblemsError: the text is no design, or a paper of it cannot be made.
    """
    judged = judge_text(job.text, job.name, FolderRulebooks(Folder(Path(job.root))), full=True)
    if judged.checked is None:
        raise ProblemsError(judged.problems)
    checked = judged.checked
    match job.kind:
        case JobKind.FIX:
            return _fix(checked, job)
        case JobKind.TEMPLATES:
            return JobAnswer(_templates(checked, job))
        case JobKind.BUILD_SHEET:
            return JobAnswer(_build_sheet(checked, job))
        case JobKind.REPORT:
            return JobAnswer(_report(checked, job))
        case JobKind.SOLID:
            return JobAnswer(_solid(checked))


def _stem(job: Job) -> str:
    return safe_stem(Path(job.name).stem)


def _paper(checked: Checked, job: Job) -> SheetSize:
    return sheet_sizes().get(job.sheet) or usual_sheet(checked.opened.rulebook.unit)


_SHOWN: Final = ("pdf", "svg")
"""One to take away, and one to look at."""


def _templates(checked: Checked, job: Job) -> dict[str, bytes]:
    from bodyshop.output.papers.templates import TemplateOptions, template_set
    from bodyshop.output.words.papers import stamp_of

    options = TemplateOptions(date=job.day)
    drawn = template_set(checked.opened.car, stamp_of(checked.judgement), _paper(checked, job), options)
    return drawn.files(f"{_stem(job)}-templates", _SHOWN)


def _build_sheet(checked: Checked, job: Job) -> dict[str, bytes]:
    from bodyshop.output.papers.buildsheet import BuildOptions, build_sheet_files

    options = BuildOptions(date=job.day)
    return build_sheet_files(f"{_stem(job)}-buildsheet", checked, _paper(checked, job), options, _SHOWN)


def _report(checked: Checked, job: Job) -> dict[str, bytes]:
    from bodyshop.output.html.annotated_report import teaching_html
    from bodyshop.output.papers.annotated_report import teaching_files
    from bodyshop.output.words.hints import hints_of

    on, hints, stem = date.fromisoformat(job.day), hints_of(checked), f"{_stem(job)}-report"
    files = teaching_files(stem, checked, on, _paper(checked, job), hints, _SHOWN)
    return {**files, f"{stem}.html": teaching_html(checked, on, hints).encode("utf-8")}


def _solid(checked: Checked) -> dict[str, bytes]:
    from bodyshop.output.bundle import solid_files

    return solid_files(checked.opened)


def _fix(checked: Checked, job: Job) -> JobAnswer:
    from bodyshop.foundation.text.small_words import capital
    from bodyshop.output.words.remedies import conflict_sentences, fix_sentence, headline, side_sentences
    from bodyshop.rules.remedies import diff, make_plan

    plan = make_plan(checked.opened, clause=job.clause, seconds=FIX_SECONDS)
    changes = [
        {
            "clause": fix.rule.clause,
            "title": fix.rule.title,
            "sentence": f"{capital(fix_sentence(fix))}.",
            "sides": [f"{capital(side)}." for side in side_sentences(fix)],
            "line": fix.edit.span.line,
        }
        for fix in plan.fixes
    ]
    left = [
        {
            "clause": conflict.rule.clause,
            "title": conflict.rule.title,
            "sentences": [f"{capital(sentence)}." for sentence in conflict_sentences(conflict)],
        }
        for conflict in plan.conflicts
    ]
    told = {
        "headline": headline(plan, checked.opened.design.name),
        "changes": changes,
        "left": left,
        "difference": diff(plan, context=1).splitlines()[2:],
        "cut": plan.cut,
    }
    return JobAnswer(told=told, text=plan.text.removeprefix("\ufeff"))


Result = TypeVar("Result")

_AT_ONCE: Final = 2
_KEPT: Final = 24
_LONGEST_S: Final = 300.0


class Runner:
    """Runs jobs. What a paper came to is kept for a while: preview and download ask for the same one."""

    def __init__(self) -> None:
        self._room = asyncio.Semaphore(_AT_ONCE)
        self._running: set[BaseProcess] = set()
        self._kept: dict[Job, asyncio.Task[JobAnswer]] = {}
        self._ready: ProcessPoolExecutor | None = None

    async def kept(self, job: Job) -> JobAnswer:
        """The answer to a job; one that was asked for before is not done again."""
        task = self._kept.get(job)
        if task is None or (task.done() and (task.cancelled() or task.exception() or task.result().problems)):
            task = self._kept[job] = asyncio.create_task(self.run(job))
            while len(self._kept) > _KEPT:
                del self._kept[next(iter(self._kept))]
        return await asyncio.shield(task)

    async def run(self, job: Job) -> JobAnswer:
        """Do a job. Stopping the task that awaits it stops the process."""
        async with self._room:
            process, receiver = _start(job)
            self._running.add(process)
            try:
                return await asyncio.wait_for(asyncio.to_thread(_answer, process, receiver), _LONGEST_S)
            except TimeoutError:
                return JobAnswer(problems=(Problem("bench-slow", "this took far too long and was stopped"),))
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
            with keyboard_waits():
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


def _start(job: Job) -> tuple[BaseProcess, Connection]:
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=run_job, args=(job, sender), daemon=True)
    with keyboard_waits():
        process.start()
    sender.close()
    return process, receiver


def _answer(process: BaseProcess, receiver: Connection) -> JobAnswer:
    try:
        answer = receiver.recv()
    except (EOFError, OSError):
        return JobAnswer(problems=(Problem("bench-stopped", "this was stopped before it was done"),))
    finally:
        receiver.close()
        process.join(5.0)
    assert isinstance(answer, JobAnswer)  # noqa: S101 - what run_job sends
    return answer


def _stop(process: BaseProcess) -> None:
    with suppress(OSError, ValueError, AttributeError):
        if process.is_alive():
            process.kill()
        process.join(2.0)

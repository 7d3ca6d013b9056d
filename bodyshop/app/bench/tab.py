"""One page that shows a design, and what is done for it beside everything else."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from msgspec import to_builtins

from bodyshop.app.bench.document import DesignDocument
from bodyshop.app.bench.drag import asked
from bodyshop.app.bench.file_sync import DesignFile
from bodyshop.app.bench.jobs import Job, JobKind, Runner
from bodyshop.app.bench.messages import FixMessage, PageMessage, Question

__all__ = ["BackgroundWork", "Tab", "Told"]

Told = Mapping[str, Any]


@dataclass(eq=False)
class Tab:
    """One page that shows a design. `tell` hands it a message."""

    tell: Callable[[Told], Awaitable[None]]
    fixing: asyncio.Task[None] | None = field(default=None)
    asking: dict[str, asyncio.Task[None]] = field(default_factory=dict)

    def stop(self) -> None:
        """Let go of what is done for it."""
        for task in (self.fixing, *self.asking.values()):
            if task is not None:
                task.cancel()
        self.fixing = None
        self.asking.clear()


class BackgroundWork:
    """Work on a design that takes longer than a blink: remedies, and what the drawing asks."""

    def __init__(self, document: DesignDocument, filed: DesignFile, runner: Runner) -> None:
        self._desk = document
        self._filed = filed
        self._runner = runner
        self._plan: tuple[int, str] | None = None

    # ------------------------------------------------------------ remedies

    async def fix(self, tab: Tab, message: FixMessage) -> None:
        """Begin to look for remedies of one clause, or of all."""
        await self.fix_stop(tab, message)
        clause = (message.clause or "")[:80]
        tab.fixing = asyncio.create_task(self._look_for_fix(tab, clause))

    async def fix_stop(self, tab: Tab, _message: PageMessage) -> None:
        """Stop looking."""
        if tab.fixing is not None:
            tab.fixing.cancel()
            tab.fixing = None

    async def _look_for_fix(self, tab: Tab, clause: str) -> None:
        revision, root = self._desk.revision, str(self._filed.folder.root)
        job = Job(JobKind.FIX, self._desk.text, str(self._filed.path), root, clause=clause)
        answer = await self._runner.run(job)
        if answer.problems:
            words = " ".join(problem.sentence + "." for problem in answer.problems[:3])
            await tab.tell({"kind": "plan", "clause": clause, "failed": words})
            return
        self._plan = (revision, answer.text)
        await tab.tell({"kind": "plan", "clause": clause, "revision": revision, **answer.told})

    @property
    def planned(self) -> str | None:
        """The text that the remedies make; None where there are none for the present text."""
        return self._plan[1] if self._plan is not None and self._plan[0] == self._desk.revision else None

    # ------------------------------------------------------------ what the drawing asks

    async def ask(self, tab: Tab, message: Question) -> None:
        """Answer a question of the drawing. Only the latest of each kind is answered."""
        before = tab.asking.pop(type(message).__name__, None)
        if before is not None:
            before.cancel()
        tab.asking[type(message).__name__] = asyncio.create_task(self._answer(tab, message))

    async def _answer(self, tab: Tab, question: Question) -> None:
        known = self._desk.known
        if known.checked is None:
            return
        text = known.checked.opened.source.text
        found = await self._runner.quick(asked, text, str(self._filed.path), question)
        with suppress(Exception):  # the tab may be gone by now
            await tab.tell(
                {**to_builtins(question), "kind": "answer", "revision": known.revision, **(found or {})}
            )

    async def make_ready(self) -> None:
        """Have the process for small work started before the first part is taken hold of."""
        await self._runner.quick(asked, self._desk.text, str(self._filed.path), None)

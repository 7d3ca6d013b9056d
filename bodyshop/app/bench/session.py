"""One design with the tabs that show it: what they say is done, and all of them are told.

Everything here runs on the server's one loop, so that nothing is done twice or in between; measuring and
judging run beside it. Whatever was typed while a car was measured is measured next: the latest text wins.
"""

from __future__ import annotations

import asyncio
import difflib
import zlib
from collections.abc import Awaitable, Callable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any, Final

from bodyshop.app.bench import messages
from bodyshop.app.bench.document import (
    DesignDocument,
    DocumentVerdict,
    OverlapError,
    TooLongError,
    judge_car,
    judge_text,
)
from bodyshop.app.bench.drag import moved
from bodyshop.app.bench.drawing import scene
from bodyshop.app.bench.file_sync import ChangedOnDiskError, DesignFile, Disk
from bodyshop.app.bench.folder import FolderRulebooks
from bodyshop.app.bench.jobs import Runner
from bodyshop.app.bench.tab import BackgroundWork, Tab, Told
from bodyshop.app.bench.telling import figures_data, problems_data, verdict_data
from bodyshop.app.bench.text_edits import Splice, from_units, to_units
from bodyshop.foundation.problems import Problem, ProblemsError, WriteRefusedError
from bodyshop.rules.checking import LoadedCar

__all__ = ["Session", "fault_words"]

_WATCH_S: Final = 0.6
_DRAFT_S: Final = 0.7


class Session:
    """A design on the bench. `filed` is its file, which may not be there yet."""

    def __init__(self, filed: DesignFile, text: str, runner: Runner) -> None:
        self.filed = filed
        self.document = DesignDocument(text, str(filed.path), shelf=FolderRulebooks(filed.folder))
        self.tabs: set[Tab] = set()
        filed.lay_aside()
        self._disk = Disk.SAME
        self._changed = asyncio.Event()
        self._unsaved = asyncio.Event()
        self._tasks: list[asyncio.Task[None]] = []
        self._last: Told | None = None
        self._beside = BackgroundWork(self.document, filed, runner)
        self._draft_failed = False
        self._opened: tuple[int, LoadedCar] | None = None
        self._books: dict[str, tuple[int, int]] = {}
        self._does: Mapping[str, Callable[[Tab, Any], Awaitable[None]]] = {
            "type": self._type,
            "undo": self._undo,
            "redo": self._redo,
            "drag": self._by_hand,
            "act": self._by_hand,
            "ask": self._beside.ask,
            "save": self._save,
            "take_theirs": self._take_theirs,
            "keep_mine": self._keep_mine,
            "difference": self._difference,
            "take_draft": self._take_draft,
            "drop_draft": self._drop_draft,
            "fix": self._beside.fix,
            "fix_stop": self._beside.fix_stop,
            "fix_apply": self._fix_apply,
            "again": self._again,
        }

    # ------------------------------------------------------------ tabs come and go

    async def join(self, tab: Tab) -> None:
        """Show the design to one more tab."""
        self.tabs.add(tab)
        if not self._tasks:
            loops = (self._judge, self._watch, self._keep, self._beside.make_ready)
            self._tasks = [asyncio.create_task(each()) for each in loops]
        draft = self.filed.draft()
        await tab.tell(
            {
                "kind": "open",
                **self._facts(),
                "text": self.document.text,
                "draft": None
                if draft is None
                else {"when": draft.when, "stale": draft.base != self.filed.known},
            }
        )
        if self._last is not None and self._last["revision"] == self.document.revision:
            await tab.tell(self._last)
        else:
            self._changed.set()

    def leave(self, tab: Tab) -> None:
        """A tab is closed. The last one takes the watchers with it; unsaved work stays in its draft."""
        self.tabs.discard(tab)
        tab.stop()
        if not self.tabs:
            self.close()

    def close(self) -> None:
        """Stop watching, and put unsaved work into the draft."""
        for task in self._tasks:
            task.cancel()
        self._tasks = []
        if not self.document.revision:
            return
        if self.is_saved:
            self.filed.drop_draft()
        else:
            with suppress(WriteRefusedError):
                self.filed.keep_draft(self.document.text)

    @property
    def is_saved(self) -> bool:
        """Whether the file holds the present text."""
        return self.filed.is_saved(self.document.text)

    def _facts(self) -> dict[str, Any]:
        return {
            "name": self.filed.name,
            "revision": self.document.revision,
            "saved": self.is_saved,
            "on_disk": self._disk.value,
            "is_new": not self.filed.known,
            "can_undo": self.document.can_undo,
            "can_redo": self.document.can_redo,
        }

    async def _tell_all(self, message: Told) -> None:
        for tab in list(self.tabs):
            with suppress(Exception):  # a tab that is gone is taken off by its own connection
                await tab.tell(message)

    async def _tell_facts(self) -> None:
        await self._tell_all({"kind": "facts", **self._facts()})

    async def _note(self, words: str, tab: Tab | None = None, *, bad: bool = False) -> None:
        message = {"kind": "note", "words": words, "bad": bad}
        await (tab.tell(message) if tab is not None else self._tell_all(message))

    # ------------------------------------------------------------ what a tab says

    async def hear(self, tab: Tab, message: messages.PageMessage) -> None:
        """Do what a tab says. Raises `ValueError` for what makes no sense."""
        does = self._does.get(message.kind)
        if does is None:
            raise messages.MalformedError("there is no such kind")
        await does(tab, message)

    async def _type(self, tab: Tab, message: messages.TypeMessage) -> None:
        try:
            before = self.document.text_at(message.base)
            splices = [
                (from_units(before, start), from_units(before, end), new)
                for start, end, new in message.splices
            ]
            at = self.document.revision
            splice = self.document.type_in(splices, message.base)
        except OverlapError:
            await tab.tell({"kind": "refused_text", **self._facts(), "text": self.document.text})
            return
        except TooLongError:
            await self._note("The text is longer than any design that can be read.", tab, bad=True)
            await tab.tell({"kind": "refused_text", **self._facts(), "text": self.document.text})
            return
        except ValueError:
            await tab.tell({"kind": "refused_text", **self._facts(), "text": self.document.text})
            raise
        await self._spread(splice, at, tab)

    async def _undo(self, _tab: Tab, _message: messages.PageMessage) -> None:
        at = self.document.revision
        await self._spread(self.document.undo(), at)

    async def _redo(self, _tab: Tab, _message: messages.PageMessage) -> None:
        at = self.document.revision
        await self._spread(self.document.redo(), at)

    async def _by_hand(self, tab: Tab, message: messages.DragMessage | messages.Act) -> None:
        """Take the text that a movement on the drawing makes, or say why it makes none."""
        made, step = moved(self.document, message), getattr(message, "step", None)
        if made.text is None:
            await tab.tell({"kind": "refused_drag", "step": step, "message": made.refusal})
            return
        at = self.document.revision
        try:
            splice = self.document.set_text(made.text, group=f"drag {id(tab)} {step}" if step else "")
        except TooLongError:
            await tab.tell({"kind": "refused_drag", "step": step, "message": "The text would be too long."})
            return
        if splice is None:
            await tab.tell({"kind": "same", "step": step, **self._facts()})
            return
        if made.opened is not None:
            self._opened = (self.document.revision, made.opened)
        await tab.tell({"kind": "moved", "step": step, "revision": self.document.revision, "note": made.note})
        await self._spread(splice, at)

    async def _spread(self, splice: Splice | None, base: int, own: Tab | None = None) -> None:
        """Tell every tab how the text has changed, and have it judged."""
        if splice is None:
            if own is not None:
                await own.tell({"kind": "text", **self._facts(), "base": base, "own": True, "splice": None})
            return
        self._changed.set()
        self._unsaved.set()
        text = self.document.text  # the same before the change up to its start
        start = to_units(text, splice.start)
        moved = [start, start + to_units(splice.old, len(splice.old)), splice.new]
        told = {"kind": "text", **self._facts(), "base": base, "splice": moved}
        told["length"] = to_units(text, len(text))
        told["check"] = zlib.crc32(text.encode("utf-8"))
        for tab in list(self.tabs):
            with suppress(Exception):
                await tab.tell({**told, "own": tab is own})

    # ------------------------------------------------------------ judged beside the loop

    async def _judge(self) -> None:
        while True:
            await self._changed.wait()
            self._changed.clear()
            revision, text = self.document.revision, self.document.text
            opened = self._opened[1] if self._opened is not None and self._opened[0] == revision else None
            judged, told = await asyncio.to_thread(self._worked_out, text, opened)
            self._note_books(judged)
            if self.document.take(judged, revision):
                self._last = {"kind": "judged", "revision": revision, **told}
                await self._tell_all(self._last)

    def _worked_out(self, text: str, opened: LoadedCar | None) -> tuple[DocumentVerdict, Told]:
        """What a text comes to, and what the page is told of it. `opened` is its car where it was read."""
        name = str(self.filed.path)
        try:
            return self._judged(text, name, opened)
        except Exception as error:  # noqa: BLE001 - the next text is judged all the same
            judged = DocumentVerdict(None, (Problem("bench-fault", fault_words(error).rstrip(".")),))
            return judged, {"problems": problems_data(judged.problems, name)}

    def _judged(self, text: str, name: str, opened: LoadedCar | None) -> tuple[DocumentVerdict, Told]:
        judged = judge_car(opened) if opened is not None else judge_text(text, name, self.document.shelf)
        told: dict[str, Any] = {"problems": problems_data(judged.problems, name)}
        if judged.checked is not None:
            told["verdict"] = verdict_data(judged.checked)
            told["figures"] = figures_data(judged.checked)
            told["scene"] = scene(judged.checked)
        return judged, told

    # ------------------------------------------------------------ the file

    async def _save(self, tab: Tab, _message: messages.PageMessage) -> None:
        try:
            self.filed.save(self.document.text)
        except ChangedOnDiskError:
            self._disk = Disk.CHANGED
            await self._tell_facts()
            await self._note("Not saved: another program has changed the file.", tab, bad=True)
            return
        except WriteRefusedError as error:
            await self._note(f"Not saved: {error.reason}.", tab, bad=True)
            return
        self._disk = Disk.SAME
        await self._tell_facts()
        await self._note(f"Saved {self.filed.name}.", tab)

    async def _take_theirs(self, tab: Tab, _message: messages.PageMessage) -> None:
        at = self.document.revision
        try:
            text = self.filed.read()
            splice = self.document.set_text(text)
        except (ProblemsError, TooLongError) as error:
            await self._note(f"The file cannot be read: {_words(error)}", tab, bad=True)
            return
        self._disk = Disk.SAME
        self.filed.drop_draft()
        await self._spread(splice, at)
        await self._tell_facts()

    async def _keep_mine(self, _tab: Tab, _message: messages.PageMessage) -> None:
        self.filed.accept()
        self._disk = Disk.SAME
        self._unsaved.set()
        await self._tell_facts()

    async def _difference(self, tab: Tab, message: messages.DifferenceMessage) -> None:
        try:
            if message.against == "draft":
                draft = self.filed.draft()
                theirs, title = (draft.text if draft is not None else ""), "the draft"
            else:
                theirs, title = self.filed.peek(), "on the disk"
        except ProblemsError as error:
            await self._note(f"The file cannot be read: {_words(error)}", tab, bad=True)
            return
        lines = difflib.unified_diff(
            self.document.text.splitlines(), theirs.splitlines(), "here", title, n=2, lineterm=""
        )
        await tab.tell({"kind": "difference", "lines": list(lines)[2:], "title": title})

    async def _take_draft(self, tab: Tab, _message: messages.PageMessage) -> None:
        draft = self.filed.draft()
        if draft is None:
            await self._note("The draft is gone.", tab, bad=True)
            return
        at = self.document.revision
        await self._spread(self.document.set_text(draft.text), at)
        with suppress(WriteRefusedError):
            self.filed.keep_draft(self.document.text)
            self.filed.drop_found()
        await self._tell_facts()

    async def _drop_draft(self, _tab: Tab, _message: messages.PageMessage) -> None:
        self.filed.drop_found()

    async def _watch(self) -> None:
        """Look now and then whether another program has written the file."""
        while True:
            await asyncio.sleep(_WATCH_S)
            self._look_at_books()
            found = self.filed.look()
            if found is self._disk:
                continue
            if found is Disk.CHANGED and self.is_saved:
                await self._follow()
                continue
            self._disk = found
            await self._tell_facts()

    def _look_at_books(self) -> None:
        """Judge again when a rulebook that was read has been written since, sound or at fault."""
        if any(_stamp(file) != stamp for file, stamp in self._books.items()):
            self._books.clear()
            self.document.read_books_again(FolderRulebooks(self.filed.folder))
            self._opened = None
            self._changed.set()

    def _note_books(self, judged: DocumentVerdict) -> None:
        """Keep in mind how the rulebooks stood that a verdict came from."""
        files = {problem.file for problem in judged.problems} - {str(self.filed.path), ""}
        if judged.checked is not None:
            files.add(judged.checked.opened.rulebook.source.name)
        for file in files:
            self._books.setdefault(file, _stamp(file))

    async def _follow(self) -> None:
        """Nothing unsaved here: take what another program has written, as a step that can be undone."""
        at = self.document.revision
        try:
            splice = self.document.set_text(self.filed.read())
        except (ProblemsError, TooLongError):
            self._disk = Disk.CHANGED
            await self._tell_facts()
            return
        self._disk = Disk.SAME
        await self._spread(splice, at)
        await self._tell_facts()
        if splice is not None:
            await self._note(f"Another program has changed {self.filed.name}: its text is shown now.")

    async def _keep(self) -> None:
        """Keep unsaved work in a draft, a moment after it was done."""
        while True:
            await self._unsaved.wait()
            await asyncio.sleep(_DRAFT_S)
            self._unsaved.clear()
            try:
                if self.is_saved:
                    self.filed.drop_draft()
                else:
                    await asyncio.to_thread(self.filed.keep_draft, self.document.text)
                self._draft_failed = False
            except WriteRefusedError as error:
                if not self._draft_failed:
                    await self._note(f"No draft can be kept: {error.reason}. Save often.", bad=True)
                self._draft_failed = True
            await self._tell_facts()

    # ------------------------------------------------------------ remedies

    async def _fix_apply(self, tab: Tab, _message: messages.PageMessage) -> None:
        text = self._beside.planned
        if text is None:
            await self._note(
                "The design was changed since these remedies were found: look again.", tab, bad=True
            )
            return
        at = self.document.revision
        await self._spread(self.document.set_text(text), at)

    async def _again(self, tab: Tab, _message: messages.PageMessage) -> None:
        """A tab has lost its thread: all of the text, and what it comes to."""
        await tab.tell({"kind": "open", **self._facts(), "text": self.document.text, "draft": None})
        if self._last is not None:
            await tab.tell(self._last)


def _stamp(file: str) -> tuple[int, int]:
    try:
        found = Path(file).stat()
    except (OSError, ValueError):
        return 0, 0
    return found.st_mtime_ns, found.st_size


def fault_words(error: Exception) -> str:
    """A fault of our own, as a person is told of it."""
    return f"bodyshop has stumbled over a fault of its own ({type(error).__name__}: {str(error)[:200]})."


def _words(error: Exception) -> str:
    if isinstance(error, ProblemsError):
        return " ".join(f"{problem.sentence}." for problem in error.problems[:2])
    return "it is too long."

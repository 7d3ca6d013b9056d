"""One design on the bench: its text, every change of it, and what the text comes to."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.app.bench.text_edits import Splice, between, combined, rebased
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import SIZE_LIMIT, parse_source
from bodyshop.output.json.document import whole_characters
from bodyshop.rules.checking import Checked, LoadedCar, RulebookCache, check_car, open_source

__all__ = [
    "DesignDocument",
    "DocumentState",
    "DocumentVerdict",
    "LIVE",
    "OverlapError",
    "TooLongError",
    "judge_car",
    "judge_text",
]


LIVE: Final = ("car.track_clearance", "bore.wall")
"""Measures that are always shown, whether or not a rule names them."""


@dataclass(frozen=True, slots=True)
class DocumentVerdict:
    """What a text came to: a judged car, or None and why; `problems` holds warnings too."""

    checked: Checked | None
    problems: tuple[Problem, ...]


def judge_text(text: str, name: str, shelf: RulebookCache, *, full: bool = False) -> DocumentVerdict:
    """Read, measure and judge a design's text. `name` is the path it would have, for rulebooks beside it.

    Only what its rulebook asks for and what is always shown is measured, unless it is to be `full`.
    """
    try:
        opened = open_source(parse_source(text, name), shelf)
    except ProblemsError as error:
        return DocumentVerdict(None, error.problems)
    return judge_car(opened, full=full)


def judge_car(opened: LoadedCar, *, full: bool = False) -> DocumentVerdict:
    """Measure and judge a car that has been read, as `judge_text` does."""
    return DocumentVerdict(check_car(opened, None if full else LIVE), opened.warnings)


_STEPS: Final = 500
"""Most steps that can be taken back."""

_TYPED: Final = "typed"
_PAUSE_S: Final = 1.2
"""A pause in typing that begins a new step."""


class OverlapError(Exception):
    """A change of an older text touches what was changed since; nothing was done."""


class TooLongError(Exception):
    """A text longer than any design that is read; nothing was done."""


@dataclass(frozen=True, slots=True)
class DocumentState:
    """What the bench knows at a revision.

    `checked` is the car of the last text that could be read, and `fresh` says that this is the present one.
    `problems` are those of the present text.
    """

    revision: int
    checked: Checked | None
    fresh: bool
    problems: tuple[Problem, ...]


@dataclass(slots=True)
class _Step:
    """One thing that undo takes back."""

    splice: Splice
    group: str
    at: float


class DesignDocument:
    """A design's text with its history. Lines end in a line feed here, whatever the file does.

    `name` is the path that problems and rulebooks beside the file go by. `clock` tells seconds that only
    go up.
    """

    def __init__(
        self,
        text: str,
        name: str,
        *,
        shelf: RulebookCache | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.name = name
        self.shelf = shelf if shelf is not None else RulebookCache()
        self._text = _plain(text)
        self._revision = 0
        self._log: list[Splice] = []
        self._log_from = 0
        self._done: list[_Step] = []
        self._undone: list[_Step] = []
        self._clock = clock
        self._judged: DocumentVerdict | None = None
        self._judged_at = -1
        self._good: Checked | None = None

    # ------------------------------------------------------------ the text

    @property
    def text(self) -> str:
        """The text as it is now."""
        return self._text

    @property
    def revision(self) -> int:
        """How often the text has changed since it was put on the bench."""
        return self._revision

    @property
    def can_undo(self) -> bool:
        """Whether there is something to take back."""
        return bool(self._done)

    @property
    def can_redo(self) -> bool:
        """Whether something was taken back."""
        return bool(self._undone)

    def set_text(self, text: str, *, group: str = "") -> Splice | None:
        """Put another text in place of all; the change that this comes to, None for the same text.

        Changes that follow each other in the same `group` (one drag) are one step of the history. Raises
        `TooLongError`.
        """
        return self._change(between(self._text, _plain(text)), group)

    def apply(self, splices: Iterable[tuple[int, int, str]], *, group: str = "") -> Splice | None:
        """Replace stretches (start, end, new text) of the present text.

        Raises `ValueError` for stretches outside the text or over each other, `TooLongError`.
        """
        return self._change(combined(self._text, _plain_all(splices)), group)

    def type_in(self, splices: Iterable[tuple[int, int, str]], base: int) -> Splice | None:
        """The same for what was typed at revision `base`, which may be an older one.

        Raises `OverlapError` where it touches what was changed since, or `base` is no longer known.
        """
        before = self.text_at(base)
        splice = combined(before, _plain_all(splices))
        for later in self.since(base):
            if splice is not None:
                splice = rebased(splice, later)
                if splice is None:
                    raise OverlapError
        return self._change(splice, _TYPED)

    def since(self, base: int) -> Sequence[Splice]:
        """All changes that came after a revision. Raises `OverlapError` where it is no longer known."""
        if not self._log_from <= base <= self._revision:
            raise OverlapError
        return self._log[base - self._log_from :]

    def text_at(self, base: int) -> str:
        """The text as it was at a revision. Raises `OverlapError` where it is no longer known."""
        text = self._text
        for splice in reversed(self.since(base)):
            text = splice.back.on(text)
        return text

    def undo(self) -> Splice | None:
        """Take the last step back; None where there is none."""
        if not self._done:
            return None
        step = self._done.pop()
        self._undone.append(step)
        return self._record(step.splice.back)

    def redo(self) -> Splice | None:
        """Do again what was last taken back; None where nothing was."""
        if not self._undone:
            return None
        step = self._undone.pop()
        step.group = ""
        self._done.append(step)
        return self._record(step.splice)

    def _change(self, splice: Splice | None, group: str) -> Splice | None:
        if splice is None:
            return None
        if len(self._text) + splice.longer > SIZE_LIMIT:
            raise TooLongError
        before, now = self._text, self._clock()
        self._record(splice)
        last = self._done[-1] if self._done else None
        if last is not None and self._goes_on(last, splice, group, now) and not self._undone:
            merged = between(last.splice.back.on(before), self._text)
            if merged is None:
                self._done.pop()
            else:
                last.splice, last.at = merged, now
        else:
            self._done.append(_Step(splice, group, now))
            del self._done[:-_STEPS]
        self._undone.clear()
        return splice

    @staticmethod
    def _goes_on(last: _Step, splice: Splice, group: str, now: float) -> bool:
        """Whether a change belongs to the step before it: the same drag, or a word typed on."""
        if not group or last.group != group:
            return False
        if group != _TYPED:
            return True
        near = last.splice.start - 1 <= splice.end and splice.start <= last.splice.start + len(
            last.splice.new
        )
        return near and now - last.at < _PAUSE_S and "\n" not in splice.new

    def _record(self, splice: Splice) -> Splice:
        self._text = splice.on(self._text)
        self._revision += 1
        self._log.append(splice)
        if len(self._log) > 2 * _STEPS:
            self._log_from += len(self._log) - _STEPS
            del self._log[:-_STEPS]
        return splice

    # ------------------------------------------------------------ what it comes to

    @property
    def state(self) -> DocumentState:
        """What the present text comes to; it is measured and judged where that was not done yet."""
        if self._judged_at != self._revision:
            self.take(judge_text(self._text, self.name, self.shelf), self._revision)
        return self.known

    @property
    def known(self) -> DocumentState:
        """What is known without measuring anything."""
        judged = self._judged
        fresh = judged is not None and judged.checked is not None and self._judged_at == self._revision
        return DocumentState(
            self._judged_at, self._good, fresh, judged.problems if judged is not None else ()
        )

    def read_books_again(self, shelf: RulebookCache) -> None:
        """Hold the text against rulebooks read afresh; what it came to before is not known any more."""
        self.shelf = shelf
        self._judged_at = -1

    def take(self, judged: DocumentVerdict, revision: int) -> bool:
        """Take what the text of a revision came to; False where that of a later one is known."""
        if revision <= self._judged_at:
            return False
        self._judged, self._judged_at = judged, revision
        if judged.checked is not None:
            self._good = judged.checked
        return True


def _plain(text: str) -> str:
    """As a text stands here: line feeds, and nothing that no file can hold."""
    return whole_characters(text).replace("\r\n", "\n").replace("\r", "\n")


def _plain_all(splices: Iterable[tuple[int, int, str]]) -> list[tuple[int, int, str]]:
    return [(start, end, _plain(new)) for start, end, new in splices]

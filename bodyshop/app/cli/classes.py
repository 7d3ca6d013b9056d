"""What commands for a whole class have in common: its folder, its numbers, and how far the work has come."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Final, Self

from bodyshop.app.cli.arguments import operand, option, whole
from bodyshop.app.cli.console import Console, Progress
from bodyshop.foundation.files.names import is_there
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.text.columns import printable
from bodyshop.foundation.workers import MOST_JOBS

__all__ = ["FOLDER", "JOBS", "Watch", "class_folder", "no_design"]

FOLDER: Final = operand(
    "folder",
    "FOLDER",
    "a folder with design files in it; folders inside it are looked into, rulebooks left out",
)
JOBS: Final = option(
    "--jobs",
    "N",
    "processes to work with (default: one for each processor, where that is quicker)",
    whole("number of jobs", 1, MOST_JOBS),
)

_PATIENCE_S: Final = 1.0
"""Work that takes no longer than this needs no bar."""


def class_folder(name: str, console: Console) -> Path:
    """The folder meant: `samples`, where there is none of that name here, is the one that comes along."""
    path = Path(name)
    if name.strip("/\\") == "samples" and not is_there(path):
        console.complain('No folder "samples" here, so these are the built-in samples.\n')
        return samples_folder()
    if not name.strip() or "\0" in name:
        raise ProblemsError(
            [Problem("file-missing", "no folder is named", expected="a folder with design files in it")]
        )
    return path


def no_design(folder: str, rulebooks: int = 0) -> ProblemsError:
    """What is raised about a folder without a design, with the number of rulebooks that are in it."""
    message = "there is no design in this folder"
    if rulebooks:
        message += f", only {'a rulebook' if rulebooks == 1 else f'{rulebooks} rulebooks'}"
    expected = "design files, whose names end in .toml"
    return ProblemsError([Problem("class-empty", message, file=printable(folder), expected=expected)])


class Watch:
    """Shows how far the work has come once it has taken longer than a glance."""

    def __init__(self, console: Console, words: str = "checking") -> None:
        self._words = words
        self._progress = Progress(console, 1, log=False)
        self._begun = time.monotonic()
        self._first: tuple[int, float] | None = None
        self._shown = False

    def __enter__(self) -> Self:
        self._progress.__enter__()
        return self

    def __exit__(self, *_: object) -> None:
        self._progress.__exit__()

    def done(self, count: int, total: int) -> None:
        """So many of so many are done."""
        now = time.monotonic()
        # The first ones took the start of the processes as well: speed is worked out from there on.
        if self._first is None:
            self._first = (count, now)
        if now - self._begun < _PATIENCE_S:
            return
        if not self._shown:
            self._progress.step(self._words)
            self._shown = True
        before, since = self._first
        words = f"{count} of {total}"
        if count > before and count < total:
            words += f", {_seconds((now - since) / (count - before) * (total - count))} left"
        self._progress.within(words, count / total)


def _seconds(seconds: float) -> str:
    if seconds < 100:
        return f"about {max(1, round(seconds))} s"
    return f"about {round(seconds / 60)} min"

"""What is being done, for work that takes longer than a glance."""

from __future__ import annotations

from typing import Self

from bodyshop.cli.console import Console
from bodyshop.report.columns import clip, pad

__all__ = ["Progress"]

_BAR = 12


class Progress:
    """Shares of a piece of work on the standard error.

    On a terminal one line is written over and over and taken away at the end; elsewhere each new step is
    a line of its own, so that a log stays readable, or nothing unless `log` is set. Use it in a `with`.
    """

    def __init__(self, console: Console, steps: int, *, log: bool = True) -> None:
        self._log = log
        self._console = console
        self._steps = max(1, steps)
        self._done = 0
        self._step = ""
        self._shown = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self._console.err_is_terminal and self._shown:
            self._console.complain("\r" + " " * self._shown + "\r")

    def step(self, words: str) -> None:
        """Begin the next step."""
        self._done += 1 if self._step else 0
        self._step = words
        if self._console.err_is_terminal:
            self._draw(words, 0.0)
        elif self._log:
            self._console.complain(f"[{min(self._done + 1, self._steps)}/{self._steps}] {words}\n")

    def within(self, words: str, share: float) -> None:
        """How far the step has come, 0 to 1, and what it is at."""
        if self._console.err_is_terminal:
            self._draw(f"{self._step}: {words}" if words else self._step, share)

    def _draw(self, words: str, share: float) -> None:
        full = round(_BAR * min(1.0, (self._done + min(max(share, 0.0), 1.0)) / self._steps))
        text = clip(f"[{'#' * full}{'.' * (_BAR - full)}] {words}", self._console.width - 1)
        self._console.complain("\r" + pad(text, self._shown))
        self._shown = max(self._shown, len(text))

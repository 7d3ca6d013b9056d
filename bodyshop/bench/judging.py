"""A text judged as it stands, in a file or not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from bodyshop.checking import Bookshelf, Checked, Opened, check_car, open_source
from bodyshop.problems import Problem, ProblemsError
from bodyshop.source import parse_source

__all__ = ["LIVE", "Judged", "judge_car", "judge_text"]

LIVE: Final = ("car.track_clearance", "bore.wall")
"""Measures that are always shown, whether or not a rule names them."""


@dataclass(frozen=True, slots=True)
class Judged:
    """What a text came to: a judged car, or None and why; `problems` holds warnings too."""

    checked: Checked | None
    problems: tuple[Problem, ...]


def judge_text(text: str, name: str, shelf: Bookshelf, *, full: bool = False) -> Judged:
    """Read, measure and judge a design's text. `name` is the path it would have, for rulebooks beside it.

    Only what its rulebook asks for and what is always shown is measured, unless it is to be `full`.
    """
    try:
        opened = open_source(parse_source(text, name), shelf)
    except ProblemsError as error:
        return Judged(None, error.problems)
    return judge_car(opened, full=full)


def judge_car(opened: Opened, *, full: bool = False) -> Judged:
    """Measure and judge a car that has been read, as `judge_text` does."""
    return Judged(check_car(opened, None if full else LIVE), opened.warnings)

"""A text judged as it stands, in a file or not."""

from __future__ import annotations

from dataclasses import dataclass

from bodyshop.checking import Bookshelf, Checked, Opened, check_car, open_source
from bodyshop.problems import Problem, ProblemsError
from bodyshop.source import parse_source

__all__ = ["Judged", "judge_car", "judge_text"]


@dataclass(frozen=True, slots=True)
class Judged:
    """What a text came to: a judged car, or None and why; `problems` holds warnings too."""

    checked: Checked | None
    problems: tuple[Problem, ...]


def judge_text(text: str, name: str, shelf: Bookshelf) -> Judged:
    """Read, measure and judge a design's text. `name` is the path it would have, for rulebooks beside it."""
    try:
        opened = open_source(parse_source(text, name), shelf)
    except ProblemsError as error:
        return Judged(None, error.problems)
    return judge_car(opened)


def judge_car(opened: Opened) -> Judged:
    """Measure and judge a car that has been read."""
    return Judged(check_car(opened), opened.warnings)

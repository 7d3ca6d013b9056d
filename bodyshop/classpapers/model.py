"""What is asked for, and what comes of each file of a class: plain, so that it travels between processes."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from bodyshop.drawing.items import Sheet
from bodyshop.drawing.printer import Printer
from bodyshop.problems import Problem
from bodyshop.stock.sheets import SheetSize

__all__ = ["CarPapers", "Content", "Made", "PapersAsked", "Unmade"]


_PAGE_MM = 297.0
_PAGE_RATIO = 1.25


class Content(Enum):
    """Which papers each car gets, in this order."""

    TEMPLATES = "templates"
    BUILD_SHEET = "buildsheet"


@dataclass(frozen=True, slots=True)
class PapersAsked:
    """What every car gets, and on what paper.

    `rulebook` and `division` are as typed (empty for each design's own). Without a `date` there is a line
    for it. `printer` is one that does not print true.
    """

    sheet: SheetSize
    contents: tuple[Content, ...] = (Content.TEMPLATES,)
    rulebook: str = ""
    division: str = ""
    date: str = ""
    owner: str = ""
    printer: Printer | None = None

    @property
    def page(self) -> SheetSize:
        """The sheet for what flows from page to page: off a roll a piece a little longer than wide."""
        size = self.sheet
        if size.free is None:
            return size
        return size.cut(min(size.height_mm, max(_PAGE_MM, round(size.width_mm * _PAGE_RATIO))))


@dataclass(frozen=True, slots=True)
class CarPapers:
    """The papers of one car: its sheets, and in `pages` the name of each."""

    file: str
    name: str
    bench: str
    rulebook: str
    verdict: str
    fails: bool
    open: bool
    fingerprint: str
    pages: tuple[str, ...]
    sheets: tuple[Sheet, ...]


@dataclass(frozen=True, slots=True)
class Unmade:
    """A file without papers: its first problem, and how many there are; or, being a rulebook, none."""

    file: str
    problem: Problem | None
    count: int = 0


Made = CarPapers | Unmade

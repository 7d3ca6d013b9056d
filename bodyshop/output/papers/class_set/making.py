"""The papers of each car of a class: what is asked for, and what comes of each file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from functools import cache, partial
from pathlib import Path
from typing import Final

from bodyshop.drawing.layout.printer import Printer
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml import read_source
from bodyshop.foundation.units import LengthUnit
from bodyshop.foundation.workers import Task, worked
from bodyshop.output.words.papers import PrintedVerdict, bench_name, paper_name, stamp_of
from bodyshop.records.classroom.check_file import is_rulebook
from bodyshop.records.classroom.checking import Done, program_fault
from bodyshop.records.classroom.discovery import ClassFile
from bodyshop.rules.checking import Checked, RulebookCache, check_car, open_car

__all__ = [
    "CarPapers",
    "FailedPapers",
    "Made",
    "PaperKind",
    "PaperRequest",
    "made_papers",
    "make_papers",
    "usual_unit",
]


_LOOKED_AT: Final = 100
_INCHES: Final = frozenset(("in", "inch", "inches"))


def usual_unit(files: Sequence[ClassFile]) -> LengthUnit:
    """Inches where most of the designs say so, else mm; a file that cannot be read counts for neither."""
    counts = {LengthUnit.MM: 0, LengthUnit.IN: 0}
    for entry in files[:_LOOKED_AT]:
        try:
            values = read_source(Path(entry.path)).values
        except ProblemsError:
            continue
        if "profile" in values:
            inches = str(values.get("units", "")).casefold() in _INCHES
            counts[LengthUnit.IN if inches else LengthUnit.MM] += 1
    return LengthUnit.IN if counts[LengthUnit.IN] > counts[LengthUnit.MM] else LengthUnit.MM


_PAGE_MM = 297.0
_PAGE_RATIO = 1.25


class PaperKind(Enum):
    """Which papers each car gets, in this order."""

    TEMPLATES = "templates"
    BUILD_SHEET = "buildsheet"


@dataclass(frozen=True, slots=True)
class PaperRequest:
    """What every car gets, and on what paper.

    `rulebook` and `division` are as typed (empty for each design's own). Without a `date` there is a line
    for it. `printer` is one that does not print true.
    """

    sheet: SheetSize
    contents: tuple[PaperKind, ...] = (PaperKind.TEMPLATES,)
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
class FailedPapers:
    """A file without papers: its first problem, and how many there are; or, being a rulebook, none."""

    file: str
    problem: Problem | None
    count: int = 0


Made = CarPapers | FailedPapers


@cache
def _shelf(rulebook: str, division: str) -> RulebookCache:
    """Each rulebook is read once in a process."""
    return RulebookCache(rulebook, division)


def made_papers(entry: ClassFile, asked: PaperRequest) -> Made:
    """The papers of one file, or why there are none."""
    try:
        checked = check_car(open_car(entry.path, shelf=_shelf(asked.rulebook, asked.division)))
        sheets, names = _sheets(checked, asked)
    except ProblemsError as error:
        if is_rulebook(entry):
            return FailedPapers(entry.shown, None)
        return FailedPapers(entry.shown, error.problems[0], len(error.problems))
    design, stamp = checked.opened.design, stamp_of(checked.judgement)
    return CarPapers(
        file=entry.shown,
        name=paper_name(design),
        bench=bench_name(design),
        rulebook=stamp.rulebook,
        verdict=stamp.word,
        fails=stamp.standing in (PrintedVerdict.FAILS, PrintedVerdict.DOUBTFUL),
        open=stamp.standing is PrintedVerdict.OPEN,
        fingerprint=design.fingerprint,
        pages=names,
        sheets=tuple(sheets),
    )


def _sheets(checked: Checked, asked: PaperRequest) -> tuple[list[Sheet], tuple[str, ...]]:
    sheets: list[Sheet] = []
    names: list[str] = []
    if PaperKind.TEMPLATES in asked.contents:
        from bodyshop.output.papers.templates import TemplateOptions, template_set

        chosen = TemplateOptions(date=asked.date, owner=asked.owner, printer=asked.printer)
        drawn = template_set(checked.opened.car, stamp_of(checked.judgement), asked.sheet, chosen).for_paper
        sheets += drawn
        names += [sheet.name for sheet in drawn]
    if PaperKind.BUILD_SHEET in asked.contents:
        from bodyshop.output.papers.buildsheet import BuildOptions, build_sheets

        told = build_sheets(checked, asked.page, BuildOptions(date=asked.date, owner=asked.owner))
        sheets += told
        names += [f"build sheet, {sheet.name}" for sheet in told]
    return sheets, tuple(names)


_ENOUGH: Final = 4
"""Cars that make one more process worth its start."""


def make_papers(
    files: Sequence[ClassFile], asked: PaperRequest, *, jobs: int | None = None, done: Done | None = None
) -> list[Made]:
    """What comes of every file, in their order.

    `jobs` is how many processes may work, 1 meaning this one alone; as many as pay off when it is None.
    """
    task = Task(partial(made_papers, asked=asked), _failed, begin=_ready, enough=_ENOUGH)
    made: list[Made] = []
    for each in worked(files, task, jobs):
        made.append(each)
        if done is not None:
            done(len(made), len(files))
    return made


def _ready() -> None:
    """Load what draws papers, as far as it is asked for nearly always."""
    from bodyshop.output.papers import templates  # noqa: F401


def _failed(entry: ClassFile, what: str) -> Made:
    return FailedPapers(entry.shown, program_fault(entry, what), 1)

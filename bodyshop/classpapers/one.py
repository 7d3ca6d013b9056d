"""The papers of one file of a class."""

from __future__ import annotations

from functools import cache

from bodyshop.checking import Bookshelf, Checked, check_car, open_car
from bodyshop.classpapers.model import CarPapers, Content, Made, PapersAsked, Unmade
from bodyshop.classwork.found import Entry
from bodyshop.classwork.one import is_rulebook
from bodyshop.drawing.items import Sheet
from bodyshop.drawing.names import bench_name, paper_name
from bodyshop.drawing.stamp import Standing, stamp_of
from bodyshop.problems import ProblemsError

__all__ = ["made_papers"]


@cache
def _shelf(rulebook: str, division: str) -> Bookshelf:
    """Each rulebook is read once in a process."""
    return Bookshelf(rulebook, division)


def made_papers(entry: Entry, asked: PapersAsked) -> Made:
    """The papers of one file, or why there are none."""
    try:
        checked = check_car(open_car(entry.path, shelf=_shelf(asked.rulebook, asked.division)))
        sheets, names = _sheets(checked, asked)
    except ProblemsError as error:
        if is_rulebook(entry):
            return Unmade(entry.shown, None)
        return Unmade(entry.shown, error.problems[0], len(error.problems))
    design, stamp = checked.opened.design, stamp_of(checked.judgement)
    return CarPapers(
        file=entry.shown,
        name=paper_name(design),
        bench=bench_name(design),
        rulebook=stamp.rulebook,
        verdict=stamp.word,
        fails=stamp.standing in (Standing.FAILS, Standing.DOUBTFUL),
        open=stamp.standing is Standing.OPEN,
        fingerprint=design.fingerprint,
        pages=names,
        sheets=tuple(sheets),
    )


def _sheets(checked: Checked, asked: PapersAsked) -> tuple[list[Sheet], tuple[str, ...]]:
    sheets: list[Sheet] = []
    names: list[str] = []
    if Content.TEMPLATES in asked.contents:
        from bodyshop.templates import TemplateOptions, template_set

        chosen = TemplateOptions(date=asked.date, owner=asked.owner, printer=asked.printer)
        drawn = template_set(checked.opened.car, stamp_of(checked.judgement), asked.sheet, chosen).for_paper
        sheets += drawn
        names += [sheet.name for sheet in drawn]
    if Content.BUILD_SHEET in asked.contents:
        from bodyshop.buildsheet import BuildOptions, build_sheets

        told = build_sheets(checked, asked.page, BuildOptions(date=asked.date, owner=asked.owner))
        sheets += told
        names += [f"build sheet, {sheet.name}" for sheet in told]
    return sheets, tuple(names)

"""A class's papers put together: index first, then car by car, every page numbered, with bookmarks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from bodyshop.classpapers.index import class_mark, class_name, index_sheets
from bodyshop.classpapers.model import CarPapers, Made, PapersAsked
from bodyshop.drawing.frame import page_number
from bodyshop.drawing.items import Sheet
from bodyshop.drawing.printer import corrected
from bodyshop.writers.meta import DocMeta
from bodyshop.writers.pdf import Bookmark, write_pdf

__all__ = ["class_papers_pdf"]


def class_papers_pdf(folder: str, made: Sequence[Made], asked: PapersAsked) -> bytes:
    """One PDF of the whole class, the same bytes for the same designs.

    What could not be made is on the index, and is missed nowhere else.
    """
    front = len(index_sheets(folder, made, asked))
    pages = _numbered(made, front)
    index = [corrected(sheet, asked.printer) for sheet in index_sheets(folder, made, asked, pages)]
    total = front + sum(len(car.pages) for car in made if isinstance(car, CarPapers))
    meta = DocMeta(
        f"{class_name(folder)}: class papers",
        asked.owner,
        "papers of a class, templates at full size, 1 : 1",
        (class_mark(made),),
    )
    sheets = (_told(sheet, number, total) for number, sheet in enumerate(_all(index, made), 1))
    return write_pdf(sheets, meta, _bookmarks(index, made, pages))


def _numbered(made: Sequence[Made], front: int) -> dict[int, tuple[int, int]]:
    """First and last page of every car, by its place."""
    pages: dict[int, tuple[int, int]] = {}
    at = front
    for place, each in enumerate(made):
        if isinstance(each, CarPapers):
            pages[place] = (at + 1, at + len(each.pages))
            at += len(each.pages)
    return pages


def _all(index: Sequence[Sheet], made: Sequence[Made]) -> Iterator[Sheet]:
    """Every sheet in order."""
    yield from index
    for each in made:
        if isinstance(each, CarPapers):
            yield from each.sheets


def _told(sheet: Sheet, number: int, total: int) -> Sheet:
    return replace(sheet, items=(*sheet.items, page_number(sheet, number, total)))


def _bookmarks(
    index: Sequence[Sheet], made: Sequence[Made], pages: Mapping[int, tuple[int, int]]
) -> list[Bookmark]:
    marks = [Bookmark("Index", 0)]
    marks += [Bookmark(f"index, {sheet.name}", at, 1) for at, sheet in enumerate(index) if len(index) > 1]
    for place, (first, _) in pages.items():
        car = made[place]
        if isinstance(car, CarPapers):
            whose = f"{car.name}, {car.bench}" if car.bench else car.name
            marks.append(Bookmark(f"{whose}: {car.verdict}", first - 1))
            marks += [Bookmark(name, first - 1 + at, 1) for at, name in enumerate(car.pages)]
    return marks

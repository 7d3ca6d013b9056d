"""A class's papers put together: index first, then car by car, every page numbered, with bookmarks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from bodyshop.car.design.fingerprint import fingerprint
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.blocks import Block, caution_box, paragraph
from bodyshop.drawing.layout.frame import TitleBlock, page_number
from bodyshop.drawing.layout.pages import Pages
from bodyshop.drawing.layout.printer import corrected
from bodyshop.drawing.layout.table import Align, Cell, Column, Table
from bodyshop.drawing.sheet.items import Item, Sheet, Weight
from bodyshop.drawing.sheet.paper import SheetSide
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import rectangle
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.drawing.writers.pdf import Bookmark, write_pdf
from bodyshop.foundation.text.small_words import number_words
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.class_set.making import CarPapers, FailedPapers, Made, PaperKind, PaperRequest
from bodyshop.records.classroom.discovery import SUFFIX

__all__ = ["class_mark", "class_name", "class_papers_pdf", "index_sheets", "number_words", "summary"]


_DATE_BY_HAND: Final = "printed on ______________"
_TITLE_MM: Final = 4.2
_TEXT_MM: Final = 2.5
_NOTE_MM: Final = 2.2
_LONGEST: Final = 240

# Shares of the width; the figures need little, names a lot.
_COLUMNS: Final = (
    ("no.", 0.045, Align.RIGHT),
    ("car", 0.17, Align.LEFT),
    ("bench", 0.12, Align.LEFT),
    ("verdict", 0.16, Align.LEFT),
    ("design code", 0.125, Align.LEFT),
    ("file", 0.21, Align.LEFT),
    ("sheets", 0.075, Align.RIGHT),
    ("pages", 0.095, Align.RIGHT),
)
_CONTENT_WORDS: Final = {PaperKind.TEMPLATES: "templates at full size", PaperKind.BUILD_SHEET: "build sheet"}


def class_name(folder: str) -> str:
    """What a class is called: the name of its folder."""
    name = Path(folder).resolve().name if folder else ""
    return name or "class"


def class_mark(made: Sequence[Made]) -> str:
    """A fingerprint of all the designs in their order."""
    return fingerprint([each.fingerprint for each in made if isinstance(each, CarPapers)])


def summary(made: Sequence[Made]) -> str:
    """The class in one sentence."""
    cars = [each for each in made if isinstance(each, CarPapers)]
    unread = [each for each in made if isinstance(each, FailedPapers) and each.problem is not None]
    fails, is_open = sum(car.fails for car in cars), sum(car.open for car in cars)
    parts = [f"{len(cars) - fails - is_open} pass", f"{fails} fail"]
    parts += [f"{is_open} cannot be judged"] if is_open else []
    parts += [f"{len(unread)} cannot be read"] if unread else []
    return f"{number_words(len(cars) + len(unread), 'design')}: {', '.join(parts)}."


def index_sheets(
    folder: str, made: Sequence[Made], asked: PaperRequest, pages: Mapping[int, tuple[int, int]] | None = None
) -> list[Sheet]:
    """The index. `pages` are the first and last page of each car, by its place in `made`.

    Without them there are as many sheets as with them, so that they can be counted first.
    """
    cars = [(place, each) for place, each in enumerate(made) if isinstance(each, CarPapers)]
    failing = sum(car.fails for _, car in cars)
    title = TitleBlock(
        title=class_name(folder),
        document="contents",
        owner=asked.owner,
        identification=class_mark(made),
        date=asked.date or _DATE_BY_HAND,
        rulebook=_rulebooks([car for _, car in cars]),
        verdict=f"{failing} of {len(cars)} FAIL" if failing else f"none of {len(cars)} fails",
        verdict_label="cars that fail",
        fails=failing > 0,
        scale="none",
    )
    size = asked.page
    laid = Pages(size, title, lambda width: _head(folder, made, asked, width))
    rows: list[tuple[str | Cell, ...]] = []
    shaded: list[int] = []
    for number, (place, car) in enumerate(cars, 1):
        first, last = (pages or {}).get(place, (0, 0))
        told = f"{first}–{last}" if last > first else str(first)
        row = (
            str(number),
            Cell(car.name, car.fails),
            car.bench,
            Cell(car.verdict, car.fails),
            car.fingerprint,
            car.file.removesuffix(SUFFIX),
            str(len(car.pages)),
            told if pages else "",
        )
        shaded += [len(rows)] if car.fails else []
        rows.append(row)
    columns = tuple(Column(name, share * laid.width_mm, align) for name, share, align in _COLUMNS)
    if rows:
        laid.table(Table(columns, tuple(rows), text_mm=_NOTE_MM, shaded=frozenset(shaded)))
    _missing(laid, made)
    sheets = laid.sheets()
    across = size.long_side is SheetSide.WIDTH
    return [replace(sheet, feeds_along_x=across, is_cut_off=size.free is not None) for sheet in sheets]


def _missing(laid: Pages, made: Sequence[Made]) -> None:
    """The files that nothing could be made of, and why."""
    unread = [each for each in made if isinstance(each, FailedPapers) and each.problem is not None]
    if not unread:
        return
    laid.heading(f"No papers: {number_words(len(unread), 'file')} cannot be read")
    rows: list[tuple[str | Cell, ...]] = []
    for each in unread:
        problem = each.problem
        if problem is None:
            continue
        where = f"line {problem.span.line}: " if problem.span is not None else ""
        told = where + problem.sentence
        told = told if len(told) <= _LONGEST else told[: _LONGEST - 1] + "…"
        if each.count > 1:
            told += f" (and {number_words(each.count - 1, 'more problem')})"
        rows.append((Cell(each.file, bold=True), told))
    widths = (0.28 * laid.width_mm, 0.72 * laid.width_mm)
    columns = (Column("file", widths[0]), Column("first problem", widths[1]))
    laid.table(Table(columns, tuple(rows), text_mm=_NOTE_MM))


def _rulebooks(cars: Sequence[CarPapers]) -> str:
    names = list(dict.fromkeys(car.rulebook for car in cars))
    if not names:
        return "none"
    return names[0] if len(names) == 1 else f"{names[0]} + {number_words(len(names) - 1, 'other rulebook')}"


def _head(folder: str, made: Sequence[Made], asked: PaperRequest, width: float) -> Block:
    """Whose papers these are, what they hold, how to print them; the workshop's caution."""
    items: list[Item] = []
    y = 0.0
    name = paragraph(f"Class papers: {class_name(folder)}", (0.0, y), width, _TITLE_MM, weight=Weight.BOLD)
    items += name.items
    y -= name.height_mm + 1.5
    held = " and ".join(_CONTENT_WORDS[content] for content in asked.contents)
    told = paragraph(
        f"{summary(made)} Each car: {held}, in the order of the table.", (0.0, y), width, _TEXT_MM
    )
    items += told.items
    y -= told.height_mm + 1.2
    how = (
        "Print at actual size (100 %); do not fit to page. Every page has its number beside the sheet "
        "number. Shaded rows in bold FAIL. Fix those designs before cutting."
    )
    printing = paragraph(how, (0.0, y), width, _NOTE_MM)
    items += printing.items
    y -= printing.height_mm + 1.8
    if asked.printer is not None:
        note = paragraph(asked.printer.note, (2.0, y - 1.4), width - 4.0, _NOTE_MM, weight=Weight.BOLD)
        high = note.height_mm + 2.8
        items += [*note.items, rectangle(Rect(0.0, y - high, width, high), Layer.CAUTION, Pen.FRAME)]
        y -= high + 1.8
    texts = [caution.sentence for caution in cautions_for(Operation.WORKSHOP)]
    box = caution_box(texts, (0.0, y), width, 1.9)
    return Block((*items, *box.items), box.height_mm - y)


def class_papers_pdf(folder: str, made: Sequence[Made], asked: PaperRequest) -> bytes:
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
    sheets = (_page_numbered(sheet, number, total) for number, sheet in enumerate(_all(index, made), 1))
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


def _page_numbered(sheet: Sheet, number: int, total: int) -> Sheet:
    return replace(sheet, items=(*sheet.items, page_number(sheet, number, total)))


def _bookmarks(
    index: Sequence[Sheet], made: Sequence[Made], pages: Mapping[int, tuple[int, int]]
) -> list[Bookmark]:
    marks = [Bookmark("Index", 0)]
    marks += [Bookmark(f"contents, {sheet.name}", at, 1) for at, sheet in enumerate(index) if len(index) > 1]
    for place, (first, _) in pages.items():
        car = made[place]
        if isinstance(car, CarPapers):
            whose = f"{car.name}, {car.bench}" if car.bench else car.name
            marks.append(Bookmark(f"{whose}: {car.verdict}", first - 1))
            marks += [Bookmark(name, first - 1 + at, 1) for at, name in enumerate(car.pages)]
    return marks

"""The index at the front of a class's papers: which car is on which pages, how it stands, what is missing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from bodyshop.classpapers.model import CarPapers, Content, Made, PapersAsked, Unmade
from bodyshop.classwork.found import SUFFIX
from bodyshop.design.fingerprint import fingerprint
from bodyshop.drawing.blocks import Block, caution_box, paragraph
from bodyshop.drawing.items import Item, Rect, Sheet, Weight
from bodyshop.drawing.pages import Pages
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import rectangle
from bodyshop.drawing.table import Align, Cell, Column, Table
from bodyshop.drawing.titleblock import TitleBlock
from bodyshop.stock.cautions import Operation, cautions_for
from bodyshop.stock.sheets import Side

__all__ = ["class_mark", "class_name", "index_sheets", "number_words", "summary"]

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
    ("fingerprint", 0.125, Align.LEFT),
    ("file", 0.21, Align.LEFT),
    ("sheets", 0.075, Align.RIGHT),
    ("pages", 0.095, Align.RIGHT),
)
_CONTENT_WORDS: Final = {Content.TEMPLATES: "templates at full size", Content.BUILD_SHEET: "build sheet"}


def class_name(folder: str) -> str:
    """What a class is called: the name of its folder."""
    name = Path(folder).resolve().name if folder else ""
    return name or "class"


def class_mark(made: Sequence[Made]) -> str:
    """A fingerprint of all the designs in their order."""
    return fingerprint([each.fingerprint for each in made if isinstance(each, CarPapers)])


def number_words(count: int, one: str, many: str = "") -> str:
    """`1 car`, `3 cars`."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def summary(made: Sequence[Made]) -> str:
    """The class in one sentence."""
    cars = [each for each in made if isinstance(each, CarPapers)]
    unread = [each for each in made if isinstance(each, Unmade) and each.problem is not None]
    fails, is_open = sum(car.fails for car in cars), sum(car.open for car in cars)
    parts = [f"{len(cars) - fails - is_open} pass", f"{fails} fail"]
    parts += [f"{is_open} cannot be judged"] if is_open else []
    parts += [f"{len(unread)} cannot be read"] if unread else []
    return f"{number_words(len(cars) + len(unread), 'design')}: {', '.join(parts)}."


def index_sheets(
    folder: str, made: Sequence[Made], asked: PapersAsked, pages: Mapping[int, tuple[int, int]] | None = None
) -> list[Sheet]:
    """The index. `pages` are the first and last page of each car, by its place in `made`.

    Without them there are as many sheets as with them, so that they can be counted first.
    """
    cars = [(place, each) for place, each in enumerate(made) if isinstance(each, CarPapers)]
    failing = sum(car.fails for _, car in cars)
    title = TitleBlock(
        title=class_name(folder),
        document="index of class papers",
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
    across = size.long_side is Side.WIDTH
    return [replace(sheet, feeds_along_x=across, is_cut_off=size.free is not None) for sheet in sheets]


def _missing(laid: Pages, made: Sequence[Made]) -> None:
    """The files that nothing could be made of, and why."""
    unread = [each for each in made if isinstance(each, Unmade) and each.problem is not None]
    if not unread:
        return
    laid.heading(f"No papers for {number_words(len(unread), 'file')} that cannot be read")
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
    return names[0] if len(names) == 1 else f"{names[0]} and {number_words(len(names) - 1, 'more')}"


def _head(folder: str, made: Sequence[Made], asked: PapersAsked, width: float) -> Block:
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
        "Print at actual size (100 %), do not fit to page. Every page has its number beside the sheet "
        "number. Shaded rows in heavy letters fail: put them right before any wood is cut."
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

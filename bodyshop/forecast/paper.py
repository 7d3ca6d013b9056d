"""What to change, as one sheet: the levers ranked, what makes the time wide, what was tried, the cautions."""

from __future__ import annotations

from typing import Final

from bodyshop.drawing.blocks import Block, caution_box, paragraph
from bodyshop.drawing.items import Sheet, Weight
from bodyshop.drawing.names import bench_name, paper_name
from bodyshop.drawing.pages import Pages
from bodyshop.drawing.shapes import moved
from bodyshop.drawing.stamp import stamp_of
from bodyshop.drawing.table import Align, Cell, Column, Table
from bodyshop.drawing.titleblock import TitleBlock
from bodyshop.forecast.chart import cause_bars, effect_bars
from bodyshop.forecast.model import Advice
from bodyshop.forecast.words import (
    FORMULA,
    NO_PROMISE,
    TEMPERATURE_NOTE,
    gain_words,
    headline,
    mass_words,
    seconds,
    verdict_words,
    wood_change,
)
from bodyshop.stock.cautions import Operation, cautions_for
from bodyshop.stock.sheets import SheetSize
from bodyshop.writers.meta import DocMeta

__all__ = ["change_pdf", "change_sheets", "change_svg"]

_DATE_BY_HAND: Final = "______________"
_NOTE_MM: Final = 1.9
_LEAST_SHARE: Final = 0.01


def change_sheets(advice: Advice, sheet: SheetSize, date: str = "", owner: str = "") -> list[Sheet]:
    """The sheets, each with its head and the cautions of the race."""
    forecast = advice.forecast
    checked = forecast.checked
    design, standing = checked.opened.design, stamp_of(checked.judgement)
    title = TitleBlock(
        title=paper_name(design),
        document="what to change",
        owner=owner,
        identification=design.fingerprint,
        creator=bench_name(design),
        date=date or _DATE_BY_HAND,
        rulebook=standing.rulebook,
        verdict=standing.word,
        fails=standing.fails,
    )
    words = headline(paper_name(design), forecast.prediction)
    pages = Pages(sheet, title, lambda width_mm: _head(width_mm, words))
    if advice.effects:
        pages.heading("What each change is worth to this car", 60.0)
        pages.put(effect_bars(advice.effects, pages.width_mm))
        _note(
            pages,
            "Grey bars: what the builder can change. Empty bars: what the day decides. The whisker holds 19 "
            "in 20. A gram off a tread counts twice: as mass, and as inertia. " + TEMPERATURE_NOTE,
        )
    causes = [cause for cause in forecast.prediction.causes if cause.share >= _LEAST_SHARE]
    if causes:
        pages.heading("What makes the predicted time wide", 30.0)
        pages.put(cause_bars(causes, pages.width_mm))
    if advice.what_if is not None:
        tried = advice.what_if
        pages.heading(f"With {' and '.join(tried.settings)}")
        told = (
            f"{gain_words(tried.difference)}; time {seconds(tried.prediction.finish)}. "
            f"{verdict_words(tried.checked.judgement)}"
        )
        _note(pages, told[:1].upper() + told[1:])
    if advice.woods:
        pages.heading("The same design in another wood")
        pages.table(_woods(advice, pages.width_mm), gap_mm=1.5)
    _note(
        pages, f"{FORMULA} Thrust: {forecast.prediction.setup.thrust.source}. Lane: {forecast.lane_source}."
    )
    return pages.sheets()


def _head(width_mm: float, words: str) -> Block:
    head = paragraph(f"{words} {NO_PROMISE}", (0.0, 0.0), width_mm, 2.4, weight=Weight.BOLD)
    texts = [caution.sentence for caution in cautions_for(Operation.CARTRIDGE, Operation.RACE)]
    box = caution_box(texts, (0.0, 0.0), width_mm, 1.9)
    items = (*head.items, moved(box.items, 0.0, -head.height_mm - 2.0))
    return Block(items, head.height_mm + 2.0 + box.height_mm)


def _note(pages: Pages, words: str) -> None:
    pages.put(paragraph(words, (0.0, 0.0), pages.width_mm, _NOTE_MM))


def _woods(advice: Advice, width_mm: float) -> Table:
    shares = (0.26, 0.22, 0.24, 0.28)
    titles = ("wood", "mass without cartridge", "time", "difference")
    columns = tuple(
        Column(title, share * width_mm, Align.LEFT if k == 0 else Align.RIGHT)
        for k, (title, share) in enumerate(zip(titles, shares, strict=True))
    )
    unit = advice.forecast.checked.opened.rulebook.mass_unit
    rows = tuple(
        (
            Cell(each.label, bold=each.own),
            mass_words(each.mass, unit),
            seconds(each.prediction.finish),
            wood_change(each),
        )
        for each in advice.woods
    )
    return Table(columns, rows)


def change_pdf(advice: Advice, sheet: SheetSize, date: str = "", owner: str = "") -> bytes:
    """The sheets as one PDF."""
    from bodyshop.writers.pdf import write_pdf

    return write_pdf(change_sheets(advice, sheet, date, owner), _meta(advice))


def change_svg(advice: Advice, sheet: SheetSize, date: str = "", owner: str = "") -> str:
    """The first sheet as SVG."""
    from bodyshop.writers.svg import write_svg

    return write_svg(change_sheets(advice, sheet, date, owner)[0], _meta(advice))


def _meta(advice: Advice) -> DocMeta:
    design = advice.forecast.checked.opened.design
    keywords = (design.fingerprint, "prediction")
    return DocMeta(f"{design.name}: what to change", design.bench, "what to change", keywords)

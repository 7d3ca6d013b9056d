"""What to change, as one sheet: changes ranked with their bars, what makes the time wide, and the sources."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.blocks import Block, caution_box, paragraph
from bodyshop.drawing.layout.frame import TitleBlock
from bodyshop.drawing.layout.pages import Pages
from bodyshop.drawing.layout.scatter import nice_ticks
from bodyshop.drawing.layout.table import Align, Cell, Column, Table
from bodyshop.drawing.sheet.items import Anchor, Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line, moved, rectangle
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.foundation.text.small_words import capital
from bodyshop.geometry.paths import Rect
from bodyshop.output.words.forecast import (
    FORMULA,
    NO_PROMISE,
    TEMPERATURE_NOTE,
    cause_label,
    gain_words,
    headline,
    mass_words,
    millis,
    millis_range,
    seconds,
    verdict_words,
    wood_change,
)
from bodyshop.output.words.papers import bench_name, paper_name, stamp_of
from bodyshop.physics.prediction import Cause
from bodyshop.physics.what_if import Reach, TimeEffect
from bodyshop.records.findings.forecast import Advice

__all__ = ["cause_bars", "change_pdf", "change_sheets", "change_svg", "effect_bars"]


_TEXT_MM: Final = 2.2
_ROW_MM: Final = 5.6
_BAR_MM: Final = 3.0
_GAP_MM: Final = 2.0
_CAP_MM: Final = 0.9
_FOOT_MM: Final = 9.0
_FILL: Final = 0.35
_RULE_MM: Final = 0.15


def effect_bars(effects: Sequence[TimeEffect], width_mm: float) -> Block:
    """A bar for each effect: gains (negative) to the left of the zero, losses to the right, each with the
    95 % range as a thin line.
    """
    labels = max(text_width_mm(effect.lever.action, _TEXT_MM) for effect in effects) + _GAP_MM
    told = [f"{millis(e.difference.seconds.value)}  ({millis_range(e.difference.seconds)})" for e in effects]
    figures = max(text_width_mm(words, _TEXT_MM) for words in told) + _GAP_MM
    seconds = [effect.difference.seconds for effect in effects]
    ticks, _ = nice_ticks(
        1e3 * min(0.0, *(held.low for held in seconds)), 1e3 * max(0.0, *(held.high for held in seconds)), 6
    )
    box = Rect(labels, -_ROW_MM * len(effects), width_mm - labels - figures, _ROW_MM * len(effects))

    def at(ms: float) -> float:
        return box.x + (ms - ticks[0]) / (ticks[-1] - ticks[0]) * box.width

    items: list[Item] = []
    for tick in ticks:
        x = at(tick)
        items.append(filled(Rect(x - _RULE_MM / 2, box.y, _RULE_MM, box.height), Layer.DIMENSION, 0.8))
        words = f"{tick:g}".replace("-", "−")
        items.append(Text(words, (x, box.y - 1.5 - _TEXT_MM), _TEXT_MM, Anchor.MIDDLE))
    items.append(Text("ms", (box.right + _GAP_MM, box.y - 1.5 - _TEXT_MM), _TEXT_MM))
    foot = (box.centre[0], box.y - 3.2 - 2 * _TEXT_MM)
    items.append(Text("faster to the left", foot, _TEXT_MM, Anchor.MIDDLE))
    for k, (effect, words) in enumerate(zip(effects, told, strict=True)):
        held = effect.difference.seconds
        middle = -_ROW_MM * (k + 0.5)
        base = middle - _TEXT_MM / 2
        items.append(Text(effect.lever.action, (0.0, base), _TEXT_MM))
        items.append(Text(words, (width_mm, base), _TEXT_MM, Anchor.END))
        left, right = sorted((at(0.0), at(1e3 * held.value)))
        bar = Rect(left, middle - _BAR_MM / 2, right - left, _BAR_MM)
        items += _bar(bar, solid=effect.lever.reach is Reach.BUILDER)
        ends = (at(1e3 * held.low), at(1e3 * held.high))
        items.append(line((ends[0], middle), (ends[1], middle), Layer.DIMENSION, Pen.VISIBLE))
        items += [
            line((x, middle - _CAP_MM), (x, middle + _CAP_MM), Layer.DIMENSION, Pen.VISIBLE) for x in ends
        ]
    items.append(line((at(0.0), box.y), (at(0.0), box.top), Layer.DIMENSION, Pen.FRAME))
    return Block(tuple(items), box.height + _FOOT_MM)


def cause_bars(causes: Sequence[Cause], width_mm: float) -> Block:
    """A bar for each cause's share of the spread."""
    labels = max(text_width_mm(cause_label(cause), _TEXT_MM) for cause in causes) + _GAP_MM
    figures = text_width_mm("100 %", _TEXT_MM) + _GAP_MM
    room = (width_mm - labels - figures) / max(cause.share for cause in causes)
    items: list[Item] = []
    for k, cause in enumerate(causes):
        middle = -_ROW_MM * (k + 0.5)
        base = middle - _TEXT_MM / 2
        items.append(Text(cause_label(cause), (0.0, base), _TEXT_MM))
        bar = Rect(labels, middle - _BAR_MM / 2, room * cause.share, _BAR_MM)
        items += _bar(bar, solid=True)
        items.append(Text(f"{100.0 * cause.share:.0f} %", (bar.right + _GAP_MM, base), _TEXT_MM))
    return Block(tuple(items), _ROW_MM * len(causes))


def _bar(rect: Rect, *, solid: bool) -> list[Item]:
    if not solid:
        return [rectangle(rect, Layer.DIMENSION, Pen.VISIBLE)]
    return [filled(rect, Layer.DIMENSION, _FILL), rectangle(rect, Layer.DIMENSION, Pen.VISIBLE)]


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
            "Grey bars: things you can change. Empty bars: things you cannot. The thin line shows the 95 % "
            "range. A gram off a tread counts twice: as mass, and as inertia. " + TEMPERATURE_NOTE,
        )
    causes = [cause for cause in forecast.prediction.causes if cause.share >= _LEAST_SHARE]
    if causes:
        pages.heading("Why the range of the time is wide", 30.0)
        pages.put(cause_bars(causes, pages.width_mm))
    if advice.what_if is not None:
        tried = advice.what_if
        pages.heading(f"With {' and '.join(tried.settings)}")
        told = (
            f"{gain_words(tried.difference)}; time {seconds(tried.prediction.finish)}. "
            f"{verdict_words(tried.checked.judgement)}"
        )
        _note(pages, capital(told))
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
    from bodyshop.drawing.writers.pdf import write_pdf

    return write_pdf(change_sheets(advice, sheet, date, owner), _meta(advice))


def change_svg(advice: Advice, sheet: SheetSize, date: str = "", owner: str = "") -> str:
    """The first sheet as SVG."""
    from bodyshop.drawing.writers.svg import write_svg

    return write_svg(change_sheets(advice, sheet, date, owner)[0], _meta(advice))


def _meta(advice: Advice) -> DocMeta:
    design = advice.forecast.checked.opened.design
    keywords = (design.fingerprint, "prediction")
    return DocMeta(f"{design.name}: what to change", design.bench, "what to change", keywords)

"""The build sheet of one car, sheet after sheet, and the PDF of them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.blocks import Block, caution_box, paragraph
from bodyshop.drawing.layout.dimensions import Figures, scale_text
from bodyshop.drawing.layout.frame import TitleBlock
from bodyshop.drawing.layout.pages import Pages
from bodyshop.drawing.sheet.items import Anchor, Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, rectangle
from bodyshop.drawing.writers.formats import write_sheets
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.foundation.units import LengthUnit, MassUnit
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.buildsheet.exploded import (
    SCALES,
    exploded_axle,
    exploded_size,
    underside,
)
from bodyshop.output.papers.buildsheet.lengths import axle_cuts, eye_positions
from bodyshop.output.papers.buildsheet.steps import step_block, steps_of
from bodyshop.output.papers.buildsheet.tables import (
    axle_table,
    drilling_table,
    eye_table,
    mass_table,
    materials_table,
)
from bodyshop.output.words.papers import VerdictStamp, bench_name, paper_name, stamp_of
from bodyshop.rules.checking import Checked

__all__ = ["BuildOptions", "build_sheet_files", "build_sheet_pdf", "build_sheets", "sheet_head"]


_FAIL_MM: Final = 11.0
_OPEN_MM: Final = 8.0


def sheet_head(width_mm: float, standing: VerdictStamp) -> Block:
    """The caution for the workshop, under a black-ended band where the car does not pass."""
    items: list[Item] = []
    y = 0.0
    if standing.warning:
        high = _FAIL_MM if standing.fails else _OPEN_MM
        band = Rect(0.0, -high, width_mm, high)
        end = 7.0 if standing.fails else 0.0
        wanted = 5.0 if standing.fails else 3.0
        room = width_mm - 2 * end - 4.0
        size = min(wanted, wanted * room / text_width_mm(standing.warning, wanted, bold=True))
        at = (band.centre[0], band.centre[1] - size / 2)
        items.append(Text(standing.warning, at, size, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION))
        if standing.fails:
            blocks = (0.0, width_mm - end)
            items += [filled(Rect(x, band.y, end, high), Layer.CAUTION, 0.0) for x in blocks]
        items.append(rectangle(band, Layer.CAUTION, Pen.HEAVY if standing.fails else Pen.FRAME))
        y = -high - 1.5
    texts = [caution.sentence for caution in cautions_for(Operation.WORKSHOP)]
    box = caution_box(texts, (0.0, y), width_mm, 1.9)
    return Block((*items, *box.items), box.height_mm - y)


_DATE_BY_HAND: Final = "______________"
_NOTE_MM: Final = 1.9
_NOT_A_TEMPLATE: Final = (
    "Use these drawings for the order of the parts. Use the numbers for the lengths. The hubs are not to "
    "scale."
)


@dataclass(frozen=True, slots=True)
class BuildOptions:
    """What a caller may choose.

    Without a `date` there is a line for it: the same design then makes the same bytes on any day.
    `owner` is the school or workshop.
    """

    date: str = ""
    owner: str = ""


def build_sheets(checked: Checked, sheet: SheetSize, options: BuildOptions | None = None) -> list[Sheet]:
    """The sheets of a car's build sheet, with the verdict on each."""
    chosen = options or BuildOptions()
    car, design = checked.opened.car, checked.opened.design
    figures = Figures(design.unit)
    standing = stamp_of(checked.judgement)
    title = TitleBlock(
        title=paper_name(design),
        document="build sheet",
        owner=chosen.owner,
        identification=design.fingerprint,
        creator=bench_name(design),
        date=chosen.date or _DATE_BY_HAND,
        rulebook=standing.rulebook,
        verdict=standing.word,
        fails=standing.fails,
    )
    pages = Pages(sheet, title, lambda width_mm: sheet_head(width_mm, standing))
    _lists(pages, car, figures)
    _drawings(pages, car, figures)
    _steps(pages, car, figures, checked.opened.rulebook.mass_unit)
    return pages.sheets()


def build_sheet_pdf(checked: Checked, sheet: SheetSize, options: BuildOptions | None = None) -> bytes:
    """The same as one PDF."""
    return build_sheet_files("sheet", checked, sheet, options, ("pdf",))["sheet.pdf"]


def build_sheet_files(
    stem: str, checked: Checked, sheet: SheetSize, options: BuildOptions | None, formats: Collection[str]
) -> dict[str, bytes]:
    """The same as files by name: `STEM.pdf`, `STEM-1.svg` and on."""
    design, standing = checked.opened.design, stamp_of(checked.judgement)
    keywords = (design.fingerprint, standing.rulebook, standing.word)
    meta = DocMeta(f"{design.name}: build sheet", design.bench, "build sheet", keywords)
    return write_sheets(stem, build_sheets(checked, sheet, options), meta, formats)


def _lists(pages: Pages, car: Car, figures: Figures) -> None:
    width = pages.width_mm
    pages.heading("Materials and hardware")
    pages.table(materials_table(car, figures, width))
    pages.heading("Drilling, while the blank is square")
    pages.table(drilling_table(car, figures, width))
    pages.heading("Cut to length")
    pages.table(axle_table(car, figures, width), gap_mm=1.5)
    _note(pages, _sum_note(figures))
    pages.heading("Screw eyes")
    pages.table(eye_table(car, figures, width))


def _sum_note(figures: Figures) -> str:
    note = "These lengths are for the body as drawn. Measure your own body and cut to fit it. Washers sit"
    note += " between the body and each hub, as many on the left as on the right."
    if figures.unit is LengthUnit.IN:
        return f"Inches: nearest 1/64, decimal in brackets; rounded only at the end. {note}"
    return note


def _drawings(pages: Pages, car: Car, figures: Figures) -> None:
    """Both axles to one scale, the largest that a sheet has room for, then the screw eyes."""
    cuts, width = axle_cuts(car), pages.width_mm

    def fits(scale: float) -> bool:
        sizes = [exploded_size(cut, car, scale) for cut in cuts]
        high = sum(size[1] for size in sizes) + 14.0
        return max(size[0] for size in sizes) <= width and high <= pages.room_mm

    scale = next((each for each in SCALES if fits(each)), SCALES[-1])
    pages.turn()
    for cut in cuts:
        pages.put(exploded_axle(cut, car, figures, scale, width))
        pages.scale(scale_text(scale))
    counted = "inches" if figures.unit is LengthUnit.IN else figures.unit.symbol
    _note(pages, f"Figures in {counted}. {_NOT_A_TEMPLATE}")
    spots = eye_positions(car)
    if spots:
        block, own = underside(car, spots, figures, width)
        pages.put(block)
        pages.scale(own)


def _steps(pages: Pages, car: Car, figures: Figures, mass: MassUnit) -> None:
    pages.heading("Steps, in shop order", 60.0)
    for number, step in enumerate(steps_of(car, figures), 1):
        pages.put(step_block(number, step, pages.width_mm), gap_mm=2.0)
    pages.heading("Mass at each stage", 56.0)
    pages.table(mass_table(car, pages.width_mm, mass), gap_mm=1.5)
    _note(
        pages,
        "About 19 cars in 20 come out inside the range. It is an estimate from a drawing: trust the scale, "
        "not the estimate. Your teacher and the machine's manual come before any caution here.",
    )


def _note(pages: Pages, words: str) -> None:
    pages.put(paragraph(words, (0.0, 0.0), pages.width_mm, _NOTE_MM))

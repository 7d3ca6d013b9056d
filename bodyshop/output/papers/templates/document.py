"""The template set of one car: head of each sheet, sheets, and files of them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace

from bodyshop.car.assembly import Car
from bodyshop.car.stock.blades import Blade
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.blocks import paragraph
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.layout.frame import MARGIN_MM, TitleBlock
from bodyshop.drawing.layout.printer import Printer, corrected
from bodyshop.drawing.layout.tiling import tile
from bodyshop.drawing.sheet.items import Anchor, Clip, Group, Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.paper import SheetSide, SheetSize
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line, rectangle
from bodyshop.drawing.writers.formats import write_sheets
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.templates.faces import BlankFace, faces_for
from bodyshop.output.papers.templates.nesting import with_small
from bodyshop.output.papers.templates.ordering import Words
from bodyshop.output.papers.templates.steps import StepConditions, caution_texts, order_of_work
from bodyshop.output.papers.templates.view import TemplateSettings
from bodyshop.output.papers.templates.views import small_panels, template_parts, whole_drawing
from bodyshop.output.words.papers import PrintedVerdict, VerdictStamp, bench_name, paper_name

__all__ = [
    "HeadedSize",
    "TemplateOptions",
    "TemplateSet",
    "head_mm",
    "headed",
    "template_set",
    "template_sheets",
    "templates_drawing",
    "with_head",
]


_CAUTION_MM = 11.0
_NOTE_MM = 6.0
_WARNING_MM = {
    PrintedVerdict.PASSES: 0.0,
    PrintedVerdict.FAILS: 11.0,
    PrintedVerdict.OPEN: 8.0,
    PrintedVerdict.DOUBTFUL: 8.0,
    PrintedVerdict.UNCHECKED: 8.0,
}
_WORD = "CAUTION"
_WORD_MM = 3.0
_TEXT_MM = 2.2
_PAD_MM = 2.0
_NOTE_TEXT_MM = 2.2
# Cap heights of the warning: the first for a failing car.
_LARGE_MM, _PLAIN_MM = 5.5, 3.0
_BLOCK_MM = 7.0


@dataclass(frozen=True, slots=True)
class HeadedSize(SheetSize):
    """A sheet less the head, whichever way it lies."""

    head_mm: float = 0.0

    @property
    def turned(self) -> HeadedSize:
        """The same sheet on its side, its head again at the top."""
        inches = None if self.inches is None else (self.inches[1], self.inches[0])
        return replace(
            self,
            width_mm=self.height_mm + self.head_mm,
            height_mm=self.width_mm - self.head_mm,
            inches=inches,
            free=None if self.free is None else self.free.other,
        )

    @property
    def long_side(self) -> SheetSide:
        """As for the whole sheet, head and all."""
        if self.free is not None:
            return self.free
        return SheetSide.WIDTH if self.width_mm > self.height_mm + self.head_mm else SheetSide.HEIGHT


def head_mm(stamp: VerdictStamp, note: str = "") -> float:
    """Height of the head; `note` is one more line, at its foot."""
    return _CAUTION_MM + _WARNING_MM[stamp.standing] + (_NOTE_MM if note else 0.0)


def headed(size: SheetSize, stamp: VerdictStamp, note: str = "") -> HeadedSize:
    """The room of a sheet below its head."""
    head = head_mm(stamp, note)
    return HeadedSize(
        id=size.id,
        name=size.name,
        width_mm=size.width_mm,
        height_mm=size.height_mm - head,
        inches=size.inches,
        source=size.source,
        confidence=size.confidence,
        free=size.free,
        head_mm=head,
    )


def with_head(sheet: Sheet, stamp: VerdictStamp, note: str = "", *, tell_note: bool = True) -> Sheet:
    """A sheet planned on a `HeadedSize`, back at its full height with the head on.

    Without `tell_note` the room for the note is left empty.
    """
    left, low, width = MARGIN_MM, sheet.height_mm - MARGIN_MM, sheet.width_mm - 2 * MARGIN_MM
    items: list[Item] = []
    if note:
        items += _note(Rect(left, low, width, _NOTE_MM), note) if tell_note else []
        low += _NOTE_MM
    caution = Rect(left, low, width, _CAUTION_MM)
    items += _caution(caution)
    if stamp.warning:
        items += _warning(Rect(left, caution.top, width, _WARNING_MM[stamp.standing]), stamp)
    return replace(sheet, height_mm=sheet.height_mm + head_mm(stamp, note), items=(*sheet.items, *items))


def _note(rect: Rect, words: str) -> list[Item]:
    """A line in heavy letters, as large as its box lets it be."""
    room = rect.width - 2 * _PAD_MM
    size = min(_NOTE_TEXT_MM, _NOTE_TEXT_MM * room / text_width_mm(words, _NOTE_TEXT_MM, bold=True))
    at = (rect.centre[0], rect.centre[1] - size / 2)
    return [
        Text(words, at, size, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION),
        rectangle(rect, Layer.CAUTION, Pen.FRAME),
    ]


def _caution(rect: Rect) -> list[Item]:
    """Who may use a machine, and whose word goes first: one box, in the words of the table of cautions."""
    text = " ".join(caution.sentence for caution in cautions_for(Operation.WORKSHOP))
    cell = text_width_mm(_WORD, _WORD_MM, bold=True) + 2 * _PAD_MM
    left, room = rect.x + cell + _PAD_MM, rect.width - cell - 2 * _PAD_MM
    height = _TEXT_MM
    block = paragraph(text, (left, rect.top), room, height, layer=Layer.CAUTION)
    while block.height_mm > rect.height - 2.4 and height > 1.2:
        height -= 0.1
        block = paragraph(text, (left, rect.top), room, height, layer=Layer.CAUTION)
    top = rect.top - (rect.height - block.height_mm) / 2 - 0.3
    block = paragraph(text, (left, top), room, height, layer=Layer.CAUTION)
    return [
        rectangle(rect, Layer.CAUTION, Pen.FRAME),
        line((rect.x + cell, rect.y), (rect.x + cell, rect.top), Layer.CAUTION, Pen.RULE),
        Text(
            _WORD,
            (rect.x + _PAD_MM, rect.centre[1] - _WORD_MM / 2),
            _WORD_MM,
            weight=Weight.BOLD,
            layer=Layer.CAUTION,
        ),
        *block.items,
    ]


def _warning(rect: Rect, stamp: VerdictStamp) -> list[Item]:
    """A failing car's sheets carry black blocks and heavy letters; others a plain line."""
    words = stamp.warning
    block = _BLOCK_MM if stamp.fails else 0.0
    room = rect.width - 2 * block - 2 * _PAD_MM
    wanted = _LARGE_MM if stamp.fails else _PLAIN_MM
    size = min(wanted, wanted * room / text_width_mm(words, wanted, bold=True))
    at = (rect.centre[0], rect.centre[1] - size / 2)
    items: list[Item] = [Text(words, at, size, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION)]
    if stamp.fails:
        items += [
            filled(Rect(x, rect.y, block, rect.height), Layer.CAUTION, 0.0)
            for x in (rect.x, rect.right - block)
        ]
    items.append(rectangle(rect, Layer.CAUTION, Pen.HEAVY if stamp.fails else Pen.FRAME))
    return items


_DATE_BY_HAND = "printed on ______________"


@dataclass(frozen=True, slots=True)
class TemplateOptions:
    """What a caller may choose.

    Without a `date` the sheets carry a blank for it, to be filled in by hand: the same design then makes
    the same bytes on any day. `owner` is the school or workshop. `blade` is the one in the saw: relief cuts
    are drawn where an inside curve is tighter than it can follow. `printer` is one that does not print
    true: PDF and SVG are drawn so that on it they come out at full size. `faces` are those that plans are
    drawn for; none means those that the blank asks for. With an `offset_mm` a narrow line for the saw runs
    that far outside the outline; 0 leaves it out. `gauges` are stations of card gauges, mm from the nose
    end of the blank, as `gauge_stations` gives them.
    """

    date: str = ""
    owner: str = ""
    blade: Blade | None = None
    printer: Printer | None = None
    faces: tuple[BlankFace, ...] = ()
    offset_mm: float = 0.0
    gauges: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class TemplateSet:
    """All sheets of a car's templates, drawn once, and what their files say of themselves.

    `sheets` are true, for files that a machine reads; `printed` are the same for the printer at hand,
    corrected where it needs that.
    """

    sheets: tuple[Sheet, ...]
    meta: DocMeta
    printed: tuple[Sheet, ...] = ()

    @property
    def for_paper(self) -> tuple[Sheet, ...]:
        """The sheets to print."""
        return self.printed or self.sheets

    def files(self, stem: str, formats: Collection[str]) -> dict[str, bytes]:
        """The set as files by name: `STEM.pdf`, `STEM-1.svg` and on. DXF is for machines, so it is never
        corrected for a printer.
        """
        return write_sheets(stem, self.for_paper, self.meta, formats, for_machines=self.sheets)


def template_set(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> TemplateSet:
    """The template set of a car at full size: 1 mm of the design is 1 mm of paper.

    Args:
        car: the car.
        verdict: what its check came to, or `UNCHECKED`; it is printed on every sheet.
        sheet: the paper; drawings that are larger are tiled.
        options: date, owner, blade.

    Raises:
        ProblemsError: the car would take more sheets than anyone would glue, the paper is too small for
            anything, or too large for the printer's correction.
    """
    chosen = options or TemplateOptions()
    design = car.design
    figures = Figures(design.unit)
    setting = _setting(car, verdict, chosen)
    faces = chosen.faces or faces_for(design.blank)
    note = "" if chosen.printer is None else chosen.printer.note
    size = headed(sheet, verdict, note)
    parts = template_parts(car, setting, size, faces)
    plans = [part.planned(size) for part in parts]
    tiled = any(plan.count > 1 for plan in plans)
    work = StepConditions(
        tiled=tiled,
        faces=faces,
        blade=chosen.blade,
        relief=any(_has_layer(part.content.items, Layer.RELIEF) for part in parts),
        offset_mm=chosen.offset_mm,
        gauges=bool(chosen.gauges),
    )
    steps = order_of_work(car, figures, work)
    words = Words(verdict, steps, caution_texts(car))
    parts = with_small(parts, small_panels(car, setting), words, size)

    block = TitleBlock(
        title=paper_name(design),
        document="",
        owner=chosen.owner,
        identification=design.fingerprint,
        creator=bench_name(design),
        date=chosen.date or _DATE_BY_HAND,
        rulebook=verdict.rulebook or "none",
        verdict=verdict.word,
        fails=verdict.fails,
    )
    total = sum(part.planned(size).count for part in parts)
    sheets: list[Sheet] = []
    for part in parts:
        told = replace(block, document=part.document)
        sheets += tile(part.content, size, told, bar=figures.bar, first=len(sheets) + 1, total=total)
    true = tuple(with_head(each, verdict, note, tell_note=False) for each in sheets)
    printed = tuple(corrected(with_head(each, verdict, note), chosen.printer) for each in sheets if note)
    return TemplateSet(true, _meta(car, verdict), printed)


def templates_drawing(car: Car, verdict: VerdictStamp, options: TemplateOptions | None = None) -> bytes:
    """All templates of a car whole on one DXF, without sheets and seams, for machines."""
    from bodyshop.drawing.writers.dxf import write_dxf

    chosen = options or TemplateOptions()
    faces = chosen.faces or faces_for(car.design.blank)
    drawing = whole_drawing(car, verdict, _setting(car, verdict, chosen), faces)
    return write_dxf(drawing, _meta(car, verdict))


def _setting(car: Car, verdict: VerdictStamp, chosen: TemplateOptions) -> TemplateSettings:
    design = car.design
    return TemplateSettings(
        Figures(design.unit),
        paper_name(design),
        design.fingerprint,
        fails=verdict.fails,
        blade=chosen.blade,
        offset_mm=chosen.offset_mm,
        gauges=chosen.gauges,
    )


def template_sheets(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> list[Sheet]:
    """The sheets of `template_set`."""
    return list(template_set(car, verdict, sheet, options).sheets)


def _has_layer(items: Iterable[Item], layer: Layer) -> bool:
    """Anything of a layer is drawn, in groups too."""
    return any(
        _has_layer(item.items, layer) if isinstance(item, Group | Clip) else item.layer is layer
        for item in items
    )


def _meta(car: Car, verdict: VerdictStamp) -> DocMeta:
    design = car.design
    keywords = tuple(word for word in (design.fingerprint, verdict.rulebook, verdict.word) if word)
    return DocMeta(f"{design.name}: templates", design.bench, "templates at full size, 1 : 1", keywords)

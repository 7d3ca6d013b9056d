"""The template set of one car: its sheets, and the files of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bodyshop.assembly import Car
from bodyshop.drawing.figures import Figures
from bodyshop.drawing.items import Sheet
from bodyshop.drawing.names import bench_name, paper_name
from bodyshop.drawing.printer import Printer, corrected
from bodyshop.drawing.stamp import VerdictStamp
from bodyshop.drawing.tiling import tile
from bodyshop.drawing.titleblock import TitleBlock
from bodyshop.stock.blades import Blade
from bodyshop.stock.sheets import SheetSize
from bodyshop.templates.faces import Face, faces_for
from bodyshop.templates.head import headed, with_head
from bodyshop.templates.nesting import with_small
from bodyshop.templates.ordering import Words
from bodyshop.templates.parts import template_parts
from bodyshop.templates.steps import Work, caution_texts, order_of_work
from bodyshop.templates.view import Setting
from bodyshop.templates.views import small_panels, whole_drawing
from bodyshop.writers.meta import DocMeta

__all__ = [
    "TemplateOptions",
    "TemplateSet",
    "template_set",
    "template_sheets",
    "templates_drawing",
    "templates_pdf",
    "templates_svg",
]

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
    faces: tuple[Face, ...] = ()
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

    def pdf(self) -> bytes:
        """The set as one PDF."""
        from bodyshop.writers.pdf import write_pdf

        return write_pdf(self.for_paper, self.meta)

    def svg(self) -> dict[str, str]:
        """The set as SVG documents by file name, `templates-1.svg` and on, one a sheet."""
        from bodyshop.writers.svg import write_svg

        digits = len(str(len(self.for_paper)))
        return {
            f"templates-{number:0{digits}}.svg": write_svg(sheet, self.meta)
            for number, sheet in enumerate(self.for_paper, 1)
        }

    def dxf(self) -> dict[str, bytes]:
        """The set as DXF documents by file name, `templates-1.dxf` and on, one a sheet.

        They are for machines, so that they are never corrected for a printer.
        """
        from bodyshop.writers.dxf import write_dxf

        digits = len(str(len(self.sheets)))
        return {
            f"templates-{number:0{digits}}.dxf": write_dxf(sheet, self.meta)
            for number, sheet in enumerate(self.sheets, 1)
        }


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
    work = Work(
        tiled=tiled, faces=faces, blade=chosen.blade, offset_mm=chosen.offset_mm, gauges=bool(chosen.gauges)
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
    from bodyshop.writers.dxf import write_dxf

    chosen = options or TemplateOptions()
    faces = chosen.faces or faces_for(car.design.blank)
    drawing = whole_drawing(car, verdict, _setting(car, verdict, chosen), faces)
    return write_dxf(drawing, _meta(car, verdict))


def _setting(car: Car, verdict: VerdictStamp, chosen: TemplateOptions) -> Setting:
    design = car.design
    return Setting(
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


def templates_pdf(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> bytes:
    """The PDF of `template_set`."""
    return template_set(car, verdict, sheet, options).pdf()


def templates_svg(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> dict[str, str]:
    """The SVG documents of `template_set`, by file name."""
    return template_set(car, verdict, sheet, options).svg()


def _meta(car: Car, verdict: VerdictStamp) -> DocMeta:
    design = car.design
    keywords = tuple(word for word in (design.fingerprint, verdict.rulebook, verdict.word) if word)
    return DocMeta(f"{design.name}: templates", design.bench, "templates at full size, 1 : 1", keywords)

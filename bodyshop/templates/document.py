"""The template set of one car: its panels, on as few sheets as they take, and the files of them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from bodyshop.assembly import Car
from bodyshop.drawing.frame import MARGIN_MM, content_window
from bodyshop.drawing.items import Item, Sheet
from bodyshop.drawing.tileplan import plan_tiles
from bodyshop.drawing.tiling import tile
from bodyshop.drawing.titleblock import TitleBlock
from bodyshop.stock.sheets import SheetSize
from bodyshop.templates.ends import nose_panel, tail_panel
from bodyshop.templates.figures import Figures
from bodyshop.templates.head import HeadedSize, headed, with_head
from bodyshop.templates.ordering import Words, ends_alone, ends_and_words, words_alone
from bodyshop.templates.plan import face_for, plan_panel
from bodyshop.templates.side import side_panel
from bodyshop.templates.stamp import VerdictStamp
from bodyshop.templates.steps import caution_texts, order_of_work
from bodyshop.templates.view import Panel, Setting
from bodyshop.writers.meta import DocMeta

__all__ = ["TemplateOptions", "template_sheets", "templates_pdf", "templates_svg"]

_DATE_BY_HAND = "printed on ______________"
_GAP_MM = 4.0


@dataclass(frozen=True, slots=True)
class TemplateOptions:
    """What a caller may choose.

    Without a `date` the sheets carry a blank for it, to be filled in by hand: the same design then makes
    the same bytes on any day. `owner` is the school or workshop.
    """

    date: str = ""
    owner: str = ""


@dataclass(frozen=True, slots=True)
class _Part:
    """A drawing that goes on sheets of its own: panels one below the other, or a sheet laid out already."""

    document: str
    panels: tuple[Panel, ...] = ()
    laid: Sheet | None = None

    @property
    def content(self) -> Sheet:
        """The drawing, its lower left corner the origin."""
        return _stack(self.panels) if self.laid is None else self.laid


def template_sheets(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> list[Sheet]:
    """All sheets of a car's template set, at full size: 1 mm of the design is 1 mm of paper.

    Raises:
        ProblemsError: the car would take more sheets than anyone would glue.
    """
    chosen = options or TemplateOptions()
    design = car.design
    figures = Figures(design.unit)
    size = headed(sheet, verdict)
    setting = Setting(figures, design.name, design.fingerprint, fails=verdict.fails)
    parts = _template_parts(car, setting, size)
    tiled = any(plan_tiles(part.content, size).count > 1 for part in parts)
    lying = plan_tiles(parts[0].content, size).size
    words = Words(verdict, order_of_work(car, figures, tiled=tiled), caution_texts(car))
    parts += _end_parts([tail_panel(car, figures), nose_panel(car, figures)], words, lying)

    block = TitleBlock(
        title=design.name,
        document="",
        owner=chosen.owner,
        identification=design.fingerprint,
        creator=design.bench,
        date=chosen.date or _DATE_BY_HAND,
        rulebook=verdict.rulebook or "none",
        verdict=verdict.word,
        fails=verdict.fails,
    )
    total = sum(plan_tiles(part.content, size).count for part in parts)
    sheets: list[Sheet] = []
    for part in parts:
        sheets += tile(
            part.content,
            size,
            replace(block, document=part.document),
            bar=figures.bar,
            first=len(sheets) + 1,
            total=total,
        )
    return [with_head(each, verdict) for each in sheets]


def templates_pdf(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> bytes:
    """The template set as one PDF.

    Raises:
        ProblemsError: the car would take more sheets than anyone would glue.
    """
    from bodyshop.writers.pdf import write_pdf

    return write_pdf(template_sheets(car, verdict, sheet, options), _meta(car, verdict))


def templates_svg(
    car: Car, verdict: VerdictStamp, sheet: SheetSize, options: TemplateOptions | None = None
) -> dict[str, str]:
    """The template set as SVG documents by file name, one a sheet.

    Raises:
        ProblemsError: the car would take more sheets than anyone would glue.
    """
    from bodyshop.writers.svg import write_svg

    sheets = template_sheets(car, verdict, sheet, options)
    digits = len(str(len(sheets)))
    meta = _meta(car, verdict)
    return {
        f"templates-{number:0{digits}}.svg": write_svg(each, meta) for number, each in enumerate(sheets, 1)
    }


def _meta(car: Car, verdict: VerdictStamp) -> DocMeta:
    design = car.design
    keywords = tuple(word for word in (design.fingerprint, verdict.rulebook, verdict.word) if word)
    return DocMeta(f"{design.name}: templates", design.bench, "templates at full size, 1 : 1", keywords)


def _template_parts(car: Car, setting: Setting, size: HeadedSize) -> list[_Part]:
    """Side and plan one over the other, or each by itself where that takes fewer sheets or less glue.

    They are drawn twice when they have to be joined from tiles, so that words keep off the seams.
    """
    face = face_for(car.design.blank)

    def panels(seams: tuple[float, ...]) -> tuple[Panel, Panel]:
        drawn = replace(setting, seams=seams)
        return side_panel(car, drawn), plan_panel(car, drawn, face)

    side, plan = panels(())
    together = [_Part(f"side and {face.value} templates", (side, plan))]
    apart = [_Part("side template", (side,)), _Part(f"{face.value} template", (plan,))]
    chosen = min(together, apart, key=lambda parts: _cost(parts, size))
    finished: list[_Part] = []
    for part in chosen:
        seams = _seams(part, size)
        redrawn = dict(zip(("side", "plan"), panels(seams), strict=True)) if seams else {}
        finished.append(replace(part, panels=tuple(redrawn.get(each.name, each) for each in part.panels)))
    return finished


def _seams(part: _Part, size: HeadedSize) -> tuple[float, ...]:
    """Where the drawing will be joined along x, in the coordinates of its panels."""
    plan = plan_tiles(part.content, size)
    left = min(each.room.x for each in part.panels)
    return tuple(
        plan.part(column, 0).right - plan.overlap_mm / 2 + left for column in range(plan.columns - 1)
    )


def _cost(parts: Sequence[_Part], size: HeadedSize) -> tuple[int, int]:
    """Sheets, and how many of them are glued."""
    counts = [plan_tiles(part.content, size).count for part in parts]
    return sum(counts), sum(count for count in counts if count > 1)


def _stack(panels: Sequence[Panel]) -> Sheet:
    """Panels one below the other, their x in line; the origin at the lower left."""
    left = min(each.room.x for each in panels)
    width = max(each.room.right for each in panels) - left
    height = sum(each.room.height for each in panels) + _GAP_MM * (len(panels) - 1)
    items: list[Item] = []
    top = height
    for each in panels:
        items += each.moved(-left, top - each.room.top)
        top -= each.room.height + _GAP_MM
    return Sheet(width, height, items)


def _end_parts(panels: Sequence[Panel], words: Words, lying: SheetSize) -> list[_Part]:
    """Ends and words on one sheet, or by themselves when they do not go on one."""
    rooms = [content_window(size, MARGIN_MM) for size in (lying, lying.turned)]
    both = ends_and_words(panels, words, rooms)
    if both is not None:
        return [_Part("ends and order of work", laid=both)]
    room = rooms[0]
    ends = ends_alone(panels, room)
    apart = [_Part(f"{each.name} end", (each,)) for each in panels]
    return [
        *(apart if ends is None else [_Part("tail and nose ends", laid=ends)]),
        _Part("order of work", laid=words_alone(words, room)),
    ]

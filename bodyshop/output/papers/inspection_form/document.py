"""The official's inspection sheet, empty or filled in with what was measured, page after page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, repeat

from bodyshop.car.measures import QuantityKind
from bodyshop.car.stock.cautions import cautions_for
from bodyshop.drawing.layout.blocks import Block
from bodyshop.drawing.layout.frame import MARGIN_MM
from bodyshop.drawing.layout.page_flow import FlowItem, flow, stacked
from bodyshop.drawing.sheet.items import Group, Item, Path, Sheet
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.writers.formats import PAPER_FORMATS
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.inspection_form.form import Columns, columns_for, lay_band, lay_heading, lay_row
from bodyshop.output.papers.inspection_form.head import FormHead, PointsTotal, lay_head, lay_result, lay_strip
from bodyshop.output.papers.inspection_form.rows import BuiltMark, FormSection, rows_of
from bodyshop.output.words.inspection import change_words, measured_words
from bodyshop.output.words.papers import bench_name, paper_name
from bodyshop.records.inspection.judging import InspectedRow, InspectionResult, verdict_word
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import (
    CarResult,
    Doubt,
    Outcome,
    Rulebook,
    amount_text,
    doubt_text,
    points_text,
    result_reason,
    result_text,
)

__all__ = ["InspectionOptions", "MeasuredCar", "as_built_pdf", "inspection_pdf", "inspection_sheets"]


@dataclass(frozen=True, slots=True)
class InspectionOptions:
    """What a caller may choose.

    Without a `date` the sheet has a line for it: the same rulebook and design then make the same bytes
    on any day. `owner` is the school or workshop.
    """

    date: str = ""
    owner: str = ""


@dataclass(frozen=True, slots=True)
class MeasuredCar:
    """What was found on the finished car, to be filled in.

    `marks` are by clause; `standing` is what they come to, framed where it `fails`; `told` says in a few
    words which inspection it was; `date` its day. `points_off` and `score` are the sums, `so_far` where rules
    are still open.
    """

    marks: Mapping[str, BuiltMark]
    standing: str
    fails: bool
    told: str = ""
    date: str = ""
    points_off: float = 0.0
    score: float | None = None
    so_far: bool = False


def inspection_sheets(
    book: Rulebook,
    sheet: SheetSize,
    checked: Checked | None = None,
    options: InspectionOptions | None = None,
    built: MeasuredCar | None = None,
) -> list[Sheet]:
    """The sheets for a book: blank, or with a design's values and verdicts beside the room to measure.

    `checked` must have been judged by this very book. `built` fills in what was found on the finished car.
    """
    chosen = options or InspectionOptions()
    room = Rect(0, 0, sheet.width_mm, sheet.height_mm).inset(MARGIN_MM)
    judgement = None if checked is None else checked.judgement
    bands = rows_of(book, judgement, None if built is None else built.marks)
    columns = columns_for(room.width, bands, filled_in=checked is not None, inches=book.unit is LengthUnit.IN)
    head = _head(book, checked, chosen)
    if built is not None:
        head = replace(
            head, built=built.standing, built_fails=built.fails, inspection=built.told, date=built.date
        )
    texts = [each.sentence for each in cautions_for(*book.cautions)]
    consequences = frozenset(each for rule in book.rules for each in rule.consequences)
    result = lay_result(0.0, 0.0, room.width, texts, consequences, book.mass_unit, _sums(book, built))
    bodies = _bodies(bands, columns, result, head, room)
    total = len(bodies)
    sheets: list[Sheet] = []
    for number, body in enumerate(bodies, 1):
        name = f"sheet {number} of {total}"
        lay = lay_head if number == 1 else lay_strip
        top = lay(head, room.x, room.top, room.width, f"{number} of {total}")
        sheets.append(Sheet(sheet.width_mm, sheet.height_mm, (*top.items, *body), name))
    return sheets


def inspection_pdf(
    book: Rulebook,
    sheet: SheetSize,
    checked: Checked | None = None,
    options: InspectionOptions | None = None,
    built: MeasuredCar | None = None,
) -> bytes:
    """The same as one PDF."""
    car = "" if checked is None else f"{checked.opened.design.name}: "
    keywords = (book.fingerprint, *(() if checked is None else (checked.opened.design.fingerprint,)))
    subject = f"{book.name}, {book.division}" if book.division else book.name
    author = (options or InspectionOptions()).owner
    kind = "advice sheet" if book.only_advises else "inspection sheet"
    meta = DocMeta(f"{car}{kind}", author, subject, keywords)
    pages = inspection_sheets(book, sheet, checked, options, built)
    return PAPER_FORMATS["pdf"].write(pages, meta)


def _head(book: Rulebook, checked: Checked | None, options: InspectionOptions) -> FormHead:
    steps = [
        amount_text(step, kind, book.shown_unit(kind))
        for kind in (QuantityKind.LENGTH, QuantityKind.MASS, QuantityKind.ANGLE)
        if (step := book.reads.resolution.get(kind))
    ]
    reading = (
        f"Measure to {', '.join(steps)}. A value exactly on the limit passes.{_edge(book)}{_least(book)} "
        f"{'Your teacher' if book.only_advises else 'The judge at the event'} has the last word."
    )
    head = FormHead(
        kind="advice sheet" if book.only_advises else "inspection sheet",
        event=book.event or book.name,
        rulebook=f"{book.name} ({book.stem})",
        division=book.division or ("not chosen" if book.divisions else "none"),
        fingerprint=book.fingerprint,
        reading=reading,
        date=options.date,
        owner=options.owner,
    )
    if checked is None:
        return head
    design, judgement = checked.opened.design, checked.judgement
    why = result_reason(judgement)
    return replace(
        head,
        car=paper_name(design),
        bench=bench_name(design),
        design=design.fingerprint,
        standing=result_text(judgement) + (f": {why}" if why else " on paper (drawing only)"),
        fails=judgement.result in (CarResult.NOT_LEGAL, CarResult.PROBABLY_BROKEN),
    )


def _least(book: Rulebook) -> str:
    """The points that a car starts with and needs, where the book counts them so."""
    score = book.score
    if score is None:
        return ""
    needs = f" and needs at least {score.least:g}" if score.least else ""
    return f" A car starts with {points_text(score.full)}{needs}."


def _sums(book: Rulebook, built: MeasuredCar | None) -> PointsTotal:
    """What the points come to: to be written in, or filled in where the car was inspected."""
    score = book.score
    label = "" if score is None else f"score: {score.full:g} less points off, least {score.least:g}"
    if built is None:
        return PointsTotal(label)
    so_far = " so far" if built.so_far else ""
    total = "" if built.score is None else f"{built.score:g}{so_far}"
    return PointsTotal(label, f"{built.points_off:g}{so_far}", total)


def _edge(book: Rulebook) -> str:
    """How a reading on the edge is decided, where the book decides it."""
    decided = book.reads.doubt
    return "" if decided is Doubt.OPEN else f" {capital(doubt_text(decided))}."


def _bodies(
    bands: Sequence[FormSection], columns: Columns, result: Block, head: FormHead, room: Rect
) -> list[list[Item]]:
    """Rows from top to bottom, sheet after sheet, no band alone at the foot of one; the result is whole.

    How high the block at the top is does not depend on which sheet it is on.
    """
    first = lay_head(head, room.x, room.top, room.width, "1 of 1").height_mm
    others = lay_strip(head, room.x, room.top, room.width, "2 of 2").height_mm
    heading = _piece(lay_heading(columns, 0.0, 0.0))
    pieces = [replace(heading, joined=True)]
    for band in bands:
        again = _piece(lay_band(band.heading, columns, 0.0, 0.0, goes_on=True))
        pieces.append(
            replace(_piece(lay_band(band.heading, columns, 0.0, 0.0)), joined=True, running=heading)
        )
        over = stacked([heading, again])
        pieces += [replace(_piece(lay_row(row, columns, 0.0, 0.0)), running=over) for row in band.rows]
    pieces.append(_piece(result))
    rooms = chain([_under(room, first)], repeat(_under(room, others)))
    return [_grey_first(items) for items in flow(pieces, rooms)]


def _piece(block: Block) -> FlowItem:
    return FlowItem(tuple(block.items), block.height_mm)


def _under(room: Rect, height_mm: float) -> Rect:
    return Rect(room.x, room.y, room.width, room.height - height_mm)


def _grey_first(items: Sequence[Item]) -> list[Item]:
    """Grey goes under everything, so that it hides no rule."""
    return [layer for grey in (True, False) for item in items for layer in _only(item, grey=grey)]


def _only(item: Item, *, grey: bool) -> list[Item]:
    """What of an item is grey, or all else of it."""
    if isinstance(item, Group):
        return [Group(item.affine, tuple(part for each in item.items for part in _only(each, grey=grey)))]
    is_grey = isinstance(item, Path) and item.pen is None
    return [item] if is_grey is grey else []


def as_built_pdf(
    inspected: InspectionResult, sheet: SheetSize, *, owner: str = "", date: str = "", told: str = ""
) -> bytes:
    """The sheet as one PDF. `told` says which inspection it is; what is open stays open, to be filled in."""
    marks = {row.rule.clause: _mark(row, inspected) for row in inspected.rows if row.rule is not None}
    built = MeasuredCar(
        marks,
        inspected.standing,
        fails=not inspected.judgement.passes,
        told=told,
        date=date,
        points_off=inspected.judgement.points_off,
        score=inspected.judgement.score,
        so_far=bool(inspected.open_rows),
    )
    checked = inspected.checked
    return inspection_pdf(checked.opened.rulebook, sheet, checked, InspectionOptions(date, owner), built)


def _mark(row: InspectedRow, inspected: InspectionResult) -> BuiltMark:
    verdict = row.verdict
    if verdict is None or (row.measured is None and row.answer is None and not row.from_drawing):
        return BuiltMark()
    passed: bool | None = None
    if verdict.outcome is Outcome.FAIL:
        passed = False
    elif verdict.outcome in (Outcome.PASS, Outcome.NEAR):
        passed = True
    if row.from_drawing:
        return BuiltMark("as drawn", "not measured", passed)
    value = measured_words(row, inspected) if row.measured is not None else ""
    word = verdict_word(row) if verdict.outcome is Outcome.TOO_CLOSE else change_words(row, inspected)
    return BuiltMark(value, word, passed)

"""The official's inspection sheet, empty or filled in with what was measured, page after page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from bodyshop.car.measures import QuantityKind
from bodyshop.car.stock.cautions import cautions_for
from bodyshop.drawing.layout.blocks import Block
from bodyshop.drawing.layout.frame import MARGIN_MM
from bodyshop.drawing.sheet.items import Item, Path, Sheet
from bodyshop.drawing.sheet.paper import SheetSize
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import LengthUnit, MassUnit
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.inspection_form.form import Columns, columns_for, lay_band, lay_heading, lay_row
from bodyshop.output.papers.inspection_form.head import FormHead, PointsTotal, lay_head, lay_result, lay_strip
from bodyshop.output.papers.inspection_form.rows import BuiltMark, FormSection, rows_of
from bodyshop.output.words.inspection import change_words, measured_words
from bodyshop.output.words.papers import bench_name, paper_name
from bodyshop.records.inspection.judging import InspectedRow, InspectionResult, verdict_word
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import (
    BreachEffects,
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
    pages = _Pages(room, columns, head)
    for band in bands:
        pages.add(band)
    texts = [each.sentence for each in cautions_for(*book.cautions)]
    consequences = frozenset(each for rule in book.rules for each in rule.consequences)
    pages.close(texts, consequences, book.mass_unit, _sums(book, built))
    total = len(pages.bodies)
    sheets: list[Sheet] = []
    for number, body in enumerate(pages.bodies, 1):
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
    from bodyshop.drawing.writers.pdf import write_pdf

    car = "" if checked is None else f"{checked.opened.design.name}: "
    keywords = (book.fingerprint, *(() if checked is None else (checked.opened.design.fingerprint,)))
    subject = f"{book.name}, {book.division}" if book.division else book.name
    author = (options or InspectionOptions()).owner
    kind = "advice sheet" if book.only_advises else "inspection sheet"
    meta = DocMeta(f"{car}{kind}", author, subject, keywords)
    return write_pdf(inspection_sheets(book, sheet, checked, options, built), meta)


def _head(book: Rulebook, checked: Checked | None, options: InspectionOptions) -> FormHead:
    steps = [
        f"{thing} to {amount_text(step, kind, book.shown_unit(kind))}"
        for kind, thing in (
            (QuantityKind.LENGTH, "lengths"),
            (QuantityKind.MASS, "masses"),
            (QuantityKind.ANGLE, "angles"),
        )
        if (step := book.reads.resolution.get(kind))
    ]
    reading = (
        f"Read {', '.join(steps)}, then compare: a limit itself passes.{_edge(book)}{_least(book)} "
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
        standing=result_text(judgement) + (f": {why}" if why else ", as far as a drawing tells"),
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


class _Pages:
    """Rows laid from top to bottom, page after page; no band alone at the foot of a page."""

    def __init__(self, room: Rect, columns: Columns, head: FormHead) -> None:
        self.bodies: list[list[Item]] = []
        self._room = room
        self._columns = columns
        # How high the block at the top is does not depend on which sheet it is on.
        self._first = lay_head(head, room.x, room.top, room.width, "1 of 1").height_mm
        self._others = lay_strip(head, room.x, room.top, room.width, "2 of 2").height_mm
        self._y = 0.0
        self._turn()

    def add(self, band: FormSection) -> None:
        """A section with its rows."""
        goes_on = False
        fresh = True
        for row in band.rows:
            block = lay_row(row, self._columns, self._room.x, 0.0)
            over = lay_band(band.heading, self._columns, self._room.x, 0.0).height_mm if fresh else 0.0
            if over + block.height_mm > self._y - self._room.y:
                self._turn()
                fresh = True
            if fresh:
                self._put(lay_band(band.heading, self._columns, self._room.x, self._y, goes_on=goes_on))
            self._put(lay_row(row, self._columns, self._room.x, self._y))
            fresh, goes_on = False, True

    def close(
        self, texts: list[str], fails: frozenset[BreachEffects], mass: MassUnit, sums: PointsTotal
    ) -> None:
        """The block for the result, whole, at the end."""
        room = self._room
        if lay_result(room.x, 0.0, room.width, texts, fails, mass, sums).height_mm > self._y - room.y:
            self._turn(heading=False)
        self._put(lay_result(room.x, self._y, room.width, texts, fails, mass, sums))

    def _turn(self, *, heading: bool = True) -> None:
        self._y = self._room.top - (self._others if self.bodies else self._first)
        self.bodies.append([])
        if heading:
            self._put(lay_heading(self._columns, self._room.x, self._y))

    def _put(self, block: Block) -> None:
        # Grey goes under everything, so that it hides no rule.
        grey = [item for item in block.items if isinstance(item, Path) and item.pen is None]
        self.bodies[-1][:0] = grey
        self.bodies[-1] += [item for item in block.items if item not in grey]
        self._y -= block.height_mm


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

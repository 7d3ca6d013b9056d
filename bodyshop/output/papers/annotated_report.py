"""The report on paper: PDF sheets of A4 or letter, black on white."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from itertools import repeat
from typing import Final

from bodyshop.drawing.layout.blocks import text_block_height_mm, text_lines
from bodyshop.drawing.layout.page_flow import FlowItem, beside, flow, stacked, words
from bodyshop.drawing.sheet.items import Anchor, Group, Item, Sheet, Text, Weight
from bodyshop.drawing.sheet.lettering import LINE_PITCH, NO_BREAK_SPACE, shorten, text_width_mm, wrap
from bodyshop.drawing.sheet.paper import SheetSize, usual_sheet
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import filled, line, rectangle
from bodyshop.drawing.writers.formats import write_sheets
from bodyshop.drawing.writers.meta import DocMeta
from bodyshop.foundation.text.small_words import number_words
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.car_views import legend_items
from bodyshop.output.figures.content import Check, ReportContent, RuleLine, content_of
from bodyshop.output.figures.content import RuleGroup as Rules
from bodyshop.output.figures.labels import MARK_MM, mark_items, numbered
from bodyshop.output.figures.mass_bar import draw_mass_bars, mass_bars
from bodyshop.output.figures.views import CAPTIONS, Figure, Views, draw_views, scale_sentence
from bodyshop.output.words.hints import HintBlock, Hints
from bodyshop.output.words.verdict import GROUP_HEADINGS
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import Outcome

__all__ = ["teaching_files", "teaching_pdf", "teaching_sheets"]

_MARGIN_MM: Final = 12.0
_TOP_MM: Final = 9.0
_FOOT_MM: Final = 12.0
_SIZES_MM: Final = (1.9, 1.8, 1.7, 1.6)
"""Heights of capitals, the largest that keeps the report on two sheets being used; 1.6 mm is about 6 pt."""
_WANTED_SHEETS: Final = 2
_SMALLER: Final = 2
"""Steps by which the drawing may be made smaller for that."""
_HEADING_MM: Final = 2.5
_COLUMNS: Final = (
    ("no.", 7.5),
    ("clause", 12.0),
    ("rule", 50.0),
    ("measured", 32.0),
    ("the rule says", 28.0),
    ("margin", 26.0),
    ("verdict", 30.5),
)
_TABLE_MM: Final = 186.0
_ROW_PAD_MM: Final = 1.05
_WHY_SHARE: Final = 0.54
"""Of the width under a rule's row: the reason; the rest is for the remedy."""


def teaching_pdf(
    checked: Checked, on: date, size: SheetSize | None = None, hints: Hints | None = None
) -> bytes:
    """The report as a PDF on `size`, or the paper that its rulebook's unit goes with; the same bytes for the
    same car and date.
    """
    return teaching_files("report", checked, on, size, hints, ("pdf",))["report.pdf"]


def teaching_files(
    stem: str,
    checked: Checked,
    on: date,
    size: SheetSize | None,
    hints: Hints | None,
    formats: Collection[str],
) -> dict[str, bytes]:
    """The report as files by name: `STEM.pdf`, `STEM-1.svg` and on."""
    content = content_of(checked, on, hints)
    meta = DocMeta(
        title=f"{content.name}: report on the drawing",
        author=content.bench,
        subject=content.headline,
        keywords=(content.fingerprint, content.rulebook_mark, content.rulebook, content.date),
    )
    return write_sheets(stem, teaching_sheets(checked, on, size, hints), meta, formats)


def teaching_sheets(
    checked: Checked, on: date, size: SheetSize | None = None, hints: Hints | None = None
) -> list[Sheet]:
    """The sheets of the report."""
    size = size or usual_sheet(checked.opened.rulebook.unit)
    content = content_of(checked, on, hints)
    room = Rect(_MARGIN_MM, _FOOT_MM, size.width_mm - 2 * _MARGIN_MM, size.height_mm - _TOP_MM - _FOOT_MM)
    sheets = _fitted(checked, content, room)
    return [
        Sheet(
            size.width_mm,
            size.height_mm,
            (*items, *_foot(content, size, k + 1, len(sheets))),
            f"sheet {k + 1} of {len(sheets)}",
        )
        for k, items in enumerate(sheets)
    ]


def _fitted(checked: Checked, content: ReportContent, room: Rect) -> list[list[Item]]:
    """With the largest drawing and letters that keep the report on two sheets; if none do, the largest."""
    largest: list[list[Item]] | None = None
    for smaller in range(_SMALLER + 1):
        views = draw_views(checked, room.width, smaller)
        for text_mm in _SIZES_MM:
            page = _Page(checked, content, views, room.width, text_mm)
            sheets = flow([*page.pieces()], repeat(room))
            if len(sheets) <= _WANTED_SHEETS:
                return sheets
            largest = largest or sheets
    return largest or []


def _foot(content: ReportContent, size: SheetSize, number: int, of: int) -> list[Item]:
    left, right = _MARGIN_MM, size.width_mm - _MARGIN_MM
    page = f"sheet {number} of {of}"
    told = f"{content.name}, design code {content.fingerprint}, {content.date}"
    room = right - left - text_width_mm(page, 1.7) - 6.0
    return [
        line((left, _FOOT_MM - 2.5), (right, _FOOT_MM - 2.5), Layer.BORDER, Pen.RULE),
        Text(shorten(told, 1.7, room), (left, _FOOT_MM - 5.1), 1.7, layer=Layer.BORDER),
        Text(page, (right, _FOOT_MM - 5.1), 1.7, Anchor.END, layer=Layer.BORDER),
    ]


@dataclass(frozen=True, slots=True)
class _Page:
    """Makes the pieces for one width of paper and one size of letters."""

    checked: Checked
    content: ReportContent
    views: Views
    width: float
    text_mm: float

    def pieces(self) -> Iterator[FlowItem]:
        """The whole report from head to cautions."""
        yield self._head()
        yield from self._drawings()
        content = self.content
        for k, group in enumerate(content.urgent):
            yield from self._group(group, first=k == 0)
        for block in content.joint:
            yield from self._joint(block)
        for k, group in enumerate(content.others, len(content.urgent)):
            yield from self._group(group, first=k == 0)
        yield from self._checks()
        yield from self._kept()
        yield self._cautions()

    # ---- head

    def _head(self) -> FlowItem:
        content = self.content
        told = (
            f"{content.bench}, checked against {content.rulebook}"
            if content.bench
            else f"Checked against {content.rulebook}"
        )
        if content.event and content.event != content.rulebook:
            told = f"{told}. Event: {content.event}"
        marks = f"Design code {content.fingerprint}   Rulebook {content.rulebook_mark}   Date {content.date}"
        marks_width = text_width_mm(marks, 1.8)
        name = shorten(content.name, 5.0, self.width - marks_width - 6.0, bold=True)
        items: list[Item] = [
            Text(name, (0.0, -5.0), 5.0, weight=Weight.BOLD),
            Text("Report on the drawing", (self.width, -2.0), 1.8, Anchor.END),
            Text(marks, (self.width, -5.2), 1.8, Anchor.END),
        ]
        under = words(told, self.width, 2.0, before_mm=1.2)
        verdict = self._verdict()
        top = FlowItem(tuple(items), 7.4)
        return stacked([top, *under, replace(verdict, before_mm=2.6)])

    def _verdict(self) -> FlowItem:
        """The verdict in a frame: a heavy one for a car that fails."""
        content = self.content
        pad = 2.6
        inner = words(content.headline, self.width - 2 * pad, 3.0, bold=True)
        if content.notes:
            inner += words(" ".join(content.notes), self.width - 2 * pad, 1.9, before_mm=1.4)
        body = stacked(inner)
        height = body.height_mm + 2 * pad - 0.6
        pen = Pen.HEAVY if content.fails else Pen.FRAME
        frame = rectangle(Rect(0.0, -height, self.width, height), Layer.BORDER, pen)
        return FlowItem((frame, Group(Affine.move(pad, -pad), body.items)), height)

    # ---- drawings

    def _drawings(self) -> Iterator[FlowItem]:
        views = self.views
        heading = "Where on the car" if views.callouts else "The car"
        yield self._heading(heading, scale_sentence(views.scale))
        legend, height = legend_items(views.callouts, numbered(self.checked.judgement), self.width)
        yield FlowItem(tuple(legend), height, joined=True)
        yield self._view(views.side)
        yield self._view(views.top)
        left = views.tail.frame.width
        bar_x = left + 6.0
        mass = draw_mass_bars(mass_bars(self.checked), self.width - bar_x)
        right: list[FlowItem] = [
            FlowItem((Text("Mass", (0.0, -2.2), 2.2, weight=Weight.BOLD),), 3.4),
            FlowItem(mass.items, mass.height_mm, 0.6),
        ]
        for note in self.content.mass_notes:
            right += words(note, self.width - bar_x, 1.8, before_mm=1.4)
        yield beside([(0.0, [replace(self._view(views.tail), before_mm=0.0)]), (bar_x, right)], 2.0)

    def _view(self, figure: Figure) -> FlowItem:
        """A view under its name."""
        frame = figure.frame
        move = Affine.move(-frame.x, -frame.top - 3.4)
        title = Text(CAPTIONS[figure.aspect], (0.0, -2.2), 2.2, weight=Weight.BOLD)
        return FlowItem((title, Group(move, figure.items)), frame.height + 3.4, 2.0)

    # ---- rules

    def _heading(self, text: str, aside: str = "") -> FlowItem:
        items: list[Item] = [
            line((0.0, 0.0), (self.width, 0.0), Layer.BORDER, Pen.FRAME),
            Text(text, (0.0, -1.6 - _HEADING_MM), _HEADING_MM, weight=Weight.BOLD),
        ]
        if aside:
            items.append(Text(aside, (self.width, -1.6 - _HEADING_MM), 1.8, Anchor.END))
        return FlowItem(tuple(items), 1.6 + _HEADING_MM + 1.4, 2.4, joined=True)

    def _group(self, group: Rules, *, first: bool) -> Iterator[FlowItem]:
        """Rules under their heading; the columns are named over the first of the groups."""
        yield self._heading(group.heading)
        heads = self._row([title for title, _ in _COLUMNS], bold=False, small=True)
        if first:
            yield replace(heads, joined=True)
        for rule in group.lines:
            yield from self._rule(rule, heads)

    def _joint(self, block: HintBlock) -> Iterator[FlowItem]:
        """What holds of several rules at once."""
        yield self._heading(block.heading)
        for k, sentence in enumerate(block.sentences):
            pieces = words(sentence, self.width, self.text_mm, before_mm=0.5 * self.text_mm if k else 0.0)
            joined = k + 1 < len(block.sentences)
            yield from (replace(piece, joined=joined) for piece in pieces)

    def _rule(self, rule: RuleLine, heads: FlowItem) -> Iterator[FlowItem]:
        cells = ["", rule.clause, rule.title, rule.measured, rule.limit, rule.margin, rule.told]
        row = self._row(cells, bold=True)
        rule_line = line((0.0, 0.0), (self.width, 0.0), Layer.TEXT, Pen.HATCH)
        items = (rule_line, *row.items)
        if rule.number is not None:
            at = (MARK_MM, -_ROW_PAD_MM - self.text_mm / 2 - 0.6)
            items = (*items, *mark_items(rule.number, rule.outcome, at))
        told = self._sentences(rule)
        height = max(row.height_mm, 2 * MARK_MM + _ROW_PAD_MM if told is None else 0.0)
        yield FlowItem(items, height + (0.8 if told is None else 0.0), joined=told is not None, running=heads)
        if told is not None:
            yield replace(told, height_mm=told.height_mm + 0.55, before_mm=0.5 * self.text_mm)

    def _sentences(self, rule: RuleLine) -> FlowItem | None:
        """What to know and what to do, side by side under the row."""
        indent, gap = _COLUMNS[0][1], 5.0
        drawn = rule.number in self.views.drawn
        first: list[FlowItem] = []
        if rule.where and not drawn:
            first += self._labelled("Where", f"{rule.where}.", _WHY_SHARE * (self.width - indent))
        if rule.why:
            why = rule.why if rule.why[-1] in ".!?" else f"{rule.why}."
            first += self._labelled("Why", why, _WHY_SHARE * (self.width - indent))
        if not rule.change:
            return beside([(indent, first)]) if first else None
        left = indent + (_WHY_SHARE * (self.width - indent) + gap if first else 0.0)
        change = self._labelled("Do", f"{rule.change}.", self.width - left)
        return beside([(indent, first), (left, change)]) if first else beside([(left, change)])

    def _labelled(self, label: str, text: str, width: float) -> list[FlowItem]:
        """A sentence with its label hung to the left."""
        hung = 1.2 + max(text_width_mm(word, self.text_mm, bold=True) for word in ("Why", label))
        pieces = words(text, width, self.text_mm, indent_mm=hung, before_mm=0.5 * self.text_mm)
        name = Text(label, (0.0, -self.text_mm), self.text_mm, weight=Weight.BOLD)
        return [replace(pieces[0], items=(name, *pieces[0].items)), *pieces[1:]]

    def _row(self, cells: Sequence[str], *, bold: bool, small: bool = False) -> FlowItem:
        """One row of the rules' table."""
        height = 1.5 if small else self.text_mm
        stretch = self.width / _TABLE_MM
        items: list[Item] = []
        x, most = 0.0, 1
        top = -0.4 if small else -_ROW_PAD_MM
        for k, (text, (_, width)) in enumerate(zip(cells, _COLUMNS, strict=True)):
            room = width * stretch - 1.2
            heavy = bold and k in (1, 2, 3, 6)
            lines = _cut(wrap(text, height, room, bold=heavy), 3 if k == 1 else 40) if text else []
            weight = Weight.BOLD if heavy else Weight.REGULAR
            items += text_lines(lines, (x, top), height, weight=weight)
            most = max(most, len(lines))
            x += width * stretch
        return FlowItem(tuple(items), -top + height + (most - 1) * LINE_PITCH * height + 0.45 * height)

    # ---- the rest

    def _checks(self) -> Iterator[FlowItem]:
        if not self.content.checks:
            return
        yield self._heading(GROUP_HEADINGS[Outcome.BY_EYE], "tick when OK")
        half = (self.width - 6.0) / 2
        checks = self.content.checks
        for k in range(0, len(checks), 2):
            pair = [(j * (half + 6.0), self._check(check, half)) for j, check in enumerate(checks[k : k + 2])]
            yield beside(pair, 1.1 if self.content.fails else 1.7)

    def _check(self, check: Check, width: float) -> list[FlowItem]:
        size = 1.25 * self.text_mm
        box = rectangle(Rect(0.0, -size + 0.2, size, size), Layer.TEXT, Pen.NARROW)
        indent = size + 1.6
        # A car that fails is not inspected yet: what to look for is enough.
        short = self.content.fails or not check.how
        what = f"{check.clause} ({check.by})  {check.what}"
        title = words(what, width, self.text_mm, bold=not short, indent_mm=indent)
        title[0] = replace(title[0], items=(box, *title[0].items))
        if short:
            return title
        return [
            *title,
            *words(check.how, width, self.text_mm, indent_mm=indent, before_mm=0.5 * self.text_mm),
        ]

    def _kept(self) -> Iterator[FlowItem]:
        kept = self.content.kept
        if not kept:
            return
        yield self._heading(
            GROUP_HEADINGS[Outcome.PASS],
            number_words(len(kept), "rule") + (", advice included" if self.content.advised else ""),
        )
        if self.content.fails:
            yield from self._kept_in_short()
            return
        half = (self.width - 6.0) / 2
        rows = (len(kept) + 1) // 2
        for k in range(rows):
            pair = [(0.0, [self._kept_line(kept[k], half)])]
            if k + rows < len(kept):
                pair.append((half + 6.0, [self._kept_line(kept[k + rows], half)]))
            yield beside(pair, 0.75)

    def _kept_in_short(self) -> Iterator[FlowItem]:
        """A car that fails has enough to read: the rules it keeps run on."""
        told = [
            " ".join(t for t in (rule.clause, rule.title, rule.measured) if t) for rule in self.content.kept
        ]
        # A rule and its figure stay on one line where they can.
        text = ";  ".join(each.replace(" ", NO_BREAK_SPACE) for each in told)
        yield from words(f"{text}.", self.width, self.text_mm)

    def _kept_line(self, rule: RuleLine, width: float) -> FlowItem:
        """Clause, title and figures of a rule that is kept, in one line where they fit."""
        height, clause_mm = self.text_mm - 0.1, 11.0
        right = (
            f"{rule.measured}  ({rule.limit})"
            if rule.limit and rule.measured
            else rule.measured or rule.margin
        )
        if not rule.measured and text_width_mm(rule.title + right, height) > width - clause_mm - 3.0:
            right = "does not apply"
        right = shorten(right, height, 0.62 * width)
        room = width - clause_mm - text_width_mm(right, height) - 3.0
        lines = wrap(rule.title, height, room)
        clause = shorten(rule.clause, height, clause_mm - 1.0)
        items: list[Item] = [
            *text_lines([clause], (0.0, 0.0), height),
            *text_lines(lines, (clause_mm, 0.0), height),
            *text_lines([right], (width, 0.0), height, anchor=Anchor.END),
        ]
        start, end = clause_mm + text_width_mm(lines[0], height) + 1.5, clause_mm + room + 1.5
        if end - start > 3.0:
            items.append(line((start, -height), (end, -height), Layer.TEXT, Pen.HATCH))
        return FlowItem(tuple(items), text_block_height_mm(len(lines), height) + 0.2 * height)

    def _cautions(self) -> FlowItem:
        pad = 2.2
        told = [
            piece
            for k, text in enumerate(self.content.cautions)
            for piece in words(
                text, self.width - 2 * pad, 1.9, bold=k == 0 and len(self.content.cautions) > 1, before_mm=1.2
            )
        ]
        body = stacked(told)
        height = body.height_mm + 2 * pad - 0.4
        frame = rectangle(Rect(0.0, -height, self.width, height), Layer.CAUTION, Pen.FRAME)
        paper = filled(Rect(0.0, -height, self.width, height), Layer.CAUTION, 0.95)
        return FlowItem((paper, frame, Group(Affine.move(pad, -pad), body.items)), height, 3.5)


def _cut(lines: list[str], most: int) -> list[str]:
    """At most so many lines, the last ending in an ellipsis where any are left out."""
    return lines if len(lines) <= most else [*lines[: most - 1], f"{lines[most - 1]}…"]

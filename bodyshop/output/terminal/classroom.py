"""A class on a terminal: who stands how, what is broken most, what is alike, what to have in stock."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final

from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import clip, pad, width_of, wrap
from bodyshop.foundation.text.small_words import number_words
from bodyshop.output.words.classroom import (
    alike_words,
    books_words,
    clean,
    get_words,
    headline,
    line_note,
    mass_words,
    plan_notes,
    plan_unit,
    problem_words,
    verdict_words,
)
from bodyshop.output.words.closing import CLOSING
from bodyshop.records.classroom.discovery import CarRow, CarState
from bodyshop.records.classroom.summary import BrokenRuleCount, ClassReport

__all__ = ["bar", "class_table"]

_LEAST: Final = 60
_BENCH: Final = 10
_VERDICT: Final = 16
_MASS: Final = 18
_MARK: Final = 9
_GAPS: Final = 8

_CLAUSE_LINES: Final = 2
_MOST_RULES: Final = 12
_BAR: Final = 20
_MOST_ALIKE: Final = 20


def class_table(report: ClassReport, *, width: int = 80, ink: TextStyle | None = None) -> str:
    """The whole of it, ending in a newline."""
    ink, width = ink or TextStyle(), max(_LEAST, width)
    paint = ink.good if report.all_read and not report.failing + report.probably_failing else ink.bad
    lines = [paint(line) for line in wrap(headline(report), width)]
    lines += wrap(books_words(report), width) if report.books else []
    lines += _cars(report, width, ink)
    lines += _unread(report, width, ink)
    lines += _broken(report.broken, width, ink)
    lines += _alike(report, width, ink)
    lines += _plan(report, width, ink)
    lines += ["", *wrap(CLOSING, width)]
    return "\n".join(lines) + "\n"


def bar(share: float, columns: int = _BAR) -> str:
    """A share of 0 to 1 as a bar: whatever is not 0 shows."""
    full = min(columns, max(round(share * columns), 1 if share > 0.0 else 0))
    return "#" * full + "." * (columns - full)


def _cars(report: ClassReport, width: int, ink: TextStyle) -> list[str]:
    if not report.cars:
        return []
    room = width - _BENCH - _VERDICT - _MASS - _MARK - _GAPS
    head = _line(("Car", "Bench", "Verdict", "Mass", "Code"), room, width)
    lines = ["", ink.strong(head)]
    names = Counter(clean(car.name).casefold() for car in report.cars)
    for car in report.cars:
        cells = (clean(car.name), clean(car.bench), verdict_words(car), mass_words(car), car.fingerprint)
        line = _line(cells, room, width)
        lines.append(ink.bad(line) if car.standing is CarState.FAILS else line)
        if names[clean(car.name).casefold()] > 1:
            lines.append(clip(f"    {clean(car.file)}", width))
        lines += _clauses(car, width)
    return lines


def _line(cells: Sequence[str], room: int, width: int) -> str:
    columns = zip(cells, (room, _BENCH, _VERDICT, _MASS, _MARK), strict=True)
    return clip("  ".join(pad(clip(cell, column), column) for cell, column in columns), width).rstrip()


def _clauses(car: CarRow, width: int) -> list[str]:
    """The clauses that a car breaks, worst first, and those that could not be judged; a line or two."""
    lines: list[str] = []
    for label, clauses in (
        ("breaks", car.failed),
        ("too close to tell", car.too_close),
        ("not judged", car.unjudged),
    ):
        if not clauses:
            continue
        told = wrap(", ".join(map(clean, clauses)), width - 8, f"    {label} ", "      ")
        if len(told) > _CLAUSE_LINES:
            told = told[:_CLAUSE_LINES]
            shown = sum(line.count(",") for line in told)
            told[-1] = f"{told[-1].rstrip(',')} +{len(clauses) - shown}"
        lines += told
    return lines


def _unread(report: ClassReport, width: int, ink: TextStyle) -> list[str]:
    lines: list[str] = []
    if report.unread or report.closed:
        lines += ["", ink.strong("Could not be read")]
    for row in report.unread:
        more = f" (and {number_words(row.count - 1, 'more problem')})" if row.count > 1 else ""
        lines += wrap(f"{problem_words(row.problems[0])}{more}", width, "  ", "      ")
    for problem in report.closed:
        lines += wrap(problem_words(problem), width, "  ", "      ")
    if report.skipped:
        names = ", ".join(clean(row.file) for row in report.skipped[:_MOST_ALIKE])
        more = " and more" if len(report.skipped) > _MOST_ALIKE else ""
        lines += ["", *wrap(f"Left out, because they are rulebooks: {names}{more}.", width, "", "  ")]
    return lines


def _broken(broken: Sequence[BrokenRuleCount], width: int, ink: TextStyle) -> list[str]:
    if not broken:
        return []
    lines = ["", ink.strong("Rules broken most")]
    several = len({each.book.key for each in broken}) > 1
    clause = max(width_of(clean(each.clause)) for each in broken[:_MOST_RULES])
    counts = [f"{each.cars} of {each.of}" for each in broken[:_MOST_RULES]]
    count = max(map(len, counts))
    clause = min(clause, 12)
    room = width - clause - count - _BAR - 8
    for each, words in zip(broken, counts, strict=False):
        title = clean(each.title) + (f" ({clean(each.book.name)})" if several else "")
        lines.append(
            f"  {pad(clip(clean(each.clause), clause), clause)}  {pad(clip(title, room), room)}  "
            f"{words.rjust(count)}  {bar(each.share)}"
        )
    left = len(broken) - _MOST_RULES
    if left > 0:
        lines.append(f"  and {number_words(left, 'more rule')}")
    return lines


def _alike(report: ClassReport, width: int, ink: TextStyle) -> list[str]:
    if not report.alike:
        return []
    lines = ["", ink.strong("Designs with the same shape (check for copying)")]
    for alike in report.alike[:_MOST_ALIKE]:
        files = ", ".join(clean(car.file) for car in alike.cars[:_MOST_ALIKE])
        more = f" and {len(alike.cars) - _MOST_ALIKE} more" if len(alike.cars) > _MOST_ALIKE else ""
        lines += wrap(f"{files}{more}: {alike_words(alike)}", width, "  ", "      ")
    left = len(report.alike) - _MOST_ALIKE
    if left > 0:
        lines.append(f"  and {number_words(left, 'more group')}")
    return lines


def _plan(report: ClassReport, width: int, ink: TextStyle) -> list[str]:
    plan = report.plan
    if not plan.lines:
        return []
    unit = plan_unit(report)
    shelf = max(width_of(line.supply.value) for line in plan.lines)
    need = max(4, *(len(str(line.need)) for line in plan.lines))
    get = max(3, *(len(get_words(line)) for line in plan.lines))
    room = width - shelf - need - get - 8
    head = f"Parts to have in stock for {number_words(plan.cars, 'car')}"
    lines = ["", ink.strong(pad(head, shelf + room + 6) + f"{'need':>{need}}  {'get':<{get}}".rstrip())]
    before = None
    for line in plan.lines:
        name = line.supply.value.capitalize() if line.supply is not before else ""
        before = line.supply
        lines.append(
            f"  {pad(name, shelf)}  {pad(clip(clean(line.label), room), room)}  "
            f"{line.need:>{need}}  {get_words(line)}".rstrip()
        )
        note = line_note(line, unit)
        if note:
            lines += wrap(note, width, " " * (shelf + 4) + "  ")
    for note in plan_notes(report, unit):
        lines += wrap(note, width, "  ")
    return lines

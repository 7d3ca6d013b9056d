"""An inspection in words: for the terminal, for JSON, and the short words of its rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from bodyshop.car.measures import QuantityKind, catalogue
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import pad, printable, width_of, wrap
from bodyshop.output.words.inspection import change_words, designed_words, measured_words
from bodyshop.records.inspection.judging import DimensionChange, InspectedRow, InspectionResult, verdict_word
from bodyshop.records.inspection.storage import EarlierInspection
from bodyshop.rules.rulebook import Doubt, Outcome, limits_text, score_text
from bodyshop.rules.rulebook.words import amount_text

__all__ = ["inspected_text"]

_MOST_CHANGES: Final = 5
_DECIDED: Final = {
    Doubt.FOR_THE_CAR: "Closer to the limit than the instrument can show; under this rulebook that passes",
    Doubt.FAIL: "Closer to the limit than the instrument can show; under this rulebook that fails",
}
_CLOSE: Final = (Outcome.TOO_CLOSE, Outcome.NEAR, Outcome.ADVICE)


def inspected_text(
    inspected: InspectionResult,
    past: Sequence[EarlierInspection] = (),
    *,
    full: bool = False,
    width: int = 80,
    ink: TextStyle | None = None,
) -> str:
    """The inspection for a terminal: what it comes to, then row by row what was found.

    Rules not checked yet are counted; `full` lists them as well.
    """
    ink = ink or TextStyle()
    design = inspected.checked.opened.design
    head = f"{printable(design.name)} as built: {inspected.standing}"
    paint = ink.good if inspected.passes else ink.near if inspected.judgement.passes else ink.bad
    lines = [paint(line) for line in wrap(head, width, "", "  ")]
    lines += wrap(f"Checked against {printable(rulebook_words(inspected))}.", width)
    shown = [row for row in inspected.rows if full or row.measured is not None or row.answer is not None]
    lines += ["", *_table(shown, inspected, width, ink)] if shown else []
    lines += _changes(inspected, width)
    lines += _reasons(inspected, width)
    left = [row for row in inspected.rows if row.is_open and row not in shown]
    if left:
        clauses = ", ".join(row.rule.clause for row in left if row.rule is not None)
        lines += ["", *wrap(f"Not checked yet: {printable(clauses)}.", width)]
    lines += _drawn(inspected, width)
    lines += _history(inspected, past, width)
    lines += _totals(inspected, width)
    return "\n".join(lines) + "\n"


_HEADING: Final = ("clause", "limit", "drawn", "measured", "change", "verdict")
_CHANGE: Final = _HEADING.index("change")


def _table(
    rows: Sequence[InspectedRow], inspected: InspectionResult, width: int, ink: TextStyle
) -> list[str]:
    """The rows in columns. On a narrow page what changed goes below, and on a narrower one all runs on."""
    cells = [_cells(row, inspected) for row in rows]
    every = range(len(_HEADING))
    widths = [max(width_of(texts[k]) for texts in (_HEADING, *cells)) for k in every]
    shown = next(
        (
            columns
            for columns in (list(every), [k for k in every if k != _CHANGE])
            if sum(widths[k] for k in columns) + 2 * (len(columns) - 1) <= width
        ),
        [],
    )

    def laid(texts: Sequence[str]) -> list[str]:
        if not shown:
            return wrap("; ".join(text for text in texts if text), width, "", "  ")
        return ["  ".join(pad(texts[k], widths[k]) for k in shown).rstrip()]

    below = bool(shown) and _CHANGE not in shown
    lines = [ink.strong(each) for each in laid(_HEADING)]
    for row, texts in zip(rows, cells, strict=True):
        paint = _paint(row, ink)
        lines += [paint(each) if paint else each for each in laid(texts)]
        change = f"; {texts[_CHANGE]}" if below and texts[_CHANGE] else ""
        lines += [ink.quiet(each) for each in wrap(_title(row) + change, width, "    ")]
    return lines


def _cells(row: InspectedRow, inspected: InspectionResult) -> tuple[str, ...]:
    rule = row.rule
    return (
        row.measure if rule is None else printable(rule.clause),
        "" if rule is None else limits_text(rule.limits, rule.kind, rule.shown_unit),
        designed_words(row, inspected) if rule is None or rule.limits is not None else "",
        measured_words(row, inspected),
        change_words(row, inspected),
        verdict_word(row),
    )


def _title(row: InspectedRow) -> str:
    if row.rule is not None:
        return printable(row.rule.title or row.rule.item)
    return catalogue()[row.measure].title


def _paint(row: InspectedRow, ink: TextStyle) -> Any:
    if row.verdict is None:
        return None
    if row.verdict.outcome is Outcome.FAIL:
        return ink.bad
    return ink.near if row.is_open or row.verdict.outcome in _CLOSE else None


def _changes(inspected: InspectionResult, width: int) -> list[str]:
    """What the shop changed, said once for each measure."""
    seen = {
        row.measure: row
        for row in inspected.rows
        if row.change in (DimensionChange.GREW, DimensionChange.SHRANK) and row.measure and row.by is not None
    }
    if not seen:
        return []
    rows = sorted(seen.values(), key=lambda row: (row.kind is not QuantityKind.LENGTH, -abs(row.by or 0.0)))
    told = [
        f"{catalogue()[row.measure].title} {change_words(row, inspected)}" for row in rows[:_MOST_CHANGES]
    ]
    more = len(rows) - len(told)
    words = f"Compared with the drawing: {'; '.join(told)}{f'; and {more} smaller ones' if more else ''}."
    return ["", *wrap(words, width)]


def _reasons(inspected: InspectionResult, width: int) -> list[str]:
    lines: list[str] = []
    for verdict in inspected.judgement.failed:
        if verdict.rule.reason:
            clause = f"{printable(verdict.rule.clause)}: "
            lines += wrap(f"{clause}{printable(verdict.rule.reason)}", width, "", "  ")
    close = [
        row for row in inspected.rows if row.verdict is not None and row.verdict.outcome is Outcome.TOO_CLOSE
    ]
    if close:
        clauses = ", ".join(printable(row.rule.clause) for row in close if row.rule is not None)
        lines += wrap(
            f"Too close to tell: {clauses}. The value is closer to the limit than your instrument can "
            "show. Use a finer one, or ask the judge.",
            width,
            "",
            "  ",
        )
    for doubt, words in _DECIDED.items():
        verdicts = [row.verdict for row in inspected.rows if row.verdict is not None]
        told = [verdict.rule.clause for verdict in verdicts if verdict.decided is doubt]
        if told:
            lines += wrap(f"{words}: {printable(', '.join(told))}.", width, "", "  ")
    return ["", *lines] if lines else []


def rulebook_words(inspected: InspectionResult) -> str:
    """The rulebook that judged, with its file's name and its division."""
    opened = inspected.checked.opened
    book = opened.rulebook
    division = f", division {book.division}" if book.division else ""
    chosen = "; the default: no trial book or design names one" if opened.by_default else ""
    return f"{book.name} ({book.stem}{division}{chosen})"


def _drawn(inspected: InspectionResult, width: int) -> list[str]:
    rows = inspected.from_drawing
    if not rows:
        return []
    clauses = ", ".join(printable(row.rule.clause) for row in rows if row.rule is not None)
    words = f"Taken from the drawing, because you cannot measure these on a finished car: {clauses}."
    return ["", *wrap(words, width, "", "  ")]


def _totals(inspected: InspectionResult, width: int) -> list[str]:
    """What it adds up to: points, score, ballast."""
    judgement = inspected.judgement
    so_far = " so far" if inspected.open_rows else ""
    parts = [f"Points{so_far}: {score_text(judgement) or '0 points off'}."]
    if judgement.ballast_g:
        amount = amount_text(judgement.ballast_g, QuantityKind.MASS, judgement.rulebook.mass_unit)
        parts.append(f"Ballast to add{so_far}: {amount}.")
    return ["", *(line for part in parts for line in wrap(part, width, "", "  "))]


def _history(inspected: InspectionResult, past: Sequence[EarlierInspection], width: int) -> list[str]:
    if not past:
        return []
    lines = ["", "Inspected before:"]
    for each in past:
        lines += wrap(
            f"{each.entry.at.strftime('%Y-%m-%d %H:%M')}  {printable(each.entry.record.result)}", width, "  "
        )
    last = past[-1].words
    now = {row.rule.clause: verdict_word(row) for row in inspected.rows if row.rule is not None}
    moved = [
        f"{printable(clause)} was {last[clause]}, is {word}"
        for clause, word in now.items()
        if clause in last and last[clause] != word
    ]
    if moved:
        lines += wrap(f"Since then: {'; '.join(moved)}.", width, "", "  ")
    return lines

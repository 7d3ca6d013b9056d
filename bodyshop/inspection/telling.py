"""An inspection in words: for the terminal, for JSON, and the short words of its rows."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from bodyshop.inspection.judging import Change, Inspected, InspectedRow
from bodyshop.inspection.keeping import Past
from bodyshop.inspection.words import KIND_UNIT, verdict_word
from bodyshop.lengths import LengthUnit, format_angle, format_length, format_mass
from bodyshop.measures import Kind, NotKnown, Reading, catalogue
from bodyshop.report.columns import pad, printable, width_of, wrap
from bodyshop.report.ink import Ink
from bodyshop.report.json_report import part_data
from bodyshop.rulebook import Doubt, Fails, Outcome, limits_text, read_off, score_text, value_text
from bodyshop.rulebook.words import amount_text
from bodyshop.trials.model import Answer

__all__ = ["change_words", "inspected_data", "inspected_text", "measured_words"]

_MOST_CHANGES: Final = 5
_DECIDED: Final = {
    Doubt.FOR_THE_CAR: "Within the instrument's step of the limit, which the rulebook decides for the car",
    Doubt.FAIL: "Within the instrument's step of the limit, which the rulebook counts as outside",
}
_HAIR: Final = 1e-9
_CLOSE: Final = (Outcome.TOO_CLOSE, Outcome.NEAR, Outcome.ADVICE)


def _amount(row: InspectedRow, value: float, inspected: Inspected, *, whole: bool = False) -> str:
    """A quantity to the marks of the instrument; with `whole`, as fine as it was told."""
    unit = inspected.checked.opened.rulebook.unit if row.rule is None else row.rule.unit
    if row.kind is None:
        return ""
    if unit is LengthUnit.IN and row.kind is Kind.LENGTH:
        return amount_text(round(value, 6 if whole else 2), row.kind, unit)
    step = 0.0 if row.measured is None else row.measured.resolution
    if row.kind is Kind.LENGTH:
        return format_length(value, unit, decimals=_places(step / unit.mm, value / unit.mm if whole else 0.0))
    if row.kind is Kind.MASS:
        mass = inspected.checked.opened.rulebook.mass_unit if row.rule is None else row.rule.mass_unit
        return format_mass(
            value, decimals=_places(step / mass.g, value / mass.g if whole else 0.0), unit=mass
        )
    if row.kind is Kind.ANGLE:
        return format_angle(value, decimals=_places(math.degrees(step)))
    return amount_text(round(value, 2), row.kind, unit)


def _places(step: float, value: float = 0.0) -> int:
    """Decimals that show the marks of an instrument, and a value; two at most."""
    for places in range(2):
        if step > 0.0 and all(abs(each - round(each, places)) < _HAIR for each in (step, value)):
            return places
    return 2


def designed_words(row: InspectedRow, inspected: Inspected) -> str:
    """The value of the design, a dash where it has none."""
    if not isinstance(row.designed, Reading):
        return "-"
    if row.rule is not None and row.rule.kind is not None:
        return value_text(row.rule, read_off(row.designed.value, row.rule.resolution))
    return _amount(row, row.designed.value, inspected)


def measured_words(row: InspectedRow, inspected: Inspected) -> str:
    """What was measured or answered, a dash where nothing was."""
    if row.answer is not None:
        return row.answer.value
    return "-" if row.measured is None else _amount(row, row.measured.value, inspected, whole=True)


def change_words(row: InspectedRow, inspected: Inspected) -> str:
    """`grew 0.4 mm`, `as drawn`; for a mass `3.1 g heavier`."""
    if row.change is None or row.by is None:
        return ""
    if row.change is Change.SAME:
        return "as drawn" if row.kind is not Kind.MASS else "as estimated"
    amount = _amount(row, abs(row.by), inspected)
    if row.kind is Kind.MASS:
        return f"{amount} {'heavier' if row.change is Change.GREW else 'lighter'}"
    if row.kind is Kind.COUNT:
        return f"{amount} {'more' if row.change is Change.GREW else 'fewer'}"
    return f"{row.change.value} {amount}"


def inspected_text(
    inspected: Inspected,
    past: Sequence[Past] = (),
    *,
    full: bool = False,
    width: int = 80,
    ink: Ink | None = None,
) -> str:
    """The inspection for a terminal: what it comes to, then row by row what was found.

    Rules that nothing was told about are counted; `full` lists them as well.
    """
    ink = ink or Ink()
    design = inspected.checked.opened.design
    head = f"{printable(design.name)} as built: {inspected.standing}"
    paint = ink.good if inspected.passes else ink.near if inspected.judgement.passes else ink.bad
    lines = [paint(line) for line in wrap(head, width, "", "  ")]
    lines += wrap(f"By the rules of {printable(rulebook_words(inspected))}.", width)
    shown = [row for row in inspected.rows if full or row.measured is not None or row.answer is not None]
    lines += ["", *_table(shown, inspected, width, ink)] if shown else []
    lines += _changes(inspected, width)
    lines += _reasons(inspected, width)
    left = [row for row in inspected.rows if row.is_open and row not in shown]
    if left:
        clauses = ", ".join(row.rule.clause for row in left if row.rule is not None)
        lines += ["", *wrap(f"Nothing is told yet of {printable(clauses)}.", width)]
    lines += _drawn(inspected, width)
    lines += _history(inspected, past, width)
    lines += _totals(inspected, width)
    return "\n".join(lines) + "\n"


_HEADING: Final = ("clause", "limit", "drawn", "measured", "change", "verdict")
_CHANGE: Final = _HEADING.index("change")


def _table(rows: Sequence[InspectedRow], inspected: Inspected, width: int, ink: Ink) -> list[str]:
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


def _cells(row: InspectedRow, inspected: Inspected) -> tuple[str, ...]:
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


def _paint(row: InspectedRow, ink: Ink) -> Any:
    if row.verdict is None:
        return None
    if row.verdict.outcome is Outcome.FAIL:
        return ink.bad
    return ink.near if row.is_open or row.verdict.outcome in _CLOSE else None


def _changes(inspected: Inspected, width: int) -> list[str]:
    """What the shop changed, said once for each measure."""
    seen = {
        row.measure: row
        for row in inspected.rows
        if row.change in (Change.GREW, Change.SHRANK) and row.measure and row.by is not None
    }
    if not seen:
        return []
    rows = sorted(seen.values(), key=lambda row: (row.kind is not Kind.LENGTH, -abs(row.by or 0.0)))
    told = [
        f"{catalogue()[row.measure].title} {change_words(row, inspected)}" for row in rows[:_MOST_CHANGES]
    ]
    more = len(rows) - len(told)
    words = f"Against the drawing: {'; '.join(told)}{f'; and {more} smaller ones' if more else ''}."
    return ["", *wrap(words, width)]


def _reasons(inspected: Inspected, width: int) -> list[str]:
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
            f"Too close to tell: {clauses}. The value is within the instrument's step of the limit; use a "
            "finer one, or let the judge decide.",
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


def rulebook_words(inspected: Inspected) -> str:
    """The rulebook that judged, with its file's name and its division."""
    opened = inspected.checked.opened
    book = opened.rulebook
    division = f", division {book.division}" if book.division else ""
    chosen = "; the default: neither the trial book nor the design names one" if opened.by_default else ""
    return f"{book.name} ({book.stem}{division}{chosen})"


def _drawn(inspected: Inspected, width: int) -> list[str]:
    rows = inspected.from_drawing
    if not rows:
        return []
    clauses = ", ".join(printable(row.rule.clause) for row in rows if row.rule is not None)
    words = f"From the drawing, because a finished car cannot be measured there: {clauses}."
    return ["", *wrap(words, width, "", "  ")]


def _totals(inspected: Inspected, width: int) -> list[str]:
    """What it adds up to: points, score, ballast."""
    judgement = inspected.judgement
    so_far = " so far" if inspected.open_rows else ""
    parts = [f"Points{so_far}: {score_text(judgement) or '0 points off'}."]
    if judgement.ballast_g:
        amount = amount_text(judgement.ballast_g, Kind.MASS, judgement.rulebook.mass_unit)
        parts.append(f"Ballast to add{so_far}: {amount}.")
    return ["", *(line for part in parts for line in wrap(part, width, "", "  "))]


def _history(inspected: Inspected, past: Sequence[Past], width: int) -> list[str]:
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


# ---------------------------------------------------------------- JSON


def _value(kind: Kind | None, value: float) -> float:
    return round(math.degrees(value), 9) if kind is Kind.ANGLE else value


def row_data(row: InspectedRow) -> dict[str, Any]:
    """One row as plain data. Lengths in mm, masses in g, angles in degrees."""
    designed = row.designed
    return {
        "clause": None if row.rule is None else row.rule.clause,
        "measure": row.measure or None,
        "unit": None if row.kind is None else KIND_UNIT[row.kind],
        "designed": _value(row.kind, designed.value) if isinstance(designed, Reading) else None,
        "why_not_designed": designed.reason if isinstance(designed, NotKnown) else None,
        "measured": None if row.measured is None else _value(row.kind, row.measured.value),
        "resolution": None if row.measured is None else _value(row.kind, row.measured.resolution),
        "instrument": None if row.measured is None else row.measured.instrument,
        "answer": None if row.answer in (None, Answer.OPEN) else row.answer.value,
        "change": None if row.change is None else row.change.value,
        "by": None if row.by is None else round(_value(row.kind, row.by), 9),
        "verdict": None if row.verdict is None else verdict_word(row),
        "open": row.is_open,
        "points": 0.0 if row.verdict is None else row.verdict.points,
        "ballast_g": 0.0 if row.verdict is None else row.verdict.ballast_g,
        "parts": [] if row.verdict is None else [part_data(part) for part in row.verdict.parts],
        "decided": None if row.verdict is None or row.verdict.decided is None else row.verdict.decided.value,
        "from_drawing": row.from_drawing,
        "advice": row.rule is not None and row.rule.fails is Fails.ADVICE,
    }


def inspected_data(
    inspected: Inspected, past: Sequence[Past] = (), number: int | None = None
) -> dict[str, Any]:
    """The inspection for other programs."""
    opened = inspected.checked.opened
    score = opened.rulebook.score
    return {
        "format": 1,
        "car": opened.design.name,
        "design_fingerprint": opened.design.fingerprint,
        "rulebook": opened.rulebook.stem,
        "rulebook_name": opened.rulebook.name,
        "rulebook_fingerprint": opened.rulebook.fingerprint,
        "division": opened.rulebook.division,
        "inspection": number,
        "standing": inspected.standing,
        "passes": inspected.passes,
        "broken": [verdict.rule.clause for verdict in inspected.judgement.failed],
        "open": [row.rule.clause for row in inspected.open_rows if row.rule is not None],
        "points_off": inspected.judgement.points_off,
        "score": inspected.judgement.score,
        "full_score": None if score is None else score.full,
        "least_score": None if score is None else score.least,
        "from_drawing": [row.rule.clause for row in inspected.from_drawing if row.rule is not None],
        "ballast_g": inspected.judgement.ballast_g,
        "barred": list(inspected.judgement.barred),
        "rows": [row_data(row) for row in inspected.rows],
        "before": [
            {
                "inspection": each.entry.id,
                "at": each.entry.at.isoformat(timespec="seconds"),
                "standing": each.entry.record.result,
                "passes": each.entry.record.passes,
            }
            for each in past
        ],
    }

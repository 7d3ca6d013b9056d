"""A rulebook as a sheet to read on a terminal: every clause with its limits, its reason and what it costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

from bodyshop.car.measures import Measure, MeasuringState, QuantityKind, catalogue
from bodyshop.car.stock.cautions import cautions_for
from bodyshop.car.stock.hardware import PART_SHELVES
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import clip, pad, printable, width_of, wrap
from bodyshop.foundation.text.small_words import capital, number_words
from bodyshop.foundation.units import LengthUnit
from bodyshop.output.words.rulebook import sections
from bodyshop.rules.checking import shown_file
from bodyshop.rules.rulebook import (
    CheckedBy,
    ClauseChange,
    CountedAs,
    Rule,
    Rulebook,
    amount_text,
    doubt_text,
    fails_text,
    limits_text,
    points_text,
)
from bodyshop.rules.rulebook.event_hardware import figures_of
from bodyshop.rules.rulebook.language import COST_KEYS

__all__ = ["rulebook_text"]


_BY: Final = {
    CheckedBy.PROGRAM: "by the program",
    CheckedBy.GAUGE: "with a gauge",
    CheckedBy.EYES: "by eye",
}
_STATES: Final = {
    MeasuringState.BODY: "on the bare body",
    MeasuringState.WHEELS: "with the car on its wheels",
    MeasuringState.NO_CARTRIDGE: "on the complete car without cartridge",
    MeasuringState.WITH_CARTRIDGE: "on the complete car with a full cartridge",
}
_UNITS: Final = {LengthUnit.MM: "millimetres", LengthUnit.CM: "centimetres", LengthUnit.IN: "inches"}
_MM_PER_FOOT: Final = 304.8
_INDENT: Final = 2
_LONGEST_CLAUSE: Final = 10


def rulebook_text(book: Rulebook, *, width: int = 80, ink: TextStyle | None = None) -> str:
    """The whole book, ending in a newline."""
    ink = ink or TextStyle()
    column = min(max((width_of(rule.clause) for rule in book.rules), default=0), _LONGEST_CLAUSE)
    measures = catalogue()
    lines = _head(book, width, ink)
    for heading, rules in sections(book).items():
        lines += ["", ink.strong(printable(heading))]
        for rule in rules:
            named = [measures[name] for name in rule.measures]
            lines += _rule(book, rule, named, column, width, ink)
    lines += _brought(book, width, ink)
    dropped = [change for change in book.changes if change.dropped]
    if dropped:
        lines += ["", ink.strong("Left out")]
        for change in dropped:
            lines += wrap(_dropped(book, change), width, "  ", "      ")
    lines += ["", ink.strong("With care")]
    for caution in cautions_for(*book.cautions):
        lines += wrap(caution.sentence, width, "  ")
    return "\n".join(lines) + "\n"


# ---------------------------------------------------------------- what holds for all rules


def _head(book: Rulebook, width: int, ink: TextStyle) -> list[str]:
    name = f"{book.name}, division {book.division}" if book.division else book.name
    lines = [ink.strong(clip(printable(name), width))]
    if book.event:
        lines += wrap(printable(book.event), width)
    file = f"{printable(shown_file(book.source.name))}, rulebook {book.fingerprint}"
    if book.parents:
        file += f", over {', '.join(book.parents)}"
    lines += wrap(file, width)
    if book.note:
        lines += ["", *wrap(printable(book.note), width)]
    lines.append("")
    for sentence in _about(book):
        lines += wrap(printable(sentence), width, "", "  ")
    return lines


def _about(book: Rulebook) -> Iterator[str]:
    base = _base(book)
    whose = f" Where nothing else is said a clause stands as it is in {base}." if base != book.stem else ""
    yield f"{number_words(len(book.rules), 'rule')}, lengths in {_UNITS[book.unit]}.{whose}"
    steps = [
        f"{thing} to {amount_text(book.reads.resolution[kind], kind, book.shown_unit(kind))}"
        for kind, thing in (
            (QuantityKind.LENGTH, "lengths"),
            (QuantityKind.MASS, "masses"),
            (QuantityKind.ANGLE, "angles"),
        )
        if book.reads.resolution.get(kind)
    ]
    if steps:
        read = f"{', '.join(steps)}; halves to even"
        yield f"A value is read ({read}) and then compared. A limit itself passes."
    yield f"On the finished car {doubt_text(book.reads.doubt)}."
    near = book.reads.near.get(QuantityKind.LENGTH, 0.0)
    if near:
        yield f"A pass by less than {amount_text(near, QuantityKind.LENGTH, book.unit)} is shown as near."
    if book.track_mm is not None:
        yield f"The track is {_far(book.track_mm, book.unit)} long."
    if book.score is not None:
        full, least = points_text(book.score.full), f"{book.score.least:g}"
        yield f"A car starts with {full} and may not be left with fewer than {least}."
    kit = [f"{key.replace('_', ' ')} {name}" for key, name in book.kit.names.items() if name]
    if kit:
        yield f"The kit: {', '.join(kit)}; {number_words(book.kit.washers, 'washer')} at each wheel."
    others = [name for name in book.divisions if name != book.division]
    if others:
        yield f"{'Other divisions' if book.division else 'Divisions'}: {', '.join(others)}."


def _brought(book: Rulebook, width: int, ink: TextStyle) -> list[str]:
    """The hardware that the event brings, with its figures and where they come from."""
    lines: list[str] = []
    for shelf in PART_SHELVES:
        for part in book.kit.brought.shelf(shelf).values():
            figures = ", ".join(figures_of(part, book.unit))
            lines += wrap(printable(f"{part.id}: {part.label} ({figures})"), width, "  ", "      ")
            lines += wrap(printable(f"Figures from: {part.source}"), width, "      ")
    return ["", ink.strong("Brought by the event"), *lines] if lines else []


def _base(book: Rulebook) -> str:
    """The book that most clauses come from."""
    homes = Counter(Path(rule.spot.file).stem for rule in book.rules)
    return homes.most_common(1)[0][0] if homes else book.stem


def _far(length_mm: float, unit: LengthUnit) -> str:
    """A track's length as people say it: in metres or feet."""
    if unit is LengthUnit.IN:
        return f"{round(length_mm / _MM_PER_FOOT, 2):g} ft"
    return f"{round(length_mm / 1000, 2):g} m"


# ---------------------------------------------------------------- one rule


def _rule(
    book: Rulebook, rule: Rule, measures: Sequence[Measure], column: int, width: int, ink: TextStyle
) -> list[str]:
    left = _INDENT + column + 2
    limits = limits_text(rule.limits, rule.kind, rule.shown_unit)
    label = " " * _INDENT + pad(clip(printable(rule.clause), column), column) + "  "
    title = printable(capital(rule.title or rule.item))
    room = width - left - (width_of(limits) + 2 if limits else 0)
    if width_of(title) <= room:
        first = pad(title, width - left - width_of(limits)) + limits if limits else title
        lines = [label + ink.strong(first.rstrip())]
    else:
        lines = [ink.strong(each) for each in wrap(title, width, label)]
        if limits:
            lines.append(ink.strong(" " * (width - width_of(limits)) + limits))
    for sentence in _sentences(book, rule, measures):
        lines += wrap(printable(sentence), width, " " * left)
    return lines


def _sentences(book: Rulebook, rule: Rule, measures: Sequence[Measure]) -> Iterator[str]:
    if rule.title and rule.item:
        yield rule.item
    yield rule.reason
    for measure in measures:
        where = _STATES[measure.state]
        what = f"{capital(measure.title)}: measured" if rule.several else "Measured"
        yield f"{what} {where}{', ' if measure.ends else ''}{measure.ends}."
    if rule.several:
        yield "Each of them counts." if rule.together is CountedAs.EACH else "The worst of them counts."
    if measures:
        yield from _decided(book, rule)
    elif rule.state is not None:
        yield f"Looked at {_STATES[rule.state]}."
    yield f"If not: {fails_text(rule)}. Checked {_BY[rule.checked_by]}."
    if rule.instruction:
        yield f"How: {rule.instruction}"
    if rule.accept:
        yield f"It stands as it is: {rule.accept}"
    if rule.source:
        yield f"Figure from: {rule.source}"
    home = Path(rule.spot.file).stem
    if home != _base(book):
        yield f"New in {home}."
    for change in book.changes:
        if change.clause == rule.clause:
            yield _changed(change)


def _decided(book: Rulebook, rule: Rule) -> Iterator[str]:
    """How a reading on the edge is decided, where the clause does not do as the book does."""
    if rule.doubt is not book.reads.doubt:
        yield f"Here {doubt_text(rule.doubt)}."


def _changed(change: ClauseChange) -> str:
    by = Path(change.spot.file).stem
    division = f" for {' and '.join(change.divisions)}" if change.divisions else ""
    before = _before(change)
    return f"Changed by {by}{division}{f' ({before})' if before else ''}: {change.because}"


def _before(change: ClauseChange) -> str:
    """What the clause said before, in those words that the change touches."""
    rule = change.before
    if rule is None:
        return ""
    was: list[str] = []
    if set(change.keys) & {"min", "max", "exact", "tolerance", "one_of", "count"}:
        was.append(limits_text(rule.limits, rule.kind, rule.shown_unit))
    if set(change.keys) & set(COST_KEYS):
        was.append(fails_text(rule))
    if "checked_by" in change.keys:
        was.append(f"checked {_BY[rule.checked_by]}")
    return f"before: {', '.join(was)}" if was else ""


def _dropped(book: Rulebook, change: ClauseChange) -> str:
    by = Path(change.spot.file).stem
    title = change.before.title or change.before.item if change.before is not None else ""
    asked = change.before and limits_text(change.before.limits, change.before.kind, change.before.shown_unit)
    what = f"{change.clause}, {title.rstrip('.')}" + (f" ({asked})" if asked else "")
    whose = "" if by == book.stem else f", by {by}"
    return printable(f"{what}{whose}: {change.because}")

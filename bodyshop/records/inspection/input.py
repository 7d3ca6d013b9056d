"""What an inspector measured and saw, from words or from a table.

A value is named by the clause of the rulebook or by the measure: `B1=304.5mm`, `body.length=304.5`. The
step of the instrument may stand behind it: `304.5mm@0.5mm`. A clause over several measures has a value for
each, in the order of the rulebook: `W1=32;34`; the wheels of an axle may be measured apart, left and right:
`W1=32;31.9;34;34`, or `front_wheel.diameter.left=32`. What only eyes can tell is answered by its
clause: `I1=yes`, `I2=no`, `I3=open`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from bodyshop.car.measures import QuantityKind, catalogue
from bodyshop.foundation.problems import Problem, ProblemsError, Span, nearest
from bodyshop.foundation.text.csv_text import unguarded
from bodyshop.foundation.units import QuantityError, parse_length
from bodyshop.foundation.units.instruments import parse_quantity
from bodyshop.records.book.csv_table import CsvCell, read_table
from bodyshop.records.book.model import Answer
from bodyshop.rules.checking import Checked
from bodyshop.rules.rulebook import SIDES_OF_A_WHEEL, Rule, Rulebook, Times
from bodyshop.rules.rulebook.consequences import is_of_wheel
from bodyshop.rules.rulebook.lint.claims import possible

__all__ = [
    "InspectionInput",
    "MeasuredValue",
    "InstrumentSteps",
    "read_values_csv",
    "read_steps",
    "read_words",
    "value_kind",
]

_HEADINGS: Final = ("clause", "measure", "value", "resolution", "instrument", "answer")
_MOST: Final = {
    QuantityKind.LENGTH: 10_000.0,
    QuantityKind.MASS: 100_000.0,
    QuantityKind.ANGLE: math.pi,
    QuantityKind.COUNT: 1000.0,
    QuantityKind.AREA: 1e7,
    QuantityKind.VOLUME: 1e9,
}
_ANSWERS: Final = {
    **dict.fromkeys(("yes", "y", "ok", "pass", "true", "x"), Answer.YES),
    **dict.fromkeys(("no", "n", "fail", "false"), Answer.NO),
    **dict.fromkeys(("open", "not looked at", "?"), Answer.OPEN),
}


@dataclass(frozen=True, slots=True)
class MeasuredValue:
    """A value in the unit of its kind (mm, g, rad, a count), the instrument's step, and which instrument."""

    value: float
    kind: QuantityKind
    resolution: float
    instrument: str = ""


@dataclass(frozen=True, slots=True)
class InspectionInput:
    """Values by measure (by clause for an item that is measured), and answers by clause."""

    values: Mapping[str, MeasuredValue] = field(default_factory=dict)
    answers: Mapping[str, Answer] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class InstrumentSteps:
    """The steps of instruments that are not told with a value, in the unit of the kind; and their name."""

    by_kind: Mapping[QuantityKind, float] = field(default_factory=dict)
    instrument: str = ""


def read_steps(length: str, mass: str, instrument: str = "") -> InstrumentSteps:
    """The steps of what lengths and masses are measured with, as typed; empty where nothing is told.

    Raises:
        ProblemsError: one is no length or no mass.
    """
    steps: dict[QuantityKind, float] = {}
    for kind, text, unit in ((QuantityKind.LENGTH, length, "mm"), (QuantityKind.MASS, mass, "g")):
        if text.strip():
            try:
                steps[kind] = abs(parse_quantity(text, unit))
            except QuantityError as error:
                message = f"the instrument's step: {error.message}"
                raise ProblemsError(
                    [Problem("inspect-step", message, found=text[:40], expected=error.expected)]
                ) from None
    return InstrumentSteps(steps, instrument)


def value_kind(rule: Rule) -> QuantityKind | None:
    """The kind of value that a rule wants; None for one that is answered."""
    return rule.kind if rule.limits is not None else None


def read_words(
    checked: Checked, words: Iterable[str], steps: InstrumentSteps | None = None
) -> InspectionInput:
    """What `name=value` words say.

    Raises:
        ProblemsError: every word that makes no sense.
    """
    reader = _Reader(checked.opened.rulebook, steps or InstrumentSteps())
    for word in words:
        name, mark, value = word.partition("=")
        if not mark:
            reader.tell("inspect-word", f'"{word}" says nothing', found=word, expected="B1=304.5mm or I1=yes")
            continue
        reader.take(name.strip(), value.strip(), "", "", InputPlace(""))
    return reader.found()


@dataclass(frozen=True, slots=True)
class InputPlace:
    """Where a value stands, for messages."""

    file: str
    span: Span | None = None


def read_values_csv(
    checked: Checked, data: bytes, name: str, steps: InstrumentSteps | None = None
) -> InspectionInput:
    """What a table says: columns `clause` or `measure`, and `value`, `resolution`, `instrument`, `answer`.

    Raises:
        ProblemsError: every wrong row, with line and column.
    """
    table = read_table(data, name, _HEADINGS)
    names = [cell.text.strip().casefold() for cell in table.heading]
    problems = [
        Problem(
            "csv-column",
            f'a table of values has no column "{cell.text.strip()}"',
            file=name,
            span=cell.span,
            expected=", ".join(_HEADINGS),
            nearest=nearest(heading, _HEADINGS),
        )
        for cell, heading in zip(table.heading, names, strict=True)
        if heading and heading not in _HEADINGS
    ]
    if not {"clause", "measure"} & set(names):
        problems.append(
            Problem("csv-column", "no column says what was measured", file=name, expected="clause or measure")
        )
    if problems:
        raise ProblemsError(problems)
    reader = _Reader(checked.opened.rulebook, steps or InstrumentSteps())
    for row in table.rows:
        cells = dict(zip(names, row, strict=False))
        reader.take_row(cells, row[0], name)
    return reader.found()


class _Reader:
    """Values and answers being gathered, with all that is wrong."""

    def __init__(self, book: Rulebook, steps: InstrumentSteps) -> None:
        self._book = book
        self._steps = steps
        self._rules = {rule.clause.casefold(): rule for rule in book.rules}
        self._values: dict[str, MeasuredValue] = {}
        self._answers: dict[str, Answer] = {}
        self._problems: list[Problem] = []

    def found(self) -> InspectionInput:
        """All of it. Raises `ProblemsError` with every problem."""
        if self._problems:
            raise ProblemsError(self._problems)
        return InspectionInput(self._values, self._answers)

    def tell(self, code: str, message: str, place: InputPlace | None = None, **more: str) -> None:
        """One more problem."""
        where = place or InputPlace("")
        self._problems.append(
            Problem(
                code,
                message,
                file=where.file,
                span=where.span,
                found=more.get("found", ""),
                expected=more.get("expected", ""),
                nearest=more.get("near", ""),
            )
        )

    def take_row(self, cells: Mapping[str, CsvCell], first: CsvCell, file: str) -> None:
        """One row of a table. A row without a value and an answer was not filled in."""
        texts = {name: unguarded(cell.text).strip() for name, cell in cells.items()}
        name = texts.get("clause") or texts.get("measure") or ""
        given = [each for each in ("value", "answer") if texts.get(each)]
        if not given:
            return
        cell = cells[given[0]]
        if not name:
            self.tell("csv-row", "this row does not say what was measured", InputPlace(file, first.span))
        elif len(given) == 2:
            self.tell("csv-row", "a row has a value or an answer, not both", InputPlace(file, cell.span))
        else:
            place = InputPlace(file, cell.span)
            self.take(name, texts[given[0]], texts.get("resolution", ""), texts.get("instrument", ""), place)

    def take(self, name: str, text: str, step: str, instrument: str, place: InputPlace) -> None:
        """One value or answer under the name of a clause or a measure."""
        rule = self._rules.get(name.casefold())
        measures = catalogue()
        base = self._whole(name)
        if rule is not None and (rule.several or (";" in text and rule.times is Times.WHEEL)):
            self._several(rule, text, step, instrument, place)
            return
        if rule is None and base not in measures:
            known = [each.clause for each in self._book.rules] + list(measures)
            close = nearest(name, known)
            expected = "" if close else "a clause of the rulebook, or a measure: bodyshop measures lists them"
            self.tell(
                "inspect-name",
                f'"{name}" is no clause and no measure',
                place,
                found=name,
                near=close,
                expected=expected,
            )
            return
        if rule is not None and value_kind(rule) is None:
            self._answer(rule, text, place)
            return
        kind = measures[base].kind if rule is None else rule.kind
        key = name if rule is None else rule.measure or rule.clause
        if kind is None:
            return
        value, _, behind = text.partition("@")
        read = self._quantity(value, kind, name, place, _least(base if rule is None else rule.measure, kind))
        resolution = self._step(behind.strip() or step, kind, name, place)
        if read is None or resolution is None:
            return
        before = self._values.get(key)
        if before is not None and before.value != read:
            # Two clauses may bound one measure: told twice alike is no harm.
            self.tell(
                "inspect-twice", f"{name}: {key} was given twice, with different values", place, found=text
            )
            return
        self._values[key] = MeasuredValue(read, kind, resolution, instrument or self._steps.instrument)

    def _whole(self, name: str) -> str:
        """The measure that a name is of, where it names one wheel of a pair that the rulebook bounds."""
        for side in SIDES_OF_A_WHEEL:
            base = name.removesuffix(side)
            if base != name and is_of_wheel(base) and base in self._book.measures:
                return base
        return name

    def _several(self, rule: Rule, text: str, step: str, instrument: str, place: InputPlace) -> None:
        """The values of a rule over several measures, in its order; of wheels, the left and right of each."""
        values = [value.strip() for value in text.split(";")]
        names = list(rule.measures)
        wheels = [name + side for name in names for side in SIDES_OF_A_WHEEL]
        if rule.times is Times.WHEEL and len(values) == len(wheels):
            names = wheels
        if len(values) == len(names):
            for name, value in zip(names, values, strict=True):
                if value:
                    self.take(name, value, step, instrument, place)
            return
        pairs = f", or {len(wheels)}, left and right of each" if rule.times is Times.WHEEL else ""
        self.tell(
            "inspect-several",
            f"{rule.clause} needs {len(names)} values with ; between them{pairs}",
            place,
            found=text,
            expected="; ".join(names),
        )

    def _answer(self, rule: Rule, text: str, place: InputPlace) -> None:
        answer = _ANSWERS.get(text.strip().casefold())
        if answer is None:
            self.tell(
                "inspect-answer",
                f"{rule.clause} is checked by eye, not measured",
                place,
                found=text,
                expected="yes, no or open",
            )
        elif rule.clause in self._answers:
            self.tell("inspect-twice", f"{rule.clause} is given twice", place, found=text)
        else:
            self._answers[rule.clause] = answer

    def _step(self, text: str, kind: QuantityKind, name: str, place: InputPlace) -> float | None:
        """The step of the instrument; without one, that of the rulebook's own reading."""
        if kind is QuantityKind.COUNT:
            return 0.0
        if not text:
            usual = self._book.reads.resolution.get(kind, 0.0)
            return self._steps.by_kind.get(kind, usual)
        return self._quantity(text, kind, f"the step of {name}", place)

    def _quantity(
        self, text: str, kind: QuantityKind, name: str, place: InputPlace, least: float = 0.0
    ) -> float | None:
        try:
            value = _read(text.strip(), kind, self._book)
        except QuantityError as error:
            self.tell(
                "inspect-value",
                f"{name}: {error.message}",
                place,
                found=error.found,
                expected=error.expected,
                near=error.nearest,
            )
            return None
        if not least <= value <= _MOST[kind] or (kind is QuantityKind.COUNT and value != round(value)):
            what = "a whole number from 0" if kind is QuantityKind.COUNT else "a value that a car can have"
            self.tell("inspect-value", f"{name}: {text.strip()} cannot be", place, found=text, expected=what)
            return None
        return value


def _least(measure: str, kind: QuantityKind) -> float:
    """The least value that can be found: below zero for a place ahead of an axle or a tilt."""
    return max(-_MOST[kind], possible(measure, kind)[0]) if measure else 0.0


def _read(text: str, kind: QuantityKind, book: Rulebook) -> float:
    if kind is QuantityKind.LENGTH:
        return parse_length(_pointed(text), book.unit)
    if kind is QuantityKind.MASS:
        return parse_quantity(text, "g")
    if kind is QuantityKind.ANGLE:
        return math.radians(parse_quantity(text, "deg"))
    return parse_quantity(text, "")


def _pointed(text: str) -> str:
    """A decimal comma made a point."""
    before, comma, after = text.partition(",")
    return f"{before}.{after}" if comma and "," not in after and "." not in text else text

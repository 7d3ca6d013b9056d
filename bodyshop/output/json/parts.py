"""Records that several documents hold: places, problems, measures, mass, figures with their intervals.

Lengths are in mm, masses in g, angles in degrees, whatever unit a design is written in.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Annotated, Final, overload

from msgspec import Meta

from bodyshop.car.assembly import Mass, MassItem
from bodyshop.car.assembly.mass import MassGroup
from bodyshop.car.measures import Measure, NotKnown, QuantityKind, Reading
from bodyshop.car.measures.catalogue import MeasuringState
from bodyshop.foundation.place import Place, Point3, View
from bodyshop.foundation.problems import Problem, Severity, Span
from bodyshop.foundation.units import LengthUnit, MassUnit
from bodyshop.output.json.document import JsonRecord, about, number
from bodyshop.output.words.verdict import mass_doubts, quantity
from bodyshop.rules.rulebook import Outcome, Verdict

__all__ = [
    "UNITS",
    "DesignUnit",
    "ExitCode",
    "MassData",
    "MeasureData",
    "PartData",
    "PlaceData",
    "ProblemData",
    "QuantityUnit",
    "SpanData",
    "in_unit",
    "mass_data",
    "measure_data",
    "part_data",
    "place_data",
    "point_data",
    "problem_data",
    "span_data",
]

UNITS: Final = {
    QuantityKind.LENGTH: "mm",
    QuantityKind.MASS: "g",
    QuantityKind.ANGLE: "deg",
    QuantityKind.COUNT: "count",
    QuantityKind.AREA: "mm2",
    QuantityKind.VOLUME: "mm3",
}
"""The unit in which values of a kind are given."""

QuantityUnit = Annotated[
    str,
    Meta(
        pattern=f"^({'|'.join(UNITS.values())})$",
        description="The unit of every number beside it, whatever unit the design is written in.",
    ),
]
DesignUnit = Annotated[str, Meta(pattern="^(mm|cm|in)$")]
ExitCode = Annotated[
    int,
    Meta(
        ge=0,
        le=2,
        description="0 all pass, 1 a rule is or is probably broken, 2 something cannot be read or judged.",
    ),
]
_Line = Annotated[int, Meta(ge=1, description="Counted from 1.")]
_Column = Annotated[int, Meta(ge=1, description="Counted from 1, in characters.")]
_Point = Annotated[
    tuple[float, float, float],
    about(
        "x from the nose to the tail, y out from the centre line to the right (looking forward from the "
        "tail), z up from the underside of the blank; mm."
    ),
]


class PlaceData(JsonRecord, frozen=True):
    """Where on the car."""

    view: Annotated[View, about("The view it is best seen in.")]
    points: Annotated[
        tuple[_Point, ...],
        Meta(
            min_length=1,
            max_length=2,
            description="One spot, or the two ends that were measured between.",
        ),
    ]
    label: Annotated[str, about("Where that is, in words.")]


class SpanData(JsonRecord, frozen=True):
    """A place in a text file; line and column are null for the whole file."""

    file: Annotated[str, about("The file, as it was named.")]
    line: _Line | None
    column: _Column | None
    end_line: _Line | None
    end_column: Annotated[_Column | None, about("The end is exclusive.")]


class RelatedData(JsonRecord, frozen=True):
    """Another place that matters to a problem."""

    label: str
    line: _Line
    column: _Column


class ProblemData(SpanData, frozen=True):
    """Something in a file that cannot be understood or made, or a slip that did not stop the reading."""

    code: Annotated[str, about("A short stable name, such as length-unit.")]
    severity: Severity
    message: Annotated[str, about("What is wrong, in one clause.")]
    sentence: Annotated[str, about("The same with what was expected and the nearest name.")]
    key: Annotated[str, about("The dotted path in the file, where there is one.")]
    found: str
    expected: str
    nearest: str
    related: tuple[RelatedData, ...]


class MeasureData(JsonRecord, frozen=True):
    """Something that can be measured, as taken on the drawn car."""

    id: Annotated[str, about("The name that rules use.")]
    title: str
    kind: QuantityKind
    unit: QuantityUnit
    state: MeasuringState
    between: Annotated[tuple[str, str], about("The two ends.")]
    value: Annotated[float | None, about("Null when it cannot be had.")]
    standard_deviation: Annotated[float | None, about("Above zero where the value is an estimate.")]
    text: Annotated[str, about("The value in the unit of the design.")]
    place: PlaceData | None
    why_not: Annotated[str, about("Why there is no value.")]


class PartData(JsonRecord, frozen=True):
    """The word on one measure of a rule over several, or on one wheel of a pair."""

    measure: str
    outcome: Outcome
    value: float | None
    read: float | None
    margin: float | None
    times: Annotated[
        int, Meta(ge=1, description="For how many things the value stands: 2 for the wheels of an axle.")
    ]
    points: float
    ballast_g: float
    why_not: str


class TotalData(JsonRecord, frozen=True):
    """What a car weighs, and where it balances."""

    mass_g: float
    low_g: Annotated[float, about("Lower end of the interval.")]
    high_g: Annotated[float, about("Upper end.")]
    standard_deviation_g: float
    centre_mm: _Point


class MassDoubtData(JsonRecord, frozen=True):
    """What makes a mass uncertain."""

    half_width_g: Annotated[float, about("Half the width of the interval that this reason alone would give.")]
    reason: str


class MassItemData(JsonRecord, frozen=True):
    """Some of the car, all of them together."""

    part: MassGroup
    label: str
    count: Annotated[int, Meta(ge=0)]
    mass_g: Annotated[float, about("Of all of them together.")]
    standard_deviation_g: float
    centre_mm: _Point
    reason: Annotated[str, about("What its spread comes from.")]


class MassData(JsonRecord, frozen=True):
    """An estimate from the drawing; a balance has the last word."""

    without_cartridge: TotalData
    with_full_cartridge: TotalData
    with_empty_cartridge: TotalData
    interval: Annotated[str, about("What low and high mean.")]
    why_not_closer: Annotated[tuple[MassDoubtData, ...], about("What makes the interval wide, worst first.")]
    items: tuple[MassItemData, ...]


@overload
def in_unit(value: float, kind: QuantityKind | None) -> float: ...
@overload
def in_unit(value: float | None, kind: QuantityKind | None) -> float | None: ...
def in_unit(value: float | None, kind: QuantityKind | None) -> float | None:
    """A value of our own as it is given: angles in degrees, all else as it is."""
    if value is not None and kind is QuantityKind.ANGLE:
        return number(math.degrees(value))
    return number(value)


def point_data(point: Point3) -> Point3:
    """x, y and z in mm."""
    x, y, z = point
    return number(x), number(y), number(z)


def place_data(place: Place | None) -> PlaceData | None:
    """Where on the car; None for all of it."""
    if place is None:
        return None
    return PlaceData(place.view, tuple(point_data(point) for point in place.points), place.label)


def span_data(file: str, span: Span | None) -> SpanData:
    """A place in a text file."""
    return SpanData(file, *_ends(span))


def _ends(span: Span | None) -> tuple[int | None, int | None, int | None, int | None]:
    return (None,) * 4 if span is None else (span.line, span.column, span.end_line, span.end_column)


def problem_data(problem: Problem) -> ProblemData:
    """One problem with its place."""
    return ProblemData(
        problem.file,
        *_ends(problem.span),
        code=problem.code,
        severity=problem.severity,
        message=problem.message,
        sentence=problem.sentence,
        key=problem.key,
        found=problem.found,
        expected=problem.expected,
        nearest=problem.nearest,
        related=tuple(RelatedData(label, span.line, span.column) for label, span in problem.related),
    )


def measure_data(
    measure: Measure, reading: Reading | NotKnown, unit: LengthUnit, mass: MassUnit
) -> MeasureData:
    """One measure as taken on a car. `unit` is the design's and `mass` the rulebook's, for the text."""
    known = reading if isinstance(reading, Reading) else None
    return MeasureData(
        id=measure.id,
        title=measure.title,
        kind=measure.kind,
        unit=UNITS[measure.kind],
        state=measure.state,
        between=measure.between,
        value=None if known is None else in_unit(known.value, measure.kind),
        standard_deviation=None if known is None else in_unit(known.spread, measure.kind),
        text="" if known is None else quantity(known.value, measure.kind, unit, mass),
        place=None if known is None else place_data(known.place),
        why_not=reading.reason if isinstance(reading, NotKnown) else "",
    )


def part_data(part: Verdict) -> PartData:
    """The word on one measure of a rule over several."""
    kind = part.rule.kind
    return PartData(
        measure=part.rule.measure,
        outcome=part.outcome,
        value=in_unit(part.value, kind),
        read=in_unit(part.read, kind),
        margin=in_unit(part.margin, kind),
        times=part.times,
        points=number(part.points),
        ballast_g=number(part.ballast_g),
        why_not=part.why_not,
    )


def mass_data(items: Sequence[MassItem], empty: Mass, loaded: Mass, spent: Mass) -> MassData:
    """What the car weighs, from what, and what makes that uncertain."""
    return MassData(
        without_cartridge=_total(empty),
        with_full_cartridge=_total(loaded),
        with_empty_cartridge=_total(spent),
        interval="95 %: two standard deviations to either side",
        why_not_closer=tuple(
            MassDoubtData(number(half), why) for half, why in mass_doubts(tuple(items), empty, len(items))
        ),
        items=tuple(
            MassItemData(
                part=item.part,
                label=item.label,
                count=item.count,
                mass_g=number(item.mass_g),
                standard_deviation_g=number(item.sd_g),
                centre_mm=point_data(item.centre),
                reason=item.why,
            )
            for item in items
        ),
    )


def _total(mass: Mass) -> TotalData:
    return TotalData(
        mass_g=number(mass.mass_g),
        low_g=number(mass.low_g),
        high_g=number(mass.high_g),
        standard_deviation_g=number(mass.sd_g),
        centre_mm=point_data(mass.centre),
    )

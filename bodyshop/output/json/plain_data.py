"""Plain data for JSON: numbers rounded and finite, places, problems, in the words that the schemas list.

Lengths are in mm, masses in g, angles in degrees, whatever unit a design is written in.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Final, TypeAlias

from bodyshop.car.assembly import Mass, MassItem
from bodyshop.car.measures import Measure, NotKnown, QuantityKind, Reading
from bodyshop.foundation.place import Place, Point3
from bodyshop.foundation.problems import Problem, Span
from bodyshop.foundation.units import LengthUnit, MassUnit
from bodyshop.output.words.verdict import mass_doubts, quantity

__all__ = [
    "UNITS",
    "Data",
    "in_unit",
    "json_text",
    "mass_data",
    "measure_data",
    "number",
    "place_data",
    "point_data",
    "problem_data",
    "span_data",
]

Data: TypeAlias = "Mapping[str, Data] | Sequence[Data] | str | int | float | bool | None"

UNITS: Final = {
    QuantityKind.LENGTH: "mm",
    QuantityKind.MASS: "g",
    QuantityKind.ANGLE: "deg",
    QuantityKind.COUNT: "count",
    QuantityKind.AREA: "mm2",
    QuantityKind.VOLUME: "mm3",
}
"""The unit in which values of a kind are given."""

_PLACES: Final = 6


def json_text(document: Data) -> str:
    """The document as text, the same on every system: in ASCII, so that no code page can spoil it."""
    return json.dumps(document, indent=2, ensure_ascii=True, allow_nan=False) + "\n"


def number(value: float | None) -> float | None:
    """A number without the dust of sums: six places, no minus nought."""
    if value is None:
        return None
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot stand in a report")
    return round(value, _PLACES) + 0.0


def in_unit(value: float | None, kind: QuantityKind | None) -> float | None:
    """A value of our own as it is given: angles in degrees, all else as it is."""
    if value is not None and kind is QuantityKind.ANGLE:
        return number(math.degrees(value))
    return number(value)


def point_data(point: Point3) -> list[Data]:
    """x, y and z in mm."""
    return [number(each) for each in point]


def place_data(place: Place | None) -> Data:
    """Where on the car; null for all of it."""
    if place is None:
        return None
    return {
        "view": place.view.value,
        "points": [point_data(point) for point in place.points],
        "label": place.label,
    }


def span_data(file: str, span: Span | None) -> dict[str, Data]:
    """A place in a text file; line and column are null for a whole file."""
    return {
        "file": file,
        "line": None if span is None else span.line,
        "column": None if span is None else span.column,
        "end_line": None if span is None else span.end_line,
        "end_column": None if span is None else span.end_column,
    }


def problem_data(problem: Problem) -> Data:
    """One problem with its place."""
    return {
        "code": problem.code,
        "severity": problem.severity.value,
        "message": problem.message,
        "sentence": problem.sentence,
        **span_data(problem.file, problem.span),
        "key": problem.key,
        "found": problem.found,
        "expected": problem.expected,
        "nearest": problem.nearest,
        "related": [
            {"label": label, "line": span.line, "column": span.column} for label, span in problem.related
        ],
    }


def measure_data(measure: Measure, reading: Reading | NotKnown, unit: LengthUnit, mass: MassUnit) -> Data:
    """One measure as taken on a car. `unit` is the design's and `mass` the rulebook's, for the text."""
    known = reading if isinstance(reading, Reading) else None
    return {
        "id": measure.id,
        "title": measure.title,
        "kind": measure.kind.value,
        "unit": UNITS[measure.kind],
        "state": measure.state.value,
        "between": list(measure.between),
        "value": None if known is None else in_unit(known.value, measure.kind),
        "standard_deviation": None if known is None else in_unit(known.spread, measure.kind),
        "text": "" if known is None else quantity(known.value, measure.kind, unit, mass),
        "place": None if known is None else place_data(known.place),
        "why_not": reading.reason if isinstance(reading, NotKnown) else "",
    }


def mass_data(items: Sequence[MassItem], empty: Mass, loaded: Mass, spent: Mass) -> Data:
    """What the car weighs, from what, and what makes that uncertain."""
    return {
        "without_cartridge": _total(empty),
        "with_full_cartridge": _total(loaded),
        "with_empty_cartridge": _total(spent),
        "interval": "95 %: two standard deviations to either side",
        "why_not_closer": [
            {"half_width_g": number(half), "reason": why}
            for half, why in mass_doubts(tuple(items), empty, len(items))
        ],
        "items": [
            {
                "part": item.part.value,
                "label": item.label,
                "count": item.count,
                "mass_g": number(item.mass_g),
                "standard_deviation_g": number(item.sd_g),
                "centre_mm": point_data(item.centre),
                "reason": item.why,
            }
            for item in items
        ],
    }


def _total(mass: Mass) -> Data:
    return {
        "mass_g": number(mass.mass_g),
        "low_g": number(mass.low_g),
        "high_g": number(mass.high_g),
        "standard_deviation_g": number(mass.sd_g),
        "centre_mm": point_data(mass.centre),
    }

"""Every measure of a car as a list for a terminal, and the catalogue without a car."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from bodyshop.checking import Checked, shown_file
from bodyshop.measures import Kind, Measure, NotKnown
from bodyshop.report.columns import clip, pad, printable, width_of, wrap
from bodyshop.report.ink import Ink
from bodyshop.report.words import place_label, quantity

__all__ = ["catalogue_table", "measure_table"]

_GROUPS: Final = {
    "body": "Body",
    "windows": "Body",
    "marking": "Body",
    "blank": "Blank",
    "front_axle": "Axles",
    "rear_axle": "Axles",
    "axles": "Axles",
    "front_bearing": "Bearings, washers and clips",
    "rear_bearing": "Bearings, washers and clips",
    "bearings": "Bearings, washers and clips",
    "front_washer": "Bearings, washers and clips",
    "rear_washer": "Bearings, washers and clips",
    "washers": "Bearings, washers and clips",
    "clips": "Bearings, washers and clips",
    "front_wheel": "Wheels",
    "rear_wheel": "Wheels",
    "wheels": "Wheels",
    "bore": "Bore",
    "eyes": "Screw eyes",
    "front_eye": "Screw eyes",
    "rear_eye": "Screw eyes",
    "car": "Whole car",
    "cartridges": "Cartridges and spares",
    "spares": "Cartridges and spares",
}
"""Headings by the first part of a measure's name; a part that is not here heads its own group."""

_KINDS: Final = {
    Kind.LENGTH: "length",
    Kind.MASS: "mass",
    Kind.ANGLE: "angle",
    Kind.COUNT: "count",
    Kind.AREA: "area",
    Kind.VOLUME: "volume",
}


def measure_table(checked: Checked, *, width: int = 80, ink: Ink | None = None) -> str:
    """Values in the design's unit, with both ends and the place; ending in a newline."""
    ink = ink or Ink()
    design = checked.opened.design
    lines = [
        ink.strong(printable(f"{design.name}, {shown_file(design.source.name)}, design {design.fingerprint}"))
    ]
    for heading, measures in _grouped(checked.measures.values()):
        lines += ["", ink.strong(heading)]
        for measure in measures:
            lines += _taken(measure, checked, width)
    return "\n".join(lines) + "\n"


def catalogue_table(measures: Mapping[str, Measure], *, width: int = 80, ink: Ink | None = None) -> str:
    """Names, kinds, states and sentences of all measures; ending in a newline."""
    ink = ink or Ink()
    lines = wrap(f"{len(measures)} measures that a rule can name, with what each is taken between.", width)
    for heading, listed in _grouped(measures.values()):
        lines += ["", ink.strong(heading)]
        for measure in listed:
            kind = f"{_KINDS[measure.kind]}, {measure.state.value}"
            lines += wrap(kind, width, f"  {pad(measure.id, 26)}  ", "      ")
            lines += wrap(measure.sentence, width, "      ")
            lines += wrap(f"From {measure.between[0]} to {measure.between[1]}.", width, "      ")
    return "\n".join(lines) + "\n"


def _grouped(measures: Iterable[Measure]) -> list[tuple[str, list[Measure]]]:
    groups: dict[str, list[Measure]] = {heading: [] for heading in _GROUPS.values()}  # in this order
    for measure in measures:
        part = measure.id.partition(".")[0]
        groups.setdefault(_GROUPS.get(part, part.replace("_", " ").capitalize()), []).append(measure)
    return [(heading, listed) for heading, listed in groups.items() if listed]


def _taken(measure: Measure, checked: Checked, width: int) -> list[str]:
    reading, unit = checked.readings[measure.id], checked.opened.design.unit
    mass = checked.opened.rulebook.mass_unit
    if isinstance(reading, NotKnown):
        value, where = "-", reading.reason
    else:
        value = quantity(reading.value, measure.kind, unit, mass)
        if reading.spread > 0.0:
            value += f" ± {quantity(2 * reading.spread, measure.kind, unit, mass)}"
        where = place_label(reading.place, unit)
    title = clip(measure.title, width - 4 - width_of(value))
    first = f"  {pad(title, width - 2 - width_of(value))}{value}"
    ends = f"{measure.id}, from {measure.between[0]} to {measure.between[1]}"
    return [first, *wrap(printable(f"{ends}; {where}" if where else ends), width, "      ")]

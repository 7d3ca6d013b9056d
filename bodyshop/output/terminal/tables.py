"""Tables for a terminal: measures of a car, and what is in stock."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Final, Protocol

from bodyshop.car.measures import Measure, NotKnown, QuantityKind
from bodyshop.car.stock.blades import blades
from bodyshop.car.stock.blanks import Blank, blanks
from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import NOTHING, PART_SHELVES, Hardware, Wheel, hardware
from bodyshop.car.stock.woods import woods
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.foundation.text.colour import TextStyle
from bodyshop.foundation.text.columns import clip, pad, printable, width_of, wrap
from bodyshop.foundation.toml.rows import Confidence
from bodyshop.foundation.units import MassUnit, format_density, format_mass
from bodyshop.output.words.verdict import place_label, quantity
from bodyshop.rules.checking import Checked, shown_file

__all__ = ["SHELVES", "catalogue_table", "measure_table", "stock_table"]


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
    QuantityKind.LENGTH: "length",
    QuantityKind.MASS: "mass",
    QuantityKind.ANGLE: "angle",
    QuantityKind.COUNT: "count",
    QuantityKind.AREA: "area",
    QuantityKind.VOLUME: "volume",
}


def measure_table(checked: Checked, *, width: int = 80, ink: TextStyle | None = None) -> str:
    """Values in the design's unit, with both ends and the place; ending in a newline."""
    ink = ink or TextStyle()
    design = checked.opened.design
    lines = [
        ink.strong(printable(f"{design.name}, {shown_file(design.source.name)}, design {design.fingerprint}"))
    ]
    for heading, measures in _grouped(checked.measures.values()):
        lines += ["", ink.strong(heading)]
        for measure in measures:
            lines += _taken(measure, checked, width)
    return "\n".join(lines) + "\n"


def catalogue_table(measures: Mapping[str, Measure], *, width: int = 80, ink: TextStyle | None = None) -> str:
    """Names, kinds, states and sentences of all measures; ending in a newline."""
    ink = ink or TextStyle()
    lines = wrap(f"{len(measures)} measures that a rule can name.", width)
    for heading, listed in _grouped(measures.values()):
        lines += ["", ink.strong(heading)]
        for measure in listed:
            kind = f"{_KINDS[measure.kind]}, {measure.state.value}"
            lines += wrap(kind, width, f"  {pad(measure.id, 26)}  ", "      ")
            lines += wrap(measure.sentence, width, "      ")
            lines += wrap(f"Measured {measure.ends}.", width, "      ") if measure.ends else []
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
    ends = f"{measure.id}{', ' if measure.ends else ''}{measure.ends}"
    return [first, *wrap(printable(f"{ends}; {where}" if where else ends), width, "      ")]


_SURE: Final = {
    Confidence.READ: "",
    Confidence.SECOND_HAND: " (second hand)",
    Confidence.COMPUTED: " (computed)",
    Confidence.MEMORY: " (from memory)",
    Confidence.PRACTICE: "",
    Confidence.INVENTED: "",
}


class _Listed(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def source(self) -> str: ...
    @property
    def confidence(self) -> Confidence: ...


_Row = tuple[str, str, _Listed]
"""Name, figures, and the item."""


def _woods(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for wood in woods().values():
        density = format_density(wood.density_g_per_mm3)
        yield wood.id, f"{wood.label}, {density} ± {wood.spread:.0%} from piece to piece", wood


def _blanks(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for blank in blanks().values():
        yield blank.id, f"{blank.label}, {_block(blank)}", blank


def _block(blank: Blank) -> str:
    height = f"{blank.height_nose_mm:g}"
    if blank.is_wedge:
        height += f" to {blank.height_tail_mm:g}"
    return f"{blank.length_mm:g} × {blank.width_mm:g} × {height} mm{', drilled' if blank.is_drilled else ''}"


def _wheels(brought: Hardware, unit: MassUnit) -> Iterable[_Row]:
    for wheel in hardware().and_also(brought).wheels.values():
        yield wheel.id, f"{wheel.label}, {_wheel(wheel, unit)}", wheel


def _wheel(wheel: Wheel, unit: MassUnit) -> str:
    return f"{wheel.diameter_mm:g} mm across, tread {wheel.width_mm:g} mm, {_mass(wheel.mass_g, unit)}"


def _mass(mass_g: float, unit: MassUnit) -> str:
    """A small mass as it is in stock: grams as they stand, thousandths of an ounce."""
    return f"{mass_g:g} g" if unit is MassUnit.G else format_mass(mass_g, 3, unit)


def _parts(shelf: str) -> Callable[[Hardware, MassUnit], Iterable[_Row]]:
    def rows(brought: Hardware, _: MassUnit) -> Iterable[_Row]:
        for item in hardware().and_also(brought).shelf(shelf).values():
            yield item.id, item.label, item

    return rows


def _finishes(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for finish in finishes().values():
        yield finish.id, f"{finish.label}, film {finish.film_mm:g} mm", finish


def _glues(_: Hardware, unit: MassUnit) -> Iterable[_Row]:
    for glue in glues().values():
        yield glue.id, f"{glue.label}, {_mass(glue.mass_g, unit)}", glue


def _sheets(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for sheet in sheet_sizes().values():
        yield sheet.id, f"{sheet.width_mm:g} × {sheet.height_mm:g} mm", sheet


def _blades(_: Hardware, __: MassUnit) -> Iterable[_Row]:
    for blade in blades().values():
        yield blade.id, f"{blade.label}, cuts down to a radius of {blade.least_radius_mm:g} mm", blade


SHELVES: Final[Mapping[str, Callable[[Hardware, MassUnit], Iterable[_Row]]]] = {
    "woods": _woods,
    "blanks": _blanks,
    "wheels": _wheels,
    "axles": _parts("axles"),
    "bearings": _parts("bearings"),
    "washers": _parts("washers"),
    "screw-eyes": _parts("screw-eyes"),
    "cartridges": _parts("cartridges"),
    "finishes": _finishes,
    "glues": _glues,
    "sheets": _sheets,
    "blades": _blades,
}
"""What can be listed, by the word for it."""


def stock_table(
    shelves: Iterable[str],
    brought: Hardware = NOTHING,
    *,
    unit: MassUnit = MassUnit.G,
    width: int = 80,
    ink: TextStyle | None = None,
) -> str:
    """The shelves one after the other; ending in a newline. `brought` is hardware of an event's own, which is
    listed behind what is in stock; masses are in `unit`, that of its rulebook.
    """
    ink = ink or TextStyle()
    lines: list[str] = []
    for shelf in shelves:
        rows = list(SHELVES[shelf](brought, unit))
        lines += ["", ink.strong(shelf.replace("-", " ").capitalize())]
        column = max((width_of(name) for name, _, _ in rows), default=0)
        for name, figures, item in rows:
            own = ", the event's own" if shelf in PART_SHELVES and name in brought.shelf(shelf) else ""
            lines += wrap(f"{figures}{own}", width, f"  {pad(name, column)}  ")
            lines += wrap(f"{item.source}{_SURE[item.confidence]}", width, "      ")
    return "\n".join(lines[1:]) + "\n"

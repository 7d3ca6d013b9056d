"""The tables of a build sheet: parts list, what to cut, what to drill, and the masses to weigh."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from bodyshop.car.assembly import Car, Mass, MassGroup, wood_density
from bodyshop.car.assembly.mass import BLANK_SIZE, total
from bodyshop.drawing.layout.dimensions import Figures, mass_text
from bodyshop.drawing.layout.table import Cell, Column, Table
from bodyshop.foundation.text.small_words import capital
from bodyshop.foundation.units import MassUnit
from bodyshop.output.papers.buildsheet.lengths import (
    AxleCut,
    EyePosition,
    axle_cuts,
    bore_drill,
    eye_positions,
)
from bodyshop.output.papers.buildsheet.steps import bore_words, eye_words

__all__ = [
    "MassStage",
    "axle_table",
    "drilling_table",
    "eye_table",
    "mass_stages",
    "mass_table",
    "materials_table",
]


_GLUE = "glue"


@dataclass(frozen=True, slots=True)
class MassStage:
    """A moment in the work, and what the car should weigh then."""

    label: str
    mass: Mass


def mass_stages(car: Car) -> tuple[MassStage, ...]:
    """Blank, body sawn and sanded, body finished, complete without cartridge.

    Finish and glue are both on the finish's account; glue goes in with the hardware, so it counts last.
    """
    wood = [item for item in car.items if item.part is MassGroup.WOOD]
    painted = [item for item in car.items if item.part is MassGroup.FINISH and item.label != _GLUE]
    return (
        MassStage("blank", _blank(car)),
        MassStage("body drilled, sawn and sanded to the line", total(wood)),
        MassStage("body finished and dry", total([*wood, *painted])),
        MassStage("complete without cartridge", car.mass),
    )


def _blank(car: Car) -> Mass:
    design = car.design
    if design.weighed_blank_g is not None:
        # A reading is as likely anywhere within one step of the balance.
        return Mass(design.weighed_blank_g, design.balance_g / math.sqrt(12), (0.0, 0.0, 0.0))
    density, spread, _ = wood_density(design)
    mass = density * design.blank.wood_volume_mm3
    return Mass(mass, mass * math.hypot(spread, BLANK_SIZE), (0.0, 0.0, 0.0))


_TEXT_MM: Final = 2.0
_PAD_MM: Final = 0.75
_HAND_PAD_MM: Final = 2.6
_OVER_MM: Final = 0.05

_Row = tuple[str | Cell, ...]


def materials_table(car: Car, figures: Figures, width_mm: float) -> Table:
    """What is laid ready before the work begins, with how many and what size."""
    design, f = car.design, figures
    blank = design.blank
    high = f.length(blank.height_nose_mm)
    if blank.is_wedge:
        high = f"{high} high at the nose, {f.length(blank.height_tail_mm)} at the tail"
    else:
        high += " high"
    size = f"{f.length(blank.length_mm)} long, {f.length(blank.width_mm)} wide, {high}"
    rows: list[_Row] = [
        ("1", "blank", f"{blank.label}, {design.wood.label}", size),
    ]
    for cut in axle_cuts(car):
        rows += _axle_rows(cut, f)
    for eye in dict.fromkeys(place.eye for place in design.eyes):
        count = sum(1 for place in design.eyes if place.eye == eye)
        words = f"ring {f.hole(eye.ring_inner_mm)} inside, shank {f.length(eye.shank_length_mm)}"
        rows.append((str(count), "screw eyes" if count > 1 else "screw eye", eye.label, words))
    parts = design.parts
    extra = (
        (parts.clips, "clips", "as declared in the design"),
        (parts.spare_wheels, "spare wheels", "as declared in the design"),
        (parts.spare_axles, "spare axles", "as declared in the design"),
        (parts.spare_washers, "spare washers", "as declared in the design"),
        (parts.spare_eyes, "spare screw eyes", "as declared in the design"),
        (parts.spare_clips, "spare clips", "as declared in the design"),
    )
    rows += [(str(count), what, why, "") for count, what, why in extra if count]
    if design.finish.mass_g_per_mm2 > 0.0:
        rows.append(("–", "finish", design.finish.label, ""))
    if design.glue.mass_g > 0.0:
        rows.append(("–", "glue", design.glue.label, ""))
    cartridge = design.cartridge
    size = f"{f.hole(cartridge.diameter_mm)}, {f.length(cartridge.length_mm)} long"
    rows.append(("1", "cartridge, kept by an adult", cartridge.label, size))
    return _table((("count", 0.07), ("part", 0.22), ("kind", 0.33), ("size", 0.38)), rows, width_mm)


def _axle_rows(cut: AxleCut, f: Figures) -> list[_Row]:
    axle, stack, end = cut.axle, cut.stack, cut.axle.end.value
    wheel, rod, bearing, washer = axle.wheel, axle.axle, axle.bearing, axle.washer
    tread = f"{f.hole(wheel.diameter_mm)}, tread {f.length(wheel.width_mm)} wide"
    rows: list[_Row] = [("2", f"{end} wheels", wheel.label, tread)]
    length = "length not known" if stack is None else f"{f.length(stack.axle_length_mm)} long"
    rows.append(("1", f"{end} axle", rod.label, f"{f.hole(rod.diameter_mm)}, {length}"))
    if bearing is not None:
        length = "length not known" if stack is None else f"{f.length(stack.bearing_length_mm)} long"
        rows.append(("1", f"{end} bearing", bearing.label, f"{f.hole(bearing.outer_mm)}, {length}"))
    if washer is not None and axle.washers:
        words = f"{f.hole(washer.outer_mm)}, {f.length(washer.thickness_mm)} thick"
        rows.append((str(2 * axle.washers), f"{end} washers", washer.label, words))
    return rows


def axle_table(car: Car, figures: Figures, width_mm: float) -> Table:
    """Cut lengths of bearings and axles, with the sum that they come from."""
    cuts = axle_cuts(car)
    rows: list[_Row] = [
        ("body width at the axle hole", *(_width(cut, figures) for cut in cuts)),
        ("cut the bearing to", *(_bearing(cut, figures) for cut in cuts)),
        ("washers", *(_washers(cut, figures) for cut in cuts)),
        ("play at each side", *(figures.length(cut.axle.play_mm) for cut in cuts)),
        ("wheel, hub length", *(_wheel(cut, figures) for cut in cuts)),
        (
            f"axle = body + 2 × (washers + play + hub), {figures.unit.symbol}",
            *(_sum(c, figures) for c in cuts),
        ),
        ("cut the axle to", *(_axle(cut, figures) for cut in cuts)),
    ]
    rows = [
        row if k not in (1, 6) else tuple(Cell(str(c), bold=True) for c in row) for k, row in enumerate(rows)
    ]
    heads = (("bearings and axles", 0.28), ("front axle", 0.36), ("rear axle", 0.36))
    return _table(heads, rows, width_mm)


def _width(cut: AxleCut, f: Figures) -> str:
    return "the hole is not in wood" if cut.stack is None else f.length(cut.stack.body_width_mm)


def _bearing(cut: AxleCut, f: Figures) -> str:
    if cut.axle.bearing is None:
        return "no bearing: the axle turns in the wood"
    if cut.stack is None:
        return "not known"
    return f"{f.length(cut.stack.bearing_length_mm)}, flush both sides"


def _washers(cut: AxleCut, f: Figures) -> str:
    axle = cut.axle
    if axle.washer is None or not axle.washers:
        return "none: the hubs run against the body"
    each = f"{axle.washers} × {f.length(axle.washer.thickness_mm)}"
    return f"{each} at each wheel, between hub and body, left and right"


def _wheel(cut: AxleCut, f: Figures) -> str:
    return f"{f.hole(cut.axle.wheel.diameter_mm)}, hub {f.length(cut.axle.wheel.hub_length_mm)}"


def _sum(cut: AxleCut, f: Figures) -> str:
    if cut.stack is None:
        return "not known"
    each = " + ".join(
        f.plain(part) for part in (cut.washers_mm, cut.axle.play_mm, cut.axle.wheel.hub_length_mm)
    )
    return f"{f.plain(cut.stack.body_width_mm)} + 2 × ({each}) = {f.plain(cut.needed_mm)}"


def _axle(cut: AxleCut, f: Figures) -> str:
    stack = cut.stack
    if stack is None:
        return "not known"
    words = f.length(stack.axle_length_mm)
    if cut.over_mm > _OVER_MM:
        words += f", as the design says: stands out {f.length(cut.over_mm / 2)} at each end"
    elif cut.over_mm < -_OVER_MM:
        words += f", as the design says: {f.length(-cut.over_mm / 2)} short of each hub's outer end"
    else:
        words += ", flush with the hubs"
    if stack.axle_length_mm > cut.axle.axle.stock_length_mm:
        words += f"; the rod is sold {f.length(cut.axle.axle.stock_length_mm)} long"
    return words


def drilling_table(car: Car, figures: Figures, width_mm: float) -> Table:
    """Every hole but the screw eyes': drill, depth, place on the blank."""
    design, f = car.design, figures
    rows: list[_Row] = []
    for axle in design.axles:
        tail = design.blank.length_mm - axle.x_mm
        place = f"{f.length(axle.x_mm)} from the blank's nose end, {f.length(tail)} from its tail end, "
        place += f"{f.length(axle.height_mm)} above the bottom"
        rows.append((f"{axle.end.value} axle hole", f.hole(axle.hole_mm), "right through", place))
    bore = bore_drill(car)
    words = bore_words(bore, f).partition(", ")[2].partition(", ")[2]
    words = capital(words)
    if bore.is_there:
        words += ". Drilled already: check it"
    name, deep = "cartridge hole", f"{f.length(bore.deep_mm)} from {bore.start}"
    rows.append((name, f.hole(bore.diameter_mm), deep, words))
    heads = (("hole", 0.15), ("drill", 0.17), ("depth", 0.20), ("place", 0.48))
    return _table(heads, rows, width_mm)


def eye_table(car: Car, figures: Figures, width_mm: float) -> Table:
    """Where the screw eyes go, their pilot holes, and what is left over the track."""
    rows: list[_Row] = [
        (str(number), *_eye_row(spot, figures)) for number, spot in enumerate(eye_positions(car), 1)
    ]
    if not rows:
        rows = [("–", "the design has no screw eye", "–", "–", "–")]
    heads = (
        ("eye", 0.05),
        ("place on the bottom centre line", 0.325),
        ("pilot drill and depth", 0.215),
        ("ring", 0.205),
        ("over the track", 0.205),
    )
    return _table(heads, rows, width_mm)


def _eye_row(spot: EyePosition, f: Figures) -> tuple[str, str, str, str]:
    eye = spot.place.eye
    pilot = f"{f.hole(eye.pilot_diameter_mm)}, {f.length(eye.pilot_depth_mm)} deep"
    if not spot.in_wood:
        pilot += "; no wood stands over it"
    clear = "not known"
    if spot.clearance_mm is not None:
        way = "clear" if spot.clearance_mm >= 0.0 else "BELOW the track"
        clear = f"{f.length(abs(spot.clearance_mm))} {way}, screwed home"
    return eye_words(spot, f), pilot, "turned to face nose and tail", clear


def mass_table(car: Car, width_mm: float, unit: MassUnit = MassUnit.G) -> Table:
    """The predicted mass at each stage, and room for what the balance says; in the rulebook's unit."""
    rows: list[_Row] = []
    for stage in mass_stages(car):
        mass = stage.mass
        interval = f"{mass_text(mass.low_g, unit)} to {mass_text(mass.high_g, unit)}"
        rows.append((stage.label, mass_text(mass.mass_g, unit), interval, "", ""))
    heads = (
        ("stage", 0.30),
        ("predicted", 0.14),
        ("interval", 0.22),
        (f"measured, {unit.symbol}", 0.17),
        (f"difference, {unit.symbol}", 0.17),
    )
    return _table(heads, rows, width_mm, _HAND_PAD_MM)


def _table(
    heads: tuple[tuple[str, float], ...], rows: list[_Row], width_mm: float, pad_mm: float = _PAD_MM
) -> Table:
    columns = tuple(Column(title, share * width_mm) for title, share in heads)
    return Table(columns, tuple(rows), text_mm=_TEXT_MM, pad_x_mm=1.2, pad_y_mm=pad_mm)

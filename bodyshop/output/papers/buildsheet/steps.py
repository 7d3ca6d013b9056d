"""The steps of the build for one car, with boxes to tick and the cautions that belong to each."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.stock.cautions import cautions
from bodyshop.drawing.layout.blocks import Block, paragraph
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.sheet.items import Item, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import rectangle
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.buildsheet.lengths import (
    BoreDrill,
    EyePosition,
    axle_cuts,
    bore_drill,
    eye_positions,
)
from bodyshop.output.papers.order_of_work import eyes_in_square_block, steps_for

__all__ = [
    "BOX_MM",
    "FLAGS",
    "STEPS",
    "StepText",
    "bore_words",
    "eye_words",
    "step_block",
    "steps_of",
]


FLAGS = frozenset(
    {
        "wedge",
        "drilled",
        "side-windows",
        "top-windows",
        "rounded",
        "painted",
        "bearings",
        "eyes",
        "eyes-first",
    }
)
"""What a step may depend on."""

STEPS: Final = Path(__file__).with_name("steps.toml")
"""The steps that come with the program."""


_MOST_EYES: Final = 4


@dataclass(frozen=True, slots=True)
class StepText:
    """A step ready to be set: what is done, and the cautions for it with whose word goes first."""

    text: str
    cautions: tuple[str, ...]


def steps_of(car: Car, figures: Figures) -> tuple[StepText, ...]:
    """The steps for this car, in the order they are done."""
    flags, words = _flags(car), _words(car, figures)
    table = {caution.id: caution.sentence for caution in cautions()}
    return tuple(
        StepText(step.text.format_map(words), tuple(table[name] for name in step.cautions))
        for step in steps_for(STEPS, flags)
    )


def bore_words(bore: BoreDrill, figures: Figures) -> str:
    """Diameter, depth and place of the cartridge hole."""
    words = f"{figures.hole(bore.diameter_mm)}, {figures.length(bore.deep_mm)} deep from {bore.start},"
    words += f" its centre {figures.length(bore.height_mm)} above the bottom of the block"
    if bore.offset_mm:
        side = "right" if bore.offset_mm > 0 else "left"
        words += f" and {figures.length(abs(bore.offset_mm))} {side} of the centre line, seen from the tail"
    if bore.tilt_rad:
        way = "up" if bore.tilt_rad > 0 else "down"
        words += f", tilted {abs(math.degrees(bore.tilt_rad)):.1f}° so that its blind end points {way}"
    return words


def eye_words(spot: EyePosition, figures: Figures) -> str:
    """Where one screw eye goes."""
    way = "behind" if spot.behind_mm >= 0 else "ahead of"
    words = f"{figures.length(abs(spot.behind_mm))} {way} the centre of the {spot.end.value} axle"
    if spot.place.offset_mm:
        side = "right" if spot.place.offset_mm > 0 else "left"
        words += (
            f", {figures.length(abs(spot.place.offset_mm))} {side} of the centre line "
            "(seen from the tail, wheels down)"
        )
    return words


def _flags(car: Car) -> frozenset[str]:
    design = car.design
    holds = {
        "wedge": design.blank.is_wedge,
        "drilled": design.blank.is_drilled,
        "side-windows": bool(design.profile.windows),
        "top-windows": bool(design.plan.windows),
        "rounded": design.edge_round_mm > 0.0,
        "painted": design.finish.mass_g_per_mm2 > 0.0,
        "bearings": any(axle.bearing for axle in design.axles),
        "eyes": bool(design.eyes),
        "eyes-first": eyes_in_square_block(car),
    }
    return frozenset(flag for flag, is_so in holds.items() if is_so)


def _words(car: Car, figures: Figures) -> dict[str, str]:
    design, cuts, spots = car.design, axle_cuts(car), eye_positions(car)
    built = [cut for cut in cuts if cut.stack is not None]
    bearings = [
        f"{cut.axle.end.value} {figures.length(cut.stack.bearing_length_mm)}"
        for cut in built
        if cut.stack and cut.axle.bearing
    ]
    axles = [f"{cut.axle.end.value} {figures.length(cut.stack.axle_length_mm)}" for cut in built if cut.stack]
    widths = [f"{cut.axle.end.value} {figures.length(cut.stack.body_width_mm)}" for cut in built if cut.stack]
    order = ["wheel", "body", "wheel"]
    if any(axle.washer and axle.washers for axle in design.axles):
        order = ["wheel", "washers", "body", "washers", "wheel"]
    return {
        "axle_holes": _each(f"{a.end.value} {figures.hole(a.hole_mm)}" for a in design.axles),
        "bore": bore_words(bore_drill(car), figures),
        "round": figures.length(design.edge_round_mm),
        "widths": _each(widths),
        "finish": design.finish.label,
        "eyes": _eyes(spots, figures),
        "pilots": _each(
            f"{figures.hole(spot.place.eye.pilot_diameter_mm)} and "
            f"{figures.length(spot.place.eye.pilot_depth_mm)} deep"
            for spot in spots
        ),
        "bearings": _each(bearings),
        "glue": ". One small drop of glue holds each one. Keep glue out of the inside"
        if design.glue.mass_g > 0.0
        else "",
        "axles": _each(axles),
        "stack": ", ".join(order),
        "play": _each(f"{axle.end.value} {figures.length(axle.play_mm)}" for axle in design.axles),
    }


def _eyes(spots: Sequence[EyePosition], figures: Figures) -> str:
    if len(spots) > _MOST_EYES:
        return "as the table of screw eyes says"
    return "; ".join(eye_words(spot, figures) for spot in spots)


def _each(parts: Iterable[str]) -> str:
    """Parts told once each; words that say so where there is none."""
    return ", ".join(dict.fromkeys(parts)) or "not known, as the axle hole is not in wood"


BOX_MM: Final = 4.0

_TEXT_MM: Final = 2.2
_CAUTION_MM: Final = 1.9
_WORD: Final = "Caution:"
_NUMBER_MM: Final = 6.0
_INDENT_MM: Final = BOX_MM + 2.0 + _NUMBER_MM


def step_block(number: int, step: StepText, width_mm: float) -> Block:
    """One step from (0, 0) downwards: box, number, words, cautions."""
    items: list[Item] = [
        rectangle(Rect(0.0, -BOX_MM, BOX_MM, BOX_MM), Layer.BORDER, Pen.FRAME, fill_grey=1.0),
        Text(str(number), (BOX_MM + 2.0, -_TEXT_MM - 0.7), _TEXT_MM, weight=Weight.BOLD),
    ]
    room = width_mm - _INDENT_MM
    words = paragraph(step.text, (_INDENT_MM, -0.7), room, _TEXT_MM)
    items += words.items
    y = -0.7 - words.height_mm
    hang = text_width_mm(_WORD, _CAUTION_MM, bold=True) + 1.6
    for caution in step.cautions:
        y -= 1.0
        at = (_INDENT_MM, y - _CAUTION_MM)
        items.append(Text(_WORD, at, _CAUTION_MM, weight=Weight.BOLD, layer=Layer.CAUTION))
        told = paragraph(caution, (_INDENT_MM + hang, y), room - hang, _CAUTION_MM, layer=Layer.CAUTION)
        items += told.items
        y -= told.height_mm
    return Block(tuple(items), max(-y, BOX_MM))

"""The steps of the build, from their table, for one car: each with the cautions that belong to it."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from bodyshop.assembly import Car
from bodyshop.buildsheet.lengths import BoreDrill, EyeSpot, axle_cuts, bore_drill, eye_spots
from bodyshop.drawing.figures import Figures
from bodyshop.stock.cautions import cautions

__all__ = ["FLAGS", "Step", "StepText", "bore_words", "eye_words", "read_steps", "steps_of"]

FLAGS = frozenset({"wedge", "drilled", "windows", "rounded", "painted", "bearings", "eyes"})
"""What a step may depend on."""


_MOST_EYES: Final = 4


@dataclass(frozen=True, slots=True)
class Step:
    """A row of the table: its flags, its text, and the ids of its cautions."""

    id: str
    text: str
    when: frozenset[str]
    unless: frozenset[str]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StepText:
    """A step ready to be set: what is done, and the cautions for it with whose word goes first."""

    text: str
    cautions: tuple[str, ...]


@cache
def read_steps() -> tuple[Step, ...]:
    """The steps that come with the program, in order."""
    text = (Path(__file__).resolve().parent / "steps.toml").read_text(encoding="utf-8")
    return tuple(
        Step(
            row["id"],
            row["text"],
            frozenset(row.get("when", ())),
            frozenset(row.get("unless", ())),
            tuple(row.get("cautions", ())),
        )
        for row in tomllib.loads(text)["step"]
    )


def steps_of(car: Car, figures: Figures) -> tuple[StepText, ...]:
    """The steps for this car, in the order they are done."""
    flags, words = _flags(car), _words(car, figures)
    table = {caution.id: caution.sentence for caution in cautions()}
    return tuple(
        StepText(step.text.format_map(words), tuple(table[name] for name in step.cautions))
        for step in read_steps()
        if step.when <= flags and not step.unless & flags
    )


def bore_words(bore: BoreDrill, figures: Figures) -> str:
    """Diameter, depth and place of the cartridge hole."""
    words = f"{figures.hole(bore.diameter_mm)}, {figures.length(bore.deep_mm)} deep from {bore.start},"
    words += f" its centre {figures.length(bore.height_mm)} over the underside"
    if bore.offset_mm:
        side = "right" if bore.offset_mm > 0 else "left"
        words += f" and {figures.length(abs(bore.offset_mm))} {side} of the centre line, seen from the tail"
    if bore.tilt_rad:
        way = "up" if bore.tilt_rad > 0 else "down"
        words += f", tilted {abs(math.degrees(bore.tilt_rad)):.1f}° so that its blind end points {way}"
    return words


def eye_words(spot: EyeSpot, figures: Figures) -> str:
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
        "windows": bool(design.profile.windows or design.plan.windows),
        "rounded": design.edge_round_mm > 0.0,
        "painted": design.finish.mass_g_per_mm2 > 0.0,
        "bearings": any(axle.bearing for axle in design.axles),
        "eyes": bool(design.eyes),
    }
    return frozenset(flag for flag, is_so in holds.items() if is_so)


def _words(car: Car, figures: Figures) -> dict[str, str]:
    design, cuts, spots = car.design, axle_cuts(car), eye_spots(car)
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
        "glue": ". A little glue holds them: none of it inside" if design.glue.mass_g > 0.0 else "",
        "axles": _each(axles),
        "stack": ", ".join(order),
        "play": _each(f"{axle.end.value} {figures.length(axle.play_mm)}" for axle in design.axles),
    }


def _eyes(spots: Sequence[EyeSpot], figures: Figures) -> str:
    if len(spots) > _MOST_EYES:
        return "as the table of screw eyes says"
    return "; ".join(eye_words(spot, figures) for spot in spots)


def _each(parts: Iterable[str]) -> str:
    """Parts told once each; words that say so where there is none."""
    return ", ".join(dict.fromkeys(parts)) or "not known, as the axle hole is not in wood"

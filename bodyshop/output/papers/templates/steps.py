"""The order of work, from its table, for one car and the papers it is printed with."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.car.stock.blades import Blade
from bodyshop.car.stock.cautions import Operation, cautions_for
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.output.papers.order_of_work import eyes_in_square_block, steps_for
from bodyshop.output.papers.templates.faces import BlankFace
from bodyshop.output.papers.templates.hole_notes import drilled_mm

__all__ = ["DEFERS", "FLAGS", "STEPS", "StepConditions", "caution_texts", "order_of_work"]

FLAGS = frozenset(
    {
        "tiled",
        "drilled",
        "side-windows",
        "top-windows",
        "wedge",
        "rounded",
        "eyes",
        "eyes-first",
        "relief",
        "offset",
        "gauges",
        "top",
        "slope",
        "underside",
    }
)
"""What a step may depend on."""

DEFERS = "Your teacher, the school's rules and the machine's manual come before this paper."
"""The end of every caution on a template."""


STEPS: Final = Path(__file__).with_name("steps.toml")
"""The steps that come with the program."""


@dataclass(frozen=True, slots=True)
class StepConditions:
    """What of the papers the order of work depends on: whether a template is tiled, the faces that plans are
    for, the blade in the saw and whether relief cuts are drawn for it, the offset of the saw's line, and
    whether there are gauges.
    """

    tiled: bool = False
    faces: tuple[BlankFace, ...] = (BlankFace.TOP,)
    blade: Blade | None = None
    relief: bool = False
    offset_mm: float = 0.0
    gauges: bool = False


def order_of_work(car: Car, figures: Figures, work: StepConditions) -> list[str]:
    """The steps for this car, in the order they are done."""
    flags = _flags(car, work)
    words = _words(car, figures, work)
    return [step.text.format_map(words) for step in steps_for(STEPS, flags)]


def caution_texts(car: Car) -> list[str]:
    """Cautions for what these papers are used for; the last line says whose word goes first.

    The one for the workshop is left out: it stands at the head of every sheet.
    """
    operations = [Operation.TEMPLATES, Operation.DRILL_PRESS, Operation.BANDSAW]
    if _has_windows(car):
        operations.append(Operation.SCROLL_SAW)
    return [*(caution.text for caution in cautions_for(*operations)), DEFERS]


def _flags(car: Car, work: StepConditions) -> frozenset[str]:
    design = car.design
    holds = {
        "tiled": work.tiled,
        "drilled": design.blank.is_drilled,
        "side-windows": bool(design.profile.windows),
        "top-windows": bool(design.plan.windows),
        "wedge": design.blank.is_wedge,
        "rounded": design.edge_round_mm > 0.0,
        "eyes": bool(design.eyes),
        "eyes-first": eyes_in_square_block(car),
        "relief": work.relief,
        "offset": work.offset_mm > 0.0,
        "gauges": work.gauges,
        "top": BlankFace.TOP in work.faces,
        "slope": BlankFace.SLOPE in work.faces,
        "underside": BlankFace.UNDERSIDE in work.faces,
    }
    return frozenset(flag for flag, is_so in holds.items() if is_so)


def _has_windows(car: Car) -> bool:
    return bool(car.design.profile.windows or car.design.plan.windows)


def _words(car: Car, figures: Figures, work: StepConditions) -> dict[str, str]:
    design, bore, blade = car.design, car.body.bore, work.blade
    deep = design.bore.depth_mm if bore is None else drilled_mm(bore, design.blank.length_mm)
    outside = work.offset_mm or figures.sawn_off_mm
    leave = figures.length(outside).partition("\u00a0(")[0]
    return {
        "axles": _sizes([axle.hole_mm for axle in design.axles], figures),
        "bore": f"{figures.hole(design.bore.diameter_mm)}, {figures.length(deep)} deep",
        "eyes": _sizes([place.eye.pilot_diameter_mm for place in design.eyes], figures),
        "blade": "" if blade is None else blade.label,
        "radius": "" if blade is None else figures.length(blade.least_radius_mm),
        "round": figures.length(design.edge_round_mm),
        "saw": (
            f"along the thin line, {leave} outside the outline"
            if work.offset_mm
            else f"about {leave} outside the line"
        ),
    }


def _sizes(diameters: Collection[float], figures: Figures) -> str:
    """`Ø 4 mm`, or both sizes when they differ."""
    return " and ".join(dict.fromkeys(figures.hole(d) for d in diameters))

"""What the car should weigh at each stage, to be held against the balance as the work goes on."""

from __future__ import annotations

import math
from dataclasses import dataclass

from bodyshop.assembly import Car, Mass, Part, wood_density
from bodyshop.assembly.mass import BLANK_SIZE, total

__all__ = ["MassStage", "mass_stages"]

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
    wood = [item for item in car.items if item.part is Part.WOOD]
    painted = [item for item in car.items if item.part is Part.FINISH and item.label != _GLUE]
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

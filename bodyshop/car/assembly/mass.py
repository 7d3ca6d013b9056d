"""What the car weighs, where it balances, and how sure that is.

Every item carries one standard deviation; alike items come from one bag, so their errors move together.
The interval printed is two standard deviations to either side (about 19 cars in 20). It is an estimate
from a drawing: a balance has the last word.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from bodyshop.car.assembly.stack import AxleStack
from bodyshop.car.body import Body
from bodyshop.car.design.model import Design
from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import Array

__all__ = ["WIDE", "Mass", "MassItem", "MassGroup", "car_items", "centre_spread", "total", "wood_density"]

WIDE = 2.0
"""Standard deviations on each side of a printed mass."""

# How far a face sawn and sanded by hand strays from its line, one standard deviation, mm: class v of ISO
# 2768-1 allows 1.5 mm on 30 to 120 mm, and a worker who sands to the line keeps well inside; from memory.
FACE_MM = 0.25
# A blank's volume from its nominal sizes, and density from one end of a block to the other, relative.
# Common practice, no published source.
BLANK_SIZE = 0.01
WITHIN_BLOCK = 0.02


class MassGroup(Enum):
    """What an item belongs to."""

    WOOD = "wood"
    FINISH = "finish"
    HARDWARE = "hardware"
    CARTRIDGE = "cartridge"


@dataclass(frozen=True, slots=True)
class MassItem:
    """Some of the car: how many, mass of all of them (g), one standard deviation (g), centre (mm).

    `why` names what the spread comes from.
    """

    part: MassGroup
    label: str
    count: int
    mass_g: float
    sd_g: float
    centre: Point3
    why: str


@dataclass(frozen=True, slots=True)
class Mass:
    """A total with its standard deviation (g) and centre (x, y, z) mm."""

    mass_g: float
    sd_g: float
    centre: Point3

    @property
    def low_g(self) -> float:
        """Lower end of the printed interval."""
        return max(self.mass_g - WIDE * self.sd_g, 0.0)

    @property
    def high_g(self) -> float:
        """Upper end of the printed interval."""
        return self.mass_g + WIDE * self.sd_g


def total(items: Sequence[MassItem]) -> Mass:
    """The sum of items; standard deviations add as independent."""
    mass = sum(i.mass_g for i in items)
    sd = math.sqrt(sum(i.sd_g**2 for i in items))
    if mass == 0:
        return Mass(0.0, sd, (0.0, 0.0, 0.0))
    x, y, z = (sum(i.mass_g * i.centre[k] for i in items) / mass for k in range(3))
    return Mass(mass, sd, (x, y, z))


def centre_spread(items: Sequence[MassItem], body: Body) -> Point3:
    """One standard deviation of the centre of mass along x, y and z, mm.

    An item that is heavier than it is taken to be draws the centre towards itself. Wood that is denser at one
    end of the block draws it that way: its density is taken to change evenly along the block, by as much as
    `WITHIN_BLOCK` from one end to the other.
    """
    mass = total(items)
    if mass.mass_g == 0.0:
        return (0.0, 0.0, 0.0)
    about = body.moments.second - np.outer(body.moments.first, body.moments.first) / body.moments.volume
    wood = sum(item.mass_g for item in items if item.part is MassGroup.WOOD)
    along = WITHIN_BLOCK / body.design.blank.length_mm * wood
    found = []
    for axis in range(3):
        pulls = [item.sd_g * (item.centre[axis] - mass.centre[axis]) for item in items]
        # The mean of x times a density that rises by `along` a mm, about the wood's own centre.
        pulls.append(along * float(about[0, axis]) / body.moments.volume)
        found.append(math.hypot(*pulls) / mass.mass_g)
    return (found[0], found[1], found[2])


def wood_density(design: Design) -> tuple[float, float, str]:
    """Density of this car's wood in g/mm^3, its relative standard deviation, and what that comes from.

    From the balance where the blank was weighed, else from the handbook.
    """
    weighed = design.weighed_blank_g
    if weighed is None:
        wood = design.wood
        return wood.density_g_per_mm3, wood.spread, f"{wood.label} differs from tree to tree"
    reading = design.balance_g / math.sqrt(12) / weighed
    spread = math.sqrt(reading**2 + BLANK_SIZE**2 + WITHIN_BLOCK**2)
    return weighed / design.blank.wood_volume_mm3, spread, "the blank's true size and evenness"


def car_items(body: Body, stacks: Sequence[AxleStack]) -> list[MassItem]:
    """Every item of the complete car without its cartridge."""
    design = body.design
    density, spread, why = wood_density(design)
    centre = _point(body.moments.centre)
    wood = density * body.volume
    items = [MassItem(MassGroup.WOOD, "wooden body", 1, wood, wood * spread, centre, why)]
    skin = density * body.wetted_area * FACE_MM
    items.append(
        MassItem(
            MassGroup.WOOD,
            "sawing and sanding",
            1,
            0.0,
            skin,
            centre,
            "a hand-sawn face strays from its line",
        )
    )
    film = design.finish.mass_g_per_mm2 * body.wetted_area
    if film > 0:
        items.append(
            MassItem(
                MassGroup.FINISH,
                f"finish ({design.finish.id})",
                1,
                film,
                film * design.finish.mass_spread,
                centre,
                "how thick the coats go on",
            )
        )
    glue = design.glue
    if glue.mass_g > 0:
        items.append(
            MassItem(
                MassGroup.FINISH,
                "glue",
                1,
                glue.mass_g,
                glue.mass_g * glue.mass_spread,
                centre,
                "a drop more or less",
            )
        )
    for stack in stacks:
        items.extend(_stack_items(stack))
    for place, pilot in zip(design.eyes, body.eye_pilots, strict=True):
        eye = place.eye
        z = pilot.z if pilot else 0.0
        items.append(
            MassItem(
                MassGroup.HARDWARE,
                "screw eye",
                1,
                eye.mass_g,
                eye.mass_g * eye.mass_spread,
                (place.x_mm, place.offset_mm, z),
                "eyes differ from bag to bag",
            )
        )
    return items


def cartridge_item(body: Body, *, full: bool) -> MassItem | None:
    """The cartridge seated against the blind end; None without a bore."""
    bore, cartridge = body.bore, body.design.cartridge
    if bore is None:
        return None
    x, z = bore.point(bore.depth - cartridge.balance_from_base_mm)
    mass = cartridge.full_mass_g if full else cartridge.empty_mass_g
    label = "cartridge, full" if full else "cartridge, empty"
    sd = cartridge.full_mass_g * cartridge.mass_spread
    return MassItem(MassGroup.CARTRIDGE, label, 1, mass, sd, (x, bore.y, z), "cartridges differ")


def _stack_items(stack: AxleStack) -> list[MassItem]:
    axle = stack.axle
    end = axle.end.value
    here = (axle.x_mm, stack.middle, axle.height_mm)
    rod = axle.axle.mass_g_per_mm * stack.axle_length_mm
    items = [
        MassItem(
            MassGroup.HARDWARE,
            f"{end} wheels",
            2,
            2 * axle.wheel.mass_g,
            2 * axle.wheel.mass_g * axle.wheel.mass_spread,
            here,
            "wheels differ from bag to bag",
        ),
        MassItem(
            MassGroup.HARDWARE, f"{end} axle", 1, rod, rod * axle.axle.mass_spread, here, "the rod's diameter"
        ),
    ]
    if axle.bearing:
        tube = axle.bearing.mass_g_per_mm * stack.bearing_length_mm
        items.append(
            MassItem(
                MassGroup.HARDWARE,
                f"{end} bearing",
                1,
                tube,
                tube * axle.bearing.mass_spread,
                here,
                "the tube's wall",
            )
        )
    if axle.washer and axle.washers:
        ring = 2 * axle.washers * axle.washer.mass_g
        items.append(
            MassItem(
                MassGroup.HARDWARE,
                f"{end} washers",
                2 * axle.washers,
                ring,
                ring * axle.washer.mass_spread,
                here,
                "washers differ from bag to bag",
            )
        )
    return items


def _point(p: Array) -> Point3:
    return (float(p[0]), float(p[1]), float(p[2]))

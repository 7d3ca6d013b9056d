"""Whether the parts of one design can belong to one car: what no rulebook is needed to see.

Only the figures of the file and of the stock are compared here. Whether the holes find wood is for the
body to tell, and what breaks a rule for the rulebook.
"""

from __future__ import annotations

from collections.abc import Sequence

from bodyshop.design.model import AxleSet, Bore, KeyPath
from bodyshop.design.outlines import Drawn
from bodyshop.design.reading import Reader
from bodyshop.lengths import format_mass
from bodyshop.stock.blanks import Blank
from bodyshop.stock.hardware import Cartridge, WheelEnd
from bodyshop.stock.tables import GRAMS_PER_MM3
from bodyshop.stock.woods import Wood

__all__ = [
    "body_ends",
    "check_axle_order",
    "check_axle_parts",
    "check_bore",
    "check_ends",
    "check_weighed",
]

SAME_MM = 0.01
# A wheel is pressed on to its axle: this much (mm) either way still can be.
PRESS_MM = 0.1
# Standard deviations of its wood that a weighed blank may be off: 3 in 1000 pieces are further off than that.
FAR = 3.0


def check_ends(reader: Reader, profile: Drawn, plan: Drawn) -> bool:
    """Whether profile and plan share some length; a warning where they begin or end apart."""
    p, q = profile.outline.bounds, plan.outline.bounds
    show = reader.length_text
    if min(p[2], q[2]) - max(p[0], q[0]) < SAME_MM:
        reader.fault(
            ("plan", "points"),
            "no-overlap",
            f"the plan runs from x = {show(q[0])} to {show(q[2])} "
            f"and the profile from {show(p[0])} to {show(p[2])}: no body is left between them",
            at_key=True,
            expected="both views of one length, from the same nose",
        )
        return False
    for name, side, top in (("nose", p[0], q[0]), ("tail", p[2], q[2])):
        if abs(side - top) > SAME_MM:
            reader.warn(
                ("plan", "points"),
                "ends-differ",
                f"the {name} is at x = {show(top)} in the plan and at {show(side)} in the profile: "
                "the body ends where the first of them does",
                at_key=True,
                expected="both views of one length",
            )
    return True


def body_ends(profile: Drawn, plan: Drawn) -> tuple[float, float]:
    """Where the nose and the tail of the body are: x in mm."""
    p, q = profile.outline.bounds, plan.outline.bounds
    return max(p[0], q[0]), min(p[2], q[2])


def check_axle_order(reader: Reader, axles: Sequence[AxleSet | None]) -> None:
    """The front axle nearer the nose."""
    front, rear = axles
    if front is not None and rear is not None and front.x_mm >= rear.x_mm:
        reader.fault(
            ("axles", "rear", "x"),
            "axle-order",
            "the rear axle is not behind the front axle",
            expected=f"more than {reader.length_text(front.x_mm)}: x counts from the nose",
        )


def check_bore(reader: Reader, bore: Bore, blank: Blank | None, cartridge: Cartridge | None) -> None:
    """Warnings where the bore suits neither the cartridge nor a blank that is drilled already."""
    show = reader.length_text
    if cartridge is not None and cartridge.diameter_mm >= bore.diameter_mm:
        reader.warn(
            ("bore", "diameter"),
            "bore-tight",
            f"the cartridge is {show(cartridge.diameter_mm)} thick and does not go in",
            expected=f"more than {show(cartridge.diameter_mm)}",
        )
    drilled = blank.bore if blank is not None else None
    if drilled is not None and (
        bore.diameter_mm < drilled.diameter_mm - SAME_MM
        or (abs(bore.height_mm - drilled.height_mm) > SAME_MM or abs(bore.offset_mm) > SAME_MM)
    ):
        reader.warn(
            ("bore",),
            "bore-redrilled",
            f"the blank is drilled already, {show(drilled.diameter_mm)} wide "
            f"and {show(drilled.height_mm)} above its underside, and this bore differs",
            expected="the blank's own bore, or a blank that is not drilled",
        )


def check_weighed(reader: Reader, weighed_g: float | None, blank: Blank | None, wood: Wood | None) -> None:
    """A warning where the weighed blank is far from anything that its wood weighs: mostly a slip of the
    decimal point, another block, or another wood.
    """
    if weighed_g is None or blank is None or wood is None:
        return
    volume = blank.wood_volume_mm3
    usual = wood.density_g_per_mm3 * volume
    low, high = (usual * max(1 + side * FAR * wood.spread, 0.0) for side in (-1, 1))
    if low <= weighed_g <= high:
        return
    density = weighed_g / volume / GRAMS_PER_MM3
    least, most = (format_mass(mass, decimals=0) for mass in (low, high))
    reader.warn(
        ("blank", "weighed"),
        "weighed-density",
        f"a blank of this size and {format_mass(weighed_g)} would have {density:,.0f} kg/m3, which is no "
        f"{wood.label}",
        expected=f"{least} to {most} for {wood.label}, which has "
        f"{low / volume / GRAMS_PER_MM3:.0f} to {high / volume / GRAMS_PER_MM3:.0f} kg/m3",
    )


def check_axle_parts(reader: Reader, axle: AxleSet) -> None:
    """Warnings where parts of one axle do not go together."""
    path: KeyPath = ("axles", axle.end.value)
    show = reader.length_text
    rod, bearing, wheel = axle.axle.diameter_mm, axle.bearing, axle.wheel
    inside = bearing.outer_mm if bearing is not None else rod
    if axle.hole_mm < inside - SAME_MM:
        what = "bearing" if bearing is not None else "axle"
        reader.warn(
            (*path, "hole"),
            "hole-tight",
            f"the {what} is {show(inside)} thick and does not go through this hole",
            expected=f"at least {show(inside)}",
        )
    if bearing is not None and bearing.inner_mm <= rod:
        reader.warn(
            (*path, "bearing"),
            "bearing-tight",
            f"the axle is {show(rod)} thick and the bearing {show(bearing.inner_mm)} wide inside: "
            "it does not turn",
        )
    if abs(wheel.bore_mm - rod) > PRESS_MM:
        reader.warn(
            (*path, "wheel"),
            "wheel-bore",
            f"the wheel's hole is {show(wheel.bore_mm)} and the axle {show(rod)} thick: "
            "it cannot be pressed on",
        )
    if wheel.end.value not in (WheelEnd.EITHER.value, axle.end.value):
        reader.warn((*path, "wheel"), "wheel-end", f"{wheel.id} is made for the {wheel.end.value} axle")

"""Whether the parts of one design can belong to one car: what no rulebook is needed to see.

An error here means that there is no such car: a hole in the air, an axle where the cartridge sits. What
merely breaks a rule, or a wall that is thin, is for the measures to tell.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely

from bodyshop.design.model import AxleSet, Bore, KeyPath
from bodyshop.design.outlines import Drawn
from bodyshop.design.parts import PlacedEye
from bodyshop.design.reading import Reader
from bodyshop.outline import Outline
from bodyshop.stock.blanks import Blank
from bodyshop.stock.hardware import Cartridge, WheelEnd

__all__ = [
    "body_ends",
    "check_axle_order",
    "check_axle_parts",
    "check_bore",
    "check_ends",
    "check_eyes",
    "check_holes",
]

SAME_MM = 0.01
CHORD_MM = 0.01
# A wheel is pressed on to its axle: this much (mm) either way still can be.
PRESS_MM = 0.1


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


def check_holes(
    reader: Reader, profile: Drawn, plan: Drawn, axles: Sequence[AxleSet | None], bore: Bore | None
) -> None:
    """Axle holes in the wood and clear of the cartridge."""
    nose, tail = body_ends(profile, plan)
    side = profile.outline.polygon(CHORD_MM)
    for axle in axles:
        if axle is None:
            continue
        path: KeyPath = ("axles", axle.end.value)
        show = reader.length_text
        if not nose < axle.x_mm < tail:
            reader.fault(
                (*path, "x"),
                "hole-outside-wood",
                f"the {axle.end.value} axle hole is off the end of the body",
                expected=f"between {show(nose)} and {show(tail)}",
            )
        elif not shapely.contains_xy(side, axle.x_mm, axle.height_mm):
            reader.fault(
                (*path, "height"),
                "hole-outside-wood",
                f"there is no wood for the {axle.end.value} axle hole here",
                expected=_wood_at(reader, profile.outline, axle.x_mm),
            )
        elif bore is not None and _gap_to_bore(axle, bore, _mouth(profile, plan, bore)) < 0:
            reader.fault(
                (*path, "height"),
                "axle-in-bore",
                f"the {axle.end.value} axle would run through the cartridge hole",
                expected="the axle under or ahead of the bore",
                related=(("the bore", reader.source.span(("bore",))),),
            )


def _wood_at(reader: Reader, outline: Outline, x: float) -> str:
    """The heights of wood at a station, in words."""
    _, low, _, high = outline.bounds
    line = shapely.LineString([(x, low - 1), (x, high + 1)])
    cut = line.intersection(outline.polygon())
    parts = [part.bounds for part in getattr(cut, "geoms", [cut]) if not part.is_empty]
    show = reader.length_text
    return " or ".join(f"a height between {show(b[1])} and {show(b[3])}" for b in parts)


def _mouth(profile: Drawn, plan: Drawn, bore: Bore) -> float:
    """Where the bore's axis comes out of the tail: x in mm."""
    ends = []
    for outline, level in ((profile.outline, bore.height_mm), (plan.outline, bore.offset_mm)):
        left, _, right, _ = outline.bounds
        line = shapely.LineString([(left - 1, level), (right + 1, level)])
        cut = line.intersection(outline.polygon(CHORD_MM))
        ends.append(right if cut.is_empty else float(cut.bounds[2]))
    return min(ends)


def _gap_to_bore(axle: AxleSet, bore: Bore, mouth: float) -> float:
    """Least distance from the axle's surface to the bore in the side view; negative where they meet.

    The axle runs right across, so what meets in the side view meets in the wood.
    """
    c, s = math.cos(bore.tilt_rad), math.sin(bore.tilt_rad)
    dx, dz = axle.x_mm - mouth, axle.height_mm - bore.height_mm
    along, up = -dx * c + dz * s, dx * s + dz * c
    beyond = max(-along, along - bore.depth_mm, 0.0)
    beside = max(abs(up) - bore.diameter_mm / 2, 0.0)
    return math.hypot(beyond, beside) - axle.axle.diameter_mm / 2


def check_bore(
    reader: Reader, profile: Drawn, plan: Drawn, bore: Bore, blank: Blank | None, cartridge: Cartridge | None
) -> None:
    """The bore's mouth in the tail, its blind end in the body; room for the cartridge."""
    nose, tail = body_ends(profile, plan)
    show = reader.length_text
    for drawn, key, level in ((profile, "height", bore.height_mm), (plan, "offset", bore.offset_mm)):
        line = shapely.LineString([(max(nose, tail - bore.depth_mm), level), (tail + 1, level)])
        if not line.intersects(shapely.Polygon(drawn.outline.outer.flattened(CHORD_MM)[0])):
            reader.fault(
                ("bore", key),
                "bore-outside-wood",
                "there is no wood for the cartridge hole here",
                expected="a bore that starts in the tail of the body",
            )
            return
    if bore.depth_mm * math.cos(bore.tilt_rad) >= tail - nose:
        reader.fault(
            ("bore", "depth"),
            "bore-through",
            "the cartridge hole comes out of the nose",
            expected=f"less than {show(tail - nose)}",
        )
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


def check_eyes(reader: Reader, profile: Drawn, plan: Drawn, eyes: Sequence[PlacedEye]) -> None:
    """Each screw eye has wood over it."""
    nose, tail = body_ends(profile, plan)
    top = shapely.Polygon(plan.outline.outer.flattened(CHORD_MM)[0])
    for placed in eyes:
        eye = placed.place
        if not nose < eye.x_mm < tail or not shapely.contains_xy(top, eye.x_mm, eye.offset_mm):
            reader.fault(
                placed.path,
                "eye-outside-wood",
                f"there is no wood for a screw eye at x = {reader.length_text(eye.x_mm)}",
                expected=f"between {reader.length_text(nose)} and {reader.length_text(tail)}, under the body",
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

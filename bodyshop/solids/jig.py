"""Drilling jigs for the square blank, to be printed: one for each axle hole, and one for the bore."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from bodyshop.car.body import Body
from bodyshop.car.body.holes import Cylinder
from bodyshop.car.design.model import AxleSet, Design
from bodyshop.foundation.place import Point3
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.foundation.toml.rows import read_row
from bodyshop.solids.forms import box, cut, rod
from bodyshop.solids.jig_marks import EngravedText, letter_tool
from bodyshop.solids.mesh import Mesh, closed_mesh

__all__ = ["Jig", "JigSizes", "jig_sizes", "jigs"]


@dataclass(frozen=True, slots=True)
class JigSizes:
    """Lengths in mm; the table tells what each is."""

    wall: float
    floor: float
    end: float
    guide_bore: float
    skirt: float
    rim: float
    fit: float
    clearance: float
    groove: float
    groove_depth: float
    letter: float
    letter_depth: float
    bed: float
    chord: float


@cache
def jig_sizes() -> JigSizes:
    """The sizes that come with the program."""
    return read_row(Path(__file__).with_name("jigs.toml"), "jig", JigSizes)


Box = tuple[Point3, Point3]
"""Two opposite corners, mm."""

# A guide leads a drill: it is finer than the rest, mm.
_GUIDE_CHORD_MM = 0.004

NOTCH_MM, NOTCH_DEPTH_MM = 2.0, 1.5
"""A notch in the top of the right wall, and the room between two."""


@dataclass(frozen=True, slots=True)
class Jig:
    """One jig. `seat` is the end of the blank that it stops at; `at` is the middle of the guide on the face
    that the drill enters (the middle of the blank for an axle), `drill_mm` the drill, `guide_mm` the hole in
    the jig; `depth_mm` how deep to drill from the face of the blank, None right through, `set_mm` the same
    from the face of the jig. `notches` tell jigs apart where no word does.
    """

    name: str
    seat: str
    mesh: Mesh
    at: Point3
    drill_mm: float
    guide_mm: float
    depth_mm: float | None
    set_mm: float | None
    size_mm: Point3
    notches: int

    @property
    def fits_bed(self) -> bool:
        """It is no longer than the beds of most printers."""
        return max(self.size_mm) <= jig_sizes().bed


def jigs(body: Body, clearance_mm: float | None = None, *, marked: bool = True) -> list[Jig]:
    """The jigs of a design. A blank that comes drilled needs none for its bore.

    Raises:
        ProblemsError: a hole does not lie in the blank.
        SolidError: one does not close.
    """
    design, sizes = body.design, jig_sizes()
    clearance = sizes.clearance if clearance_mm is None else clearance_mm
    plans = [*(_axle_plan(design, axle, sizes, clearance) for axle in design.axles)]
    bore = _bore_plan(body, sizes, clearance)
    if bore is not None:
        plans.append(bore)
    faults = [fault for plan in plans if (fault := _fault(design, plan)) is not None]
    if faults:
        raise ProblemsError(faults)
    return [_made(design, plan, sizes, marked=marked) for plan in plans]


@dataclass(frozen=True, slots=True)
class _Plan:
    """A jig before it is built: what of the blank it covers, x0 to x1, and its guide."""

    name: str
    at_nose: bool
    x0: float
    x1: float
    top: float
    end: float
    at: Point3
    way: Point3
    drill: float
    guide: float
    depth: float | None
    notches: int
    words: tuple[str, str]
    keys: tuple[str | int, ...]

    @property
    def across(self) -> bool:
        return self.depth is None


def _axle_plan(design: Design, axle: AxleSet, sizes: JigSizes, clearance: float) -> _Plan:
    at_nose = axle is design.front
    guide = axle.hole_mm + clearance
    reach = 0.5 * guide + sizes.rim
    return _Plan(
        name=axle.end.value,
        at_nose=at_nose,
        x0=0.0 if at_nose else axle.x_mm - reach,
        x1=axle.x_mm + reach if at_nose else design.blank.length_mm,
        top=axle.height_mm + reach,
        end=sizes.end,
        at=(axle.x_mm, 0.0, axle.height_mm),
        way=(0.0, 1.0, 0.0),
        drill=axle.hole_mm,
        guide=guide,
        depth=None,
        notches=1 if at_nose else 2,
        words=(f"{axle.end.value.upper()} AXLE", "NOSE" if at_nose else "TAIL"),
        keys=("axles", axle.end.value, "x"),
    )


def _bore_plan(body: Body, sizes: JigSizes, clearance: float) -> _Plan | None:
    design, bore = body.design, body.bore
    if bore is None or design.blank.bore is not None:
        return None
    tail = design.blank.length_mm
    # Along the axis from the body's tail back to the face of the square blank.
    before = (tail - bore.x) / math.cos(bore.tilt)
    guide = 2 * bore.radius + clearance
    height = bore.z - before * math.sin(bore.tilt)
    half = 0.5 * guide / math.cos(bore.tilt)
    return _Plan(
        name="bore",
        at_nose=False,
        x0=tail - sizes.skirt,
        x1=tail,
        top=height + half + sizes.rim,
        end=sizes.guide_bore,
        at=(tail, bore.y, height),
        way=(math.cos(bore.tilt), 0.0, -math.sin(bore.tilt)),
        drill=2 * bore.radius,
        guide=guide,
        depth=bore.depth + before,
        notches=3,
        words=("BORE TAIL", ""),
        keys=("bore", "height"),
    )


def _fault(design: Design, plan: _Plan) -> Problem | None:
    """The hole has to lie in the blank."""
    blank, r = design.blank, 0.5 * plan.drill
    x, y, z = plan.at
    top = blank.height_nose_mm + (blank.height_tail_mm - blank.height_nose_mm) * x / blank.length_mm
    inside = r <= z <= top - r and (
        r <= x <= blank.length_mm - r if plan.across else abs(y) + r <= blank.width_mm / 2
    )
    if inside:
        return None
    return design.problem(
        plan.keys, "jig-outside", "this hole is not inside the blank", expected="a hole that the blank holds"
    )


# ---------------------------------------------------------------- building


def _made(design: Design, plan: _Plan, sizes: JigSizes, *, marked: bool) -> Jig:
    half = 0.5 * (design.blank.width_mm + sizes.fit)
    x0 = plan.x0 - (plan.end if plan.at_nose else 0.0)
    x1 = plan.x1 + (0.0 if plan.at_nose else plan.end)
    y1 = half + sizes.wall
    outer = ((x0, -y1, -sizes.floor), (x1, y1, plan.top))
    tools = [box(*hollow) for hollow in _hollows(plan, sizes, half, outer)]
    tools.append(rod(_guide(plan, outer), _GUIDE_CHORD_MM))
    if marked:
        tools += [tool for mark in _marks(design, plan, sizes, outer) if (tool := letter_tool(mark))]
    mesh = closed_mesh(cut(box(*outer), tools), sizes.chord)
    size = (x1 - x0, 2 * y1, plan.top + sizes.floor)
    return Jig(
        name=plan.name,
        seat="nose" if plan.at_nose else "tail",
        mesh=mesh,
        at=plan.at,
        drill_mm=plan.drill,
        guide_mm=plan.guide,
        depth_mm=plan.depth,
        set_mm=None if plan.depth is None else plan.depth + plan.end / plan.way[0],
        size_mm=size,
        notches=plan.notches,
    )


def _hollows(plan: _Plan, sizes: JigSizes, half: float, outer: Box) -> Iterator[Box]:
    """What is taken out in boxes: the channel, grooves in its lower corners, and the notches."""
    (left, _, _), (right, high_y, top) = outer
    # Open at the end away from the plate, and above.
    a = plan.x0 if plan.at_nose else left - 1.0
    b = right + 1.0 if plan.at_nose else plan.x1
    yield (a, -half, 0.0), (b, half, top + 1.0)
    deep, wide = sizes.groove_depth, sizes.groove
    yield (a, -half, -deep), (b, -half + wide, 1.0)
    yield (a, half - wide, -deep), (b, half, 1.0)
    stop = (a, a + wide) if plan.at_nose else (b - wide, b)
    yield (stop[0], -half, -deep), (stop[1], half, 1.0)
    for k in range(plan.notches):
        x = (plan.x0 if plan.at_nose else plan.x1) + (1 if plan.at_nose else -1) * NOTCH_MM * (1.5 + 2 * k)
        yield (
            (x - NOTCH_MM / 2, half - 1.0, top - NOTCH_DEPTH_MM),
            (x + NOTCH_MM / 2, high_y + 1.0, top + 1.0),
        )


def _guide(plan: _Plan, outer: Box) -> Cylinder:
    """The guide: right across, or from inside the channel out through the plate."""
    (_, low_y, _), (_, high_y, _) = outer
    if plan.across:
        start, length = (plan.at[0], low_y - 1.0, plan.at[2]), high_y - low_y + 2.0
    else:
        back = 0.5 * plan.guide * abs(plan.way[2]) + 1.0
        start = (plan.at[0] - back * plan.way[0], plan.at[1], plan.at[2] - back * plan.way[2])
        length = 2 * back + plan.end / plan.way[0] + 1.0
    return Cylinder(np.array(start), np.array(plan.way), 0.5 * plan.guide, length)


def _marks(design: Design, plan: _Plan, sizes: JigSizes, outer: Box) -> Iterator[EngravedText]:
    """Words cut into the outside, as large as there is room for."""
    (left, low_y, low_z), (right, high_y, top) = outer
    wall_word, end_word = plan.words
    r = 0.5 * plan.guide
    if plan.across:
        # On the right wall, between the plate and the guide.
        a, b = (left, plan.at[0] - r) if plan.at_nose else (plan.at[0] + r, right)
    else:
        a, b = left, right
    middle_z = 0.5 * (low_z + top - NOTCH_DEPTH_MM)
    room = (b - a - 4.0, top - NOTCH_DEPTH_MM - low_z - 4.0)
    depth, letter = sizes.letter_depth, sizes.letter
    yield EngravedText(
        wall_word, (0.5 * (a + b), high_y, middle_z), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0), room, letter, depth
    )
    if end_word:
        x, way = (left, -1.0) if plan.at_nose else (right, 1.0)
        room = (high_y - low_y - 4.0, top - low_z - 4.0)
        middle = (x, 0.0, 0.5 * (low_z + top))
        yield EngravedText(end_word, middle, (0.0, way, 0.0), (way, 0.0, 0.0), room, letter, depth)
    # Under the floor: which face of the blank lies on it, and of which design it is.
    room = (right - left - 4.0, 0.5 * (high_y - low_y) - 8.0)
    for word, y in (("UNDERSIDE", -0.22), (design.fingerprint, 0.22)):
        middle = (0.5 * (left + right), y * (high_y - low_y), low_z)
        yield EngravedText(word, middle, (1.0, 0.0, 0.0), (0.0, 0.0, -1.0), room, letter, depth)

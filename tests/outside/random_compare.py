"""What the program measures on a random car beside what the 3D kernel and shapely say of it.

Sources: least distances, volumes and areas by Open CASCADE; outlines in the side view and the top view, and
the shadow from ahead, by shapely; the track as the common tangent below two circles by scipy.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import numpy as np
import shapely
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.TopoDS import TopoDS_Shape
from scipy.optimize import brentq

from bodyshop.car.assembly import Car
from bodyshop.car.measures import Reading, take_all
from bodyshop.car.stock.hardware import hardware
from tests.outside.kernel import area, cylinder, distance, integrals
from tests.outside.random_cars import EYE, AxleNumbers, CarNumbers, design_of
from tests.outside.random_solid import Bar, Reference, box_distance

__all__ = ["BARS", "compared", "off_by"]

WALL, AREA = 0.01, 1e-4
"""The bars: mm for lengths; relative for areas and volumes."""

BARS: dict[str, float] = {
    "body.volume": AREA,
    "body.wetted_area": AREA,
    "body.base_area": AREA,
    "body.frontal_area": 5e-4,
}
"""Measures held to a relative bar; every other is a length, held to WALL."""

FAR = 300.0
SIDES = {
    "bore.wall_top": ("top",),
    "bore.wall_bottom": ("bottom",),
    "bore.wall_sides": ("left", "right"),
    "bore.wall_corners": ("corner", "under corner"),
    "bore.wall_window": ("window",),
}


def compared(car: CarNumbers, *, solids: bool = True) -> dict[str, tuple[float, float]]:
    """Each measure's two values, ours first. Without `solids` the volumes and areas are left out."""
    ours = take_all(Car(design_of(car)))
    theirs = dict(_reference(Reference(car), solids=solids))
    found = {}
    for name, value in theirs.items():
        reading = ours[name]
        if isinstance(reading, Reading):
            found[name] = (reading.value, value)
        else:
            found[name] = (math.nan, value)
    return found


def off_by(name: str, ours: float, theirs: float) -> float:
    """The difference, over the bar: above 1 is too much. A wall that is gone counts as 0 on both sides."""
    if name in BARS:
        return abs(ours - theirs) / max(abs(theirs), 1.0) / BARS[name]
    if "wall" in name:
        ours, theirs = max(ours, 0.0), max(theirs, 0.0)
    return abs(ours - theirs) / WALL


def _reference(r: Reference, *, solids: bool) -> Iterator[tuple[str, float]]:
    yield from _walls(r)
    yield from _holes(r)
    yield from _heights(r)
    yield from _extent(r)
    if solids:
        yield "body.volume", integrals(r.drilled).volume
        yield "body.wetted_area", area(r.undrilled)
        lean = r.car.profile[4][0] != r.car.profile[3][0]
        tail = 0.0 if lean else sum(area(loft.LastShape()) for bar, loft, _ in r.lofts if bar.b == r.x1)
        yield "body.base_area", tail


# ---------------------------------------------------------------- walls


def _nearest(tool: TopoDS_Shape, among: list[TopoDS_Shape]) -> float:
    best = math.inf
    for reach, i in sorted((box_distance(tool, shape), i) for i, shape in enumerate(among)):
        if reach >= best:
            break
        found = BRepExtrema_DistShapeShape(tool, among[i])
        if found.IsDone() and found.NbSolution():
            best = min(best, float(found.Value()))
    return best


def _walls(r: Reference) -> Iterator[tuple[str, float]]:
    """The wood round the bore, each side by itself, and round the screw-eye holes."""
    found = {name: _nearest(r.bore, r.skin.of(*kinds)) for name, kinds in SIDES.items()}
    found["bore.wall_blind_end"] = min(_nearest(r.bore, r.skin.of("ahead")), _straight_ahead(r))
    found["bore.wall_axle"] = min(distance(r.bore, hole) for hole in r.axles)
    pilots = [cylinder((x, y, z), (0, 0, 1), radius, deep) for x, y, z, radius, deep in r.pilots]
    found["bore.wall_eye"] = min(distance(r.bore, pilot) for pilot in pilots)
    found["bore.wall"] = min(found.values())
    # Round a screw-eye hole: to all but what looks down, which it is drilled into.
    skin = r.skin.of("top", "left", "right", "corner", "ahead", "window")
    for end, axle in (("front", r.car.front), ("rear", r.car.rear)):
        i = min(range(len(pilots)), key=lambda i: abs(r.pilots[i][0] - axle.x))
        found[f"{end}_eye.wall"] = _nearest(pilots[i], skin)
    yield from ((name, value) for name, value in found.items() if math.isfinite(value))


def _straight_ahead(r: Reference) -> float:
    """From the blind end to the skin within the line of the bore, windows left out."""
    best = math.inf
    skin = r.skin.of("top", "bottom", "left", "right", "corner", "under corner")
    others = [shape for shape in skin if box_distance(r.ahead, shape) <= 0]
    for reach, i in sorted((box_distance(r.blind_end, shape), i) for i, shape in enumerate(others)):
        if reach >= best:
            break
        part = BRepAlgoAPI_Common(others[i], r.ahead).Shape()
        near = BRepExtrema_DistShapeShape(part, r.blind_end)
        if near.IsDone() and near.NbSolution():
            best = min(best, float(near.Value()))
    return best


def _holes(r: Reference) -> Iterator[tuple[str, float]]:
    """Wood round the axle holes, in the side view."""
    car = r.car
    side = shapely.Polygon(car.profile, car.side_windows)
    circles = [shapely.Point(n.x, n.z) for n in (car.front, car.rear)]
    boxes = [shapely.box(x - radius, z, x + radius, z + deep) for x, _, z, radius, deep in r.pilots]
    for name, n, own, other, far in (
        ("front", car.front, circles[0], circles[1], car.rear),
        ("rear", car.rear, circles[1], circles[0], car.front),
    ):
        near = [
            side.boundary.distance(own),
            own.distance(other) - far.hole / 2,
            *(own.distance(b) for b in boxes),
        ]
        yield f"{name}_axle.wall", min(near) - n.hole / 2
        column = side.intersection(shapely.LineString([(n.x, -FAR), (n.x, FAR)]))
        yield f"{name}_axle.hole_height", n.z - column.bounds[1]
        yield f"{name}_axle.hole_bottom", n.z - n.hole / 2 - column.bounds[1]


# ---------------------------------------------------------------- heights


def _track(front: AxleNumbers, rear: AxleNumbers) -> tuple[float, float, float]:
    """The common tangent below two wheels as (nx, nz, offset), nz up."""

    def gap(angle: float) -> float:
        nx, nz = -math.sin(angle), math.cos(angle)
        return nx * (rear.x - front.x) + nz * (rear.z - front.z) - 0.5 * (rear.wheel - front.wheel)

    angle = brentq(gap, -1.0, 1.0, xtol=1e-14)
    nx, nz = -math.sin(angle), math.cos(angle)
    return nx, nz, nx * front.x + nz * front.z - front.wheel / 2


def _heights(r: Reference) -> Iterator[tuple[str, float]]:
    car = r.car
    nx, nz, offset = _track(car.front, car.rear)
    low = r.plane(nx, nz, offset - 50.0)
    yield "bore.lowest_over_track", distance(r.bore, low) - 50.0
    x, _, z = r.mouth
    yield "bore.height_over_track", nx * x + nz * z - offset
    yield "bore.angle", car.tilt + math.atan2(-nx, nz)
    corners = [nx * x + nz * z - offset for x, z in car.profile]
    yield "car.track_clearance", min(corners)
    yield "car.height", max(*corners, car.front.wheel, car.rear.wheel)
    kind = hardware().screw_eyes[EYE]
    ring = kind.ring_outer_mm / 2
    for end, axle in (("front", car.front), ("rear", car.rear)):
        at, _, low_z, _, _ = min(r.pilots, key=lambda p: abs(p[0] - axle.x))
        yield f"{end}_eye.track_clearance", nx * at + nz * (low_z - ring) - ring - offset


# ---------------------------------------------------------------- extent and shadow


def _extent(r: Reference) -> Iterator[tuple[str, float]]:
    boxes = [bar.box(x) for bar in r.bars for x in (bar.a, bar.b)]
    yield "body.width", max(b[1] for b in boxes) - min(b[0] for b in boxes)
    yield "body.height", max(b[3] for b in boxes) - min(b[2] for b in boxes)
    for end, n in (("front", r.car.front), ("rear", r.car.rear)):
        section = shapely.union_all([_rounded(r, bar.box(n.x)) for bar in r.bars if bar.a <= n.x <= bar.b])
        across = section.intersection(shapely.LineString([(-FAR, n.z), (FAR, n.z)])).bounds
        yield f"{end}_axle.body_width", across[2] - across[0]
    yield "body.frontal_area", float(shapely.union_all([_shadow(r, bar) for bar in r.bars]).area)


def _shadow(r: Reference, bar: Bar) -> shapely.Geometry:
    """The shadow of one stretch: of two convex sections and all between them it is the hull. A window parts
    the section in pieces that are convex themselves.
    """
    cuts = {bar.a, bar.b}
    windows = [(True, w) for w in r.car.side_windows] + [(False, w) for w in r.car.top_windows]
    for _, window in windows:
        cuts |= {x for x, _ in window if bar.a < x < bar.b}
    shadows = []
    for a, b in pairwise(sorted(cuts)):
        strips = [
            (across, min(v for _, v in w), max(v for _, v in w))
            for across, w in windows
            if min(x for x, _ in w) < 0.5 * (a + b) < max(x for x, _ in w)
        ]
        pieces = [_pieces(_rounded(r, bar.box(float(x))), strips) for x in np.linspace(a, b, 9)]
        for before, after in pairwise(pieces):
            shadows += [shapely.union(p, q).convex_hull for p, q in zip(before, after, strict=True)]
    return shapely.union_all(shadows)


def _pieces(section: shapely.Geometry, strips: list[tuple[bool, float, float]]) -> list[shapely.Geometry]:
    """What windows leave of a section: below and above each strip, or left and right of it."""
    found = [section]
    for across, low, high in strips:
        halves = (
            (shapely.box(-FAR, -FAR, FAR, low), shapely.box(-FAR, high, FAR, FAR))
            if across
            else (shapely.box(-FAR, -FAR, low, FAR), shapely.box(high, -FAR, FAR, FAR))
        )
        found = [piece.intersection(half) for piece in found for half in halves]
    return found


def _rounded(r: Reference, box: tuple[float, float, float, float]) -> shapely.Geometry:
    y0, y1, z0, z1 = box
    radius = r.radius(box)
    flat = shapely.box(y0 + radius, z0 + radius, y1 - radius, z1 - radius)
    return flat.buffer(radius, quad_segs=64) if radius else flat

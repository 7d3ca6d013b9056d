"""The mouth of the bore: which faces it opens in, its rim, and the walls beside the rim."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bodyshop.car.body.holes import BoreHole
from bodyshop.car.body.rectangles import CORNERS, Rectangles
from bodyshop.car.body.section import Sections
from bodyshop.car.body.x_profile import Ints
from bodyshop.car.design.model import Bore
from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import FINE_MM, Arc, Array, Curve, Line, Outline, Point

__all__ = [
    "Face",
    "Mouth",
    "OWN_SIDE",
    "Rim",
    "SIDES",
    "Wall",
    "WallSide",
    "find_mouth",
    "mouth_rim",
    "rim_walls",
]


class WallSide(Enum):
    """Which wood a wall is: beside, over, under, at a rounded corner, ahead of the blind end, to a window."""

    TOP = "top"
    BOTTOM = "bottom"
    RIGHT = "right"
    LEFT = "left"
    CORNER = "corner"
    BLIND_END = "blind end"
    WINDOW = "window"


@dataclass(frozen=True, slots=True)
class Wall:
    """A least distance (mm; negative where there is no wood) and its ends: on the hole, on the other."""

    value_mm: float
    at_hole: Point3
    at_other: Point3


SIDES = tuple(WallSide)
TOP, BOTTOM, RIGHT, LEFT, CORNER, BLIND_END, WINDOW = range(len(SIDES))
OWN_SIDE = np.array([TOP, BOTTOM, RIGHT, LEFT, CORNER, CORNER, CORNER, CORNER])


Face = tuple[bool, int]
"""A curve of the outer profile (True) or of the outer plan (False), by its number."""

FACING = math.cos(math.radians(45))
# Two ends of the bore's axis that differ by less (mm) are one.
SAME_END_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Mouth:
    """Where the bore opens: x of its centre, and the faces it opens through."""

    x: float
    faces: frozenset[Face]


def find_mouth(bore: Bore, profile: Outline, plan: Outline) -> Mouth | None:
    """The mouth of a bore; None when its axis never meets both outlines."""
    views = ((True, profile, bore.height_mm, bore.tilt_rad), (False, plan, bore.offset_mm, 0.0))
    met: list[tuple[float, Face]] = []
    ends = []
    for in_profile, outline, level, _ in views:
        crossings = [
            (x, (in_profile, number))
            for number, curve in enumerate(outline.outer.curves)
            for x in _crossings(curve, level)
        ]
        if not crossings:
            return None
        met.extend(crossings)
        ends.append(max(crossings)[0])
    x = min(ends)
    on_axis = {face for end, face in met if abs(end - x) < SAME_END_MM}
    faces: set[Face] = set()
    for in_profile, outline, level, tilt in views:
        behind = x - bore.depth_mm * math.cos(tilt)
        numbers = _facing(outline, (x, level), bore.diameter_mm / 2, tilt, behind)
        faces.update((in_profile, number) for number in numbers)
    if not faces & on_axis and len(on_axis) == 1:
        # A tail that slopes up or sideways so much is the mouth all the same; an edge between two is not.
        faces |= on_axis
    return Mouth(x, frozenset(faces))


def _facing(
    outline: Outline, mouth: tuple[float, float], radius: float, tilt: float, x_blind: float
) -> list[int]:
    """Outer curves that the bore cuts in this view only where they look along it to the tail."""
    points, index = outline.outer.flattened(FINE_MM)
    ends = np.concatenate((points[1:], points[:1]))
    behind = np.maximum(points[:, 0], ends[:, 0]) > x_blind
    points, ends, index = points[behind], ends[behind], index[behind]
    du, dv = points[:, 0] - mouth[0], points[:, 1] - mouth[1]
    c, s = math.cos(tilt), math.sin(tilt)
    off = du * s + dv * c
    off1 = (ends[:, 0] - mouth[0]) * s + (ends[:, 1] - mouth[1]) * c
    cut = (np.minimum(off, off1) < radius - SAME_END_MM) & (np.maximum(off, off1) > SAME_END_MM - radius)
    along = ends - points
    # The outward normal is on the right of the edge.
    facing = along[:, 1] * c + along[:, 0] * s > FACING * np.hypot(along[:, 0], along[:, 1])
    # A set, not np.unique: that one loads masked arrays, 6 ms of every process.
    return [i for i in sorted(set(index[cut].tolist())) if np.all(facing[cut & (index == i)])]


def _crossings(curve: Curve, level: float) -> list[float]:
    """U at each place where a curve meets v = level."""
    match curve:
        case Line((u0, v0), (u1, v1)):
            if (v0 - level) * (v1 - level) > 0 or v0 == v1:
                return []
            return [u0 + (level - v0) / (v1 - v0) * (u1 - u0)]
        case Arc():
            sine = (level - curve.centre[1]) / curve.radius
            if abs(sine) > 1:
                return []
            angles = (math.asin(sine), math.pi - math.asin(sine))
            share = [((a - curve.start) / math.copysign(2 * math.pi, curve.sweep)) % 1 for a in angles]
            reach = abs(curve.sweep) / (2 * math.pi)
            return [
                curve.centre[0] + curve.radius * math.cos(a)
                for a, s in zip(angles, share, strict=True)
                if s <= reach + 1e-12
            ]
        case _:
            heights = (curve.p0[1], curve.c1[1], curve.c2[1], curve.p1[1])
            if not min(heights) <= level <= max(heights):
                return []
            b = curve.power()[1]
            roots = np.roots([b[3], b[2], b[1], b[0] - level])
            t = np.array([float(r.real) for r in roots if abs(r.imag) < 1e-9 and -1e-9 <= r.real <= 1 + 1e-9])
            return [float(u) for u in curve.at(np.clip(t, 0, 1))[:, 0]] if t.size else []


AROUND = 720
"""Points round the rim for its extremes: within 1e-4 mm on a radius of 10 mm."""
# A start that differs by less than this (mm) is the same.
SAME_MM = 1e-7

Steps = tuple[Array, Array]
"""A line through points: a rising coordinate, and the other at each."""

View = tuple[list[Point], list[Point]]
"""A bore as seen in a view: its mouth, and on round its blind end."""


@dataclass(frozen=True)
class Rim:
    """Where the bore starts in the wood.

    `profile` gives the start along the axis (mm from the mouth's centre) against the height over the axis,
    `plan` x against y; None where that view's outline is no part of the mouth.
    """

    bore: BoreHole
    profile: Steps | None
    plan: Steps | None

    def start(self, up: Array, y: Array) -> Array:
        """How far along the axis the wood starts on the lines at `up` over the axis and at `y`, mm;
        negative where that is behind the mouth's centre.
        """
        starts = np.full(np.broadcast(up, y).shape, -np.inf)
        if self.profile is not None:
            starts = np.maximum(starts, np.interp(up, *self.profile))
        if self.plan is not None:
            c, s = math.cos(self.bore.tilt), math.sin(self.bore.tilt)
            starts = np.maximum(starts, (self.bore.x + up * s - np.interp(y, *self.plan)) / c)
        return np.where(np.isfinite(starts), starts, 0.0)

    @cached_property
    def square(self) -> bool:
        """The bore starts at a disc square to its axis."""
        return bool(np.all(np.abs(self.points[3]) < SAME_MM))

    @cached_property
    def deepest(self) -> float:
        """How far along the axis the mouth reaches in, mm; behind that no line of the bore is whole."""
        return float(self.points[3].max())

    @cached_property
    def points(self) -> Array:
        """Points round the rim, shape (4, AROUND): x, y, z, and along the axis."""
        return self.at(2 * math.pi * np.arange(AROUND) / AROUND)

    def at(self, angle: Array) -> Array:
        """Points of the rim at angles round the axis, 0 on its upper side; shape (4, ...)."""
        up, across = self.bore.radius * np.cos(angle), self.bore.radius * np.sin(angle)
        along = self.start(up, self.bore.y + across)
        c, s = math.cos(self.bore.tilt), math.sin(self.bore.tilt)
        x, z = self.bore.x - along * c + up * s, self.bore.z + along * s + up * c
        return np.stack((x, self.bore.y + across, z, along))

    def ends(self) -> list[Point3]:
        """Points round the rim and the low and the high side of the flat blind end: the farthest point of the
        bore in any direction of the side view is among them.
        """
        blind = [self.bore.point(self.bore.depth, up) for up in (-self.bore.radius, self.bore.radius)]
        round_rim = zip(*self.points[:3].tolist(), strict=True)
        return [*((x, self.bore.y, z) for x, z in blind), *round_rim]

    def behind(self, x: Array, y: Array, z: Array) -> NDArray[np.bool_]:
        """Which points outside the bore have the nearest point of its surface, run on, behind the rim."""
        along, up = self.bore.along_and_up(x, z)
        out = np.hypot(y - self.bore.y, up)
        share = self.bore.radius / np.maximum(out, self.bore.radius)
        start = self.start(up * share, self.bore.y + (y - self.bore.y) * share)
        found: NDArray[np.bool_] = (out > self.bore.radius) & (along < start - SAME_MM)
        return found

    @cached_property
    def side_view(self) -> View:
        """The bore seen from the side, (x, z): its mouth from the low side to the high one, and the corners
        of its blind end, high and low.
        """
        bore = self.bore
        turn = np.linspace(math.pi, 0.0, AROUND // 2 + 1)
        up, across = bore.radius * np.cos(turn), bore.radius * np.sin(turn)
        # Of all that lies at one height the part farthest back shows.
        starts = [self.start(up, bore.y + y) for y in (across, -across, 0 * across)]
        along = np.min(starts, axis=0)
        c, s = math.cos(bore.tilt), math.sin(bore.tilt)
        x, z = bore.x - along * c + up * s, bore.z + along * s + up * c
        mouth = list(zip(x.tolist(), z.tolist(), strict=True))
        blind = [bore.point(bore.depth, bore.radius), bore.point(bore.depth, -bore.radius)]
        return _plain(mouth), blind

    @cached_property
    def top_view(self) -> View:
        """The bore seen from above, (x, y): its mouth from the low y to the high one, and back round its
        blind end.
        """
        bore = self.bore
        turn = np.linspace(-math.pi / 2, math.pi / 2, 61)
        up, y = bore.radius * np.cos(turn), bore.y + bore.radius * np.sin(turn)
        c, s = math.cos(bore.tilt), math.sin(bore.tilt)
        ends = [bore.x - self.start(u, y) * c + u * s for u in (up, -up, 0 * up)]
        mouth = list(zip(np.max(ends, axis=0).tolist(), y.tolist(), strict=True))
        # The flat end of a bore that is not level shows as half an ellipse.
        ahead, lean = bore.point(bore.depth)[0], bore.radius * abs(math.sin(bore.tilt))
        turn = np.linspace(math.pi / 2, -math.pi / 2, 25)
        blind = [(ahead - lean * math.cos(t), bore.y + bore.radius * math.sin(t)) for t in turn]
        return _plain(mouth), _plain(blind)


def mouth_rim(bore: BoreHole, faces: Collection[Face], profile: Outline, plan: Outline) -> Rim:
    """The rim of a bore that opens through these faces."""

    def ends(outline: Outline, in_profile: bool) -> Array | None:
        numbers = [number for of_profile, number in faces if of_profile is in_profile]
        if not numbers:
            return None
        points, index = outline.outer.flattened(FINE_MM)
        pick = np.isin(index, numbers)
        return np.concatenate((points[pick], np.concatenate((points[1:], points[:1]))[pick]))

    def sorted_by(key: Array, value: Array) -> Steps:
        order = np.argsort(key, kind="stable")
        return key[order], value[order]

    side, top = ends(profile, True), ends(plan, False)
    steps = None
    if side is not None:
        along, up = bore.along_and_up(side[:, 0], side[:, 1])
        steps = sorted_by(up, along)
    return Rim(bore, steps, None if top is None else sorted_by(top[:, 1], top[:, 0]))


def _plain(points: list[Point]) -> list[Point]:
    """The points, or only both ends where all lie on one straight line."""
    at = np.array(points)
    way = at[-1] - at[0]
    off = (at[:, 0] - at[0, 0]) * way[1] - (at[:, 1] - at[0, 1]) * way[0]
    straight = float(np.abs(off).max()) <= 1e-6 * math.hypot(*way)
    return [points[0], points[-1]] if straight else points


TURNS, FAN, ZOOMS = 48, 17, 5
# A stretch whose least distance from the bore run on is larger than the wall found by more than this (mm)
# is passed over: between the stations of the grid it can be a little less than at them.
MARGIN_MM = 1.0


def rim_walls(
    rim: Rim, sections: Sections, own: Ints, behind: Array, found: Mapping[WallSide, Wall]
) -> list[tuple[WallSide, Wall]]:
    """Walls from the rim to those stretches of skin whose nearest point on the bore, run on, lies behind it.

    `own` and `behind`, shape (8, rectangles, stations) like the grid of the sections: which side each flat
    and corner counts for, and its distance from the bore run on, infinite where that lies ahead of the rim.
    """
    grid = sections.grid
    walls = []
    for feature, row in zip(*np.nonzero(np.any(np.isfinite(behind), axis=2)), strict=True):
        side = SIDES[int(own[feature, row, 0])]
        least = float(behind[feature, row].min())
        if side in found and least > found[side].value_mm + MARGIN_MM:
            continue
        columns = np.flatnonzero(np.isfinite(behind[feature, row]))
        x = grid.r.x[row]
        low, high = x[max(columns[0] - 1, 0)], x[min(columns[-1] + 1, x.size - 1)]
        walls.append((side, _least(rim, sections, int(feature), int(row), (float(low), float(high)))))
    return walls


def _least(rim: Rim, sections: Sections, feature: int, row: int, span: tuple[float, float]) -> Wall:
    """The least distance from the rim to one flat or corner of a rectangle between two stations."""
    low, high = span
    turn, reach = 0.0, math.pi
    bound = sections.bind(np.full(FAN, row))
    wall = Wall(math.inf, (0.0, 0.0, 0.0), (0.0, 0.0, 0.0))
    for _ in range(ZOOMS):
        angle = turn + reach * np.linspace(-1.0, 1.0, TURNS + 1)
        x = np.linspace(low, high, FAN)
        qx, qy, qz, _ = (q[:, None] for q in rim.at(angle))
        y, z = _nearest(bound.at(x), feature, qy, qz)
        distance = np.sqrt((qx - x) ** 2 + (qy - y) ** 2 + (qz - z) ** 2)
        i, j = (int(n) for n in np.unravel_index(int(np.argmin(distance)), distance.shape))
        turn, reach = float(angle[i]), 4 * reach / TURNS
        low, high = float(x[max(j - 1, 0)]), float(x[min(j + 1, FAN - 1)])
        at_rim = (float(qx[i, 0]), float(qy[i, 0]), float(qz[i, 0]))
        wall = Wall(float(distance[i, j]), at_rim, (float(x[j]), float(y[i, j]), float(z[i, j])))
    return wall


def _nearest(r: Rectangles, feature: int, qy: Array, qz: Array) -> tuple[Array, Array]:
    """The points (y, z) of a flat or corner nearest to points (qy, qz), at each station."""
    contour = r.contour()
    y, z = contour.y, contour.z
    level, upright = np.zeros_like(qy), np.zeros_like(qz)
    match feature:
        case _ if feature == TOP:
            return _within(qy, y[6], y[5]), z[5] + level
        case _ if feature == BOTTOM:
            return _within(qy, y[1], y[2]), z[1] + level
        case _ if feature == RIGHT:
            return y[3] + upright, _within(qz, z[3], z[4])
        case _ if feature == LEFT:
            return y[0] + upright, _within(qz, z[0], z[7])
    corner = feature - 4
    side_y, side_z = CORNERS[corner]
    is_round = contour.sweep[corner] > 0
    arm = r.radius * is_round
    cy = np.where(is_round, contour.centre_y[corner], y[2 * corner])
    cz = np.where(is_round, contour.centre_z[corner], z[2 * corner])
    dy, dz = side_y * (qy - cy), side_z * (qz - cz)
    inside = (dy > 0) & (dz > 0)
    size = np.where(inside, np.hypot(dy, dz), 1.0)
    turn_y, turn_z = np.where(inside, dy / size, dy >= dz), np.where(inside, dz / size, dy < dz)
    first, last = (limit[corner] for limit in contour.reach)
    turn_y = np.clip(turn_y, np.cos(last), np.cos(first))
    turn_z = np.clip(turn_z, np.sin(first), np.sin(last))
    return cy + side_y * arm * turn_y, cz + side_z * arm * turn_z


def _within(value: Array, low: Array, high: Array) -> Array:
    return np.minimum(np.maximum(value, low), np.maximum(low, high))

"""The rim of the mouth: where, on each line along the bore, the wood starts.

A bore drilled square into a flat tail starts at a disc. In a tail face that slopes, or with the blind end up
or down, one side of it starts farther back than the other: there the hole is longer than its axis says.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bodyshop.body.holes import BoreHole
from bodyshop.body.mouth import Face
from bodyshop.outline import FINE_MM, Array, Outline, Point
from bodyshop.place import Point3

__all__ = ["Rim", "mouth_rim"]

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

"""The end of a stretch in its plane: a rectangle with rounded corners, its sides and quarter circles."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from bodyshop.geometry.outlines import Point
from bodyshop.solids.segments import NEAR_MM

__all__ = ["SIDES", "STARTS", "End", "PlaneEdge", "Step", "along", "crossings", "middle_of", "on_edge"]

# The corners in section.CORNERS' order, as (side in y, side in z), and the angle at which each arc starts.
SIDES = ((-1, -1), (1, -1), (1, 1), (-1, 1))
STARTS = (math.pi, 1.5 * math.pi, 0.0, 0.5 * math.pi)


@dataclass(frozen=True, slots=True)
class End:
    """The end of a stretch. `ahead`: the stretch lies on the nose's side of the plane. The eight `points`
    run anticlockwise in (y, z), two at each corner: where its arc starts and ends.
    """

    ahead: bool
    y0: float
    y1: float
    z0: float
    z1: float
    radius: float
    rounded: tuple[bool, bool, bool, bool]

    @property
    def points(self) -> tuple[Point, ...]:
        """Start and end of each corner's arc: corner 0 start, corner 0 end, corner 1 start..."""
        r = [self.radius if on else 0.0 for on in self.rounded]
        y0, y1, z0, z1 = self.y0, self.y1, self.z0, self.z1
        return (
            (y0, z0 + r[0]), (y0 + r[0], z0), (y1 - r[1], z0), (y1, z0 + r[1]),
            (y1, z1 - r[2]), (y1 - r[2], z1), (y0 + r[3], z1), (y0, z1 - r[3]),
        )  # fmt: skip

    @property
    def thin(self) -> bool:
        """Closed up to a line or a point."""
        return self.y1 - self.y0 <= NEAR_MM or self.z1 - self.z0 <= NEAR_MM

    def holds(self, p: Point) -> bool:
        """The point lies inside."""
        y, z = p
        if self.thin or not (self.y0 < y < self.y1 and self.z0 < z < self.z1):
            return False
        for (sy, sz), on in zip(SIDES, self.rounded, strict=True):
            if on:
                dy = sy * y - (sy * (self.y1 if sy > 0 else self.y0) - self.radius)
                dz = sz * z - (sz * (self.z1 if sz > 0 else self.z0) - self.radius)
                if dy > 0 and dz > 0 and math.hypot(dy, dz) > self.radius:
                    return False
        return True


@dataclass(frozen=True, slots=True)
class PlaneEdge:
    """A straight edge along y (axis 0) or z (axis 1), from `lo` to `hi` in that coordinate, or a part of
    the quarter circle of `corner`. `start`, `end` are vertices; straight edges run up their axis, arcs
    anticlockwise.
    """

    start: int
    end: int
    axis: int | None
    corner: int = 0
    centre: Point = (0.0, 0.0)
    radius: float = 0.0
    angles: tuple[float, float] = (0.0, 0.0)

    @property
    def first_angle(self) -> float:
        """Where the whole quarter circle of an arc starts."""
        return STARTS[self.corner]


Step = tuple[int, bool]
"""An edge's number, and whether it is run the way it is kept."""


def along(edge: PlaneEdge, p: Point) -> float:
    """Where along an edge a point on it lies: its coordinate, or its angle from just before the start."""
    if edge.axis is not None:
        return p[edge.axis]
    start = STARTS[edge.corner]
    turn = (math.atan2(p[1] - edge.centre[1], p[0] - edge.centre[0]) - start + 1.0) % (2 * math.pi) - 1.0
    return start + min(max(turn, 0.0), math.pi / 2)


def on_edge(edge: PlaneEdge, p: Point, vertices: Sequence[Point]) -> bool:
    """The point lies on the edge, its ends included."""
    a, b = vertices[edge.start], vertices[edge.end]
    if edge.axis is not None:
        across = 1 - edge.axis
        return (
            abs(p[across] - a[across]) <= NEAR_MM
            and a[edge.axis] - NEAR_MM <= p[edge.axis] <= b[edge.axis] + NEAR_MM
        )
    inside = all(min(a[c], b[c]) - NEAR_MM <= p[c] <= max(a[c], b[c]) + NEAR_MM for c in (0, 1))
    return inside and abs(math.dist(p, edge.centre) - edge.radius) <= 2 * NEAR_MM


def crossings(one: PlaneEdge, other: PlaneEdge, vertices: Sequence[Point]) -> list[Point]:
    """Where the lines or circles of two edges cross; overlapping ones have none."""
    if one.axis is not None and other.axis is not None:
        if one.axis == other.axis:
            return []
        level, upright = (one, other) if one.axis == 0 else (other, one)
        return [(vertices[upright.start][0], vertices[level.start][1])]
    if one.axis is None and other.axis is None:
        return _circles(one, other)
    line, arc = (one, other) if one.axis is not None else (other, one)
    across = 0 if line.axis == 1 else 1
    fixed = vertices[line.start][across]
    rest = arc.radius**2 - (fixed - arc.centre[across]) ** 2
    if rest < 4 * NEAR_MM * arc.radius:
        # Apart, or tangent: then at one end of the arc, which is a vertex already.
        return []
    return [
        (fixed, arc.centre[1] + s * math.sqrt(rest))
        if across == 0
        else (arc.centre[0] + s * math.sqrt(rest), fixed)
        for s in (-1, 1)
    ]


def _circles(one: PlaneEdge, other: PlaneEdge) -> list[Point]:
    dy, dz = other.centre[0] - one.centre[0], other.centre[1] - one.centre[1]
    apart = math.hypot(dy, dz)
    if apart < NEAR_MM:
        return []
    along = (apart**2 + one.radius**2 - other.radius**2) / (2 * apart)
    rest = one.radius**2 - along**2
    if rest < 0:
        return []
    rise = math.sqrt(rest)
    uy, uz = dy / apart, dz / apart
    return [
        (one.centre[0] + along * uy - s * rise * uz, one.centre[1] + along * uz + s * rise * uy)
        for s in (-1, 1)
    ]


def middle_of(edge: PlaneEdge, vertices: Sequence[Point]) -> Point:
    """The point half way along the edge."""
    if edge.axis is None:
        angle = 0.5 * sum(edge.angles)
        return (
            edge.centre[0] + edge.radius * math.cos(angle),
            edge.centre[1] + edge.radius * math.sin(angle),
        )
    a, b = vertices[edge.start], vertices[edge.end]
    return (0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1]))

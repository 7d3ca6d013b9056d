"""The wall round the bore: least distances from the bore to every surface of the body, with their place.

Every point of the body's skin lies in some cross-section (or on an upright face), so the search runs over
stations: at one station the nearest point of each flat, corner and window edge is known in closed form, and
the best station is then closed in on. The distance itself is that of a point from a finite cylinder.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np

from bodyshop.body.graph import Ints
from bodyshop.body.holes import BoreHole
from bodyshop.body.moments import nodes_and_weights
from bodyshop.body.section import CORNERS, Sections
from bodyshop.outline import Array
from bodyshop.place import Point3

__all__ = ["Wall", "WallSide", "bore_walls"]


class WallSide(Enum):
    """Which wood a wall is: beside, over, under, at a rounded corner, ahead of the blind end, to a window."""

    TOP = "top"
    BOTTOM = "bottom"
    LEFT = "left"
    RIGHT = "right"
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
GRID = 12
ZOOMS, FAN = 7, 9


def bore_walls(sections: Sections, bore: BoreHole, mouth_curve: tuple[bool, int]) -> dict[WallSide, Wall]:
    """The least wall on each side. A side with nothing on it (no window, say) is left out.

    `mouth_curve` is the curve of the outer profile (True) or plan (False) that the bore opens through: it
    is the mouth, not a wall. The bore is taken to run on past its mouth.
    """
    share = np.concatenate(([0.0], nodes_and_weights(GRID)[0], [1.0]))
    which = np.arange(sections.slab.size)[:, None]
    slab = sections.slab[which]
    lo, hi = sections.breaks[slab], sections.breaks[slab + 1]
    x = lo + (hi - lo) * share
    candidates = _skin(sections, bore, mouth_curve, np.broadcast_to(which, x.shape), x)
    found: dict[WallSide, Wall] = {}
    best: list[tuple[int, int, float, float]] = []  # side, rectangle, bracket
    for side in range(len(SIDES)):
        distance = candidates[side][0]
        flat = int(np.argmin(distance))
        row, column = divmod(flat, x.shape[1])
        if not math.isfinite(distance[row, column]):
            continue
        left, right = max(column - 1, 0), min(column + 1, x.shape[1] - 1)
        best.append((side, row, float(x[row, left]), float(x[row, right])))
    if best:
        found = _close_in(sections, bore, mouth_curve, best)
    for side_name, wall in _upright_walls(sections, bore, mouth_curve):
        if side_name not in found or wall.value_mm < found[side_name].value_mm:
            found[side_name] = wall
    return found


def _close_in(
    sections: Sections,
    bore: BoreHole,
    mouth_curve: tuple[bool, int],
    best: list[tuple[int, int, float, float]],
) -> dict[WallSide, Wall]:
    rows = np.arange(len(best))
    side = np.array([b[0] for b in best])
    which = np.repeat(np.array([b[1] for b in best])[:, None], FAN, axis=1)
    lo, hi = np.array([b[2] for b in best]), np.array([b[3] for b in best])
    fan = np.linspace(0.0, 1.0, FAN)
    for _ in range(ZOOMS):
        x = lo[:, None] + (hi - lo)[:, None] * fan
        everything = _skin(sections, bore, mouth_curve, which, x)
        here = everything[side, :, rows]
        at = np.argmin(here[:, 0], axis=1)
        lo, hi = x[rows, np.maximum(at - 1, 0)], x[rows, np.minimum(at + 1, FAN - 1)]
    found: dict[WallSide, Wall] = {}
    for row in rows:
        value, y, z = (float(here[row, k, at[row]]) for k in range(3))
        point = (float(x[row, at[row]]), y, z)
        found[SIDES[int(side[row])]] = Wall(value, _on_bore(bore, point), point)
    return found


def _skin(
    sections: Sections, bore: BoreHole, mouth_curve: tuple[bool, int], which: Ints, x: Array
) -> Array:
    """For each side the nearest skin point at each (rectangle, station): shape (sides, 3, ...), the three
    being distance, y and z. Infinite where that side has no skin."""
    r = sections.rectangles(which, x)
    axis_z = bore.z + (bore.x - x) * math.tan(bore.tilt)
    out = np.full((len(SIDES), 3, *x.shape), np.inf)
    ahead = SIDES.index(WallSide.BLIND_END)
    window = SIDES.index(WallSide.WINDOW)
    in_side_mouth, mouth_number = mouth_curve

    def offer(side: int, y: Array, z: Array, graph_is_side: bool | None, piece: Ints | None) -> None:
        distance, beyond = _distance(bore, x, y, z)
        index = np.full(x.shape, side)
        if piece is not None:
            graph = sections.side if graph_is_side else sections.top
            ring, curve = graph.ring[piece], graph.curve[piece]
            mouth = (ring == 0) & (curve == mouth_number) & (graph_is_side is in_side_mouth)
            distance = np.where(mouth, np.inf, distance)
            index = np.where(beyond, ahead, index)
            index = np.where(ring > 0, window, index)
        else:
            index = np.where(beyond, ahead, index)
        for target in {side, ahead, window}:
            take = (index == target) & (distance < out[target, 0])
            for k, values in enumerate((distance, y, z)):
                out[target, k] = np.where(take, values, out[target, k])

    # Rounded corners shorten the flats; sides of CORNERS are (y, z).
    cut = [r.radius * on for on in r.rounded]
    right_low, left_low, left_high, right_high = cut
    clamp = np.clip
    low, high = r.y0 + right_high, r.y1 - left_high
    offer(0, clamp(bore.y, low, np.maximum(low, high)), r.z1, True, sections.z_upper[which])
    low, high = r.y0 + right_low, r.y1 - left_low
    offer(1, clamp(bore.y, low, np.maximum(low, high)), r.z0, True, sections.z_lower[which])
    low, high = r.z0 + left_low, r.z1 - left_high
    offer(2, r.y1, _nearest_z(bore, x, r.y1, axis_z, low, high), False, sections.y_upper[which])
    low, high = r.z0 + right_low, r.z1 - right_high
    offer(3, r.y0, _nearest_z(bore, x, r.y0, axis_z, low, high), False, sections.y_lower[which])
    for (side_y, side_z), on in zip(CORNERS, r.rounded, strict=True):
        rho = r.radius * on
        cy = (r.y1 if side_y > 0 else r.y0) - side_y * rho
        cz = (r.z1 if side_z > 0 else r.z0) - side_z * rho
        dy, dz = side_y * (bore.y - cy), side_z * (axis_z - cz)
        size = np.hypot(dy, dz)
        inside = (dy > 0) & (dz > 0) & (size > 0)
        level = dy >= dz  # otherwise the nearer end of the quarter circle
        uy = np.where(inside, dy / np.maximum(size, 1e-12), np.where(level, 1.0, 0.0))
        uz = np.where(inside, dz / np.maximum(size, 1e-12), np.where(level, 0.0, 1.0))
        offer(4, cy + side_y * rho * uy, cz + side_z * rho * uz, None, None)
    return out


def _nearest_z(bore: BoreHole, x: Array, y: Array, axis_z: Array, low: Array, high: Array) -> Array:
    """Height on an upright edge nearest to the bore: level with the axis, or, for a tilted bore whose
    blind end is behind, by ternary search of the convex distance."""
    high = np.maximum(low, high)
    if bore.tilt == 0:
        return np.clip(axis_z, low, high)
    a, b = low, high
    for _ in range(40):
        c, d = a + (b - a) / 3, b - (b - a) / 3
        left = _distance(bore, x, y, c)[0] < _distance(bore, x, y, d)[0]
        a, b = np.where(left, a, c), np.where(left, d, b)
    return 0.5 * (a + b)


def _distance(bore: BoreHole, x: Array, y: Array, z: Array) -> tuple[Array, Array]:
    """Signed distance of points from the bore (run on past its mouth), and which lie past its blind end."""
    along, up = bore.along_and_up(x, z)
    outside = np.hypot(y - bore.y, up) - bore.radius
    past = along - bore.depth
    beyond = past > 0
    return np.where(beyond, np.hypot(past, np.maximum(outside, 0.0)), outside), beyond


def _on_bore(bore: BoreHole, point: Point3) -> Point3:
    """The point of the bore's surface nearest to `point`."""
    along, up = bore.along_and_up(np.array(point[0]), np.array(point[2]))
    a, u, y = min(float(along), bore.depth), float(up), point[1] - bore.y
    size = math.hypot(u, y)
    if size > bore.radius or float(along) <= bore.depth:
        scale = bore.radius / size if size > 0 else 0.0
        u, y = u * scale, y * scale
    px, pz = bore.point(a, u)
    return (px, bore.y + y, pz)


def _upright_walls(
    sections: Sections, bore: BoreHole, mouth_curve: tuple[bool, int]
) -> list[tuple[WallSide, Wall]]:
    """Walls to upright faces square to the length: the nose, steps, ends of windows."""
    walls = []
    for is_side, graph in ((True, sections.side), (False, sections.top)):
        for upright in graph.uprights:
            if upright.ring == 0 and (is_side, upright.curve) == mouth_curve:
                continue
            if not sections.x_min <= upright.x <= sections.x_max:
                continue
            along = float(bore.along_and_up(np.array(upright.x), np.array(bore.z))[0])
            if upright.ring == 0 and along <= bore.depth:
                # Beside the bore such a face only joins two flats, which are searched already.
                continue
            for ahead in (False, True):
                r = sections.at(upright.x, ahead=ahead)
                v0, v1 = (r.y0, r.y1) if is_side else (r.z0, r.z1)
                fixed = np.full(v0.shape, upright.v0), np.full(v0.shape, upright.v1)
                axis_z = bore.z + (bore.x - upright.x) * math.tan(bore.tilt)
                if is_side:
                    y, z = np.clip(bore.y, v0, v1), np.clip(axis_z, *fixed)
                else:
                    y, z = np.clip(bore.y, *fixed), np.clip(axis_z, v0, v1)
                x = np.full(y.shape, upright.x)
                distance, beyond = _distance(bore, x, y, z)
                for i in range(y.size):
                    side = WallSide.WINDOW if upright.ring > 0 else WallSide.BLIND_END
                    if upright.ring > 0 or beyond[i]:
                        point = (upright.x, float(y[i]), float(z[i]))
                        walls.append((side, Wall(float(distance[i]), _on_bore(bore, point), point)))
    return walls

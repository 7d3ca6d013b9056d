"""The wall round the bore: least distances from the bore to every surface of the body, with their place.

Every point of the body's skin lies in some cross-section (or on an upright face), so the search runs over
stations: at one station the nearest point of each flat, corner and window edge is known in closed form, and
the best station is then closed in on. The distance itself is that of a point from a finite cylinder.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from bodyshop.body.graph import Ints
from bodyshop.body.holes import BoreHole
from bodyshop.body.mouth import Face
from bodyshop.body.section import CORNERS, Rectangles, Sections
from bodyshop.outline import Array
from bodyshop.place import Point3

__all__ = ["Wall", "WallSide", "bore_walls"]


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


@dataclass(frozen=True, slots=True)
class _Skin:
    """The nearest skin points at each station, shape (8, ...): four flats, then CORNERS."""

    distance: Array
    y: Array
    z: Array
    side: Ints


SIDES = tuple(WallSide)
TOP, BOTTOM, RIGHT, LEFT, CORNER, BLIND_END, WINDOW = range(len(SIDES))
OWN_SIDE = np.array([TOP, BOTTOM, RIGHT, LEFT, CORNER, CORNER, CORNER, CORNER])
ZOOMS, FAN = 3, 33


def bore_walls(sections: Sections, bore: BoreHole, mouth: Collection[Face]) -> dict[WallSide, Wall]:
    """The least wall on each side. A side with nothing on it (no window, say) is left out.

    The faces of the `mouth` are no walls. The bore is taken to run on past its mouth.
    """
    grid = sections.grid
    flats = _Flats(sections, mouth)
    skin = _skin(bore, grid.r, flats.side[:, grid.which])
    stations = grid.r.x.shape[1]
    best: list[tuple[int, int, float, float]] = []  # side, rectangle, bracket
    for side in range(len(SIDES)):
        distance = np.where(skin.side == side, skin.distance, np.inf)
        _, row, column = np.unravel_index(int(np.argmin(distance)), distance.shape)
        if not math.isfinite(distance.min()):
            continue
        x = grid.r.x[row]
        best.append((side, int(row), float(x[max(column - 1, 0)]), float(x[min(column + 1, stations - 1)])))
    found = _close_in(sections, bore, flats, best) if best else {}
    for side_name, wall in _upright_walls(sections, bore, mouth):
        if side_name not in found or wall.value_mm < found[side_name].value_mm:
            found[side_name] = wall
    return found


class _Flats:
    """For each rectangle and each of its eight features, the side it counts for; -1 for the mouth."""

    def __init__(self, sections: Sections, mouth: Collection[Face]) -> None:
        count = sections.slab.size
        self.side: Ints = np.repeat(OWN_SIDE[:, None], count, axis=1)
        for feature, graph, piece, of_profile in (
            (TOP, sections.side, sections.z_upper, True),
            (BOTTOM, sections.side, sections.z_lower, True),
            (RIGHT, sections.top, sections.y_upper, False),
            (LEFT, sections.top, sections.y_lower, False),
        ):
            ring = graph.ring[piece]
            self.side[feature, ring > 0] = WINDOW
            for in_profile, number in mouth:
                if of_profile is in_profile:
                    self.side[feature, (ring == 0) & (graph.curve[piece] == number)] = -1


def _close_in(
    sections: Sections, bore: BoreHole, flats: _Flats, best: list[tuple[int, int, float, float]]
) -> dict[WallSide, Wall]:
    rows = np.arange(len(best))
    side = np.array([b[0] for b in best])
    which = np.repeat(np.array([b[1] for b in best])[:, None], FAN, axis=1)
    own, bound = flats.side[:, which], sections.bind(which)
    lo, hi = np.array([b[2] for b in best]), np.array([b[3] for b in best])
    fan = np.linspace(0.0, 1.0, FAN)

    def look() -> tuple[Array, _Skin, Array, Ints]:
        x = lo[:, None] + (hi - lo)[:, None] * fan
        skin = _skin(bore, bound.at(x), own)
        distance = np.where(skin.side == side[:, None], skin.distance, np.inf)
        return x, skin, distance, np.argmin(distance.min(axis=0), axis=1)

    x, skin, distance, at = look()
    for _ in range(ZOOMS - 1):
        lo, hi = x[rows, np.maximum(at - 1, 0)], x[rows, np.minimum(at + 1, FAN - 1)]
        x, skin, distance, at = look()
    feature = np.argmin(distance[:, rows, at], axis=0)
    found: dict[WallSide, Wall] = {}
    for row, (f, a) in enumerate(zip(feature, at, strict=True)):
        point = (float(x[row, a]), float(skin.y[f, row, a]), float(skin.z[f, row, a]))
        found[SIDES[int(side[row])]] = Wall(float(distance[f, row, a]), _on_bore(bore, point), point)
    return found


def _skin(bore: BoreHole, r: Rectangles, own: Ints) -> _Skin:
    """The nearest point of each flat and corner at each station; `own` says which side it counts for while
    it is not past the blind end.
    """
    axis_z = bore.z + (bore.x - r.x) * math.tan(bore.tilt)
    cut = r.radius * r.rounded
    left_low, right_low, right_high, left_high = cut
    y = np.empty((8, *r.x.shape))
    z = np.empty_like(y)
    # Rounded corners shorten the flats.
    y[TOP], z[TOP] = _within(bore.y, r.y0 + left_high, r.y1 - right_high), r.z1
    y[BOTTOM], z[BOTTOM] = _within(bore.y, r.y0 + left_low, r.y1 - right_low), r.z0
    y[RIGHT], z[RIGHT] = r.y1, _nearest_z(bore, r.x, r.y1, axis_z, r.z0 + right_low, r.z1 - right_high)
    y[LEFT], z[LEFT] = r.y0, _nearest_z(bore, r.x, r.y0, axis_z, r.z0 + left_low, r.z1 - left_high)
    signs = np.array(CORNERS, dtype=np.float64)
    side_y, side_z = (signs[:, k].reshape(4, *[1] * r.x.ndim) for k in (0, 1))
    cy = np.where(side_y > 0, r.y1, r.y0) - side_y * cut
    cz = np.where(side_z > 0, r.z1, r.z0) - side_z * cut
    # The point of a quarter circle nearest to the axis: towards it, or the nearer end.
    dy, dz = side_y * (bore.y - cy), side_z * (axis_z - cz)
    size = np.hypot(dy, dz)
    inside = (dy > 0) & (dz > 0)
    level = dy >= dz
    size[size == 0] = 1.0
    y[4:] = cy + side_y * cut * np.where(inside, dy / size, level)
    z[4:] = cz + side_z * cut * np.where(inside, dz / size, ~level)
    distance, ahead = _distance(bore, r.x, y, z)
    side = np.where(ahead & (own >= 0) & (own != WINDOW), BLIND_END, own)
    return _Skin(distance, y, z, side)


def _within(value: float | Array, low: Array, high: Array) -> Array:
    return np.minimum(np.maximum(value, low), np.maximum(low, high))


def _nearest_z(bore: BoreHole, x: Array, y: Array, axis_z: Array, low: Array, high: Array) -> Array:
    """Height on an upright edge nearest to the bore: level with the axis, or, for a tilted bore whose
    blind end is behind, by ternary search of the convex distance.
    """
    if bore.tilt == 0:
        return _within(axis_z, low, high)
    a, b = low, np.maximum(low, high)
    for _ in range(40):
        c, d = a + (b - a) / 3, b - (b - a) / 3
        left = _distance(bore, x, y, c)[0] < _distance(bore, x, y, d)[0]
        a, b = np.where(left, a, c), np.where(left, d, b)
    return 0.5 * (a + b)


def _distance(bore: BoreHole, x: Array, y: Array, z: Array) -> tuple[Array, NDArray[np.bool_]]:
    """Signed distance of points from the bore (run on past its mouth), and which lie ahead of its blind end:
    past it, and further along the bore than out from it.
    """
    along, up = bore.along_and_up(x, z)
    outside = np.hypot(y - bore.y, up) - bore.radius
    past = along - bore.depth
    beyond = past > 0
    ahead = beyond & (past >= outside)
    return np.where(beyond, np.hypot(past, np.maximum(outside, 0.0)), outside), ahead


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
    sections: Sections, bore: BoreHole, mouth: Collection[Face]
) -> list[tuple[WallSide, Wall]]:
    """Walls to upright faces square to the length: the nose, steps, ends of windows."""
    walls = []
    x_blind = bore.point(bore.depth)[0] - bore.radius * abs(math.sin(bore.tilt))
    for is_side, graph in ((True, sections.side), (False, sections.top)):
        for upright in graph.uprights:
            if upright.ring == 0 and ((is_side, upright.curve) in mouth or upright.x >= bore.x):
                continue
            if not sections.x_min <= upright.x <= sections.x_max:
                continue
            if upright.ring == 0 and bore.tilt == 0 and upright.x >= x_blind:
                # Beside the bore such a face only joins two flats, which are searched already.
                continue
            level = bore.z + (bore.x - upright.x) * math.tan(bore.tilt)
            for noseward in (False, True):
                r = sections.at(upright.x, ahead=noseward)
                x = np.full(r.y0.shape, upright.x)
                if is_side:
                    y = np.clip(bore.y, r.y0, r.y1)
                    low, high = np.full(y.shape, upright.v0), np.full(y.shape, upright.v1)
                else:
                    y = np.full(r.y0.shape, min(max(bore.y, upright.v0), upright.v1))
                    low, high = r.z0, r.z1
                z = _nearest_z(bore, x, y, np.full(y.shape, level), low, high)
                distance, ahead = _distance(bore, x, y, z)
                side = WallSide.WINDOW if upright.ring > 0 else WallSide.BLIND_END
                for i in range(y.size):
                    if upright.ring > 0 or ahead[i]:
                        point = (upright.x, float(y[i]), float(z[i]))
                        walls.append((side, Wall(float(distance[i]), _on_bore(bore, point), point)))
    return walls

"""The wall between the rim of the bore's mouth and the skin beside it.

At one station and from one point of the rim the nearest point of a flat or a corner is known in closed form,
so the search is over the turn round the rim and the station.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from bodyshop.body.graph import Ints
from bodyshop.body.rectangles import CORNERS, Rectangles
from bodyshop.body.rim import Rim
from bodyshop.body.section import Sections
from bodyshop.body.wall import BOTTOM, LEFT, RIGHT, SIDES, TOP, Wall, WallSide
from bodyshop.outline import Array

__all__ = ["rim_walls"]

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

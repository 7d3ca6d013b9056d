"""How thin the wood gets at an inside corner: the tip of a notch, the corner of a window, a sharp waist.

An inside corner faces every way between square to its two edges; no edge beside it need look at the face
opposite. Its wood is the distance from its tip to the nearest face, or other inside corner, that looks back
at it within 30 degrees, and counts less and less from there to 45.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.car.body.rings import Chords
from bodyshop.car.body.x_profile import Ints
from bodyshop.geometry.outlines import Array, Outline, Point
from bodyshop.geometry.outlines.curves import CurveTable

__all__ = ["thinnest_at_corner"]

# How far past what it faces a corner looks, and counts in full; over the next FADE it counts less and less.
OPPOSED_RAD, FADE = math.radians(30), math.radians(15)
# Flatter than this a corner is no more than a bend of its edges.
FLAT_RAD = math.radians(1)
# How far points of a coarse ring may be from the curve, mm.
COARSE_MM = 0.25
TIP_MM = 1e-3


@dataclass(frozen=True, slots=True)
class _Corners:
    """Inside corners: their tips, the way half between their two inward normals, and how far (rad) from it
    those lie.
    """

    tip: Array
    middle: Array
    width: Array

    def past(self, way: Array, which: Ints) -> Array:
        """By how much each way (u, v) lies past what one of the corners faces, rad; 0 within that."""
        angle = np.arctan2(way[:, 1], way[:, 0]) - self.middle[which]
        off: Array = np.abs((angle + math.pi) % (2 * math.pi) - math.pi)
        return np.maximum(off - self.width[which], 0.0)


def thinnest_at_corner(
    outline: Outline,
    coarse: Chords,
    table: CurveTable,
    before: Ints,
    limit: float,
    whole: float,
    *,
    windows: bool,
) -> tuple[float, Point, Point] | None:
    """The least wood at an inside corner, if it is less than `limit`, and its two ends.

    `coarse` are the chords of the flattened rings; `before` is the curve ahead of each curve; `whole` is the
    smaller side of the view, mm.
    """
    start, edge, curve = coarse.start, coarse.way, coarse.curve
    count = before.size
    every = np.arange(count)
    (a0, b0), (a1, b1) = table.way(before, np.ones(count)), table.way(every, np.zeros(count))
    turn = np.arctan2(a0 * b1 - b0 * a1, a0 * a1 + b0 * b1)
    hollow = np.flatnonzero(turn < -FLAT_RAD)
    if not hollow.size:
        return None
    tip = start[np.searchsorted(curve, hollow)]
    middle = np.arctan2(a0[hollow], -b0[hollow]) + 0.5 * turn[hollow]
    corners = _Corners(tip, middle, 0.5 * np.abs(turn[hollow]))
    off = start - tip[:, None]
    along = np.maximum(coarse.size**2, 1e-300)
    share = np.clip(-np.sum(off * edge, axis=2) / along, 0.0, 1.0)
    way = off + share[..., None] * edge
    far = np.hypot(way[..., 0], way[..., 1])
    which, met = np.nonzero((far > TIP_MM) & (far < limit + COARSE_MM))
    way, share, far = way[which, met], share[which, met], far[which, met]
    # The face looks back, or it ends at an inside corner that does.
    size = np.maximum(coarse.size[met] * far, 1e-300)
    back = np.arccos(np.clip((way[:, 0] * edge[met, 1] - way[:, 1] * edge[met, 0]) / size, -1.0, 1.0))
    for at_end, ends in ((share <= 0.0, start[met]), (share >= 1.0, start[met] + edge[met])):
        nearest, is_corner = _corner_at(ends, tip)
        back = np.where(at_end & is_corner, np.minimum(back, corners.past(-way, nearest)), back)
    counts = far + _faded(np.maximum(corners.past(way, which), back), whole)
    wood: shapely.Geometry | None = None
    best: tuple[float, Point, Point] | None = None
    for k in np.argsort(counts, kind="stable").tolist():
        if counts[k] >= limit + COARSE_MM:
            break
        i = int(which[k])
        found = _exactly(corners, i, table, int(curve[met[k]]), whole)
        if found is None or found[0] >= limit:
            continue
        value, end = found
        if wood is None:
            wood = (outline.block if windows else outline.outer_block).buffer(2 * TIP_MM, quad_segs=1)
        if wood.covers(shapely.LineString([tip[i], end])):
            limit = value
            # As far past both ends as it counts for more.
            x, y = float(tip[i, 0]), float(tip[i, 1])
            more = 0.5 * (value / math.dist((x, y), end) - 1.0)
            dx, dy = more * (end[0] - x), more * (end[1] - y)
            best = value, (x - dx, y - dy), (end[0] + dx, end[1] + dy)
    return best


def _faded(past: Array, whole: float) -> Array:
    """What is added where a face or a corner looks so far past the line, mm."""
    over = (past - OPPOSED_RAD) / FADE
    added: Array = np.where(over < 1.0, whole * np.maximum(over, 0.0), np.inf)
    return added


def _corner_at(ends: Array, tip: Array) -> tuple[Ints, NDArray[np.bool_]]:
    """For each point the nearest tip, and whether it is there."""
    gap = np.abs(ends[:, None] - tip[None]).sum(axis=2)
    nearest = np.argmin(gap, axis=1)
    return nearest, gap[np.arange(len(gap)), nearest] < TIP_MM


def _exactly(
    corners: _Corners, i: int, table: CurveTable, curve: int, whole: float
) -> tuple[float, Point] | None:
    """What one corner's wood to one curve counts, and where on the curve, by closing in on it."""
    low, high = 0.0, 1.0
    value, t = math.inf, 0.5
    u = v = 0.0
    one = np.zeros(33, dtype=np.int64) + i
    for _ in range(5):
        s = np.linspace(low, high, 33)
        which = np.full(s.size, curve)
        x, y, du, dv = table.at_and_way(which, s)
        way = np.stack((x, y), axis=1) - corners.tip[i]
        far = np.hypot(way[:, 0], way[:, 1])
        facing = (way[:, 0] * dv - way[:, 1] * du) / np.maximum(far, 1e-300)
        back = np.arccos(np.clip(facing, -1.0, 1.0))
        nearest, is_corner = _corner_at(np.stack((x, y), axis=1), corners.tip)
        back = np.where(is_corner, np.minimum(back, corners.past(-way, nearest)), back)
        counts = far + _faded(np.maximum(corners.past(way, one), back), whole)
        counts[far <= TIP_MM] = math.inf
        at = int(np.argmin(counts))
        if not math.isfinite(counts[at]):
            return None
        value, t, u, v = float(counts[at]), float(s[at]), float(x[at]), float(y[at])
        step = (high - low) / 32
        low, high = max(t - step, 0.0), min(t + step, 1.0)
    return value, (u, v)

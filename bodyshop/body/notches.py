"""How thin the wood gets at an inside corner: the tip of a notch, the corner of a window, a sharp waist.

An inside corner faces every way between square to its two edges; no edge beside it need look at the face
opposite. Its wood is the distance from its tip to the nearest face, or other inside corner, that looks back
at it within 30 degrees.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.body.graph import Ints
from bodyshop.outline import Array, Outline, Point
from bodyshop.outline.table import CurveTable

__all__ = ["thinnest_at_corner"]

OPPOSED_RAD = math.radians(30)
# Flatter than this a corner is no more than a bend of its edges.
FLAT_RAD = math.radians(1)
# How far points of a coarse ring may be from the curve, mm.
COARSE_MM = 0.25
TIP_MM = 1e-3


def thinnest_at_corner(
    outline: Outline,
    coarse: tuple[Array, Array, Ints],
    table: CurveTable,
    before: Ints,
    limit: float,
    *,
    windows: bool,
) -> tuple[float, Point, Point] | None:
    """The least wood at an inside corner, if it is less than `limit`, and its two ends.

    `coarse` are starts, edges and curves of the flattened rings; `before` is the curve ahead of each curve.
    """
    start, edge, curve = coarse
    count = before.size
    every = np.arange(count)
    (a0, b0), (a1, b1) = table.way(before, np.ones(count)), table.way(every, np.zeros(count))
    turn = np.arctan2(a0 * b1 - b0 * a1, a0 * a1 + b0 * b1)
    hollow = np.flatnonzero(turn < -FLAT_RAD)
    if not hollow.size:
        return None
    tip = start[np.searchsorted(curve, hollow)]
    # Half way between the two inward normals, and how far to either side the corner looks.
    middle = np.arctan2(a0[hollow], -b0[hollow]) + 0.5 * turn[hollow]
    width = 0.5 * np.abs(turn[hollow])
    off = start - tip[:, None]
    along = np.maximum(np.sum(edge * edge, axis=1), 1e-300)
    share = np.clip(-np.sum(off * edge, axis=2) / along, 0.0, 1.0)
    way = off + share[..., None] * edge
    far = np.hypot(way[..., 0], way[..., 1])
    seen = _looks(way, middle, width) & (far > TIP_MM) & (far < limit + COARSE_MM)
    # The face looks back, or it ends at an inside corner that does.
    size = np.sqrt(along)
    back = (way[..., 0] * edge[:, 1] - way[..., 1] * edge[:, 0]) / (size * np.maximum(far, 1e-300))
    seen &= (back >= math.cos(OPPOSED_RAD)) | _corner_looks_back(way, share, tip, start, edge, middle, width)
    wood: shapely.Geometry | None = None
    best: tuple[float, Point, Point] | None = None
    for i, j in sorted(zip(*np.nonzero(seen), strict=True), key=lambda pair: float(far[pair])):
        if far[i, j] >= limit + COARSE_MM:
            break
        found = _exactly(tip[i], table, int(curve[j]), float(middle[i]), float(width[i]))
        if found is None or found[0] >= limit:
            continue
        value, end = found
        if wood is None:
            wood = (outline.block if windows else outline.outer_block).buffer(2 * TIP_MM, quad_segs=1)
        if wood.covers(shapely.LineString([tip[i], end])):
            limit = value
            best = value, (float(tip[i, 0]), float(tip[i, 1])), end
    return best


def _looks(way: Array, middle: Array, width: Array) -> NDArray[np.bool_]:
    """Which ways lie within what each corner looks at, 30 degrees more to either side."""
    angle = np.arctan2(way[..., 1], way[..., 0]) - middle[:, None]
    angle = np.abs((angle + math.pi) % (2 * math.pi) - math.pi)
    seen: NDArray[np.bool_] = angle <= width[:, None] + OPPOSED_RAD
    return seen


def _corner_looks_back(
    way: Array, share: Array, tip: Array, start: Array, edge: Array, middle: Array, width: Array
) -> NDArray[np.bool_]:
    """Whether the nearest point is an end of its edge, and that end an inside corner that looks back."""
    found = np.zeros(share.shape, dtype=bool)
    for at_end, ends in ((share <= 0.0, start), (share >= 1.0, start + edge)):
        gap = np.abs(ends[:, None] - tip[None]).sum(axis=2)
        corner = np.argmin(gap, axis=1)
        is_corner = gap[np.arange(len(gap)), corner] < TIP_MM
        angle = np.arctan2(-way[..., 1], -way[..., 0]) - middle[corner]
        angle = np.abs((angle + math.pi) % (2 * math.pi) - math.pi)
        found |= at_end & is_corner & (angle <= width[corner] + OPPOSED_RAD)
    return found


def _exactly(
    tip: Array, table: CurveTable, curve: int, middle: float, width: float
) -> tuple[float, Point] | None:
    """The nearest point of one curve to a tip, within what the corner looks at, by closing in on it."""
    low, high = 0.0, 1.0
    value, t = math.inf, 0.5
    u = v = 0.0
    for _ in range(5):
        s = np.linspace(low, high, 33)
        x, y = table.at(np.full(s.size, curve), s)
        way = np.stack((x - tip[0], y - tip[1]), axis=1)
        far = np.hypot(way[:, 0], way[:, 1])
        far[~_looks(way[None], np.array([middle]), np.array([width]))[0]] = math.inf
        at = int(np.argmin(far))
        if not math.isfinite(far[at]):
            return None
        value, t, u, v = float(far[at]), float(s[at]), float(x[at]), float(y[at])
        step = (high - low) / 32
        low, high = max(t - step, 0.0), min(t + step, 1.0)
    return value, (u, v)

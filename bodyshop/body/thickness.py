"""How thin the wood gets: across a view, from face to opposite face.

From a point of the outline the wood's thickness is the length of the line that runs straight in, square
to the edge, until it comes out. It counts where it comes out through a face that looks the other way,
within 30 degrees: across a blunt corner there is no opposite face, at a sharp point there is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bodyshop.body.graph import Ints
from bodyshop.outline import Array, Outline, Point, Ring

__all__ = ["Neck", "least_thickness"]

OPPOSED = math.cos(math.radians(30))
COARSE_MM, FINE_MM = 0.2, 0.002
SPACING_MM = 5.0
ZOOMS, FAN = 3, 17


@dataclass(frozen=True, slots=True)
class Neck:
    """The thinnest place: its thickness, mm, and its two ends in the view's plane."""

    value_mm: float
    end0: Point
    end1: Point


@dataclass(frozen=True, slots=True)
class _Edges:
    """Straight edges with the wood on their left, and the ring, curve and parameter each comes from."""

    start: Array
    edge: Array
    ring: Ints
    curve: Ints


def least_thickness(outline: Outline, *, windows: bool = True) -> Neck | None:
    """The least thickness of an outline, with or without its windows; within about 0.01 mm.

    None where no two faces stand opposite each other.
    """
    rings = outline.rings if windows else (outline.outer,)
    edges = _edges(rings)
    pieces = np.maximum(1, np.ceil(np.hypot(edges.edge[:, 0], edges.edge[:, 1]) / SPACING_MM)).astype(
        np.int64
    )
    row = np.repeat(np.arange(pieces.size), pieces)
    share = (np.arange(row.size) - np.repeat(np.cumsum(pieces) - pieces, pieces) + 0.5) / pieces[row]
    along = edges.edge[row]
    length, hit = _straight_in(edges.start[row] + share[:, None] * along, _left_of(along), edges)
    best = int(np.argmin(length))
    if not math.isfinite(length[best]):
        return None
    ring, curve = int(edges.ring[row[best]]), int(edges.curve[row[best]])
    on_curve = np.flatnonzero((edges.ring == ring) & (edges.curve == curve))
    middle = (int(row[best]) - int(on_curve[0]) + float(share[best])) / on_curve.size
    # Reach as far as the neighbouring lines on both sides.
    half = 1.0 / (on_curve.size * int(pieces[row[best]]))
    opposite = int(edges.ring[hit[best]]), int(edges.curve[hit[best]])
    return _close_in(rings, (ring, curve), opposite, middle, half)


def _close_in(
    rings: tuple[Ring, ...], place: tuple[int, int], opposite: tuple[int, int], t: float, half: float
) -> Neck | None:
    """Search the curve at `place` round `t`, against the curve opposite and its two neighbours."""
    far_ring, far = rings[opposite[0]], opposite[1]
    count = len(far_ring.curves)
    near = sorted({(far - 1) % count, far, (far + 1) % count})
    points = [far_ring.curves[i].at(np.linspace(0, 1, far_ring.curves[i].steps(FINE_MM) + 1)) for i in near]
    start = np.concatenate([p[:-1] for p in points])
    edge = np.concatenate([np.diff(p, axis=0) for p in points])
    edges = _Edges(start, edge, np.zeros(len(start), dtype=np.int64), np.zeros(len(start), dtype=np.int64))
    curve = rings[place[0]].curves[place[1]]
    neck: Neck | None = None
    for _ in range(ZOOMS):
        fan = np.clip(t + half * np.linspace(-1, 1, FAN), 0.0, 1.0)
        h = 1e-6
        origin = curve.at(fan)
        along = curve.at(np.minimum(fan + h, 1.0)) - curve.at(np.maximum(fan - h, 0.0))
        inward = _left_of(along)
        length, _ = _straight_in(origin, inward, edges)
        best = int(np.argmin(length))
        if not math.isfinite(length[best]):
            break
        p, q = origin[best], origin[best] + length[best] * inward[best]
        neck = Neck(float(length[best]), (float(p[0]), float(p[1])), (float(q[0]), float(q[1])))
        t, half = float(fan[best]), half / (FAN // 2)
    return neck


def _edges(rings: tuple[Ring, ...]) -> _Edges:
    flat = [ring.flattened(COARSE_MM) for ring in rings]
    start = np.concatenate([points for points, _ in flat])
    edge = np.concatenate([np.concatenate((points[1:], points[:1])) for points, _ in flat]) - start
    return _Edges(
        start,
        edge,
        np.repeat(np.arange(len(rings)), [len(points) for points, _ in flat]),
        np.concatenate([index for _, index in flat]),
    )


def _left_of(along: Array) -> Array:
    size = np.hypot(along[:, 0], along[:, 1])
    size[size == 0] = 1.0
    return np.stack((-along[:, 1] / size, along[:, 0] / size), axis=1)


def _straight_in(origin: Array, inward: Array, edges: _Edges) -> tuple[Array, Ints]:
    """How far each line runs before it comes out, and through which edge; infinite where that edge does
    not face the other way.
    """
    ex, ey = edges.edge[:, 0], edges.edge[:, 1]
    sx, sy = edges.start[:, 0], edges.start[:, 1]
    nx, ny = inward[:, 0], inward[:, 1]
    ox, oy = origin[:, 0], origin[:, 1]
    # origin + s inward = start + u edge, by Cramer's rule, for every line and edge: three small products.
    across = np.stack((ny, -nx), axis=1)
    det = across @ np.stack((ex, ey))
    det[det == 0] = np.inf
    np.divide(1.0, det, out=det)
    u = (across @ np.stack((-sx, -sy)) + (ny * ox - nx * oy)[:, None]) * det
    s = (np.stack((-oy, ox), axis=1) @ np.stack((ex, ey)) + (sy * ex - sx * ey)) * det
    np.copyto(s, np.inf, where=(u < 0) | (u > 1) | (s < 1e-4))
    hit = np.argmin(s, axis=1)
    length = s[np.arange(hit.size), hit]
    # The edge's outward normal is on its right.
    facing = (inward[:, 0] * ey[hit] - inward[:, 1] * ex[hit]) / np.hypot(ex[hit], ey[hit])
    length[facing < OPPOSED] = np.inf
    return length, hit

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
from bodyshop.outline import Array, Curve, Line, Outline, Point, Ring

__all__ = ["Neck", "least_thickness"]

OPPOSED = math.cos(math.radians(30))
COARSE_MM, FINE_MM = 0.2, 0.03
SPACING_MM = 5.0
ZOOMS, FAN = 4, 9
SPREAD = np.linspace(-1, 1, FAN)
# The first search may be off by this much (mm), half its spacing on a face that leans 30 degrees: what is
# longer by more cannot be the thinnest place.
SLACK_MM, MOST = 1.5, 10


@dataclass(frozen=True, slots=True)
class Neck:
    """The thinnest place: its thickness, mm, and its two ends in the view's plane."""

    value_mm: float
    end0: Point
    end1: Point


@dataclass(frozen=True, slots=True)
class _Edges:
    """Straight edges with the wood on their left, the ring and curve each comes from, and the direction of
    that curve where the edge starts and where it ends.
    """

    start: Array
    edge: Array
    ring: Ints
    curve: Ints
    way0: Array
    way1: Array


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
    length, hit = _straight_in(edges.start[row] + share[:, None] * along, _left_of(along), edges, 1e-4)
    if not math.isfinite(length.min()):
        return None
    starts = [_Start(edges, pieces, row, share, hit, int(i)) for i in _promising(edges, row, length, hit)]
    return _close_in(rings, starts)


def _promising(edges: _Edges, row: Ints, length: Array, hit: Ints) -> Ints:
    """The shortest line from each curve to each other, of those that could be the shortest of all."""
    near = np.flatnonzero(length <= length.min() + SLACK_MM)
    near = near[np.argsort(length[near], kind="stable")]
    curve = edges.ring * (edges.curve.max() + 1) + edges.curve
    pair = curve[row[near]] * (curve.max() + 1) + curve[hit[near]]
    # The first of each pair, in order; np.unique would load more of NumPy than it saves here.
    first = dict(reversed(list(zip(pair.tolist(), near.tolist(), strict=True))))
    return np.array(sorted(first.values(), key=near.tolist().index)[:MOST])


class _Start:
    """A line of the first search: the curve it starts from, where on it, and the curve that it meets."""

    def __init__(self, edges: _Edges, pieces: Ints, row: Ints, share: Array, hit: Ints, i: int) -> None:
        self.place = int(edges.ring[row[i]]), int(edges.curve[row[i]])
        self.opposite = int(edges.ring[hit[i]]), int(edges.curve[hit[i]])
        on_curve = np.flatnonzero((edges.ring == self.place[0]) & (edges.curve == self.place[1]))
        self.middle = (int(row[i]) - int(on_curve[0]) + float(share[i])) / on_curve.size
        # Reach as far as the neighbouring lines on both sides.
        self.half = 1.0 / (on_curve.size * int(pieces[row[i]]))


def _close_in(rings: tuple[Ring, ...], starts: list[_Start]) -> Neck | None:
    """Search each curve round its start, against the curves opposite and their two neighbours."""
    near: set[tuple[int, int]] = set()
    for ring, far in (s.opposite for s in starts):
        count = len(rings[ring].curves)
        near.update((ring, i % count) for i in (far - 1, far, far + 1))
    parts = [_fine(rings[ring].curves[i]) for ring, i in sorted(near)]
    none = np.zeros(sum(len(part[0]) for part in parts), dtype=np.int64)
    start, edge, way0, way1 = (np.concatenate(column) for column in zip(*parts, strict=True))
    edges = _Edges(start, edge, none, none, way0, way1)
    curves = [rings[s.place[0]].curves[s.place[1]] for s in starts]
    middle, half = np.array([s.middle for s in starts]), np.array([s.half for s in starts])
    neck: Neck | None = None
    slack = SLACK_MM
    for _ in range(ZOOMS):
        rows = np.arange(middle.size)
        fan = np.clip(middle[:, None] + half[:, None] * SPREAD, 0.0, 1.0)
        h = 1e-6
        spots = np.concatenate((fan, np.minimum(fan + h, 1.0), np.maximum(fan - h, 0.0)), axis=1)
        found = np.stack([curve.at(t) for curve, t in zip(curves, spots, strict=True)])
        origin, along = found[:, :FAN], found[:, FAN : 2 * FAN] - found[:, 2 * FAN :]
        inward = _left_of(along.reshape(-1, 2))
        length = _straight_in(origin.reshape(-1, 2), inward, edges, 3 * FINE_MM)[0].reshape(-1, FAN)
        at = np.argmin(length, axis=1)
        shortest = length[rows, at]
        best = int(np.argmin(shortest))
        value = float(shortest[best])
        if not math.isfinite(value):
            break
        p = origin[best, at[best]]
        q = p + value * inward.reshape(-1, FAN, 2)[best, at[best]]
        neck = Neck(value, (float(p[0]), float(p[1])), (float(q[0]), float(q[1])))
        # Four times nearer, each search is off by far less: leave out what cannot win any more.
        slack /= FAN // 2
        keep = np.flatnonzero(shortest <= value + slack)
        curves = [curves[i] for i in keep]
        middle, half = fan[keep, at[keep]], half[keep] / (FAN // 2)
    return neck


def _fine(curve: Curve) -> tuple[Array, Array, Array, Array]:
    """Starts, edges, and the curve's directions at their two ends."""
    if isinstance(curve, Line):
        edge = np.array([(curve.p1[0] - curve.p0[0], curve.p1[1] - curve.p0[1])])
        way = edge / max(curve.length, 1e-300)
        return np.array([curve.p0]), edge, way, way
    t = np.linspace(0, 1, curve.steps(FINE_MM) + 1)
    points = curve.at(t)
    h = 1e-6
    along = curve.at(np.minimum(t + h, 1.0)) - curve.at(np.maximum(t - h, 0.0))
    way = along / np.maximum(np.hypot(along[:, 0], along[:, 1]), 1e-300)[:, None]
    return points[:-1], np.diff(points, axis=0), way[:-1], way[1:]


def _edges(rings: tuple[Ring, ...]) -> _Edges:
    flat = [ring.flattened(COARSE_MM) for ring in rings]
    start = np.concatenate([points for points, _ in flat])
    edge = np.concatenate([np.concatenate((points[1:], points[:1])) for points, _ in flat]) - start
    way = edge / np.maximum(np.hypot(edge[:, 0], edge[:, 1]), 1e-300)[:, None]
    return _Edges(
        start,
        edge,
        np.repeat(np.arange(len(rings)), [len(points) for points, _ in flat]),
        np.concatenate([index for _, index in flat]),
        way,
        way,
    )


def _left_of(along: Array) -> Array:
    size = np.hypot(along[:, 0], along[:, 1])
    size[size == 0] = 1.0
    return np.stack((-along[:, 1] / size, along[:, 0] / size), axis=1)


def _straight_in(origin: Array, inward: Array, edges: _Edges, start_mm: float) -> tuple[Array, Ints]:
    """How far each line runs before it comes out, and through which edge; infinite where that edge does
    not face the other way. What lies within `start_mm` of the start is the face that the line starts from.
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
    np.copyto(s, np.inf, where=(u < 0) | (u > 1) | (s < start_mm))
    hit = np.argmin(s, axis=1)
    rows = np.arange(hit.size)
    length = s[rows, hit]
    # The face's direction between those at the edge's two ends; its outward normal is on the right.
    share, way0, way1 = u[rows, hit], edges.way0[hit], edges.way1[hit]
    way = way0 + share[:, None] * (way1 - way0)
    facing = (inward[:, 0] * way[:, 1] - inward[:, 1] * way[:, 0]) / np.hypot(way[:, 0], way[:, 1])
    # A parabola over the edge with those directions stands off it by L turn u (1 - u) / 2.
    turn = way0[:, 0] * way1[:, 1] - way0[:, 1] * way1[:, 0]
    over = 0.5 * np.hypot(ex[hit], ey[hit]) * turn * share * (1 - share)
    length += over / np.maximum(facing, OPPOSED)
    length[facing < OPPOSED] = np.inf
    return length, hit

"""How thin the wood gets: across a view, from face to opposite face.

From a point of the outline the wood's thickness is the length of the line that runs straight in, square
to the edge, until it comes out. It counts where it comes out through a face that looks the other way,
within 30 degrees: across a blunt corner there is no opposite face, at a sharp point there is. Inside corners
look more than one way: see `notches`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bodyshop.body.graph import Ints
from bodyshop.body.notches import thinnest_at_corner
from bodyshop.outline import FINE_MM, Array, Outline, Point, Ring
from bodyshop.outline.table import CurveTable

__all__ = ["Neck", "least_thickness"]

OPPOSED = math.cos(math.radians(30))
COARSE_MM = 0.05
SPACING_MM = 5.0
ZOOMS, FAN = 4, 9
SPREAD = np.linspace(-1, 1, FAN)
# The first search may be off by this much (mm), half its spacing on a face that leans 30 degrees: what is
# longer by more cannot be the thinnest place.
SLACK_MM, MOST = 1.5, 10
# A line this near its start is still in the face that it starts from.
OWN_FACE_MM = 5 * FINE_MM


@dataclass(frozen=True, slots=True)
class Neck:
    """The thinnest place: its thickness, mm, and its two ends in the view's plane."""

    value_mm: float
    end0: Point
    end1: Point


@dataclass(frozen=True, slots=True)
class _Edges:
    """Straight edges with the wood on their left; the curve each is a piece of, and from which parameter
    on by how much.
    """

    start: Array
    edge: Array
    curve: Ints
    t: Array
    dt: Array

    def of(self, pick: Array) -> _Edges:
        """Some of them."""
        return _Edges(self.start[pick], self.edge[pick], self.curve[pick], self.t[pick], self.dt[pick])


def least_thickness(outline: Outline, *, windows: bool = True) -> Neck | None:
    """The least thickness of an outline, with or without its windows; within about 0.01 mm.

    None where no two faces stand opposite each other.
    """
    rings = outline.rings if windows else (outline.outer,)
    table = CurveTable.joined([ring.table for ring in rings])
    edges = _edges(rings, COARSE_MM)
    ex, ey = edges.edge[:, 0], edges.edge[:, 1]
    size = np.hypot(ex, ey)
    pieces = np.maximum(1, np.ceil(size / SPACING_MM)).astype(np.int64)
    row = np.repeat(np.arange(pieces.size), pieces)
    share = (np.arange(row.size) - np.repeat(np.cumsum(pieces) - pieces, pieces) + 0.5) / pieces[row]
    which, t = edges.curve[row], edges.t[row] + share * edges.dt[row]
    (ox, oy), (du, dv) = table.at(which, t), table.way(which, t)
    before, after = _neighbours(rings)
    # Near its start a line may cut the chords of its own curve and of the two beside it; any other face,
    # however near, is the opposite one.
    met = edges.curve[None, :]
    own = (met == which[:, None]) | (met == before[which][:, None]) | (met == after[which][:, None])
    length, hit = _straight_in(ox, oy, -dv, du, edges, table, np.where(own, 2.5 * COARSE_MM, 1e-4))
    neck = None
    if math.isfinite(length.min()):
        some = _promising(edges.curve[row], edges.curve[hit], length)
        start = row[some]
        middle = edges.t[start] + share[some] * edges.dt[start]
        # Reach as far as the neighbouring lines on both sides.
        half = edges.dt[start] / pieces[start]
        near = np.zeros(table.arc.size, dtype=bool)
        far = edges.curve[hit[some]]
        near[far] = near[before[far]] = near[after[far]] = True
        fine = _edges(rings, FINE_MM)
        neck = _close_in(table, fine.of(near[fine.curve]), edges.curve[start], middle, half)
    coarse = edges.start, edges.edge, edges.curve
    limit = neck.value_mm if neck else math.inf
    notch = thinnest_at_corner(outline, coarse, table, before, limit, windows=windows)
    return Neck(*notch) if notch else neck


def _promising(starts: Ints, meets: Ints, length: Array) -> Ints:
    """The shortest line from each curve to each other, of those that could be the shortest of all."""
    near = np.flatnonzero(length <= length.min() + SLACK_MM)
    near = near[np.argsort(length[near], kind="stable")]
    first: dict[tuple[int, int], int] = {}
    for i in near.tolist():
        first.setdefault((int(starts[i]), int(meets[i])), i)
    return np.array(list(first.values())[:MOST])


def _close_in(table: CurveTable, edges: _Edges, curve: Ints, middle: Array, half: Array) -> Neck | None:
    """Search curves round their starts, ever closer, against the edges opposite."""
    neck: Neck | None = None
    slack = SLACK_MM
    for _ in range(ZOOMS):
        rows = np.arange(middle.size)
        fan = np.minimum(np.maximum(middle[:, None] + half[:, None] * SPREAD, 0.0), 1.0)
        which, t = np.repeat(curve, FAN), fan.ravel()
        ox, oy, du, dv = table.at_and_way(which, t)
        length = _straight_in(ox, oy, -dv, du, edges, table, OWN_FACE_MM)[0].reshape(-1, FAN)
        at = np.argmin(length, axis=1)
        shortest = length[rows, at]
        best = int(np.argmin(shortest))
        value = float(shortest[best])
        if not math.isfinite(value):
            break
        i = best * FAN + int(at[best])
        p = (float(ox[i]), float(oy[i]))
        neck = Neck(value, p, (p[0] - value * float(dv[i]), p[1] + value * float(du[i])))
        # So many times nearer, each search is off by far less: leave out what cannot win any more.
        slack /= FAN // 2
        keep = np.flatnonzero(shortest <= value + slack)
        curve, middle, half = curve[keep], fan[keep, at[keep]], half[keep] / (FAN // 2)
    return neck


def _edges(rings: tuple[Ring, ...], chord_mm: float) -> _Edges:
    parts = []
    offset = 0
    for ring in rings:
        points, index = ring.flattened(chord_mm)
        counts = np.bincount(index)
        first = np.cumsum(counts) - counts
        dt = 1.0 / counts[index]
        edge = np.concatenate((points[1:], points[:1])) - points
        parts.append((points, edge, index + offset, (np.arange(index.size) - first[index]) * dt, dt))
        offset += counts.size
    if len(parts) == 1:
        return _Edges(*parts[0])
    start, edge, curve, t, dt = (np.concatenate(column) for column in zip(*parts, strict=True))
    return _Edges(start, edge, curve, t, dt)


def _neighbours(rings: tuple[Ring, ...]) -> tuple[Ints, Ints]:
    """For each curve the one before it and the one after it on its ring."""
    before, after, offset = [], [], 0
    for ring in rings:
        own = np.arange(len(ring.curves))
        before.append(offset + np.concatenate((own[-1:], own[:-1])))
        after.append(offset + np.concatenate((own[1:], own[:1])))
        offset += own.size
    return np.concatenate(before), np.concatenate(after)


def _straight_in(
    ox: Array, oy: Array, nx: Array, ny: Array, edges: _Edges, table: CurveTable, start_mm: float | Array
) -> tuple[Array, Ints]:
    """How far each line from (ox, oy) along the unit (nx, ny) runs before it comes out, and through which
    edge; infinite where the curve there does not face the other way. What lies within `start_mm` of the
    start is the face that the line starts from.
    """
    ex, ey = edges.edge[:, 0], edges.edge[:, 1]
    sx, sy = edges.start[:, 0], edges.start[:, 1]
    # origin + s inward = start + u edge, by Cramer's rule, for every line and edge: three small products.
    across, way = np.array((ny, -nx)).T, np.array((ex, ey))
    det = across @ way
    det[det == 0] = np.inf
    np.divide(1.0, det, out=det)
    u = across @ np.array((-sx, -sy))
    u += (ny * ox - nx * oy)[:, None]
    u *= det
    s = np.array((-oy, ox)).T @ way
    s += sy * ex - sx * ey
    s *= det
    s[(u < 0) | (u > 1) | (s < start_mm)] = np.inf
    hit = s.argmin(axis=1)
    rows = np.arange(hit.size)
    length = s[rows, hit]
    share, curve, t0, dt = u[rows, hit], edges.curve[hit], edges.t[hit], edges.dt[hit]
    ends = np.minimum(np.concatenate((t0 + share * dt, t0, t0 + dt)), 1.0)
    du, dv = (w.reshape(3, -1) for w in table.way(np.tile(curve, 3), np.maximum(ends, 0.0)))
    # The outward normal of the face is on the right of its curve.
    facing = nx * dv[0] - ny * du[0]
    # Over a chord L that turns by a the curve stands off by L a u (1 - u) / 2.
    turn = du[1] * dv[2] - dv[1] * du[2]
    length += 0.5 * np.hypot(ex[hit], ey[hit]) * turn * share * (1 - share) / np.maximum(facing, OPPOSED)
    length[facing < OPPOSED] = np.inf
    return length, hit

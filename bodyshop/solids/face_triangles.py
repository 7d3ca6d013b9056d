"""Faces as triangles: a grid of inner points, diagonals turned along the face, corners shared."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import Array

__all__ = [
    "Border",
    "Floats",
    "Ints",
    "Surface",
    "cleaned",
    "grid",
    "heights",
    "in_order",
    "laid_along",
    "strays",
    "without_needles",
]


# Triangles lower than this (mm) are turned where that helps; the surface moves by less.
NEEDLE_MM = 2e-4

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]
Row = tuple[int, int, int]


def cleaned(points: NDArray[np.float64], triangles: Ints) -> tuple[Floats, Ints]:
    """Equal points made one; triangles folded flat taken out: those with a repeated corner, and pairs
    that lie on each other back to back.
    """
    single = points.astype(np.float32) + np.float32(0.0)  # no minus zero
    shared, number = np.unique(single, axis=0, return_inverse=True)
    t = number.reshape(-1)[triangles]
    t = t[(t[:, 0] != t[:, 1]) & (t[:, 1] != t[:, 2]) & (t[:, 2] != t[:, 0])]
    # The least corner first; then the order of the other two tells the side.
    t = np.take_along_axis(t, (np.argmin(t, axis=1)[:, None] + np.arange(3)) % 3, axis=1)
    turned = np.stack((t[:, 0], t[:, 2], t[:, 1]), axis=1)
    fronts = {tuple(row) for row in t.tolist()}
    both = np.array([tuple(row) in fronts for row in turned.tolist()])
    t = t[~both]
    used, t_number = np.unique(t, return_inverse=True)
    t = t_number.reshape(t.shape)
    return shared[used], t


def without_needles(points: Floats, triangles: Ints) -> Ints:
    """Triangles so flat that their middle corner lies on their longest edge are turned: that edge gives
    way to the other diagonal of the two triangles on it, where that makes both less flat.
    """
    waiting = [int(i) for i in np.flatnonzero(heights(points, triangles) < NEEDLE_MM)]
    if not waiting:
        return triangles
    spots: list[Point3] = [(float(x), float(y), float(z)) for x, y, z in points]
    rows: list[Row] = [(int(a), int(b), int(c)) for a, b, c in triangles]
    home = {edge: i for i, row in enumerate(rows) for edge in _edges(row)}
    for _ in range(50 * len(waiting)):
        if not waiting:
            break
        i = waiting.pop()
        turned = _turned(i, rows, home, spots)
        if turned is None:
            continue
        j, new = turned
        for old in (i, j):
            for edge in _edges(rows[old]):
                home.pop(edge, None)
        for number, row in zip((i, j), new, strict=True):
            rows[number] = row
            home.update(dict.fromkeys(_edges(row), number))
        waiting.extend(n for n in (i, j) if _low(rows[n], spots) < NEEDLE_MM)
    return np.array(rows, dtype=np.int64)


def _turned(
    i: int, rows: list[Row], home: dict[tuple[int, int], int], spots: list[Point3]
) -> tuple[int, tuple[Row, Row]] | None:
    """The neighbour over triangle i's longest edge, and the two triangles with the other diagonal; None
    where that is no better.
    """
    a, b = max(_edges(rows[i]), key=lambda edge: math.dist(spots[edge[0]], spots[edge[1]]))
    c = next(v for v in rows[i] if v not in (a, b))
    j = home.get((b, a))
    if j is None:
        return None
    d = next(v for v in rows[j] if v not in (a, b))
    if c == d or (c, d) in home or (d, c) in home:
        return None
    new = ((a, d, c), (d, b, c))
    before, after = (min(_low(row, spots) for row in pair) for pair in ((rows[i], rows[j]), new))
    if _low(rows[j], spots) < NEEDLE_MM:
        # Two needles on one line: the shorter diagonal, so that this ends.
        better = math.dist(spots[c], spots[d]) < math.dist(spots[a], spots[b])
    else:
        facing = min(_dot(_normal(row, spots), _normal(rows[j], spots)) for row in new)
        better = after > 2 * before and facing >= 0
    return (j, new) if better else None


def _normal(row: Row, spots: list[Point3]) -> Point3:
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (spots[v] for v in row)
    ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
    return (uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx)


def _dot(p: Point3, q: Point3) -> float:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


def _low(row: Row, spots: list[Point3]) -> float:
    """A triangle's least height, mm."""
    return math.hypot(*_normal(row, spots)) / max(math.dist(spots[p], spots[q]) for p, q in _edges(row))


def _edges(row: Row) -> tuple[tuple[int, int], ...]:
    return ((row[0], row[1]), (row[1], row[2]), (row[2], row[0]))


def in_order(t: Ints) -> Ints:
    """Least corner first, then sorted: the kernel's own order of faces may change."""
    t = np.take_along_axis(t, (np.argmin(t, axis=1)[:, None] + np.arange(3)) % 3, axis=1)
    return t[np.lexsort((t[:, 2], t[:, 1], t[:, 0]))]


def heights(points: Floats, triangles: Ints) -> NDArray[np.float64]:
    """Each triangle's least height, mm."""
    p = points.astype(np.float64)[triangles]
    sides = np.roll(p, -1, axis=1) - p
    longest = np.sqrt((sides**2).sum(axis=2)).max(axis=1)
    return np.asarray(np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / longest)


PASSES = 60
MOST_TRIANGLES = 4000
# A diagonal is turned where the other strays less by this share, so that turning ends.
BETTER = 0.9
# Where a triangle is held against its face: the middle and the middles of its sides.
SPOTS = np.array([[1 / 3, 1 / 3, 1 / 3], [0.5, 0.5, 0.0], [0.0, 0.5, 0.5], [0.5, 0.0, 0.5]])

Surface = Callable[[Array], Array]
"""Points of a face at (n, 2) pairs of (u, v)."""


def strays(at: Surface, points: Array, uv: Array, triangles: Ints) -> Array:
    """How far each triangle strays from its face, mm, at its middle and the middles of its sides: (n, 4)."""
    corners, spots = points[triangles], uv[triangles]
    off = at((SPOTS @ spots).reshape(-1, 2)).reshape(-1, len(SPOTS), 3) - SPOTS @ corners
    normal = _unit(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]))
    return np.asarray(np.abs(np.einsum("tsk,tk->ts", off, normal)))


def laid_along(
    at: Surface, points: Array, uv: Array, triangles: Ints, chord_mm: float
) -> tuple[Array, Array, Ints] | None:
    """Points, (u, v) and triangles within the chord of their face; None where that is not reached."""
    for _ in range(PASSES):
        quads = _quads(triangles)
        turned = _turn(at, points, uv, triangles, quads)
        if turned is not None:
            triangles = turned
            continue
        off = strays(at, points, uv, triangles)
        bad = off.max(axis=1) > chord_mm
        if not np.any(bad):
            return points, uv, triangles
        if len(triangles) > MOST_TRIANGLES:
            return None
        points, uv, triangles = _halve(at, points, uv, triangles, quads, off, bad)
    return None


def _quads(triangles: Ints) -> Ints:
    """Inner sides as (a, b, c, d, i, j): side a to b in triangle i with corner c, b to a in j with d."""
    count = int(triangles.max()) + 1
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    third, home = np.roll(triangles, -2, axis=1).ravel(), np.repeat(np.arange(len(triangles)), 3)
    along, back = start * count + end, end * count + start
    order = np.argsort(along)
    place = np.clip(np.searchsorted(along[order], back), 0, along.size - 1)
    mate = order[place]
    inner = (along[mate] == back) & (start < end)
    return np.stack(
        (start[inner], end[inner], third[inner], third[mate][inner], home[inner], home[mate][inner]), axis=1
    )


def _turn(at: Surface, points: Array, uv: Array, triangles: Ints, quads: Ints) -> Ints | None:
    """Diagonals turned where the other one strays less, each triangle once; None where none is."""
    a, b, c, d = quads[:, :4].T
    normal = _unit(np.cross(points[b] - points[a], points[d] - points[c]))
    now, then = (
        np.abs(np.einsum("ij,ij->i", at(0.5 * (uv[p] + uv[q])) - 0.5 * (points[p] + points[q]), normal))
        for p, q in ((a, b), (c, d))
    )
    first, second = _area(uv[a], uv[d], uv[c]), _area(uv[d], uv[b], uv[c])
    fits = np.minimum(first, second) > 1e-4 * (first + second)
    gain = np.where(fits & (then < BETTER * now - 1e-6), now - then, 0.0)
    used: set[int] = set()
    new = triangles.copy()
    for k in np.argsort(-gain, kind="stable"):
        if gain[k] <= 0:
            break
        i, j = int(quads[k, 4]), int(quads[k, 5])
        if i in used or j in used:
            continue
        used.update((i, j))
        new[i], new[j] = (a[k], d[k], c[k]), (d[k], b[k], c[k])
    return new if used else None


def _halve(
    at: Surface, points: Array, uv: Array, triangles: Ints, quads: Ints, off: Array, bad: Array
) -> tuple[Array, Array, Ints]:
    """Every triangle that strays cut: at its worst inner side, or from its middle if that is worse."""
    inner: dict[tuple[int, int], tuple[int, int, int]] = {}
    for a, b, c, d, i, j in quads.tolist():
        inner[a, b] = (j, c, d)
        inner[b, a] = (i, d, c)
    rows = triangles.tolist()
    gone: set[int] = set()
    new_uv: list[Array] = []
    added: list[tuple[int, int, int]] = []
    for t in np.argsort(-off.max(axis=1), kind="stable").tolist():
        if not bad[t] or t in gone:
            continue
        sides = [(float(off[t, 1 + k]), rows[t][k], rows[t][(k + 1) % 3]) for k in range(3)]
        open_sides = [s for s in sides if (s[1], s[2]) in inner and inner[s[1], s[2]][0] not in gone]
        number = len(points) + len(new_uv)
        if open_sides and max(open_sides)[0] > 0.25 * off[t, 0]:
            _, a, b = max(open_sides)
            mate, c, d = inner[a, b]
            new_uv.append(0.5 * (uv[a] + uv[b]))
            gone.update((t, mate))
            added += [(a, number, c), (number, b, c), (b, number, d), (number, a, d)]
        else:
            a, b, c = rows[t]
            new_uv.append(uv[rows[t]].mean(axis=0))
            gone.add(t)
            added += [(a, b, number), (b, c, number), (c, a, number)]
    spots = np.array(new_uv)
    kept = np.array([row for t, row in enumerate(rows) if t not in gone], dtype=np.int64).reshape(-1, 3)
    return (
        np.concatenate((points, at(spots))),
        np.concatenate((uv, spots)),
        np.concatenate((kept, np.array(added, dtype=np.int64))),
    )


def _unit(v: Array) -> Array:
    size = np.linalg.norm(v, axis=1, keepdims=True)
    # What has no area has no inside to stray.
    return np.asarray(np.divide(v, size, out=np.zeros_like(v), where=size > 1e-12))


def _area(p: Array, q: Array, r: Array) -> Array:
    (ax, ay), (bx, by) = (q - p).T, (r - p).T
    return np.asarray(0.5 * (ax * by - ay * bx))


@dataclass(frozen=True, slots=True)
class Border:
    """The points round a face: `nodes` are their numbers outside, `uv` where they are; the four sides list
    positions in `nodes`: `low` (v = 0) and `high` (v = 1) by u, `left` (u = 0) and `right` (u = 1) by v.
    """

    nodes: Ints
    uv: Array
    low: list[int]
    right: list[int]
    high: list[int]
    left: list[int]

    @classmethod
    def of(cls, uv: Array, low: Ints, right: Ints, high: Ints, left: Ints) -> Border:
        """From the sides as numbers of points, each from corner to corner."""
        nodes, place = np.unique(np.concatenate((low, right, high, left)), return_inverse=True)
        ends = np.cumsum([0, *map(len, (low, right, high, left))])
        sides = [place[a:b].tolist() for a, b in pairwise(ends)]
        return cls(nodes, uv[nodes], *sides)

    @property
    def along(self) -> int:
        """Steps of the longer one of the sides low and high."""
        return max(len(self.low), len(self.high)) - 1

    @property
    def across(self) -> int:
        """Steps of the longer one of the sides left and right."""
        return max(len(self.left), len(self.right)) - 1


def grid(border: Border, along: int, across: int) -> tuple[Array, Ints]:
    """All points in (u, v), the border's first, and the triangles.

    Inner points make `along` steps between left and right and `across` steps between low and high, spread
    as the border's own points are.
    """
    if border.across == 1 and (across == 1 or along == 1):
        return border.uv, _array(_strip(border.uv, border.low, border.high, 0))
    if border.along == 1 and (along == 1 or across == 1):
        return border.uv, _array(_strip(border.uv, border.left[::-1], border.right[::-1], 1))
    rails = max((border.low, border.high), key=len)
    ends = max((border.left, border.right), key=len)
    u, v = _steps(border.uv[rails, 0], max(along, 2)), _steps(border.uv[ends, 1], max(across, 2))
    inner_u, inner_v = np.meshgrid(u[1:-1], v[1:-1])
    uv = np.vstack((border.uv, np.stack((inner_u.ravel(), inner_v.ravel()), axis=1)))
    number = len(border.nodes) + np.arange(inner_u.size).reshape(inner_u.shape)
    a, b, c, d = number[:-1, :-1], number[:-1, 1:], number[1:, 1:], number[1:, :-1]
    quads = np.stack([x.ravel() for x in (a, b, c, a, c, d)], axis=1).reshape(-1, 3)
    strips = (
        *_strip(uv, border.low, number[0].tolist(), 0),
        *_strip(uv, border.right, number[:, -1].tolist(), 1),
        *_strip(uv, border.high[::-1], number[-1, ::-1].tolist(), 0),
        *_strip(uv, border.left[::-1], number[::-1, 0].tolist(), 1),
    )
    return uv, np.concatenate((quads, _array(strips)))


def _array(triangles: Sequence[tuple[int, int, int]]) -> Ints:
    return np.array(triangles, dtype=np.int64).reshape(-1, 3)


def _steps(at: Array, count: int) -> Array:
    return np.asarray(np.interp(np.linspace(0, at.size - 1, count + 1), np.arange(at.size), at))


def _strip(uv: Array, outer: Sequence[int], inner: Sequence[int], axis: int) -> list[tuple[int, int, int]]:
    """Triangles between two rows of points; going along `outer`, `inner` is on the left."""
    a, b = uv[list(outer), axis].tolist(), uv[list(inner), axis].tolist()
    found = []
    i = j = 0
    while i < len(a) - 1 or j < len(b) - 1:
        # The shorter way across goes first.
        if j == len(b) - 1 or (i < len(a) - 1 and abs(a[i + 1] - b[j]) <= abs(b[j + 1] - a[i])):
            found.append((outer[i], outer[i + 1], inner[j]))
            i += 1
        else:
            found.append((outer[i], inner[j + 1], inner[j]))
            j += 1
    return found

"""Triangles tidied: corners shared, folded ones taken out, needles turned, all in an order of their own."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from bodyshop.place import Point3

__all__ = ["Floats", "Ints", "cleaned", "heights", "in_order", "without_needles"]

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

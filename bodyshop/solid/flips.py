"""Triangles of a curved face laid along it: diagonals turned, and sides halved where turning is not enough.

For faces with holes in them, which no grid fits. Triangles are anticlockwise in the face's own (u, v);
border sides stay as they are, since the neighbours share them.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from bodyshop.outline import Array
from bodyshop.solid.corners import Ints

__all__ = ["Surface", "laid_along", "strays"]

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

"""Grids and turned diagonals: faces covered once, within the chord, with few triangles; what a mesh holds."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from bodyshop.geometry.outlines import Array
from bodyshop.solids.face_triangles import Border, Ints, grid, laid_along, strays
from bodyshop.solids.mesh import Mesh, points_inside


def border(low: int, right: int, high: int, left: int) -> tuple[Border, Array]:
    """A unit square with so many steps on each side."""
    sides = [
        np.stack((np.linspace(0, 1, low + 1), np.zeros(low + 1)), axis=1),
        np.stack((np.ones(right + 1), np.linspace(0, 1, right + 1)), axis=1),
        np.stack((np.linspace(0, 1, high + 1), np.ones(high + 1)), axis=1),
        np.stack((np.zeros(left + 1), np.linspace(0, 1, left + 1)), axis=1),
    ]
    uv, number = np.unique(np.concatenate(sides), axis=0, return_inverse=True)
    ends = np.cumsum([0, *(len(s) for s in sides)])
    chains = [number.ravel()[a:b] for a, b in pairwise(ends)]
    return Border.of(uv, *chains), uv


def areas(uv: Array, triangles: Ints) -> Array:
    a, b, c = (uv[triangles[:, k]] for k in range(3))
    (ax, ay), (bx, by) = (b - a).T, (c - a).T
    return 0.5 * (ax * by - ay * bx)


@pytest.mark.parametrize("sides", [(1, 1, 1, 1), (5, 1, 3, 1), (1, 4, 1, 7), (6, 3, 2, 5), (9, 9, 9, 9)])
@pytest.mark.parametrize("steps", [(1, 1), (3, 2), (7, 5)])
def test_a_grid_covers_the_face_once_and_keeps_its_border(sides, steps) -> None:
    edge, _ = border(*sides)
    uv, triangles = grid(edge, *steps)
    assert areas(uv, triangles).min() > 0
    assert areas(uv, triangles).sum() == pytest.approx(1)
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    pairs = set(zip(start.tolist(), end.tolist(), strict=True))
    assert len(pairs) == len(start)
    outside = {pair for pair in pairs if pair[::-1] not in pairs}
    # Anticlockwise round the square, every step of the border and nothing else.
    ring = [*edge.low, *edge.right[1:], *edge.high[-2::-1], *edge.left[-2::-1]]
    assert outside == set(pairwise(ring))


def cylinder(uv: Array) -> Array:
    """A quarter pipe 40 long, of radius 10: u along, v round."""
    angle = 0.5 * np.pi * uv[:, 1]
    return np.stack((40 * uv[:, 0], 10 * np.cos(angle), 10 * np.sin(angle)), axis=1)


def test_diagonals_turn_to_run_along_a_pipe() -> None:
    # Two ends cut in eight, sides whole, but joined as a fan from one corner.
    v = np.linspace(0, 1, 9)
    uv = np.concatenate((np.stack((np.zeros(9), v), axis=1), np.stack((np.ones(9), v), axis=1)))
    triangles = np.array([(0, k, k + 1) for k in range(9, 17)] + [(k, 17, k + 1) for k in range(8)])
    assert areas(uv, triangles).min() > 0
    points = cylinder(uv)
    assert strays(cylinder, points, uv, triangles).max() > 1
    found = laid_along(cylinder, points, uv, triangles, 0.06)
    assert found is not None
    # Sagitta of an eighth of a right angle: 10 (1 - cos 5.6 degrees) = 0.048.
    assert len(found[0]) == len(points)
    assert len(found[2]) == len(triangles)
    assert strays(cylinder, *found).max() == pytest.approx(10 * (1 - np.cos(np.pi / 32)), rel=0.02)


def test_where_turning_is_not_enough_sides_are_halved() -> None:
    uv = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0], [0.5, 0.5]])
    triangles = np.array([[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]])

    def dome(at: Array) -> Array:
        x, y = 20 * at.T
        return np.stack((x, y, 0.3 * np.sin(np.pi * at[:, 0]) * np.sin(np.pi * at[:, 1])), axis=1)

    found = laid_along(dome, dome(uv), uv, triangles, 0.05)
    assert found is not None
    points, at, new = found
    assert strays(dome, points, at, new).max() <= 0.05
    assert areas(at, new).min() > 0
    assert areas(at, new).sum() == pytest.approx(1)
    # The border, which neighbours share, was not touched.
    on_border = (np.abs(at - 0.5) == 0.5).any(axis=1)
    assert on_border.sum() == 4


def test_what_a_mesh_holds() -> None:
    corners = np.array([[x, y, z] for x in (0, 2) for y in (0, 3) for z in (0, 4)], dtype=np.float32)
    faces = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    triangles = np.array([t for a, b, c, d in faces for t in ((a, b, c), (a, c, d))])
    box = Mesh(corners, triangles, 0.05)
    assert box.volume == pytest.approx(24)
    points = np.array([[1, 1, 1], [1.999, 2.999, 0.001], [-0.001, 1, 1], [1, 5, 1], [1, 1, -9]])
    assert points_inside(box, points).tolist() == [True, True, False, False, False]

"""The tightest curve of an outline against circles through three neighbouring points of it.

The circle through three points, R = abc / 4K, is textbook geometry; K comes from shapely's area.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from bodyshop.car.measures.shape import _tightest_of_cubic
from bodyshop.geometry.outlines import Cubic

POINTS = 20_001


def tightest(curve: Cubic) -> tuple[float, np.ndarray]:
    """The least radius of the circles that bend to the right of the way along it, and where."""
    p = np.asarray(curve.at(np.linspace(0.0, 1.0, POINTS)))
    # Points far enough apart that their circles are not lost in rounding.
    step = 6
    a, b, c = p[: -2 * step], p[step:-step], p[2 * step :]
    area = shapely.area(shapely.polygons(np.stack((a, b, c, a), axis=1)))
    sides = np.linalg.norm(b - a, axis=1) * np.linalg.norm(c - b, axis=1) * np.linalg.norm(a - c, axis=1)
    (ux, uy), (vx, vy) = (b - a).T, (c - b).T
    turn = ux * vy - uy * vx
    with np.errstate(divide="ignore"):
        radius = np.where(turn < 0.0, sides / (4.0 * np.maximum(area, 1e-300)), math.inf)
    least = int(np.argmin(radius))
    return float(radius[least]), b[least]


@pytest.mark.parametrize(
    "corners",
    [
        ((0, 0), (12, 9), (31, 14), (60, 3)),  # one bend, lopsided
        ((0, 0), (5, 22), (44, 30), (50, -4)),
        ((0, 0), (30, 18), (2, 25), (40, 20)),  # bends both ways
        ((10, 40), (20, 55), (70, 52), (73, 20)),
        ((0, 8), (45, -10), (15, 17), (75, 18)),
    ],
)
def test_the_tightest_place_of_a_bezier_curve(corners: tuple[tuple[float, float], ...]) -> None:
    curve = Cubic(*((float(x), float(y)) for x, y in corners))
    radius, place = tightest(curve)
    found = _tightest_of_cubic(curve)
    assert found is not None
    assert found[0] == pytest.approx(radius, rel=2e-3)
    assert np.asarray(found[1]) == pytest.approx(place, abs=0.2)


def test_a_curve_that_only_bulges_has_none() -> None:
    curve = Cubic((0.0, 0.0), (10.0, -20.0), (40.0, -20.0), (50.0, 0.0))
    assert tightest(curve)[0] == math.inf
    assert _tightest_of_cubic(curve) is None

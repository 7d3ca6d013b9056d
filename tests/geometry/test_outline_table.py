from __future__ import annotations

import numpy as np
import pytest

from bodyshop.geometry.outlines import Arc, Curve, Line
from bodyshop.geometry.outlines.curves import Cubic, CurveTable

CURVES: tuple[Curve, ...] = (
    Line((0.0, 0.0), (10.0, 3.0)),
    Arc((10.0, 13.0), 10.0, -0.5, 1.25, (0.0, 0.0), (0.0, 0.0)),
    Cubic((3.0, 1.0), (9.0, 4.0), (-2.0, 8.0), (5.0, 9.0)),
    Arc((2.0, 1.0), 4.0, 2.0, -2.5, (0.0, 0.0), (0.0, 0.0)),
    Cubic((0.0, 0.0), (0.0, 0.0), (4.0, 2.0), (6.0, 2.0)),
)


@pytest.mark.parametrize("pick", [(0, 1, 2, 3, 4), (0,), (1, 3), (2, 4), (0, 2)])
def test_points_and_ways_together_are_those_taken_apart(pick: tuple[int, ...]) -> None:
    table = CurveTable.of([CURVES[i] for i in pick])
    t = np.tile(np.linspace(0, 1, 11), len(pick))
    which = np.repeat(np.arange(len(pick)), 11)
    u, v, du, dv = table.at_and_way(which, t)
    assert np.array_equal((u, v), table.at(which, t))
    assert np.array_equal((du, dv), table.way(which, t))


def test_the_table_says_what_the_curves_say() -> None:
    table = CurveTable.of(CURVES)
    for number, curve in enumerate(CURVES):
        for share in (0.0, 0.3, 1.0):
            u, v, du, dv = (float(x[0]) for x in table.at_and_way(np.array([number]), np.array([share])))
            assert (u, v) == pytest.approx(tuple(curve.at(np.array([share]))[0]))
            assert (du, dv) == pytest.approx(curve.direction(share), abs=1e-5)


def test_no_curve_asked_for_is_no_answer() -> None:
    none = np.array([], dtype=np.int64)
    assert [x.size for x in CurveTable.of(CURVES).at_and_way(none, np.array([]))] == [0, 0, 0, 0]

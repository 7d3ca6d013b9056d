"""Labels in bands: the matching against scipy, and leaders and boxes against shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import scipy.optimize
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from bodyshop.geometry.paths import Rect
from bodyshop.output.figures.boundary import (
    GAP_MM,
    LeaderPoint,
    apart_mm,
    least_matching,
    seat_labels,
    seats_for,
    spaced,
)

_ROOM = Rect(0.0, 0.0, 186.0, 60.0)


def test_matching_costs_what_scipy_finds() -> None:
    # outside: scipy.optimize.linear_sum_assignment
    random = np.random.default_rng(7)
    for _ in range(200):
        rows = int(random.integers(1, 14))
        columns = rows + int(random.integers(0, 9))
        costs = random.random((rows, columns))
        if random.random() < 0.3:
            costs = np.round(4 * costs)  # many ties
        chosen = least_matching(costs.tolist())
        assert len(set(chosen)) == rows
        least = costs[scipy.optimize.linear_sum_assignment(costs)].sum()
        assert costs[range(rows), chosen].sum() == pytest.approx(least, abs=1e-9)


def test_matching_needs_a_column_for_each_row() -> None:
    assert least_matching([]) == []
    with pytest.raises(ValueError, match="3 rows cannot share 2 columns"):
        least_matching([[1.0, 2.0]] * 3)


@st.composite
def _tips(draw: st.DrawFn) -> list[LeaderPoint]:
    """Spots at least 1.3 mm apart, often crowded together, as the figures hand them over."""
    crowded = draw(st.booleans())
    x = st.floats(150, 160) if crowded else st.floats(4, 182)
    tips: list[LeaderPoint] = []
    for _ in range(draw(st.integers(1, 12))):
        at = (draw(x), draw(st.floats(6, 54)))
        if all(math.dist(at, tip.at) >= 1.3 for tip in tips):
            tips.append(
                LeaderPoint(
                    at, draw(st.sampled_from((0.0, 7.0, -7.0))), draw(st.sampled_from((None, 0.0, 1.57)))
                )
            )
    return tips


@given(_tips(), st.lists(st.floats(8, 27), min_size=12, max_size=12))
def test_leaders_never_cross_and_labels_never_touch(tips: list[LeaderPoint], widths: list[float]) -> None:
    seats = seat_labels(tips, [(width, 9.0) for width in widths[: len(tips)]], _ROOM)
    assume(seats is not None)  # so many wide labels that no band has room for them
    assert seats is not None
    leaders = [shapely.LineString([seat.port, seat.tip]) for seat in seats]
    boxes = [shapely.box(s.box.x, s.box.y, s.box.right, s.box.top) for s in seats]
    room = shapely.box(_ROOM.x, _ROOM.y, _ROOM.right, _ROOM.top)
    for k, seat in enumerate(seats):
        assert seat.tip == tips[k].at
        assert _ROOM.x - 1e-9 <= seat.box.x and seat.box.right <= _ROOM.right + 1e-9  # noqa: PT018
        # the port is on the box, the leader stays in the drawing, where there is no label
        assert boxes[k].distance(shapely.Point(seat.port)) < 1e-9
        assert room.buffer(1e-9).covers(leaders[k])
        assert boxes[k].intersection(room).area < 1e-6
        for other in range(k):
            assert leaders[k].distance(leaders[other]) > 0.3
            assert boxes[k].distance(boxes[other]) > GAP_MM - 1e-6


def test_a_crossing_would_be_seen() -> None:
    assert apart_mm(((0, 0), (10, 10)), ((0, 10), (10, 0))) == 0.0
    assert apart_mm(((0, 0), (10, 0)), ((5, 3), (5, 9))) == 3.0


def test_more_labels_than_seats_are_refused() -> None:
    tips = [LeaderPoint((10.0 * k + 3.0, 30.0)) for k in range(18)]
    assert seats_for(40.0, _ROOM) == 8
    assert seat_labels(tips, [(40.0, 9.0)] * 18, _ROOM) is None
    assert seat_labels(tips, [(6.0, 9.0)] * 18, _ROOM) is not None


@given(st.lists(st.tuples(st.floats(-50, 250), st.floats(4, 20)), min_size=1, max_size=7))
def test_spacing_is_the_nearest_there_is(wanted: list[tuple[float, float]]) -> None:
    # outside: scipy.optimize.minimize on the same squares, its constraints written out
    places, widths = np.array([place for place, _ in wanted]), np.array([width for _, width in wanted])
    found = np.array(spaced(places.tolist(), widths.tolist(), 0.0, 186.0))
    gaps = (widths[1:] + widths[:-1]) / 2 + GAP_MM
    least, most = widths[0] / 2, 186.0 - widths[-1] / 2
    assert np.all(np.diff(found) >= gaps - 1e-9)
    assert found[0] >= least - 1e-9
    assert found[-1] <= most + 1e-9
    start = least + np.concatenate(([0.0], np.cumsum(gaps)))
    best = scipy.optimize.minimize(
        lambda p: np.sum((p - places) ** 2) / 100,
        start,
        method="SLSQP",
        constraints=[
            {"type": "ineq", "fun": lambda p: np.diff(p) - gaps},
            {"type": "ineq", "fun": lambda p: p[0] - least},
            {"type": "ineq", "fun": lambda p: most - p[-1]},
        ],
    )
    assert np.sum((found - places) ** 2) / 100 <= best.fun + 1e-3

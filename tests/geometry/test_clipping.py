"""Paths cut by a window: what is kept lies inside, on the very curve, and nothing is lost."""

from __future__ import annotations

import math
from collections.abc import Sequence

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.geometry.affine import Point
from bodyshop.geometry.clipping import Window, stretches
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Segment

WINDOW = ((0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0))
COORDINATE = st.floats(-80, 180).map(lambda x: round(x, 3))
POINT = st.tuples(COORDINATE, COORDINATE)


def sampled(run: Sequence[Segment], steps: int = 30) -> list[Point]:
    """Points along a stretch, by the segments' own formulas."""
    points = [run[0].end]
    for segment in run[1:]:
        here = points[-1]
        for k in range(1, steps + 1):
            t, u = k / steps, 1 - k / steps
            if isinstance(segment, ArcTo):
                points.append(segment.at(segment.start_rad + t * segment.sweep_rad))
            elif isinstance(segment, CubicTo):
                corners = (here, segment.control_1, segment.control_2, segment.end)
                weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                points.append(
                    (
                        sum(w * p[0] for w, p in zip(weights, corners, strict=True)),
                        sum(w * p[1] for w, p in zip(weights, corners, strict=True)),
                    )
                )
            else:
                points.append((here[0] * u + segment.end[0] * t, here[1] * u + segment.end[1] * t))
    return points


def length(runs: Sequence[Sequence[Segment]]) -> float:
    return float(sum(shapely.LineString(sampled(run, 200)).length for run in runs))


def check(segments: Sequence[Segment]) -> None:
    window = Window(WINDOW)
    inside = window.cut(segments, closed=False)
    outside = window.cut(segments, closed=False, inside=False)
    room = shapely.Polygon(WINDOW)
    whole = shapely.LineString(sampled(segments, 800))
    for run in inside:
        points = shapely.points(sampled(run))
        assert shapely.distance(points, room).max() < 1e-6
        assert shapely.distance(points, whole).max() < 0.05
    core = room.buffer(-1e-3)
    shapely.prepare(core)
    for run in outside:
        assert shapely.distance(shapely.points(sampled(run)), whole).max() < 0.05
        middle = sampled(run)[1:-1]
        assert not shapely.contains(core, shapely.points(middle)).any()
    assert length(inside) + length(outside) == pytest.approx(length([segments]), rel=2e-3, abs=1e-3)


@settings(max_examples=25)
@given(POINT, POINT, POINT)
def test_lines(a: Point, b: Point, c: Point) -> None:
    check((MoveTo(a), LineTo(b), LineTo(c)))


@settings(max_examples=25)
@given(POINT, POINT, POINT, POINT)
def test_cubics(a: Point, b: Point, c: Point, d: Point) -> None:
    check((MoveTo(a), CubicTo(b, c, d)))


@settings(max_examples=25)
@given(POINT, st.floats(5, 120), st.floats(2, 80), st.floats(-7, 7), st.floats(0.2, 6.2), st.booleans())
def test_arcs_of_circles_and_ellipses(
    centre: Point, a: float, b: float, start: float, sweep: float, left: bool
) -> None:
    arc = ArcTo(centre, (a, 0.3 * a), (-0.2 * b, b), start, sweep if left else -sweep)
    check((MoveTo(arc.begin), arc))


def test_a_stretch_inside_comes_back_as_it_was() -> None:
    arc = ArcTo.circular((50.0, 30.0), 20.0, 0.0, 2 * math.pi)
    run: list[Segment] = [MoveTo(arc.begin), arc]
    assert Window(WINDOW).cut(run, closed=True) == [run]
    assert Window(WINDOW).cut(run, closed=True, inside=False) == []


def test_an_arc_cut_by_the_edge_stays_an_arc_of_the_same_circle() -> None:
    arc = ArcTo.circular((100.0, 30.0), 20.0, 0.0, 2 * math.pi)
    ((move, piece),) = Window(WINDOW).cut((MoveTo(arc.begin), arc), closed=True)
    assert isinstance(piece, ArcTo)
    assert (piece.centre, piece.radius_mm) == ((100.0, 30.0), 20.0)
    # Half of it: from straight up to straight down.
    assert piece.sweep_rad == pytest.approx(math.pi)
    assert move.end == pytest.approx((100.0, 50.0))
    assert piece.end == pytest.approx((100.0, 10.0))


def test_closed_stretches_are_closed_with_a_line() -> None:
    square = (MoveTo((1, 1)), LineTo((2, 1)), LineTo((2, 2)), MoveTo((5, 5)), LineTo((6, 5)), LineTo((5, 5)))
    first, second = stretches(square, closed=True)
    assert first[-1] == LineTo((1, 1))
    assert len(second) == 3, "it is back already"


def test_a_turned_window_cuts_along_its_slant() -> None:
    diamond = Window(((0, 10), (10, 0), (0, -10), (-10, 0)))
    ((move, end),) = diamond.cut((MoveTo((-20, 5)), LineTo((20, 5))), closed=False)
    assert sorted((move.end, end.end)) == [pytest.approx((-5, 5)), pytest.approx((5, 5))]

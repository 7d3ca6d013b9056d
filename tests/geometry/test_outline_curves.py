"""Lines, arcs and cubics, one at a time.

Outside sources: chord and sagitta of a circle, r - sqrt(r^2 - (c/2)^2) (any handbook of geometry); the
Bernstein form of a Bézier curve; Richardson's extrapolation of chord sums for lengths; finite differences.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bodyshop.geometry.outlines import (
    Arc,
    Array,
    Cubic,
    Curve,
    Line,
    Point,
    arc_through,
    arc_with_radius,
    dist,
)

place = st.floats(-200, 200, allow_nan=False).map(lambda v: round(v, 3))
point = st.tuples(place, place)


def at(curve: Curve, t: float) -> Point:
    u, v = curve.at(np.array([t]))[0]
    return (float(u), float(v))


@st.composite
def arcs(draw: st.DrawFn) -> Arc:
    radius = draw(st.floats(0.5, 300))
    start = draw(st.floats(-7, 7))
    sweep = draw(st.floats(0.05, 6.2)) * draw(st.sampled_from((-1, 1)))
    cu, cv = draw(point)

    def on(angle: float) -> Point:
        return (cu + radius * math.cos(angle), cv + radius * math.sin(angle))

    return Arc((cu, cv), radius, start, sweep, on(start), on(start + sweep))


@st.composite
def lines(draw: st.DrawFn) -> Line:
    a, b = draw(point), draw(point)
    assume(dist(a, b) > 0.1)
    return Line(a, b)


@st.composite
def cubics(draw: st.DrawFn) -> Cubic:
    a, b, c, d = (draw(point) for _ in range(4))
    assume(dist(a, b) > 1 and dist(c, d) > 1 and dist(a, d) > 1)
    return Cubic(a, b, c, d)


curves: st.SearchStrategy[Curve] = st.one_of(lines(), arcs(), cubics())


# ---------------------------------------------------------------- what each kind answers


@given(curves)
def test_a_curve_runs_from_its_first_point_to_its_last(curve: Curve) -> None:
    assert dist(at(curve, 0.0), curve.p0) < 1e-9
    assert dist(at(curve, 1.0), curve.p1) < 1e-9


@given(curves, st.floats(0.02, 0.98))
def test_direction_is_the_way_the_point_moves(curve: Curve, t: float) -> None:
    h = 1e-6
    p, q = at(curve, t - h), at(curve, t + h)
    moved = dist(p, q)
    assume(moved > 1e-6)  # near a standstill of a cubic differences mean nothing
    u, v = curve.direction(t)
    assert math.hypot(u, v) == pytest.approx(1.0, abs=1e-12)
    assert u * (q[0] - p[0]) + v * (q[1] - p[1]) == pytest.approx(moved, rel=1e-4)


@given(curves, st.floats(0.05, 0.95))
def test_curvature_is_how_fast_the_direction_turns(curve: Curve, t: float) -> None:
    h = 1e-5
    p, q = at(curve, t - h), at(curve, t + h)
    assume(dist(p, q) > 1e-4)
    (a, b), (c, d) = curve.direction(t - h), curve.direction(t + h)
    turned = math.atan2(a * d - b * c, a * c + b * d)
    assume(abs(turned) < 0.01)
    assert turned / dist(p, q) == pytest.approx(curve.curvature(t), rel=1e-3, abs=1e-6)


@given(curves, st.floats(0, 1))
def test_the_other_way_round_and_in_the_mirror(curve: Curve, t: float) -> None:
    assert dist(at(curve.reversed(), t), at(curve, 1 - t)) < 1e-8
    u, v = at(curve, t)
    assert dist(at(curve.mirrored(), t), (u, -v)) < 1e-9
    assert curve.reversed().p0 == curve.p1
    assert curve.mirrored().p1 == (curve.p1[0], -curve.p1[1])
    assert curve.reversed().curvature(t) == pytest.approx(-curve.curvature(1 - t), rel=1e-6, abs=1e-12)


@given(curves, st.floats(0, 0.9), st.floats(0.05, 1), st.floats(0, 1))
def test_a_part_lies_on_the_whole(curve: Curve, t0: float, share: float, s: float) -> None:
    t1 = t0 + share * (1 - t0)
    part = curve.part(t0, t1)
    assert dist(at(part, s), at(curve, t0 + s * (t1 - t0))) < 1e-7
    assert part.length <= curve.length * (1 + 1e-6) + 1e-9


def test_a_part_that_is_the_whole_keeps_its_ends_exactly() -> None:
    arc = arc_through((0.1, 0.2), (5.3, 3.1), (10.7, -0.4))
    assert arc is not None
    assert (arc.part(0, 1).p0, arc.part(0, 1).p1) == ((0.1, 0.2), (10.7, -0.4))
    line = Line((0.1, 0.3), (7.7, 9.9))
    assert line.part(0, 1) == line


@given(curves, st.sampled_from((0, 1)))
def test_between_turning_points_a_coordinate_only_grows_or_only_shrinks(curve: Curve, axis: int) -> None:
    turns = curve.turning_points(axis)
    assert all(0 < t < 1 for t in turns)
    ends = [0.0, *turns, 1.0]
    for a, b in pairwise(ends):
        w = curve.at(np.linspace(a, b, 60))[:, axis]
        steps = np.diff(w)
        slack = 1e-9 * (1 + abs(w).max())
        assert (steps >= -slack).all() or (steps <= slack).all()


@given(curves)
def test_length_is_that_of_very_many_short_chords(curve: Curve) -> None:
    def chords(n: int) -> float:
        return float(pieces(n).sum())

    def pieces(n: int) -> Array:
        steps = np.diff(curve.at(np.linspace(0, 1, n + 1)), axis=0)
        size: Array = np.hypot(steps[:, 0], steps[:, 1])
        return size

    # Gauss points lose digits where a cubic all but stops, or doubles back on itself.
    assume(pieces(200).min() > 0.1 * pieces(200).mean())
    # Chords of a smooth curve fall short by the square of their length, so two counts give the limit.
    limit = (4 * chords(4000) - chords(2000)) / 3
    assert curve.length == pytest.approx(limit, rel=1e-3)  # it only starts searches


@given(curves, st.sampled_from((1.0, 0.1, 0.01, 0.0005)))
def test_chords_stay_within_the_tolerance(curve: Curve, chord_mm: float) -> None:
    n = min(curve.steps(chord_mm), 4000)
    t = np.linspace(0, 1, n + 1)[:60]
    ends = curve.at(t)
    for share in (0.25, 0.5, 0.75):
        inside = curve.at(t[:-1] + share * np.diff(t))
        along = np.diff(ends, axis=0)
        size = np.hypot(along[:, 0], along[:, 1])
        assume((size > 0).all())
        off = inside - ends[:-1]
        stray = np.abs(along[:, 0] * off[:, 1] - along[:, 1] * off[:, 0]) / size
        assert stray.max() <= chord_mm * (1 + 1e-6) + 1e-12


def test_steps_are_not_wasted_on_a_circle() -> None:
    # Sagitta of a chord over angle a: r (1 - cos(a / 2)); radius 50, 0.01 mm: a = 2 acos(1 - 0.0002).
    arc = Arc((0, 0), 50, 0, math.pi, (50, 0), (-50, 0))
    assert arc.steps(0.01) == math.ceil(math.pi / (2 * math.acos(1 - 0.01 / 50)))
    assert Line((0, 0), (300, 0)).steps(1e-6) == 1


# ---------------------------------------------------------------- arcs from points


@given(point, point, point)
def test_an_arc_through_three_points_passes_them_in_order(p: Point, q: Point, r: Point) -> None:
    a, b, c = dist(p, q), dist(q, r), dist(p, r)
    assume(min(a, b, c) > 0.5)
    twice = abs((q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]))
    assume(twice > 0.01 * c)
    arc = arc_through(p, q, r)
    assert arc is not None
    # Circumradius of a triangle: abc / (4 area).
    assert arc.radius == pytest.approx(a * b * c / (2 * twice), rel=1e-6)
    assert (arc.p0, arc.p1) == (p, r)
    angle = math.atan2(q[1] - arc.centre[1], q[0] - arc.centre[0])
    share = ((angle - arc.start) / math.copysign(2 * math.pi, arc.sweep)) % 1 * 2 * math.pi / abs(arc.sweep)
    assert 0 < share < 1
    assert dist(at(arc, share), q) < 1e-6 * (1 + arc.radius)


@pytest.mark.parametrize(
    ("through", "sweep_over_pi", "centre"),
    [((0.0, 1.0), -1.0, (0.0, 0.0)), ((0.0, -1.0), 1.0, (0.0, 0.0)), ((0.0, 3.0), None, None)],
)
def test_an_arc_through_by_hand(through: Point, sweep_over_pi: float | None, centre: Point | None) -> None:
    arc = arc_through((-1.0, 0.0), through, (1.0, 0.0))
    assert arc is not None
    if centre is None:
        # (-1, 0), (0, 3), (1, 0): centre on u = 0 with 1 + v^2 = (3 - v)^2, v = 4/3; the long way.
        assert arc.centre == pytest.approx((0.0, 4 / 3))
        assert arc.radius == pytest.approx(5 / 3)
        assert abs(arc.sweep) > math.pi
        assert arc.sweep < 0
    else:
        assert arc.centre == pytest.approx(centre, abs=1e-12)
        assert arc.sweep == pytest.approx((sweep_over_pi or 0) * math.pi)


@pytest.mark.parametrize("through", [(5.0, 0.0), (15.0, 0.0), (-3.0, 0.0), (10.0, 0.0), (0.0, 0.0)])
def test_three_points_on_a_line_make_no_arc(through: Point) -> None:
    assert arc_through((0.0, 0.0), through, (10.0, 0.0)) is None


@given(point, point, st.floats(1.0001, 20), st.booleans(), st.booleans())
def test_an_arc_of_a_radius(p: Point, q: Point, times: float, left: bool, long: bool) -> None:
    chord = dist(p, q)
    assume(chord > 0.5)
    radius = times * chord / 2
    arc = arc_with_radius(p, q, radius, left=left, long=long)
    assert arc is not None
    assert arc.radius == pytest.approx(radius, rel=1e-9)
    assert (arc.sweep > 0) == left
    assert (abs(arc.sweep) > math.pi) == long
    # A chord spans 2 r sin(a / 2).
    assert 2 * radius * math.sin(abs(arc.sweep) / 2) == pytest.approx(chord, rel=1e-9)
    assert dist(at(arc, 1.0), q) < 1e-9 * (1 + radius)


def test_a_radius_that_just_spans_is_half_a_turn_and_a_smaller_one_does_not() -> None:
    arc = arc_with_radius((0, 0), (0, 20), 10.0, left=True)
    assert arc is not None
    assert arc.sweep == pytest.approx(math.pi)
    assert arc.centre == pytest.approx((0, 10))
    assert arc_with_radius((0, 0), (0, 20), 9.999, left=True) is None
    assert arc_with_radius((3, 3), (3, 3), 5.0, left=True) is None


# ---------------------------------------------------------------- cubics


@given(cubics(), st.floats(0, 1))
def test_a_cubic_is_its_bernstein_form(curve: Cubic, t: float) -> None:
    s = 1 - t
    weights = (s**3, 3 * s * s * t, 3 * s * t * t, t**3)
    for axis in (0, 1):
        points = (curve.p0[axis], curve.c1[axis], curve.c2[axis], curve.p1[axis])
        expected = sum(w * p for w, p in zip(weights, points, strict=True))
        assert at(curve, t)[axis] == pytest.approx(expected, abs=1e-9)


def test_the_direction_at_a_doubled_end_point_is_the_limit() -> None:
    curve = Cubic((0, 0), (0, 0), (3, 4), (10, 4))
    assert curve.direction(0.0) == pytest.approx((0.6, 0.8), abs=1e-3)
    back = Cubic((0, 0), (3, 4), (10, 4), (10, 4))
    assert back.direction(1.0) == pytest.approx((1.0, 0.0), abs=1e-3)


def test_a_cubic_that_only_touches_upright_does_not_turn_there() -> None:
    # u(t) = 30t - 60t^2 + 40t^3, u' = 30 (1 - 2t)^2: upright at the middle, but it never turns back.
    curve = Cubic((0, 0), (10, 0), (0, 20), (10, 20))
    assert curve.turning_points(0) == ()

"""Chains through written points: edges of every kind, smooth runs, mirrored halves, what is refused.

Outside sources: areas of a rectangle, a half disc and a lens in closed form; the centripetal spline's freedom
from cusps and loops is Yuksel, Schaefer and Keyser, CAD 43 (2011), here seen on random runs.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bodyshop.geometry.outlines import (
    Arc,
    Bezier,
    Chain,
    ChainFault,
    Cubic,
    Line,
    Point,
    Radius,
    Ring,
    Smooth,
    Straight,
    Through,
    Vertex,
    build_chain,
    dist,
)

SMOOTH = Smooth()


def chain_of(*vertices: Vertex, mirror: bool = False) -> Chain:
    chain, faults = build_chain(vertices, mirror=mirror)
    assert faults == []
    assert chain is not None
    return chain


def faults_of(*vertices: Vertex, mirror: bool = False) -> list[ChainFault]:
    chain, faults = build_chain(vertices, mirror=mirror)
    assert chain is None
    return faults


def ring_of(*vertices: Vertex, mirror: bool = False) -> Ring:
    chain = chain_of(*vertices, mirror=mirror)
    return Ring(chain.curves, chain.owners)


def assert_closed(chain: Chain) -> None:
    for before, after in zip(chain.curves, (*chain.curves[1:], chain.curves[0]), strict=True):
        assert before.p1 == after.p0
        assert dist(tuple(map(float, before.at(np.array([1.0]))[0])), before.p1) < 1e-9  # type: ignore[arg-type]


def turn(a: Point, b: Point) -> float:
    return math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


# ---------------------------------------------------------------- edges


def test_each_edge_arrives_at_the_point_it_is_written_with() -> None:
    chain = chain_of(
        Vertex((0, 0)),
        Vertex((40, 0)),
        Vertex((50, 10), Radius(10)),
        Vertex((50, 20), Through((52, 15))),
        Vertex((0, 20), Bezier((40, 30), (10, 25))),
    )
    assert [type(c) for c in chain.curves] == [Line, Line, Arc, Arc, Cubic]
    assert chain.owners == (0, 1, 2, 3, 4)
    assert [c.p1 for c in chain.curves] == [(0, 0), (40, 0), (50, 10), (50, 20), (0, 20)]
    assert chain.curves[0].p0 == (0.0, 20.0)  # the first point's edge comes from the last point
    assert_closed(chain)


@pytest.mark.parametrize("clockwise", [False, True])
@pytest.mark.parametrize("hollow", [False, True])
def test_an_arc_of_a_radius_bulges_out_of_the_wood_whichever_way_round_it_is_written(
    clockwise: bool, hollow: bool
) -> None:
    # A 40 x 20 rectangle whose right side is a half circle of radius 10: plus or minus pi 100 / 2.
    corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 20.0), (0.0, 20.0)]
    if clockwise:
        corners = [corners[0], *corners[:0:-1]]
    vertices = [Vertex(c) for c in corners]
    arrives = next(i for i in range(4) if corners[i][0] == 40 and corners[i - 1][0] == 40)
    vertices[arrives] = Vertex(corners[arrives], Radius(10, hollow=hollow))
    area = abs(ring_of(*vertices).area)
    assert area == pytest.approx(800 + (-1 if hollow else 1) * math.pi * 50, rel=1e-12)


def test_a_long_arc_is_the_rest_of_the_circle() -> None:
    # Chord 10 in a circle of radius 13: the short segment and the long one make the whole disc.
    def area(long: bool) -> float:
        return ring_of(
            Vertex((0, 0)), Vertex((30, 0)), Vertex((30, 10), Radius(13, long=long)), Vertex((0, 10))
        ).area

    assert area(True) - 300 + area(False) - 300 == pytest.approx(math.pi * 169, rel=1e-12)
    assert area(True) > area(False)


def test_the_last_edge_may_be_a_curve_too() -> None:
    ring = ring_of(Vertex((0, 0), Radius(10)), Vertex((30, 0)), Vertex((30, 20)), Vertex((0, 20)))
    assert ring.area == pytest.approx(600 + math.pi * 50, rel=1e-12)


# ---------------------------------------------------------------- smooth runs


@st.composite
def smooth_runs(draw: st.DrawFn) -> list[Point]:
    """Points that wander, any way they like, no two neighbours close."""
    points = [(0.0, 0.0)]
    for _ in range(draw(st.integers(2, 6))):
        u, v = points[-1]
        way, far = draw(st.floats(0, 2 * math.pi)), draw(st.floats(1, 60))
        points.append((u + far * math.cos(way), v + far * math.sin(way)))
    return points


@given(smooth_runs())
def test_a_smooth_run_passes_its_points_without_a_corner(points: list[Point]) -> None:
    corner = (points[0][0] + 500, points[0][1] - 700)
    chain = chain_of(Vertex(points[0]), *(Vertex(p, SMOOTH) for p in points[1:]), Vertex(corner, Straight()))
    run = chain.curves[1 : len(points)]
    assert [c.p1 for c in run] == points[1:]
    assert all(isinstance(c, Cubic) for c in run)
    for a, b in pairwise(run):
        assert abs(turn(a.direction(1.0), b.direction(0.0))) < 1e-6


@given(smooth_runs())
def test_the_speed_of_a_smooth_run_is_continuous_in_its_knots(points: list[Point]) -> None:
    # C1 in the centripetal parameter: handle length over the square root of the chord is the same on
    # both sides of a knot.
    chain = chain_of(Vertex(points[0]), *(Vertex(p, SMOOTH) for p in points[1:]), Vertex((999.0, -999.0)))
    run = [c for c in chain.curves[1 : len(points)] if isinstance(c, Cubic)]
    for a, b in pairwise(run):
        arrives = dist(a.c2, a.p1) / math.sqrt(dist(a.p0, a.p1))
        leaves = dist(b.p0, b.c1) / math.sqrt(dist(b.p0, b.p1))
        assert arrives == pytest.approx(leaves, rel=1e-9, abs=1e-9)


@given(smooth_runs())
def test_inside_a_smooth_run_no_stretch_has_a_cusp_or_a_loop(points: list[Point]) -> None:
    chain = chain_of(Vertex(points[0]), *(Vertex(p, SMOOTH) for p in points[1:]), Vertex((999.0, -999.0)))
    run = [c for c in chain.curves[2 : len(points) - 1] if isinstance(c, Cubic)]
    for curve in run:  # the two end stretches follow a parabola instead
        assert shapely.LineString(curve.at(np.linspace(0, 1, 200))).is_simple
        t = np.linspace(0.001, 0.999, 300)
        (_, a1, a2, a3), (_, b1, b2, b3) = curve.power()
        speed = np.hypot((3 * a3 * t + 2 * a2) * t + a1, (3 * b3 * t + 2 * b2) * t + b1)
        assert speed.min() > 0


def test_smooth_points_on_a_line_stay_on_it() -> None:
    chain = chain_of(
        Vertex((0, 0)),
        Vertex((10, 5), SMOOTH),
        Vertex((30, 15), SMOOTH),
        Vertex((80, 40), SMOOTH),
        Vertex((0, 60)),
    )
    for curve in chain.curves[1:4]:
        u, v = curve.at(np.linspace(0, 1, 50)).T
        assert np.abs(v - u / 2).max() < 1e-9


def test_a_smooth_run_of_one_stretch_is_straight() -> None:
    chain = chain_of(Vertex((0, 0)), Vertex((30, 0), SMOOTH), Vertex((30, 20)))
    assert np.abs(chain.curves[1].at(np.linspace(0, 1, 20))[:, 1]).max() < 1e-12


def test_tangent_ends_follow_the_neighbouring_lines() -> None:
    chain = chain_of(
        Vertex((0, 0)),
        Vertex((30, 0), tangent=True),
        Vertex((50, 10), SMOOTH),
        Vertex((60, 30), SMOOTH, tangent=True),
        Vertex((60, 50)),
        Vertex((0, 50)),
    )
    assert chain.curves[2].direction(0.0) == pytest.approx((1, 0), abs=1e-9)
    assert chain.curves[3].direction(1.0) == pytest.approx((0, 1), abs=1e-9)


def test_tangent_ends_follow_a_neighbouring_arc() -> None:
    chain = chain_of(
        Vertex((0, 0)),
        Vertex((20, 0)),
        Vertex((30, 10), Radius(10), tangent=True),
        Vertex((25, 30), SMOOTH),
        Vertex((0, 40), SMOOTH),
    )
    assert abs(turn(chain.curves[2].direction(1.0), chain.curves[3].direction(0.0))) < 1e-9


def test_without_tangent_a_run_leaves_as_its_points_lead() -> None:
    chain = chain_of(
        Vertex((0, 0)), Vertex((30, 0)), Vertex((50, 10), SMOOTH), Vertex((60, 30), SMOOTH), Vertex((0, 50))
    )
    assert abs(turn(chain.curves[1].direction(1.0), chain.curves[2].direction(0.0))) > 0.1


def test_an_outline_that_is_all_smooth_closes_smoothly() -> None:
    # Twelve points on a circle of radius 50.
    angles = [2 * math.pi * k / 12 for k in range(12)]
    points = [(50 * math.cos(a), 50 * math.sin(a)) for a in angles]
    chain = chain_of(*(Vertex(p, SMOOTH) for p in points))
    assert_closed(chain)
    assert [c.p1 for c in chain.curves] == points
    for a, b in zip(chain.curves, (*chain.curves[1:], chain.curves[0]), strict=True):
        assert abs(turn(a.direction(1.0), b.direction(0.0))) < 1e-9
    spots = np.concatenate([c.at(np.linspace(0, 1, 50)) for c in chain.curves])
    # Handles are a sixth of the chord over two steps, 2 R sin 30 / 6; half way along a stretch that is
    # R (cos 15 + sin 30 sin 15 / 4) from the centre, 0.09 mm inside the circle. Even counts miss it a little.
    lowest = 50 * (math.cos(math.pi / 12) + math.sin(math.pi / 6) * math.sin(math.pi / 12) / 4)
    assert np.hypot(*spots.T).min() == pytest.approx(lowest, abs=1e-4)
    assert np.hypot(*spots.T).max() == pytest.approx(50, abs=1e-9)


def test_a_smooth_run_across_the_first_point_is_one_run() -> None:
    # The run starts at point 2 and goes on over point 0 to point 1, which makes no corner at 0.
    chain = chain_of(
        Vertex((0, 10), SMOOTH),
        Vertex((20, 0), SMOOTH),
        Vertex((60, 0)),
        Vertex((60, 40)),
        Vertex((10, 30), SMOOTH),
    )
    for i in (0, 1):
        assert abs(turn(chain.curves[i - 1].direction(1.0), chain.curves[i].direction(0.0))) < 1e-9
    assert isinstance(chain.curves[2], Line)
    assert isinstance(chain.curves[3], Line)


# ---------------------------------------------------------------- mirrored halves


def test_a_mirrored_half_makes_both_sides() -> None:
    chain = chain_of(Vertex((0, 5)), Vertex((30, 10)), Vertex((100, 10)), mirror=True)
    assert_closed(chain)
    ring = Ring(chain.curves, chain.owners)
    # Trapezium 10 to 20 wide over 30, then 70 x 20.
    assert abs(ring.area) == pytest.approx(30 * 15 + 70 * 20)
    assert chain.owners == (1, 2, 2, 2, 1, 0)


def test_a_mirrored_half_that_starts_and_ends_on_the_centre_line_has_no_end_lines() -> None:
    chain = chain_of(Vertex((0, 0)), Vertex((50, 20)), Vertex((100, 0)), mirror=True)
    assert len(chain.curves) == 4
    assert abs(Ring(chain.curves, chain.owners).area) == pytest.approx(2000)
    assert_closed(chain)


@given(st.floats(0.5, 9.5), st.floats(0, 4))
def test_the_two_sides_are_mirror_images(nose: float, rounding: float) -> None:
    chain = chain_of(
        Vertex((0, nose)),
        Vertex((30, 14), Through((12, 12))),
        Vertex((60, 9), SMOOTH),
        Vertex((90, 12), SMOOTH),
        Vertex((120, 12), round_mm=rounding),
        mirror=True,
    )
    assert_closed(chain)
    shape = shapely.Polygon(Ring(chain.curves, chain.owners).flattened(0.001)[0])
    other = shapely.affinity.scale(shape, 1, -1, origin=(0, 0))
    assert shape.symmetric_difference(other).area < 1e-6


def test_a_rounded_corner_on_the_centre_line_is_rounded_once() -> None:
    # A point of 90 degrees, rounded: the tip loses r^2 (tan(45) - pi/4) = r^2 (1 - pi / 4).
    chain = chain_of(Vertex((0, 0), round_mm=5), Vertex((20, 20)), Vertex((100, 20)), mirror=True)
    area = abs(Ring(chain.curves, chain.owners).area)
    assert area == pytest.approx(400 + 80 * 40 - 25 * (1 - math.pi / 4), rel=1e-12)
    assert sum(isinstance(c, Arc) for c in chain.curves) == 1


def test_rounding_an_end_of_a_mirrored_half_rounds_both_corners() -> None:
    chain = chain_of(Vertex((0, 10), round_mm=4), Vertex((100, 10), round_mm=3), mirror=True)
    area = abs(Ring(chain.curves, chain.owners).area)
    # A square corner of radius r loses r^2 (1 - pi / 4).
    assert area == pytest.approx(2000 - 2 * (16 + 9) * (1 - math.pi / 4), rel=1e-12)


# ---------------------------------------------------------------- faults


def test_too_few_points() -> None:
    assert [f.code for f in faults_of(Vertex((0, 0)), Vertex((10, 0)))] == ["too-few-points"]
    assert [f.code for f in faults_of(Vertex((0, 0)), mirror=True)] == ["too-few-points"]
    chain_of(Vertex((0, 5)), Vertex((10, 5)), mirror=True)


def test_points_that_repeat_are_named_one_by_one() -> None:
    faults = faults_of(
        Vertex((0, 0)),
        Vertex((10, 0)),
        Vertex((10, 0)),
        Vertex((10, 10)),
        Vertex((10, 10 + 1e-9)),
        Vertex((0, 0)),
    )
    assert [(f.code, f.vertex, f.field) for f in faults] == [
        ("zero-length-edge", 5, "at"),
        ("zero-length-edge", 2, "at"),
        ("zero-length-edge", 4, "at"),
    ]
    assert "last point repeats the first" in faults[0].message


def test_a_mirrored_half_may_end_where_it_began_in_no_other_way() -> None:
    chain_of(Vertex((0, 5)), Vertex((60, 9)), Vertex((0.5, 0)), mirror=True)  # odd, but a closed outline


def test_arcs_that_cannot_be_are_all_told_with_what_would_do() -> None:
    faults = faults_of(
        Vertex((0, 0)),
        Vertex((40, 0), Radius(19.9)),
        Vertex((40, 20), Through((40, 10))),
        Vertex((0, 20), Radius(20)),
    )
    assert [(f.code, f.vertex, f.field) for f in faults] == [
        ("arc-radius", 1, "radius"),
        ("arc-straight", 2, "through"),
    ]
    assert faults[0].expected == "a radius of at least 20 mm"


def test_the_first_point_of_a_half_has_no_edge() -> None:
    faults = faults_of(Vertex((0, 5), Radius(10)), Vertex((30, 10)), mirror=True)
    assert [(f.code, f.vertex) for f in faults] == [("first-edge", 0)]


@settings(max_examples=100)
@given(
    st.lists(st.tuples(st.integers(0, 3), st.integers(0, 3)), min_size=0, max_size=6),
    st.lists(
        st.sampled_from([Straight(), SMOOTH, Radius(1.0), Radius(2.5, True), Through((1.5, 1.5))]),
        min_size=6,
        max_size=6,
    ),
    st.lists(st.sampled_from([0.0, 0.0, 0.3, 2.0]), min_size=6, max_size=6),
    st.booleans(),
)
def test_any_points_give_a_closed_chain_or_faults_never_both_nor_an_exception(
    spots: list[tuple[int, int]], edges: list, rounds: list[float], mirror: bool
) -> None:
    if mirror and not spots:
        spots = [(0, 1)]
    vertices = [
        Vertex((float(u), float(v)), edge, round_mm)
        for (u, v), edge, round_mm in zip(spots, edges, rounds, strict=False)
    ]
    chain, faults = build_chain(vertices, mirror=mirror)
    assert (chain is None) == bool(faults)
    for fault in faults:
        assert 0 <= fault.vertex < max(len(vertices), 1)
        assert fault.message
    if chain is not None:
        assume(chain.curves)
        assert_closed(chain)
        assert all(0 <= owner < len(vertices) for owner in chain.owners)
        assert len(chain.owners) == len(chain.curves)

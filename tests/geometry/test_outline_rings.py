"""Rings and outlines: exact areas, bounds, reach, turning, flattening.

Outside sources: areas of ellipse-like Bézier lobes, discs and segments in closed form; shapely's area of the
flattened ring, which can differ by no more than the chord error times the length of the curves.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bodyshop.geometry.outlines import (
    Arc,
    Bezier,
    Cubic,
    Line,
    Outline,
    Point,
    Radius,
    Ring,
    Smooth,
    Straight,
    Through,
    Vertex,
    build_chain,
)


def ring_of(*vertices: Vertex, mirror: bool = False) -> Ring:
    chain, faults = build_chain(vertices, mirror=mirror)
    assert faults == []
    assert chain is not None
    return Ring(chain.curves, chain.owners)


def disc(centre: Point, radius: float) -> Ring:
    u, v = centre
    return ring_of(
        Vertex((u + radius, v), Radius(radius)),
        Vertex((u, v + radius), Radius(radius)),
        Vertex((u - radius, v), Radius(radius)),
        Vertex((u, v - radius), Radius(radius)),
    )


@st.composite
def wheels(draw: st.DrawFn) -> list[Vertex]:
    """Star-shaped outlines with edges of every kind."""
    count = draw(st.integers(3, 8))
    kinds = st.sampled_from([Straight(), Smooth(), Radius(80), Radius(95, hollow=True), "bezier", "through"])
    vertices = []
    places = []
    for k in range(count):
        far, angle = draw(st.floats(20, 60)), 2 * math.pi * (k + draw(st.floats(0.1, 0.9))) / count
        places.append((far * math.cos(angle), far * math.sin(angle)))
    for k, point in enumerate(places):
        kind = draw(kinds)
        a = places[k - 1]
        out = draw(st.floats(0.85, 1.3))
        if kind == "bezier":
            h1, h2 = (tuple(out * (a[i] + s * (point[i] - a[i])) for i in (0, 1)) for s in (0.3, 0.7))
            edge = Bezier(h1, h2)  # type: ignore[arg-type]
        elif kind == "through":
            edge = Through((out * (a[0] + point[0]) / 2, out * (a[1] + point[1]) / 2))  # type: ignore[assignment]
        else:
            edge = kind  # type: ignore[assignment]
        vertices.append(Vertex(point, edge, draw(st.sampled_from((0.0, 0.0, 1.0)))))
    return vertices


def ring_or_none(vertices: list[Vertex]) -> Ring | None:
    chain, _ = build_chain(vertices)
    return None if chain is None else Ring(chain.curves, chain.owners)


# ---------------------------------------------------------------- areas


def test_areas_in_closed_form() -> None:
    assert disc((7, -3), 12).area == pytest.approx(math.pi * 144, rel=1e-14)
    square = ring_of(Vertex((0, 0)), Vertex((10, 0)), Vertex((10, 10)), Vertex((0, 10)))
    assert square.area == 100
    assert ring_of(Vertex((0, 0)), Vertex((0, 10)), Vertex((10, 10)), Vertex((10, 0))).area == -100
    rounded = ring_of(*(Vertex(p, round_mm=3) for p in ((0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (0.0, 10.0))))
    assert rounded.area == pytest.approx(200 - (4 - math.pi) * 9, rel=1e-14)


def test_the_area_under_a_bezier_arch_in_closed_form() -> None:
    # Handles at even steps make u = 30 t; v = 3 h t (1 - t), whose integral is 30 x 3 h / 6 = 15 h.
    arch = ring_of(Vertex((30, 0)), Vertex((0, 0), Bezier((20, 12), (10, 12))), Vertex((15, -40)))
    assert arch.area == pytest.approx(15 * 12 + 30 * 40 / 2, rel=1e-14)


def test_a_cubic_that_is_a_parabola() -> None:
    # v = u (40 - u) / 20 raised to a cubic: Archimedes, two thirds of base times height, 2/3 x 40 x 20.
    q = (20.0, 40.0)  # the handle of the quadratic: twice the height
    c1 = (2 / 3 * q[0] + 1 / 3 * 40, 2 / 3 * q[1])
    c2 = (2 / 3 * q[0], 2 / 3 * q[1])
    ring = Ring((Cubic((40, 0), c1, c2, (0, 0)), Line((0, 0), (40, 0))), (0, 1))
    assert ring.area == pytest.approx(2 / 3 * 40 * 20, rel=1e-14)


@pytest.mark.parametrize("radius", [20.0, 1e3, 1e5, 1e7])
def test_an_arc_that_is_all_but_straight_keeps_its_digits(radius: float) -> None:
    # A circular segment over a chord c: r^2 (a - sin a) / 2, or c^3 / (12 r) where a is small.
    ring = ring_of(Vertex((0, 0)), Vertex((30, 0)), Vertex((30, 20), Radius(radius)), Vertex((0, 20)))
    a = 2 * math.asin(10 / radius)
    small = 20**3 / (12 * radius)
    segment = small if a < 1e-3 else radius**2 * (a - math.sin(a)) / 2
    assert ring.area - 600 == pytest.approx(segment, rel=1e-6, abs=1e-9)


@settings(max_examples=50)
@given(wheels())
def test_areas_agree_with_the_flattened_ring_within_the_chord_bound(vertices: list[Vertex]) -> None:
    ring = ring_or_none(vertices)
    assume(ring is not None)
    assert ring is not None
    for chord in (0.1, 0.001):
        points = ring.flattened(chord)[0]
        flat = 0.5 * float(
            np.sum(points[:, 0] * np.roll(points[:, 1], -1) - points[:, 1] * np.roll(points[:, 0], -1))
        )
        around = sum(c.length for c in ring.curves)
        assert abs(ring.area - flat) <= chord * around


@settings(max_examples=50)
@given(wheels())
def test_turning_and_mirroring_keep_the_size_and_the_wood_on_the_left(vertices: list[Vertex]) -> None:
    ring = ring_or_none(vertices)
    assume(ring is not None)
    assert ring is not None
    assume(abs(ring.area) > 1)
    left, right = ring.turned(left=True), ring.turned(left=False)
    assert left.area == pytest.approx(abs(ring.area), rel=1e-12)
    assert right.area == pytest.approx(-abs(ring.area), rel=1e-12)
    assert left.mirrored().area == pytest.approx(left.area, rel=1e-12)
    assert right.mirrored().area == pytest.approx(right.area, rel=1e-12)
    assert sorted(left.owners) == sorted(right.owners)
    for r in (left, right, left.mirrored()):
        for a, b in zip(r.curves, (*r.curves[1:], r.curves[0]), strict=True):
            assert a.p1 == b.p0


def test_turning_keeps_each_curve_with_its_owner() -> None:
    ring = ring_of(Vertex((0, 0)), Vertex((0, 10)), Vertex((10, 10)), Vertex((10, 0)))
    turned = ring.turned(left=True)
    named = dict(zip(turned.owners, turned.curves, strict=True))
    for owner, curve in zip(ring.owners, ring.curves, strict=True):
        assert {named[owner].p0, named[owner].p1} == {curve.p0, curve.p1}


def test_windows_are_taken_off_the_wood() -> None:
    outer = ring_of(Vertex((0, 0)), Vertex((100, 0)), Vertex((100, 40)), Vertex((0, 40)))
    outline = Outline(outer, (disc((30, 20), 8).turned(left=False), disc((60, 20), 5).turned(left=False)))
    assert outline.area == pytest.approx(4000 - math.pi * (64 + 25))
    assert outline.polygon(0.0005).area == pytest.approx(outline.area, abs=0.0005 * 2 * math.pi * 13)
    assert len(outline.rings) == 3


# ---------------------------------------------------------------- bounds


@settings(max_examples=50)
@given(wheels())
def test_bounds_hold_every_point_and_are_reached(vertices: list[Vertex]) -> None:
    ring = ring_or_none(vertices)
    assume(ring is not None)
    assert ring is not None
    outline = Outline(ring)
    points = np.concatenate([c.at(np.linspace(0, 1, 400)) for c in ring.curves])
    u0, v0, u1, v1 = outline.bounds
    low, high = points.min(axis=0), points.max(axis=0)
    assert (low >= (u0 - 1e-9, v0 - 1e-9)).all()
    assert (high <= (u1 + 1e-9, v1 + 1e-9)).all()
    assert np.abs(low - (u0, v0)).max() < 0.01
    assert np.abs(high - (u1, v1)).max() < 0.01


def test_bounds_by_hand() -> None:
    assert Outline(disc((5, 6), 10)).bounds == pytest.approx((-5, -4, 15, 16), abs=1e-12)
    # v of the arch with handles at height 12: 3/4 of it.
    arch = ring_of(Vertex((30, 0)), Vertex((0, 0), Bezier((20, 12), (10, 12))), Vertex((15, -40)))
    assert Outline(arch).bounds == pytest.approx((0, -40, 30, 9), abs=1e-12)


def test_turns_over_a_stretch_by_hand() -> None:
    # Over 0 to 40 a roof from 10 to 30 high with its ridge at 25; bottom at 0.
    roof = Outline(
        ring_of(Vertex((0, 0)), Vertex((40, 0)), Vertex((40, 10)), Vertex((25, 30)), Vertex((0, 10)))
    )
    assert sorted(set(roof.turns_between(0, 40))) == pytest.approx([0, 10, 30])
    assert roof.turns_between(5, 10) == []
    # The top of a disc turns at its middle; between 6 and 8 nothing turns.
    assert Outline(disc((0, 0), 10)).turns_between(6, 8) == []
    assert sorted(set(Outline(disc((0, 0), 10)).turns_between(-2, 8))) == pytest.approx([-10, 10], abs=1e-9)


# ---------------------------------------------------------------- flattening


@settings(max_examples=50)
@given(wheels(), st.sampled_from((0.2, 0.02, 0.0005)))
def test_flattened_points_lie_on_the_curves_and_chords_near_them(
    vertices: list[Vertex], chord: float
) -> None:
    ring = ring_or_none(vertices)
    assume(ring is not None)
    assert ring is not None
    points, index = ring.flattened(chord)
    assert len(points) == len(index)
    assert list(np.unique(index)) == list(range(len(ring.curves)))
    flat = shapely.LinearRing(points)
    fine = np.concatenate([c.at(np.linspace(0, 1, 60)) for c in ring.curves])
    assert shapely.distance(flat, shapely.points(fine)).max() <= chord * (1 + 1e-9) + 1e-9
    for i, curve in enumerate(ring.curves):
        assert tuple(points[index == i][0]) == curve.p0


def test_flattening_is_worked_out_once_and_not_shared_between_tolerances() -> None:
    ring = disc((0, 0), 10)
    assert ring.flattened(0.1)[0] is ring.flattened(0.1)[0]
    assert len(ring.flattened(0.001)[0]) > len(ring.flattened(0.1)[0])


def test_windows_stay_on_their_side_of_the_view() -> None:
    outer = ring_of(Vertex((0, 0)), Vertex((100, 0)), Vertex((100, 40)), Vertex((0, 40)))
    outline = Outline(outer, (disc((30, 20), 8).turned(left=False),))
    assert outline.outer_line.is_ccw
    assert not outline.window_lines[0].is_ccw
    assert outline.outer_line.contains(shapely.Point(50, 0))
    assert isinstance(outline.outer.curves[0], Line)
    assert all(isinstance(c, Arc) for c in outline.windows[0].curves)

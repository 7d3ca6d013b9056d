"""Sections at stations, undersides, widths, and what the quadrature stands on."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.car.body import Sections
from bodyshop.car.body.section import grid_rule
from bodyshop.geometry.outlines import Bezier, Outline, Radius, Smooth, Vertex
from tests.bodies import body, box, disc, half, outline, rectangle


def test_the_rule_is_exact_for_polynomials_and_square_roots() -> None:
    share, weight = grid_rule()
    assert share[0] == 0
    assert share[-1] == 1
    # Integrals over [0, 1]: x^k is 1/(k + 1); sqrt(x (1 - x)) is pi/8; sqrt(x) is 2/3.
    for k in range(8):
        assert np.sum(share**k * weight) == pytest.approx(1 / (k + 1), rel=1e-10)
    assert np.sum(np.sqrt(share * (1 - share)) * weight) == pytest.approx(math.pi / 8, rel=1e-12)
    assert np.sum(np.sqrt(share) * weight) == pytest.approx(2 / 3, rel=1e-12)


@pytest.mark.parametrize("x", [0.0, 10.0, 75.5, 150.0])
def test_the_section_of_a_taper(x: float) -> None:
    b = body((outline((0, 0), (150, 0), (150, 30), (0, 10)), half((0, 10), (150, 22))))
    r = b.section(x)
    assert (float(r.z0[0]), float(r.z1[0])) == pytest.approx((0, 10 + 20 * x / 150), abs=1e-12)
    assert (float(r.y0[0]), float(r.y1[0])) == pytest.approx((-10 - 12 * x / 150, 10 + 12 * x / 150))
    assert b.section_area(x) == pytest.approx((10 + 20 * x / 150) * 2 * (10 + 12 * x / 150))


def test_a_station_on_a_step_belongs_to_the_tail_side_unless_asked() -> None:
    profile = outline((0, 0), (200, 0), (200, 50), (80, 50), (80, 30), (0, 30))
    s = Sections(profile, Outline(rectangle(0, -20, 200, 20)), 0.0)
    assert float(s.at(80).z1[0]) == 50
    assert float(s.at(80, ahead=True).z1[0]) == 30
    assert float(s.at(79.999).z1[0]) == 30
    assert float(s.at(0).z1[0]) == 30
    assert float(s.at(200).z1[0]) == 50


def test_windows_part_a_section() -> None:
    profile = Outline(rectangle(0, 0, 200, 40), (disc(60, 20, 10).turned(left=False),))
    plan = Outline(rectangle(0, -20, 200, 20), (rectangle(50, -4, 90, 4).turned(left=False),))
    b = body((profile, plan))
    r = b.section(60)
    assert r.y0.size == 4
    spans = sorted((float(r.z0[i]), float(r.z1[i]), float(r.y0[i]), float(r.y1[i])) for i in range(4))
    assert spans == [
        pytest.approx(expected, abs=1e-9)
        for expected in ((0, 10, -20, -4), (0, 10, 4, 20), (30, 40, -20, -4), (30, 40, 4, 20))
    ]
    assert b.section(45).y0.size == 1
    assert b.section(85).y0.size == 2


def test_only_outer_edges_are_rounded() -> None:
    profile = Outline(rectangle(0, 0, 200, 40), (rectangle(50, 15, 90, 25).turned(left=False),))
    b = body((profile, Outline(rectangle(0, -20, 200, 20))), edge_round=3)
    spandrel = (1 - math.pi / 4) * 9
    assert b.section_area(20) == pytest.approx(1600 - 4 * spandrel)
    assert b.section_area(70) == pytest.approx(1600 - 400 - 4 * spandrel)
    plan = Outline(rectangle(0, -20, 200, 20), (rectangle(50, 0, 90, 6).turned(left=False),))
    c = body((profile, plan), edge_round=3)
    assert c.section_area(70) == pytest.approx(1600 - 400 - 30 * 6 - 4 * spandrel)


def test_a_fork_s_inner_edges_are_rounded_too() -> None:
    profile = outline((0, 0), (200, 0), (200, 40), (0, 40), (0, 25), (60, 25), (60, 15), (0, 15))
    b = body((profile, Outline(rectangle(0, -20, 200, 20))), edge_round=3)
    assert b.section_area(30) == pytest.approx(1200 - 8 * (1 - math.pi / 4) * 9)


def test_rounding_shrinks_where_the_body_is_thin() -> None:
    b = body((outline((0, 0), (100, 0), (100, 40)), Outline(rectangle(0, -20, 100, 20))), edge_round=5)
    for x, radius in ((10, 2.0), (20, 4.0), (50, 5.0)):
        assert float(b.section(x).radius[0]) == pytest.approx(radius)


def test_undersides() -> None:
    profile = outline((0, 10), (50, 0), (150, 0), (200, 10), (200, 40), (0, 40))
    plan = Outline(rectangle(0, -20, 200, 20), (rectangle(90, -5, 110, 5).turned(left=False),))
    b = body((profile, plan), edge_round=5)
    points = [(25.0, 0.0), (100.0, 0.0), (100.0, 8.0), (60.0, 18.0), (60.0, 25.0), (-5.0, 0.0), (175.0, -3.0)]
    lows = b.undersides(points)
    assert lows[0] == pytest.approx(5)
    assert lows[1] is None
    assert lows[2] == pytest.approx(0)
    assert lows[3] == pytest.approx(5 - 4)  # 3 out from the arc's centre: 5 - sqrt(25 - 9)
    assert lows[4] is None
    assert lows[5] is None
    assert lows[6] == pytest.approx(5)
    assert b.undersides([]) == []


def test_the_underside_is_the_lowest_wood() -> None:
    profile = outline((0, 0), (200, 0), (200, 40), (0, 40), (0, 30), (60, 30), (60, 10), (0, 10))
    b = body((profile, Outline(rectangle(0, -20, 200, 20))))
    assert b.undersides([(30, 0)]) == [0]


def test_width_and_height_at() -> None:
    plan = Outline(rectangle(0, -20, 200, 18), (rectangle(50, -5, 90, 5).turned(left=False),))
    profile = Outline(rectangle(0, 0, 200, 40), (disc(150, 20, 10).turned(left=False),))
    b = body((profile, plan))
    assert b.width_at(70, 20) == (-20, 18)  # over the window between
    assert b.width_at(150, 20) is None
    assert b.width_at(150, 35) == (-20, 18)
    assert b.width_at(210, 20) is None
    assert b.width_at(100, 50) is None
    assert b.height_at(150) == (0, 40)
    assert b.height_at(-1) is None


def test_cut_at_leaves_out_stations_off_the_body() -> None:
    b = body(box(100, 30, 20))
    r = b.cut_at(np.array([-5.0, 10.0, 100.0, 100.5]))
    assert list(r.x) == [10, 100]


@given(st.lists(st.floats(0, 200), min_size=1, max_size=40))
def test_one_station_and_many_give_the_same_section(stations: list[float]) -> None:
    profile = outline(
        (0, 5),
        Vertex((60, 0), Radius(90)),
        (200, 0),
        (200, 40),
        Vertex((120, 30), Bezier((180, 50), (150, 20))),
        Vertex((60, 22), Smooth()),
        Vertex((0, 12), Smooth()),
    )
    b = body((profile, half((0, 8), Vertex((80, 18), Radius(200)), (200, 15))), edge_round=2)
    many = b.cut_at(np.array(stations))
    one = [b.section(x) for x in stations]
    for name in ("y0", "y1", "z0", "z1", "radius"):
        expected = np.concatenate([getattr(r, name) for r in one])
        assert getattr(many, name) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("gap", [0.0, 1e-12, 1e-10, 1e-8, 1e-6, 1e-3])
def test_breaks_that_all_but_fall_together(gap: float) -> None:
    # A step in the profile a hair behind one in the plan.
    profile = outline((0, 0), (200, 0), (200, 50), (100 + gap, 50), (100 + gap, 30), (0, 30))
    plan = half((0, 20), (100, 20), (100, 10), (200, 10))
    b = body((profile, plan))
    assert b.undrilled.volume == pytest.approx(100 * 40 * 30 + 100 * 20 * 50, abs=1.1 * gap * 400 + 1e-3)
    assert b.pieces == 1


@pytest.mark.parametrize("lean", [1e-10, 1e-8, 1e-6, 1e-3])
def test_edges_that_are_all_but_upright(lean: float) -> None:
    profile = outline((0, 0), (200, 0), (200 - lean, 50), (100 + lean, 50), (100, 30), (lean, 30))
    b = body((profile, Outline(rectangle(0, -20, 200, 20))))
    # Three slim triangles are gone: 50, 20 and 30 high.
    assert b.undrilled.volume == pytest.approx(40 * (8000 - 50 * lean), rel=1e-11)


@pytest.mark.parametrize("radius", [1.0, 2.5, 2.6, 6.0, 12.0, 20.0])
def test_rounding_that_a_thin_nose_limits_keeps_its_digits(radius: float) -> None:
    # A wedge 4 to 40 high, 44 wide. Rounding takes (4 - pi) rho^2 off a section, rho = min(radius, half the
    # height): with h = 4 + 0.18 x, the integral is in closed form on both sides of h = 2 radius.
    b = body(
        (outline((0, 0), (200, 0), (200, 40), (0, 4)), Outline(rectangle(0, -22, 200, 22))), edge_round=radius
    )
    limited = min(max((2 * radius - 4) / 0.18, 0.0), 200.0)
    half_end = 2 + 0.09 * limited
    taken = (half_end**3 - 2**3) / (3 * 0.09) + radius**2 * (200 - limited)
    expected = 200 * 22 * 44 - (4 - math.pi) * taken
    assert b.undrilled.volume == pytest.approx(expected, rel=1e-4 if radius <= 2.5 else 1e-9)

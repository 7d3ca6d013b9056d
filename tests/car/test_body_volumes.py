"""Volume, centre of mass and inertia against closed forms.

Outside sources: prismoidal formula V = L/6 (A1 + 4 Am + A2), exact where the section is a cubic in x
(MathWorld, "Prismatoid"); two crossed cylinders 16 r^3 / 3 (Archimedes; MathWorld, "Steinmetz Solid");
sphere 4/3 pi r^3 and 2/5 m r^2; box (h^2 + w^2) / 12; cylinder r^2/2 and (3 r^2 + L^2) / 12; right triangle
a^2/18, b^2/18, ab/36 about its centroid; frustum of a cone h/3 pi (R^2 + R r + r^2); parallel axes.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.car.body import Body
from bodyshop.geometry.outlines import Outline, Vertex
from tests.bodies import body, box, disc, half, outline, rectangle

EXACT = 1e-12
CURVED = 1e-9


def undrilled(shape: tuple[Outline, Outline], edge_round: float = 0.0) -> Body:
    return body(shape, edge_round=edge_round)


def about(b: Body) -> np.ndarray:
    """Inertia about the centre over volume, mm^2."""
    return b.undrilled.inertia / b.undrilled.volume


# ---------------------------------------------------------------- straight bodies


def test_box_of_the_shop_block() -> None:
    # 305 x 42 x 70: 896 700 mm^3; I/m = (h^2 + w^2)/12 = 555.33, 8160.42, 7899.08.
    b = undrilled(box(305, 42, 70))
    assert b.undrilled.volume == pytest.approx(896_700, rel=EXACT)
    assert b.undrilled.centre == pytest.approx((152.5, 0, 35), abs=1e-9)
    assert about(b) == pytest.approx(np.diag([555.333333, 8160.416667, 7899.083333]), rel=1e-8, abs=1e-8)


@pytest.mark.parametrize(("x", "z"), [(0.0, 0.0), (40.0, 12.5), (-30.0, -7.0)])
def test_where_a_body_stands_changes_its_centre_and_not_its_inertia(x: float, z: float) -> None:
    b = undrilled(box(100, 30, 20, x=x, z=z))
    assert b.undrilled.centre == pytest.approx((x + 50, 0, z + 10), abs=1e-9)
    expected = np.diag([30**2 + 20**2, 100**2 + 20**2, 100**2 + 30**2]) / 12
    assert about(b) == pytest.approx(expected, rel=1e-9, abs=1e-7)
    # Parallel axes: second moments about the origin are those about the centre and m d^2.
    m, c = b.undrilled, b.undrilled.centre
    own = np.diag([100**2, 30**2, 20**2]) / 12
    assert m.second / m.volume == pytest.approx(own + np.outer(c, c), rel=1e-9, abs=1e-7)


def test_wedge() -> None:
    # A right triangle 120 long and 30 high at the tail, 40 wide: centroid a third from the tail, a third up.
    b = undrilled((outline((0, 0), (120, 0), (120, 30)), Outline(rectangle(0, -20, 120, 20))))
    assert b.undrilled.volume == pytest.approx(120 * 30 / 2 * 40, rel=EXACT)
    assert b.undrilled.centre == pytest.approx((80, 0, 10), abs=1e-9)
    xx, zz, xz, yy = 120**2 / 18, 30**2 / 18, 120 * 30 / 36, 40**2 / 12
    expected = np.array([[yy + zz, 0, -xz], [0, xx + zz, 0], [-xz, 0, xx + yy]])
    assert about(b) == pytest.approx(expected, rel=1e-9, abs=1e-7)


def test_prismoid() -> None:
    # Both views taper: 20 x 10 at the nose, 44 x 30 at the tail, 32 x 20 half way: A(x) is quadratic.
    shape = outline((0, 0), (150, 0), (150, 30), (0, 10)), half((0, 10), (150, 22))
    expected = 150 / 6 * (200 + 4 * 640 + 1320)
    assert undrilled(shape).undrilled.volume == pytest.approx(expected, rel=EXACT)
    # Centre: the same formula holds for x A(x), a cubic: 0, 75 x 640, 150 x 1320.
    first = 150 / 6 * (0 + 4 * 75 * 640 + 150 * 1320)
    assert undrilled(shape).undrilled.centre[0] == pytest.approx(first / expected, rel=EXACT)


def test_a_double_wedge() -> None:
    # Profile and plan each run to an edge at the nose: a wedge across a wedge, A = w h (x/L)^2.
    shape = outline((0, 15), (100, 0), (100, 30)), half((0, 0), (100, 20))
    b = undrilled(shape)
    assert b.undrilled.volume == pytest.approx(100 * 40 * 30 / 3, rel=EXACT)  # a pyramid
    assert b.undrilled.centre == pytest.approx((75, 0, 15), abs=1e-9)


# ---------------------------------------------------------------- curved bodies


def test_two_crossed_cylinders() -> None:
    r = 20.0
    b = undrilled((Outline(disc(r, r, r)), Outline(disc(r, 0, r))))
    assert b.undrilled.volume == pytest.approx(16 * r**3 / 3, rel=CURVED)
    assert b.undrilled.centre == pytest.approx((r, 0, r), abs=1e-7)
    # Mean of x^2 over A = 4 (r^2 - x^2) is r^2/5; of y^2 it is the mean of (r^2 - x^2)/3, 4 r^2 / 15.
    xx, yy = r * r / 5, 4 * r * r / 15
    assert about(b) == pytest.approx(np.diag([2 * yy, xx + yy, xx + yy]), rel=1e-8, abs=1e-6)


def test_sphere() -> None:
    # Rounded as far as it goes, every section of two crossed cylinders is a disc.
    r = 20.0
    b = undrilled((Outline(disc(r, r, r)), Outline(disc(r, 0, r))), edge_round=50)
    assert b.undrilled.volume == pytest.approx(33_510.32, abs=0.005)  # 4/3 pi r^3
    assert b.undrilled.volume == pytest.approx(4 / 3 * math.pi * r**3, rel=CURVED)
    assert about(b) == pytest.approx(0.4 * r * r * np.eye(3), rel=1e-8, abs=1e-6)


def test_a_cylinder_lying_along_the_car() -> None:
    b = undrilled(box(90, 40, 40), edge_round=20)
    r, length = 20.0, 90.0
    assert b.undrilled.volume == pytest.approx(math.pi * r * r * length, rel=EXACT)
    across = (3 * r * r + length**2) / 12
    assert about(b) == pytest.approx(np.diag([r * r / 2, across, across]), rel=1e-9, abs=1e-7)


def test_frustum_of_a_cone() -> None:
    # Radius 20 to 10 over 100: 73 303.83 mm^3, centroid 39.286 from the big end.
    shape = outline((0, 0), (100, 10), (100, 30), (0, 40)), half((0, 20), (100, 10))
    b = undrilled(shape, edge_round=30)
    assert b.undrilled.volume == pytest.approx(73_303.83, abs=0.01)
    assert b.undrilled.volume == pytest.approx(100 / 3 * math.pi * (400 + 200 + 100), rel=CURVED)
    assert b.undrilled.centre[0] == pytest.approx(39.286, abs=0.0005)


@pytest.mark.parametrize("r", [0.5, 2.0, 6.0, 12.0])
def test_rounded_box(r: float) -> None:
    b = undrilled(box(200, 40, 25), edge_round=r)
    lost = (4 - math.pi) * r * r
    area = 1000 - lost
    assert b.undrilled.volume == pytest.approx(200 * area, rel=EXACT)
    assert b.section_area(77) == pytest.approx(area, rel=EXACT)
    # A corner's spandrel: its centroid lies r (10 - 3 pi) / (12 - 3 pi) from the two sides; its own moments
    # follow from those of a quarter disc, r^4 (pi/16 - 4 / (9 pi)) about its centroid.
    c = r * (10 - 3 * math.pi) / (12 - 3 * math.pi)
    quarter = math.pi * r * r / 4
    square_about = r**4 / 12 + r * r * (c - r / 2) ** 2
    disc_about = r**4 * (math.pi / 16 - 4 / (9 * math.pi)) + quarter * ((r - 4 * r / (3 * math.pi)) - c) ** 2
    own = square_about - disc_about
    yy = (40**3 * 25 / 12 - 4 * own - lost * (20 - c) ** 2) / area
    zz = (25**3 * 40 / 12 - 4 * own - lost * (12.5 - c) ** 2) / area
    assert about(b)[0, 0] == pytest.approx(yy + zz, rel=1e-9)
    assert about(b)[1, 1] == pytest.approx(200**2 / 12 + zz, rel=1e-9)
    assert about(b)[2, 2] == pytest.approx(200**2 / 12 + yy, rel=1e-9)


def test_rounding_larger_than_half_the_height_stops_at_a_full_round() -> None:
    a, b = undrilled(box(80, 40, 20), edge_round=10), undrilled(box(80, 40, 20), edge_round=16)
    assert a.undrilled.volume == b.undrilled.volume
    # A stadium: a 20 x 20 square and a disc of 10.
    assert a.undrilled.volume == pytest.approx(80 * (400 + math.pi * 100), rel=EXACT)


def test_a_full_round_turns_with_the_narrower_of_width_and_height() -> None:
    # 200 long, 20 wide, from 10 to 30 high: the arcs have half the height as radius up to where it is as high
    # as wide, then half the width. A square of side m less its full round is (1 - pi/4) m^2.
    shape = (outline((0, 0), (200, 0), (200, 30), (0, 10)), Outline(rectangle(0, -10, 200, 10)))
    b = undrilled(shape, edge_round=30)
    squares = 100 * (10**2 + 10 * 20 + 20**2) / 3 + 100 * 20**2
    expected = 200 * 20 * 20 - (1 - math.pi / 4) * squares
    assert b.undrilled.volume == pytest.approx(expected, rel=EXACT)


def test_a_barrel_by_the_quarter_ellipse_of_an_arc() -> None:
    # Profile: a disc of radius 25 cut by a box plan 30 wide: 30 x the area of the disc.
    b = undrilled((Outline(disc(25, 25, 25)), Outline(rectangle(0, -15, 50, 15))))
    assert b.undrilled.volume == pytest.approx(30 * math.pi * 625, rel=CURVED)
    assert about(b)[1, 1] == pytest.approx(25**2 / 2, rel=1e-8)


# ---------------------------------------------------------------- windows, forks, steps, unequal views


def test_a_window_in_the_profile_takes_its_prism() -> None:
    profile = Outline(rectangle(0, 0, 200, 40), (disc(60, 20, 12).turned(left=False),))
    b = undrilled((profile, Outline(rectangle(0, -15, 200, 15))))
    hole = math.pi * 144
    assert b.undrilled.volume == pytest.approx(30 * (8000 - hole), rel=CURVED)
    # Holes count as negative mass.
    assert b.undrilled.centre[0] == pytest.approx((8000 * 100 - hole * 60) / (8000 - hole), rel=1e-9)


def test_a_window_in_the_plan_takes_its_prism() -> None:
    plan = Outline(rectangle(0, -20, 200, 20), (rectangle(50, -12, 90, -2).turned(left=False),))
    b = undrilled((Outline(rectangle(0, 0, 200, 40)), plan))
    assert b.undrilled.volume == pytest.approx(40 * (8000 - 400), rel=EXACT)
    assert b.undrilled.centre[1] == pytest.approx(400 * 7 / 7600, rel=1e-9)


def test_windows_of_both_views_meet_inside_the_wood() -> None:
    # 40 x 10 from above and 30 x 8 from the side, meeting over x 60 to 80: 20 x 10 x 8 is taken once.
    profile = Outline(rectangle(0, 0, 200, 40), (rectangle(60, 16, 90, 24).turned(left=False),))
    plan = Outline(rectangle(0, -20, 200, 20), (rectangle(40, -5, 80, 5).turned(left=False),))
    b = undrilled((profile, plan))
    taken = 40 * 10 * 40 + 30 * 8 * 40 - 20 * 10 * 8
    assert b.undrilled.volume == pytest.approx(200 * 40 * 40 - taken, rel=EXACT)
    assert b.pieces == 1


def test_a_forked_nose() -> None:
    # A slot 60 long and 10 wide from the nose, seen from above; the fork's prongs are wood of the outer ring.
    plan = outline((0, -20), (200, -20), (200, 20), (0, 20), (0, 5), (60, 5), (60, -5), (0, -5))
    b = undrilled((Outline(rectangle(0, 0, 200, 30)), plan))
    assert b.undrilled.volume == pytest.approx(30 * (8000 - 600), rel=EXACT)
    assert b.pieces == 1
    assert b.section(30).y0.size == 2
    assert b.section(100).y0.size == 1
    # Rounded, each prong has four long edges: 8 over 60 mm, 4 over the rest.
    rounded = body((Outline(rectangle(0, 0, 200, 30)), plan), edge_round=2)
    lost = (1 - math.pi / 4) * 4
    assert rounded.undrilled.volume == pytest.approx(30 * 7400 - lost * (8 * 60 + 4 * 140), rel=EXACT)


def test_a_fork_in_both_views_is_one_piece_where_it_joins() -> None:
    plan = outline((0, -20), (200, -20), (200, 20), (0, 20), (0, 5), (60, 5), (60, -5), (0, -5))
    profile = outline((0, 0), (200, 0), (200, 30), (0, 30), (0, 20), (80, 20), (80, 10), (0, 10))
    b = undrilled((profile, plan))
    assert b.section(30).y0.size == 4
    assert b.section(70).y0.size == 2
    assert b.pieces == 1
    assert b.undrilled.volume == pytest.approx(60 * 30 * 20 + 20 * 40 * 20 + 120 * 40 * 30, rel=EXACT)


def test_a_plan_too_short_leaves_two_prongs() -> None:
    # The profile's fork joins at x = 120, but the plan ends at 100.
    profile = outline((0, 0), (200, 0), (200, 30), (0, 30), (0, 20), (120, 20), (120, 10), (0, 10))
    b = undrilled((profile, Outline(rectangle(0, -20, 100, 20))))
    assert b.pieces == 2
    assert b.undrilled.volume == pytest.approx(100 * 40 * 20, rel=EXACT)
    assert b.undrilled.centre == pytest.approx((50, 0, 15), abs=1e-9)


def test_windows_do_not_cut_a_body_in_pieces() -> None:
    profile = Outline(
        rectangle(0, 0, 200, 40),
        tuple(disc(x, 20, 15).turned(left=False) for x in (30, 70, 110, 150)),
    )
    assert undrilled((profile, Outline(rectangle(0, -20, 200, 20)))).pieces == 1


def test_steps() -> None:
    # 30 high to x = 80, 50 from there; 40 wide to 120, 20 from there.
    profile = outline((0, 0), (200, 0), (200, 50), (80, 50), (80, 30), (0, 30))
    plan = half((0, 20), (120, 20), (120, 10), (200, 10))
    b = undrilled((profile, plan))
    assert b.undrilled.volume == pytest.approx(80 * 40 * 30 + 40 * 40 * 50 + 80 * 20 * 50, rel=EXACT)
    assert b.pieces == 1


@pytest.mark.parametrize(
    ("nose", "tail"), [(0.0, 200.0), (30.0, 200.0), (0.0, 150.0), (20.0, 130.0), (-40.0, 260.0)]
)
def test_only_what_both_views_leave_is_body(nose: float, tail: float) -> None:
    profile = outline((0, 0), (200, 0), (200, 40), (0, 20))
    b = undrilled((profile, Outline(rectangle(nose, -15, tail, 15))))
    a, z = max(nose, 0), min(tail, 200)
    height = (20 + a / 10 + 20 + z / 10) / 2
    assert b.undrilled.volume == pytest.approx(30 * (z - a) * height, rel=EXACT)
    assert (b.x_nose, b.x_tail) == (a, z)
    assert b.bounds == pytest.approx((a, -15, 0, z, 15, 20 + z / 10), abs=1e-3)


def test_bounds_where_the_views_differ_in_length() -> None:
    # A disc of radius 30 cut off at 40 of its 60: still 60 high; cut at 15 it is as high as there.
    plan = Outline(rectangle(0, -10, 40, 10))
    assert undrilled((Outline(disc(30, 30, 30)), plan)).bounds == pytest.approx(
        (0, -10, 0, 40, 10, 60), abs=1e-3
    )
    b = undrilled((Outline(disc(30, 30, 30)), Outline(rectangle(0, -10, 15, 10))))
    rise = math.sqrt(30**2 - 15**2)
    assert b.bounds == pytest.approx((0, -10, 30 - rise, 15, 10, 30 + rise), abs=2e-3)


# ---------------------------------------------------------------- awkward cubics


@pytest.mark.parametrize("over", [0.0, 0.3, 0.49, 0.5, 0.51, 0.7])
def test_a_bezier_that_leans_over_backwards(over: float) -> None:
    # A step as an S-shaped cubic from (150 + c, 10) to (50 - c, 30): c = 0.5 is where it stands upright in
    # its middle, more than that and it overhangs. By symmetry about (100, 20) the area is that of a straight
    # step in the middle.
    c = 100 * over
    profile = outline(
        (0, 0),
        (200, 0),
        (200, 30),
        (150, 30),
        Vertex((50, 10), _bezier((150 - 2 * c, 30), (50 + 2 * c, 10))),
        (0, 10),
    )
    b = undrilled((profile, half((0, 10), (200, 20))))
    # Width 20 + x/10 over the profile's area: A (20 + x_c/10), with the first moment of the profile.
    area, first = _moment_of(profile)
    assert profile.area == pytest.approx(100 * 10 + 100 * 30, rel=1e-12)
    assert area == pytest.approx(profile.area, rel=1e-9)
    assert b.undrilled.volume == pytest.approx(20 * area + first / 10, rel=1e-7)


def _bezier(a: tuple[float, float], b: tuple[float, float]):
    from bodyshop.geometry.outlines import Bezier

    return Bezier(a, b)


def _moment_of(profile: Outline) -> tuple[float, float]:
    """Area and first moment about x = 0 by Green's theorem on each curve, 60 Gauss points in t."""
    t, w = np.polynomial.legendre.leggauss(60)
    t, w = 0.5 * (t + 1), 0.5 * w
    area = first = 0.0
    for curve in profile.outer.curves:
        h = 1e-5
        x, _ = curve.at(t).T
        dv = (curve.at(t + h)[:, 1] - curve.at(t - h)[:, 1]) / (2 * h)
        area += float(np.sum(w * x * dv))
        first += float(np.sum(w * x * x / 2 * dv))
    return area, first

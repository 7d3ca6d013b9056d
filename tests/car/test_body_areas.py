"""Areas the air sees, against closed forms.

Outside sources: surface of a box, wedge, cylinder, sphere 4 pi r^2, two crossed cylinders 16 r^2 (MathWorld,
"Steinmetz Solid"), frustum of a cone pi (R + r) s; rounding all four edges takes (4 - pi) r^2 off a section
and (8 - 2 pi) r off its outline.
"""

from __future__ import annotations

import math

import pytest
import shapely

from bodyshop.car.design.model import AxleEnd
from bodyshop.geometry.outlines import Outline
from tests.bodies import axle, body, box, car, disc, half, outline, rectangle

# ---------------------------------------------------------------- wetted area


def test_wetted_box() -> None:
    b = body(box(305, 42, 70))
    assert b.wetted_area == pytest.approx(2 * (305 * 42 + 305 * 70 + 42 * 70), rel=1e-12)


def test_wetted_wedge() -> None:
    b = body((outline((0, 0), (120, 0), (120, 50)), Outline(rectangle(0, -20, 120, 20))))
    # Two triangles, the underside, the tail, and the slope 130 long.
    assert b.wetted_area == pytest.approx(120 * 50 + 40 * (120 + 50 + 130), rel=1e-12)


def test_wetted_prismoid() -> None:
    # Heights 10 to 30 and half widths 10 to 22 over 150; the underside is flat.
    b = body((outline((0, 0), (150, 0), (150, 30), (0, 10)), half((0, 10), (150, 22))))
    top = 150 * 32 * math.hypot(1, 20 / 150)
    under = 150 * 32
    sides = 2 * 150 * 20 * math.hypot(1, 12 / 150)
    assert b.wetted_area == pytest.approx(top + under + sides + 200 + 44 * 30, rel=1e-12)


@pytest.mark.parametrize("r", [0.5, 3.0, 8.0])
def test_wetted_rounded_box(r: float) -> None:
    b = body(box(200, 40, 25), edge_round=r)
    around = 2 * (40 + 25) - (8 - 2 * math.pi) * r
    face = 1000 - (4 - math.pi) * r * r
    assert b.wetted_area == pytest.approx(200 * around + 2 * face, rel=1e-9)


def test_wetted_cylinder() -> None:
    b = body(box(90, 40, 40), edge_round=20)
    assert b.wetted_area == pytest.approx(2 * math.pi * 20 * 90 + 2 * math.pi * 400, rel=1e-9)


def test_wetted_frustum_of_a_cone() -> None:
    b = body((outline((0, 0), (100, 10), (100, 30), (0, 40)), half((0, 20), (100, 10))), edge_round=30)
    slant = math.hypot(100, 10)
    assert b.wetted_area == pytest.approx(math.pi * (30 * slant + 400 + 100), rel=1e-7)


def test_wetted_crossed_cylinders_and_sphere() -> None:
    shape = Outline(disc(20, 20, 20)), Outline(disc(20, 0, 20))
    assert body(shape).wetted_area == pytest.approx(16 * 400, rel=1e-7)
    assert body(shape, edge_round=50).wetted_area == pytest.approx(4 * math.pi * 400, rel=1e-7)


def test_wetted_windows_count_their_insides() -> None:
    profile = Outline(rectangle(0, 0, 200, 40), (disc(60, 20, 12).turned(left=False),))
    b = body((profile, Outline(rectangle(0, -15, 200, 15))))
    full = 2 * (200 * 30 + 200 * 40 + 30 * 40)
    assert b.wetted_area == pytest.approx(full - 2 * math.pi * 144 + 2 * math.pi * 12 * 30, rel=1e-7)
    plan = Outline(rectangle(0, -15, 200, 15), (rectangle(50, -5, 90, 5).turned(left=False),))
    b = body((Outline(rectangle(0, 0, 200, 40)), plan))
    assert b.wetted_area == pytest.approx(full - 2 * 400 + 2 * (40 + 10) * 40, rel=1e-9)


def test_wetted_steps_count_their_faces() -> None:
    # 30 high and 40 wide to x = 80, 50 high from there; 20 wide from 120.
    profile = outline((0, 0), (200, 0), (200, 50), (80, 50), (80, 30), (0, 30))
    plan = half((0, 20), (120, 20), (120, 10), (200, 10))
    b = body((profile, plan))
    around = 80 * 140 + 40 * 180 + 80 * 140
    faces = 40 * 30 + 20 * 50 + (40 * 50 - 40 * 30) + (40 * 50 - 20 * 50)
    assert b.wetted_area == pytest.approx(around + faces, rel=1e-9)


def test_wetted_where_the_plan_cuts_the_profile_short() -> None:
    b = body((outline((0, 0), (200, 0), (200, 40)), Outline(rectangle(50, -10, 150, 10))))
    slope = math.hypot(1, 0.2)
    # Heights 10 to 30: two trapezia, the two ends, under and over.
    assert b.wetted_area == pytest.approx(2 * 100 * 20 + 20 * (10 + 30) + 20 * 100 * (1 + slope), rel=1e-9)


def test_wetted_where_a_fork_is_too_thin_for_its_rounding() -> None:
    # Prongs 10 wide over 60 mm, edges rounded by 8: the prongs by 5, half their width. Where they join, what
    # either section does not share with the other is a face; its area by shapely's buffers.
    plan = outline((0, -20), (200, -20), (200, 20), (0, 20), (0, 10), (60, 10), (60, -10), (0, -10))
    b = body((Outline(rectangle(0, 0, 200, 30)), plan), edge_round=8)

    def rounded(y0: float, y1: float, r: float) -> shapely.Geometry:
        return shapely.box(y0 + r, r, y1 - r, 30 - r).buffer(r, quad_segs=400)

    whole = rounded(-20, 20, 8)
    prongs = rounded(-20, -10, 4.999999).union(rounded(10, 20, 4.999999))
    along = 2 * 60 * (80 - (8 - 2 * math.pi) * 5) + 140 * (140 - (8 - 2 * math.pi) * 8)
    ends = whole.area + prongs.area + whole.symmetric_difference(prongs).area
    assert b.wetted_area == pytest.approx(along + ends, rel=1e-5)


# ---------------------------------------------------------------- base


def test_base_area() -> None:
    assert body(box(305, 42, 70)).base_area == pytest.approx(42 * 70)
    assert body(box(305, 42, 70), edge_round=5).base_area == pytest.approx(2940 - (4 - math.pi) * 25)
    # A tail that runs out to an edge, or is round, has none.
    assert body((outline((0, 0), (120, 0), (0, 50)), Outline(rectangle(0, -20, 120, 20)))).base_area == 0
    round_tail = half((0, 20), (100, 20), (120, 0))
    assert body((Outline(rectangle(0, 0, 120, 30)), round_tail)).base_area == pytest.approx(0, abs=1e-9)


def test_base_of_a_forked_tail() -> None:
    plan = outline((0, -20), (200, -20), (200, -5), (140, -5), (140, 5), (200, 5), (200, 20), (0, 20))
    assert body((Outline(rectangle(0, 0, 200, 30)), plan)).base_area == pytest.approx(30 * 30)


# ---------------------------------------------------------------- frontal shadow


def test_shadow_of_a_box() -> None:
    assert body(box(305, 42, 70)).silhouette.area == pytest.approx(42 * 70, rel=1e-12)


@pytest.mark.parametrize("r", [1.0, 5.0, 10.0])
def test_shadow_of_a_rounded_box(r: float) -> None:
    shadow = body(box(305, 42, 70), edge_round=r).silhouette
    assert shadow.area == pytest.approx(42 * 70 - (4 - math.pi) * r * r, rel=2e-4)


@pytest.mark.parametrize("r", [2.0, 5.0])
def test_a_window_does_not_square_the_shadow(r: float) -> None:
    profile = Outline(rectangle(0, 0, 300, 70), (disc(100, 35, 10).turned(left=False),))
    shadow = body((profile, Outline(rectangle(0, -21, 300, 21))), edge_round=r).silhouette
    assert shadow.area == pytest.approx(42 * 70 - (4 - math.pi) * r * r, rel=2e-4)


def test_shadow_of_a_double_wedge() -> None:
    # Tall and narrow at the nose, low and wide at the tail: w = 10 + 40 s, h = 60 - 50 s, middle at the same
    # height. In a quarter of the shadow the corner runs straight from (5, 30) to (25, 5).
    profile = outline((0, 0), (200, 25), (200, 35), (0, 60))
    b = body((profile, half((0, 5), (200, 25))))
    quarter = 5 * 30 + (25 - 5) * (30 + 5) / 2
    assert b.silhouette.area == pytest.approx(4 * quarter, rel=1e-9)


def test_shadow_of_a_wedge_with_a_curved_side() -> None:
    # Profile a disc of radius 40, plan a straight wedge, y = x / 2: with z from the middle, the corner runs
    # along z^2 + (40 - 2 y)^2 = 1600, an ellipse of half axes 20 and 40.
    profile = Outline(disc(40, 40, 40))
    b = body((profile, half((0, 0), (80, 40))))
    # Over x 0 to 40 corners rise to full height at y = 20; from there on the box is 80 high only at x = 40,
    # and from 40 to 80 the corner comes down again to (40, 40): the same ellipse about (20, 40).
    quarter = 20 * 40 + math.pi * 20 * 40 / 4
    assert b.silhouette.area == pytest.approx(2 * 2 * quarter, rel=3e-3)


def test_shadow_of_the_sphere() -> None:
    b = body((Outline(disc(20, 20, 20)), Outline(disc(20, 0, 20))), edge_round=50)
    assert b.silhouette.area == pytest.approx(math.pi * 400, rel=2e-2)


def test_shadow_of_a_forked_nose_is_that_of_what_is_behind_it() -> None:
    plan = outline((0, -20), (200, -20), (200, 20), (0, 20), (0, 5), (60, 5), (60, -5), (0, -5))
    assert body((Outline(rectangle(0, 0, 200, 30)), plan)).silhouette.area == pytest.approx(1200)


def test_shadow_of_a_slot_right_through_stays_open() -> None:
    # Two prongs and nothing behind them: the profile ends ahead of where the slot does.
    plan = outline((0, -20), (200, -20), (200, 20), (0, 20), (0, 5), (160, 5), (160, -5), (0, -5))
    b = body((Outline(rectangle(0, 0, 100, 30)), plan))
    assert b.silhouette.area == pytest.approx(30 * 30)
    assert not b.silhouette.contains(shapely.Point(0, 15))


def test_shadow_on_wheels_by_hand() -> None:
    # A box 40 wide and 30 high; wheels 34 high and 6 wide, centres at z = 8, so from -9 to 25; each tread
    # starts 20 + 0.5 play + 0.5 washer + 2 inboard = 23 out; the 3 mm axle shows over the 3 mm between body
    # and tread, and from the tread's outer edge at 29 to the hub's end at 30.
    c = car(
        box(200, 40, 30),
        axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8)),
    )
    assert c.silhouette.area == pytest.approx(40 * 30 + 2 * (6 * 34 + 3 * 3 + 3 * 1), rel=1e-9)


def test_shadow_on_wheels_counts_what_hides_behind_once() -> None:
    # Rear wheels stand right behind equal front wheels.
    one = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 8)))
    two = car(box(200, 40, 30), axles=(axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 12)))
    assert two.silhouette.area == pytest.approx(one.silhouette.area + 2 * (6 * 4 + 3 * 3 + 3 * 1), rel=1e-9)

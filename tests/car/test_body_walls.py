"""The wood round the bore in closed form.

Outside sources: distance of a point from a line, |a x + b y + c| / sqrt(a^2 + b^2); of a point from an
arc, r - d; both from any handbook of geometry. The same walls are held to the 3D kernel in tests/outside.
"""

from __future__ import annotations

import math

import pytest

from bodyshop.car.body import Body, Wall, WallSide
from bodyshop.car.design.model import Bore
from bodyshop.geometry.outlines import Outline, Radius, Vertex
from tests.bodies import body, box, car, disc, eye, half, outline, rectangle

NEAR = 2e-3


def walls(b: Body) -> dict[WallSide, float]:
    return {side: wall.value_mm for side, wall in b.walls.items()}


def span(wall: Wall) -> float:
    return math.dist(wall.at_hole, wall.at_other)


# ---------------------------------------------------------------- a box


def test_a_bore_in_a_box() -> None:
    # 200 x 44 x 50, bore of 20 over the last 60, its axis 21 up and 3 to the right.
    b = body(box(200, 44, 50), bore=Bore(20, 60, 21, 3))
    assert b.mouth is not None
    assert b.mouth.x == 200
    w = walls(b)
    assert w[WallSide.TOP] == pytest.approx(50 - 21 - 10)
    assert w[WallSide.BOTTOM] == pytest.approx(21 - 10)
    assert w[WallSide.RIGHT] == pytest.approx(22 - 3 - 10)
    assert w[WallSide.LEFT] == pytest.approx(22 + 3 - 10)
    # A square edge: the nearest is at the left and below.
    assert w[WallSide.CORNER] == pytest.approx(math.hypot(19, 21) - 10)
    assert WallSide.WINDOW not in w


def test_each_wall_has_two_ends_that_far_apart() -> None:
    b = body(box(200, 44, 50), bore=Bore(20, 60, 21, 3))
    for wall in b.walls.values():
        assert span(wall) == pytest.approx(wall.value_mm, abs=1e-9)
    assert b.walls[WallSide.TOP].at_hole[1:] == pytest.approx((3, 31))
    assert b.walls[WallSide.TOP].at_other[1:] == pytest.approx((3, 50))
    assert b.walls[WallSide.RIGHT].at_other[1:] == pytest.approx((22, 21))
    assert b.walls[WallSide.LEFT].at_other[1:] == pytest.approx((-22, 21))
    for wall in b.walls.values():
        assert 0 <= wall.at_other[0] <= 200
    for side in (WallSide.TOP, WallSide.BOTTOM, WallSide.RIGHT, WallSide.LEFT):
        assert 140 <= b.walls[side].at_other[0] <= 200


@pytest.mark.parametrize(("depth", "ahead"), [(190.0, 10.0), (199.0, 1.0), (150.0, 50.0)])
def test_the_blind_end_in_a_box(depth: float, ahead: float) -> None:
    b = body(box(200, 200, 200), bore=Bore(20, depth, 100))
    assert walls(b)[WallSide.BLIND_END] == pytest.approx(ahead)
    wall = b.walls[WallSide.BLIND_END]
    assert wall.at_other == pytest.approx((0, 0, 100))
    assert wall.at_hole == pytest.approx((ahead, 0, 100))


def test_a_bore_that_breaks_out_has_negative_walls() -> None:
    w = walls(body(box(200, 44, 50), bore=Bore(20, 60, 8, 14)))
    assert w[WallSide.BOTTOM] == pytest.approx(-2)
    assert w[WallSide.RIGHT] == pytest.approx(-2)
    assert w[WallSide.TOP] == pytest.approx(32)


def test_a_bore_out_of_the_wood_has_no_walls() -> None:
    assert body(box(200, 44, 50), bore=Bore(20, 60, -5)).bore is None
    assert body(box(200, 44, 50), bore=Bore(20, 60, 55)).walls == {}
    assert body(box(200, 44, 50), bore=Bore(20, 60, 25, 30)).walls == {}
    # Deeper than the car is long.
    through = body(box(200, 44, 50), bore=Bore(20, 210, 25))
    assert not through.bore_in_wood
    assert through.walls == {}


# ---------------------------------------------------------------- edges


def test_a_rounded_edge_in_a_stadium_section() -> None:
    # 60 wide, 40 high, edges rounded by 20: a stadium. The axis 12 left of its middle and 3 above: from the
    # centre of the left half circle at (10, 20) it is (2, 3) away, so the arc is 20 - sqrt(13) off.
    b = body(box(200, 60, 40), edge_round=20, bore=Bore(10, 60, 23, 12))
    w = walls(b)
    assert w[WallSide.CORNER] == pytest.approx(20 - math.sqrt(13) - 5, abs=1e-9)
    assert w[WallSide.TOP] == pytest.approx(40 - 23 - 5 + (math.hypot(17, 2) - 17), abs=1e-9)
    wall = b.walls[WallSide.CORNER]
    assert span(wall) == pytest.approx(wall.value_mm, abs=1e-9)
    # It lies on the line from the arc's centre through the axis.
    assert wall.at_other[1:] == pytest.approx((10 + 20 * 2 / math.sqrt(13), 20 + 20 * 3 / math.sqrt(13)))


@pytest.mark.parametrize("r", [3.0, 8.0, 12.0])
def test_a_rounded_edge_of_a_box(r: float) -> None:
    # The axis is at (0, 20) in a section 44 x 36: the nearer end of the upper arcs, (22, 36 - r) or
    # (22 - r, 36).
    w = walls(body(box(200, 44, 36), edge_round=r, bore=Bore(19.5, 50, 20)))
    ends = math.hypot(22, 16 - r), math.hypot(22 - r, 16)
    assert w[WallSide.CORNER] == pytest.approx(min(ends) - 9.75, abs=1e-9)
    assert w[WallSide.TOP] == pytest.approx(6.25)
    assert w[WallSide.RIGHT] == pytest.approx(12.25)


# ---------------------------------------------------------------- sloping and curved faces


def test_under_a_sloping_hood() -> None:
    # The hood rises 1 in 4 towards the tail; nearest to the blind end's rim at x = 140, z = 35.
    profile = outline((0, 20), (0, 0), (200, 0), (200, 70))
    b = body((profile, Outline(rectangle(0, -30, 200, 30))), bore=Bore(20, 60, 25))
    gap = (20 + 0.25 * 140 - 35) / math.hypot(1, 0.25)
    both = walls(b)
    # The rim looks up and ahead: the foot of the shortest line is ahead of the blind end.
    assert both[WallSide.TOP] == pytest.approx(gap, abs=NEAR)
    wall = b.walls[WallSide.TOP]
    assert wall.at_hole == pytest.approx((140, 0, 35), abs=0.05)
    assert wall.at_other[0] == pytest.approx(140 - gap * 0.25 / math.hypot(1, 0.25), abs=0.3)


def test_under_a_falling_hood() -> None:
    # 1 in 5 down to the tail, where it is nearest to the bore.
    profile = outline((0, 80), (0, 0), (200, 0), (200, 40))
    b = body((profile, Outline(rectangle(0, -30, 200, 30))), bore=Bore(20, 60, 20))
    # The shortest line drops straight down from the tail's upper edge to the rim.
    assert walls(b)[WallSide.TOP] == pytest.approx(40 - 30, abs=NEAR)


def test_beside_a_tapering_side() -> None:
    # Half width from 10 to 30 over 200: y = 10 + x / 10, nearest to the rim of the blind end at (140, 8).
    b = body((Outline(rectangle(0, 0, 200, 60)), half((0, 10), (200, 30))), bore=Bore(16, 60, 30))
    gap = (10 + 14 - 8) / math.hypot(1, 0.1)
    assert walls(b)[WallSide.RIGHT] == pytest.approx(gap, abs=NEAR)
    assert walls(b)[WallSide.LEFT] == pytest.approx(gap, abs=NEAR)


def test_under_a_hollow_and_over_a_bulge() -> None:
    # The hood is a hollow arc of radius 100 whose lowest point is 46 up at x = 160.
    dip = 100 - math.sqrt(100**2 - 40**2)
    profile = outline(
        (0, 46 + dip), (0, 0), (200, 0), (200, 46 + dip), Vertex((120, 46 + dip), Radius(100, hollow=True))
    )
    b = body((profile, Outline(rectangle(0, -30, 200, 30))), bore=Bore(20, 70, 24))
    assert walls(b)[WallSide.TOP] == pytest.approx(46 - 34, abs=NEAR)
    assert b.walls[WallSide.TOP].at_other[0] == pytest.approx(160, abs=0.5)


# ---------------------------------------------------------------- tilt


@pytest.mark.parametrize("degrees", [-6.0, -2.0, 2.0, 6.0])
def test_a_tilted_bore_in_a_box(degrees: float) -> None:
    a, depth, r = math.radians(degrees), 60.0, 8.0
    b = body(box(200, 60, 60), bore=Bore(2 * r, depth, 30, 0, a))
    w = walls(b)
    # Highest rim: at the blind end, r cos(a) above the axis; at the mouth where the generator crosses the
    # tail face.
    rise = depth * math.sin(a)
    upper, lower = r * math.cos(a), r / math.cos(a)
    if degrees > 0:
        assert w[WallSide.TOP] == pytest.approx(30 - rise - upper, abs=NEAR)
        assert w[WallSide.BOTTOM] == pytest.approx(30 - lower, abs=NEAR)
    else:
        assert w[WallSide.TOP] == pytest.approx(30 - lower, abs=NEAR)
        assert w[WallSide.BOTTOM] == pytest.approx(30 + rise - upper, abs=NEAR)
    assert w[WallSide.RIGHT] == pytest.approx(30 - r, abs=NEAR)


def test_a_tilted_bore_over_the_underside_at_the_tail() -> None:
    # Blind end up by 5 degrees: the lowest generator meets the tail at z = 30 - r / cos a, and the underside
    # is right below. Square to the generator there is no bore: that point would lie behind the tail.
    a = math.radians(5)
    b = body(box(200, 60, 60), bore=Bore(16, 60, 30, 0, a))
    wall = b.walls[WallSide.BOTTOM]
    assert wall.value_mm == pytest.approx(30 - 8 / math.cos(a), abs=1e-6)
    assert wall.at_hole == pytest.approx((200, 0, 30 - 8 / math.cos(a)), abs=1e-4)
    assert wall.at_other == pytest.approx((200, 0, 0), abs=1e-3)


@pytest.mark.parametrize("degrees", [-8.0, 0.0, 8.0])
def test_ahead_of_a_tilted_bore(degrees: float) -> None:
    # The rim of the blind end that is farthest ahead: x = 100 - 80 cos a - r |sin a|.
    a = math.radians(degrees)
    b = body(box(100, 80, 80), bore=Bore(20, 80, 40, 0, a))
    expected = 100 - 80 * math.cos(a) - 10 * abs(math.sin(a))
    wall = b.walls[WallSide.BLIND_END]
    assert wall.value_mm == pytest.approx(expected, abs=NEAR)
    assert span(wall) == pytest.approx(wall.value_mm, abs=0.01)


# ---------------------------------------------------------------- windows


def test_a_window_over_the_bore() -> None:
    # Its lower edge 12 over the bore, above the bore's length.
    profile = Outline(rectangle(0, 0, 200, 80), (rectangle(150, 42, 180, 60).turned(left=False),))
    w = walls(body((profile, Outline(rectangle(0, -20, 200, 20))), bore=Bore(20, 60, 20)))
    assert w[WallSide.WINDOW] == pytest.approx(12)


def test_a_round_window_ahead_of_the_bore() -> None:
    # A disc of 10 round (110, 20), the blind end at 140 at the same height: 140 - 110 - 10.
    profile = Outline(rectangle(0, 0, 200, 60), (disc(110, 20, 10).turned(left=False),))
    b = body((profile, Outline(rectangle(0, -20, 200, 20))), bore=Bore(20, 60, 20))
    assert walls(b)[WallSide.WINDOW] == pytest.approx(20, abs=NEAR)
    assert b.walls[WallSide.WINDOW].at_other == pytest.approx((120, 0, 20), abs=0.3)


def test_a_round_window_up_and_ahead_of_the_bore() -> None:
    # Nearest to the rim at (140, 30): sqrt(24^2 + 18^2) - 8 = 22.
    profile = Outline(rectangle(0, 0, 200, 80), (disc(116, 48, 8).turned(left=False),))
    b = body((profile, Outline(rectangle(0, -20, 200, 20))), bore=Bore(20, 60, 20))
    assert walls(b)[WallSide.WINDOW] == pytest.approx(22, abs=NEAR)


def test_a_window_beside_the_bore() -> None:
    # Seen from above, 3 mm from the bore's side.
    plan = Outline(rectangle(0, -30, 200, 30), (rectangle(150, 13, 190, 20).turned(left=False),))
    b = body((Outline(rectangle(0, 0, 200, 40)), plan), bore=Bore(20, 60, 20))
    w = walls(b)
    assert w[WallSide.WINDOW] == pytest.approx(3)
    assert w[WallSide.RIGHT] == pytest.approx(20)


def test_the_end_of_a_window_ahead_of_the_bore() -> None:
    plan = Outline(rectangle(0, -30, 200, 30), (rectangle(90, -6, 128, 6).turned(left=False),))
    b = body((Outline(rectangle(0, 0, 200, 40)), plan), bore=Bore(20, 60, 20))
    assert walls(b)[WallSide.WINDOW] == pytest.approx(12)
    plan = Outline(rectangle(0, -30, 200, 30), (rectangle(90, 13, 136, 25).turned(left=False),))
    b = body((Outline(rectangle(0, 0, 200, 40)), plan), bore=Bore(20, 60, 20))
    assert walls(b)[WallSide.WINDOW] == pytest.approx(5)  # 4 ahead, 3 beside


@pytest.mark.parametrize("degrees", [-8.0, 8.0])
def test_the_end_of_a_window_ahead_of_a_tilted_bore(degrees: float) -> None:
    a = math.radians(degrees)
    plan = Outline(rectangle(0, -30, 200, 30), (rectangle(90, -6, 128, 6).turned(left=False),))
    b = body((Outline(rectangle(0, 0, 200, 60)), plan), bore=Bore(20, 60, 30, 0, a))
    expected = 200 - 60 * math.cos(a) - 10 * abs(math.sin(a)) - 128
    assert walls(b)[WallSide.WINDOW] == pytest.approx(expected, abs=NEAR)


# ---------------------------------------------------------------- steps


def test_a_step_ahead_of_the_blind_end() -> None:
    # The body is 30 high to x = 133 and 60 from there; the bore's blind end is at 140, its axis 40 up.
    profile = outline((0, 0), (200, 0), (200, 60), (133, 60), (133, 30), (0, 30))
    w = walls(body((profile, Outline(rectangle(0, -30, 200, 30))), bore=Bore(16, 60, 40)))
    assert w[WallSide.BLIND_END] == pytest.approx(7)


def test_a_step_in_the_sides_ahead_of_the_blind_end() -> None:
    plan = half((0, 6), (134, 6), (134, 25), (200, 25))
    w = walls(body((Outline(rectangle(0, 0, 200, 60)), plan), bore=Bore(20, 60, 30)))
    assert w[WallSide.BLIND_END] == pytest.approx(6)  # at y between 6 and 10


def test_a_window_over_a_step_is_no_blind_end() -> None:
    # The underside steps down from 20 to 0 at x = 100. A window from 22 to 30 runs over that station and past
    # the blind end at 103, whose lowest point is 32 up: 2 over the window, and sqrt(3^2 + 12^2) off the step.
    # The wood over the window has no part in the step.
    window = rectangle(80, 22, 180, 30)
    profile = outline((0, 20), (100, 20), (100, 0), (200, 0), (200, 60), (0, 60), windows=[window])
    w = walls(body((profile, Outline(rectangle(0, -20, 200, 20))), bore=Bore(6, 97, 35)))
    assert w[WallSide.WINDOW] == pytest.approx(2)
    assert w[WallSide.BLIND_END] == pytest.approx(math.hypot(3, 12))


# ---------------------------------------------------------------- mouths


def test_a_round_tail_seen_from_above_is_all_mouth() -> None:
    plan = half((0, 25), (175, 25), Vertex((200, 0), Radius(25)))
    b = body((Outline(rectangle(0, 0, 200, 50)), plan), bore=Bore(20, 60, 25))
    w = walls(b)
    assert w[WallSide.RIGHT] == pytest.approx(15)
    assert w[WallSide.LEFT] == pytest.approx(15)
    assert w[WallSide.TOP] == pytest.approx(15)
    assert min(w.values()) > 10


def test_a_round_tail_seen_from_the_side_is_all_mouth() -> None:
    profile = outline((0, 0), (175, 0), Vertex((200, 25), Radius(25)), Vertex((175, 50), Radius(25)), (0, 50))
    b = body((profile, Outline(rectangle(0, -25, 200, 25))), bore=Bore(20, 60, 25))
    assert walls(b)[WallSide.TOP] == pytest.approx(15)
    assert walls(b)[WallSide.BOTTOM] == pytest.approx(15)


def test_a_blunt_point_at_the_tail_is_all_mouth() -> None:
    plan = half((0, 25), (190, 25), (200, 0))
    b = body((Outline(rectangle(0, 0, 200, 50)), plan), bore=Bore(20, 60, 25))
    assert walls(b)[WallSide.RIGHT] == pytest.approx(15)
    assert walls(b)[WallSide.LEFT] == pytest.approx(15)


def test_a_sharp_point_at_the_tail_lets_the_bore_out() -> None:
    plan = half((0, 25), (140, 25), (200, 0))
    b = body((Outline(rectangle(0, 0, 200, 50)), plan), bore=Bore(20, 60, 25))
    assert walls(b)[WallSide.RIGHT] < -5
    assert walls(b)[WallSide.LEFT] < -5


def test_a_rounded_corner_that_the_bore_cuts_is_mouth_too() -> None:
    # Corner of 8 at the tail's top, z 42 to 50; the bore's top at 44 cuts into its first part.
    profile = outline((0, 0), (200, 0), Vertex((200, 50), round_mm=8), (0, 50))
    b = body((profile, Outline(rectangle(0, -25, 200, 25))), bore=Bore(20, 60, 34))
    assert walls(b)[WallSide.TOP] == pytest.approx(6)


def test_a_tail_that_slopes_is_the_mouth() -> None:
    # The tail leans 30 degrees out of the upright.
    profile = outline((0, 0), (170, 0), (170 + 50 * math.tan(math.radians(30)), 50), (0, 50))
    b = body((profile, Outline(rectangle(0, -25, 230, 25))), bore=Bore(20, 60, 25))
    assert b.mouth is not None
    assert b.mouth.x == pytest.approx(170 + 25 * math.tan(math.radians(30)))
    assert walls(b)[WallSide.TOP] == pytest.approx(15)
    assert walls(b)[WallSide.BOTTOM] == pytest.approx(15)


def test_a_hood_that_falls_below_the_bore_is_no_mouth() -> None:
    # From 60 at x = 100 down to 30 at the tail; the bore's top is at 31 (axis 20): it comes out of the hood.
    profile = outline((0, 60), (0, 0), (200, 0), (200, 30), (100, 60))
    b = body((profile, Outline(rectangle(0, -25, 200, 25))), bore=Bore(22, 60, 20))
    assert walls(b)[WallSide.TOP] == pytest.approx(-1, abs=NEAR)


def test_a_plan_cut_short_moves_the_mouth() -> None:
    b = body((Outline(rectangle(0, 0, 200, 50)), Outline(rectangle(0, -25, 180, 25))), bore=Bore(20, 60, 25))
    assert b.mouth is not None
    assert b.mouth.x == 180
    assert (False, 2) in b.mouth.faces
    # The blind end is at 120; the hood over it is not ahead of it.
    assert walls(b)[WallSide.BLIND_END] == pytest.approx(120)


@pytest.mark.parametrize("offset", [0.0, 4.0, -6.0])
def test_a_pilot_hole_that_opens_the_bore_is_negative_by_how_far_it_goes_in(offset: float) -> None:
    # By hand, Pythagoras in the cross-section: the side of the pilot hole nearest the axis meets the bore's
    # underside at z - sqrt(R^2 - inner^2). How far its end is above that is what is missing.
    radius, height = 9.75, 16.0
    spot = eye(180.0, offset)
    c = car(box(200, 42, 40), bore=Bore(2 * radius, 52.0, height), eyes=(spot,))
    (wall,) = c.body.bore_pilots
    (pilot,) = c.body.eye_pilots
    assert wall is not None
    assert pilot is not None
    inner = max(abs(offset) - pilot.radius, 0.0)
    low = height - math.sqrt(radius**2 - inner**2)
    assert pilot.depth > low, "it goes in"
    assert wall.value_mm == pytest.approx(-(pilot.depth - low), abs=1e-6)

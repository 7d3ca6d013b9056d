"""What the holes take out, where they stand and what lies between them, by hand.

Outside sources: volume, centre, inertia of a cylinder (r^2/2, (3 r^2 + L^2)/12); two equal cylinders crossing
at right angles share 16 r^3 / 3 (MathWorld, "Steinmetz Solid"); a circular segment r^2 (a - sin a) / 2.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.car.body import AxleHole, BoreHole, PilotHole, Rim, Sections, Wall
from bodyshop.car.body.clearance import (
    axle_to_axle,
    axle_to_outline,
    axle_to_windows,
    bore_to_axle,
    bore_to_pilot,
    pilot_to_axle,
    pilot_to_skin,
)
from bodyshop.car.design.model import AxleEnd, Bore
from bodyshop.geometry.outlines import Outline, Radius, Vertex
from tests.bodies import axle, body, box, disc, eye, half, outline, rectangle

PILOT = (0.5, 8.0)  # the small screw eye's pilot: radius and depth


def taken(b) -> float:
    return b.undrilled.volume - b.volume


# ---------------------------------------------------------------- volumes


def test_a_bore_in_a_flat_tail_takes_its_whole_cylinder() -> None:
    b = body(box(200, 44, 50), bore=Bore(20, 60, 21, 3))
    assert taken(b) == pytest.approx(math.pi * 100 * 60, rel=1e-9)
    hole, full = math.pi * 100 * 60, 200 * 44 * 50
    assert b.moments.centre == pytest.approx(
        np.array([full * 100 - hole * 170, -hole * 3, full * 25 - hole * 21]) / (full - hole), rel=1e-9
    )


def test_inertia_of_a_drilled_box_by_parallel_axes() -> None:
    b = body(box(200, 44, 50), bore=Bore(20, 60, 25))
    full, hole = 200 * 44 * 50, math.pi * 100 * 60
    x = b.moments.centre[0]
    along = full * (44**2 + 50**2) / 12 - hole * 100 / 2
    across = full * ((200**2 + 50**2) / 12 + (100 - x) ** 2) - hole * ((300 + 3600) / 12 + (170 - x) ** 2)
    assert b.moments.inertia[0, 0] == pytest.approx(along, rel=1e-9)
    assert b.moments.inertia[1, 1] == pytest.approx(across, rel=1e-9)


@pytest.mark.parametrize("degrees", [-7.0, 0.5, 3.0, 12.0])
def test_a_tilted_bore_in_a_flat_tail(degrees: float) -> None:
    # A slanted mouth: as much is missing on one side of the axis as there is more on the other.
    b = body(box(200, 60, 80), bore=Bore(20, 60, 40, 0, math.radians(degrees)))
    assert taken(b) == pytest.approx(math.pi * 100 * 60, rel=5e-4)


@pytest.mark.parametrize("depth", [20.0, 37.3, 52.0, 61.7])
def test_a_bore_that_comes_out_of_the_side(depth: float) -> None:
    # The axis 6 from the left side, radius 10: a segment of half angle acos(0.6) is left out.
    b = body(box(200, 44, 50), bore=Bore(20, depth, 25, 16))
    a = 2 * math.acos(0.6)
    segment = 100 * (a - math.sin(a)) / 2
    assert taken(b) == pytest.approx((math.pi * 100 - segment) * depth, rel=3e-3)


def test_a_bore_in_a_round_tail() -> None:
    # The tail is a half disc of 30 from above: the bore reaches 60 ahead of its tip; behind, each stick of
    # the bore at y ends at the disc, 30 - sqrt(900 - y^2) short of the tip.
    plan = half((0, 30), (170, 30), Vertex((200, 0), Radius(30)))
    b = body((Outline(rectangle(0, 0, 200, 50)), plan), bore=Bore(20, 60, 25))
    y = np.linspace(-10, 10, 200_001)
    missing = np.trapezoid(2 * np.sqrt(np.maximum(100 - y**2, 0)) * (30 - np.sqrt(900 - y**2)), y)
    assert taken(b) == pytest.approx(math.pi * 6000 - missing, rel=2e-3)


def test_axle_holes_take_their_cylinders() -> None:
    axles = axle(AxleEnd.FRONT, 50, 8, hole=5), axle(AxleEnd.REAR, 150, 10, hole=4)
    b = body(box(200, 44, 50), axles=axles)
    front, rear = math.pi / 4 * 25 * 44, math.pi / 4 * 16 * 44
    assert taken(b) == pytest.approx(front + rear, rel=1e-9)
    full = 200 * 44 * 50
    x = (full * 100 - front * 50 - rear * 150) / (full - front - rear)
    assert b.moments.centre[0] == pytest.approx(x, rel=1e-9)


def test_an_axle_hole_where_the_body_tapers() -> None:
    # A round hole in a linear taper takes its area times the width at its centre.
    axles = axle(AxleEnd.FRONT, 50, 8), axle(AxleEnd.REAR, 150, 10)
    b = body((Outline(rectangle(0, 0, 200, 50)), half((0, 10), (200, 30))), axles=axles)
    assert taken(b) == pytest.approx(math.pi * 4 * (30 + 50), rel=1e-9)


def test_a_pilot_hole_stands_on_the_underside() -> None:
    b = body(box(200, 44, 50), eyes=[eye(60), eye(140, 6)])
    r, depth = PILOT
    assert taken(b) == pytest.approx(2 * math.pi * r * r * depth, rel=1e-9)
    assert b.pilots == (PilotHole(60, 0, 0, r, depth), PilotHole(140, 6, 0, r, depth))


def test_a_pilot_over_a_hollow_belly_starts_there() -> None:
    profile = outline((0, 0), (40, 0), (40, 12), (160, 12), (160, 0), (200, 0), (200, 50), (0, 50))
    b = body((profile, Outline(rectangle(0, -22, 200, 22))), eyes=[eye(100), eye(20)])
    assert [p.z for p in b.pilots] == [12, 0]


def test_a_pilot_under_a_rounded_edge_starts_on_the_round() -> None:
    # 3 mm from the side where the edge is rounded by 8: 5 from the arc's centre, 8 - sqrt(64 - 25) up.
    b = body(box(200, 44, 50), edge_round=8, eyes=[eye(60, 19)])
    assert b.pilots[0].z == pytest.approx(8 - math.sqrt(39))


def test_an_eye_where_there_is_no_wood_has_no_pilot() -> None:
    plan = Outline(rectangle(0, -22, 200, 22), (disc(60, 0, 10).turned(left=False),))
    b = body((Outline(rectangle(0, 0, 200, 50)), plan), eyes=[eye(60), eye(140), eye(260), eye(100, 30)])
    assert [p is None for p in b.eye_pilots] == [True, False, True, True]
    assert len(b.pilots) == 1


def test_wood_that_two_holes_share_is_taken_once() -> None:
    # An axle hole of the bore's own size straight through it: 16 r^3 / 3 is shared.
    axles = axle(AxleEnd.FRONT, 50, 8, hole=4), axle(AxleEnd.REAR, 160, 25, hole=20)
    b = body(box(200, 60, 50), bore=Bore(20, 80, 25), axles=axles)
    bore, rear, front = math.pi * 100 * 80, math.pi * 100 * 60, math.pi * 4 * 60
    assert taken(b) == pytest.approx(bore + rear + front - 16 * 1000 / 3, rel=2e-3)


def test_a_pilot_into_an_axle_hole_and_into_the_bore() -> None:
    # The pilot goes up 8 into an axle hole of 6 whose centre is 7 up, and into a bore 5 over the underside.
    axles = axle(AxleEnd.FRONT, 60, 7, hole=6), axle(AxleEnd.REAR, 20, 30, hole=4)
    b = body(box(200, 44, 50), axles=axles, eyes=[eye(60)])
    full = math.pi * 9 * 44 + math.pi * 4 * 44
    assert taken(b) == pytest.approx(full + math.pi * 0.25 * 4, rel=2e-4)
    c = body(box(200, 44, 50), bore=Bore(20, 60, 15), eyes=[eye(170)])
    assert taken(c) == pytest.approx(math.pi * 6000 + math.pi * 0.25 * 5, rel=1e-4)


def test_holes_off_the_body_take_nothing() -> None:
    assert taken(body(box(200, 44, 50))) == 0


# ---------------------------------------------------------------- clearances by hand


def far(wall: Wall) -> float:
    return math.dist(wall.at_hole, wall.at_other)


BORE = BoreHole(200, 0, 30, 10, 60)


@pytest.mark.parametrize(
    ("x", "z", "expected"),
    [
        (170, 15, 15 - 10 - 2),  # under the bore
        (170, 48, 18 - 10 - 2),  # over it
        (130, 30, 10 - 2),  # ahead of the blind end
        (137, 16, 5 - 2),  # off the rim: 3 ahead, 4 under
        (128, 4, 20 - 2),  # off the rim: 12 and 16
        (170, 21.5, 8.5 - 10 - 2),  # inside the bore: 1.5 in from its lowest line
        (143, 30, -3 - 2),  # inside, 3 from the blind end
        (170, 19, 1 - 2),  # the hole cuts into it
        (230, 15, math.hypot(30, 5) - 2),  # behind the mouth: off its rim
    ],
)
def test_bore_and_axle_hole(x: float, z: float, expected: float) -> None:
    wall = bore_to_axle(Rim(BORE, None, None), AxleHole(x, z, 2))
    assert wall.value_mm == pytest.approx(expected)
    assert far(wall) == pytest.approx(abs(expected), abs=1e-9)


def test_a_tilted_bore_and_an_axle_hole() -> None:
    a = math.radians(10)
    bore = BoreHole(200, 0, 30, 10, 60, a)
    # Square down from the axis at 40 along it, by 15.
    x, z = 200 - 40 * math.cos(a) - 15 * math.sin(a), 30 + 40 * math.sin(a) - 15 * math.cos(a)
    assert bore_to_axle(Rim(bore, None, None), AxleHole(x, z, 2)).value_mm == pytest.approx(3)


@pytest.mark.parametrize(
    ("x", "z", "expected"),
    [
        (40, 8, 8 - 2),  # the underside
        (40, 45, 5 - 2),  # the top
        (5, 20, 5 - 2),  # the nose
        (40, 1, 1 - 2),  # breaks out
        (40, -3, -3 - 2),  # wholly outside
    ],
)
def test_axle_hole_and_outline(x: float, z: float, expected: float) -> None:
    wall = axle_to_outline(AxleHole(x, z, 2), Outline(rectangle(0, 0, 200, 50)))
    assert wall.value_mm == pytest.approx(expected)
    # Its two points lie as far apart as the figure says, on either side of the outline.
    assert far(wall) == pytest.approx(abs(expected))


def test_axle_hole_under_a_sloping_bonnet() -> None:
    # z = 10 + x / 4 at (40, 8): (20 - 8) / sqrt(1 + 1/16).
    profile = outline((0, 10), (0, 0), (200, 0), (200, 60))
    wall = axle_to_outline(AxleHole(60, 14, 2), profile)
    assert wall.value_mm == pytest.approx(min(14, (25 - 14) / math.hypot(1, 0.25)) - 2)
    assert far(wall) == pytest.approx(wall.value_mm)


def test_axle_hole_and_windows() -> None:
    profile = Outline(
        rectangle(0, 0, 200, 50),
        (disc(100, 25, 10).turned(left=False), rectangle(130, 15, 160, 35).turned(left=False)),
    )
    assert axle_to_windows(AxleHole(76, 7, 2), Outline(rectangle(0, 0, 200, 50))) is None
    near = axle_to_windows(AxleHole(76, 7, 2), profile)
    assert near is not None
    assert near.value_mm == pytest.approx(30 - 10 - 2, abs=1e-3)
    below = axle_to_windows(AxleHole(140, 8, 2), profile)
    assert below is not None
    assert below.value_mm == pytest.approx(5)
    inside = axle_to_windows(AxleHole(145, 25, 2), profile)
    assert inside is not None
    assert inside.value_mm == pytest.approx(-10 - 2)
    assert far(inside) == pytest.approx(10 + 2)


def test_two_axle_holes() -> None:
    assert axle_to_axle(AxleHole(50, 8, 2), AxleHole(53, 12, 1.5)).value_mm == pytest.approx(1.5)
    assert axle_to_axle(AxleHole(50, 8, 2), AxleHole(50, 8, 2)).value_mm == -4


@pytest.mark.parametrize(
    ("x", "z", "expected"),
    [
        (66, 7, 5.5 - 2),  # beside it
        (63.5, 12, 5 - 2),  # off its rim: 3 beside, 4 over
        (60, 13, 5 - 2),  # right over its end
        (62, 7, 1.5 - 2),  # cut into
        (60, 5, -0.5 - 2),  # in its middle
    ],
)
def test_pilot_and_axle_hole(x: float, z: float, expected: float) -> None:
    wall = pilot_to_axle(PilotHole(60, 0, 0, *PILOT), AxleHole(x, z, 2))
    assert wall.value_mm == pytest.approx(expected)


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [
        (170, 0, 20 - 8),  # under the lowest line of the bore
        (134.5, 0, math.hypot(5, 12)),  # ahead of it: 5 from rim to rim, 12 up
        (170, 8.5, math.hypot(8, 22) - 10),  # to one side: its rim at y = 8, 22 under the axis
        (170, 20.5, math.hypot(20, 22) - 10),
        (170, -8.5, math.hypot(8, 22) - 10),
    ],
)
def test_bore_and_pilot(x: float, y: float, expected: float) -> None:
    wall = bore_to_pilot(Rim(BORE, None, None), PilotHole(x, y, 0, *PILOT))
    assert wall.value_mm == pytest.approx(expected, abs=1e-3)
    assert far(wall) == pytest.approx(expected, abs=1e-3)


@pytest.mark.parametrize(
    ("y", "inner"),
    [(0.0, 0.0), (0.4, 0.0), (3.0, 2.5), (-6.0, 5.5), (6.9, 6.4)],  # the pilot's side nearest to the middle
)
def test_a_pilot_that_runs_into_the_bore_is_told_as_such(y: float, inner: float) -> None:
    # The pilot reaches up to 22.5; the bore is 30 up and has its underside sqrt(100 - inner^2) lower.
    wall = bore_to_pilot(Rim(BORE, None, None), PilotHole(170, y, 14.5, *PILOT))
    assert wall.value_mm == pytest.approx(30 - math.sqrt(100 - inner**2) - 22.5)
    assert wall.value_mm < 0
    assert far(wall) == pytest.approx(-wall.value_mm)


def test_a_pilot_right_through_the_bore_is_a_chord_deep() -> None:
    # Its top at 44, over the bore's highest line at 40; 5.5 beside the axis a chord is 2 sqrt(100 - 5.5^2).
    wall = bore_to_pilot(Rim(BORE, None, None), PilotHole(170, 6.0, 14.0, 0.5, 30.0))
    assert wall.value_mm == pytest.approx(-2 * math.sqrt(100 - 5.5**2))


@pytest.mark.parametrize(
    ("x", "z", "expected"),
    [
        (60.2, 4.0, -0.3 - 2),  # nearest to the pilot's side
        (59.9, 7.9, -0.1 - 2),  # nearest to its blind end
    ],
)
def test_an_axle_centre_inside_a_pilot(x: float, z: float, expected: float) -> None:
    wall = pilot_to_axle(PilotHole(60, 0, 0, *PILOT), AxleHole(x, z, 2))
    assert wall.value_mm == pytest.approx(expected)
    assert far(wall) == pytest.approx(-expected)


def test_a_pilot_that_comes_out_of_a_rounded_edge_is_placed_as_deep_as_it_does() -> None:
    rounded = Sections(Outline(rectangle(0, 0, 200, 20)), Outline(rectangle(0, -22, 200, 22)), 6.0)
    for y, z in ((21.0, 10.0), (20.0, 11.5), (19.6, 11.0)):
        wall = pilot_to_skin(PilotHole(60, y, z, *PILOT), rounded)
        assert wall.value_mm < 0
        assert far(wall) == pytest.approx(-wall.value_mm, abs=1e-6)


@pytest.mark.parametrize("y", [0.4, 3.0, 6.0])
def test_a_pilot_just_clear_of_the_bore(y: float) -> None:
    # Its top 0.05 under the bore at its inner rim.
    inner = y - 0.5 if y > 0.5 else 0.0
    low = 30 - math.sqrt(100 - inner**2)
    wall = bore_to_pilot(Rim(BORE, None, None), PilotHole(170, y, low - 8.05, *PILOT))
    # The least distance is along the bore's radius there, a little less than straight up.
    assert 0.05 * math.sqrt(100 - inner**2) / 10 - 2e-3 < wall.value_mm <= 0.05 + 1e-6


def test_pilot_and_skin() -> None:
    plain = Sections(Outline(rectangle(0, 0, 200, 20)), Outline(rectangle(0, -22, 200, 22)), 0.0)
    assert pilot_to_skin(PilotHole(60, 0, 0, *PILOT), plain).value_mm == pytest.approx(12)
    assert pilot_to_skin(PilotHole(60, 18, 0, *PILOT), plain).value_mm == pytest.approx(3.5)
    assert pilot_to_skin(PilotHole(3, 0, 0, *PILOT), plain).value_mm == pytest.approx(2.5)
    # Through the top, and out of the side.
    assert pilot_to_skin(PilotHole(60, 0, 15, *PILOT), plain).value_mm < 0
    assert pilot_to_skin(PilotHole(60, 21.9, 0, *PILOT), plain).value_mm == pytest.approx(-0.4)


def test_pilot_and_windows() -> None:
    profile = Outline(rectangle(0, 0, 200, 50), (rectangle(50, 11, 80, 30).turned(left=False),))
    plan = Outline(rectangle(0, -22, 200, 22), (rectangle(100, 4, 130, 12).turned(left=False),))
    plain = Sections(profile, plan, 0.0)
    assert pilot_to_skin(PilotHole(60, 0, 0, *PILOT), plain).value_mm == pytest.approx(3)
    assert pilot_to_skin(PilotHole(110, 0, 0, *PILOT), plain).value_mm == pytest.approx(3.5)
    assert pilot_to_skin(PilotHole(60, 0, 5, *PILOT), plain).value_mm < 0

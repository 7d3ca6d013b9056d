"""How wide and thick the ends of a body are, by hand, and that no figure jumps.

Worked by plane geometry: what a calliper reads across a flat face, at the end of a straight taper, and where
a rounding starts.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from itertools import pairwise

import pytest

from bodyshop.car.body.thickness import least_thickness
from bodyshop.geometry.outlines import Bezier, Outline, Radius, Vertex
from tests.bodies import disc, half, outline, rectangle

CIRCLE = 0.5522847  # handles of a cubic that follows a quarter of an ellipse


def least(shape: Outline) -> float:
    neck = least_thickness(shape)
    assert neck is not None
    return neck.value_mm


def tail_first(shape: Outline) -> Outline:
    """The same car of straight lines, turned round so that its nose is its tail."""
    return outline(*[(285.0 - curve.p0[0], -curve.p0[1]) for curve in shape.outer.curves])


def flat_nose(width: float, over: float, behind: float = 30.0) -> Outline:
    return half((0, width / 2), (over, behind / 2), (200, behind / 2))


def round_nose(radius: float, degrees: float, behind: float = 24.0) -> Outline:
    """A round tip on a straight taper whose sides lean so much."""
    lean = math.radians(degrees)
    x, y = radius * (1 - math.sin(lean)), radius * math.cos(lean)
    if lean == 0:
        return half((0, 0), Vertex((x, y), Radius(radius)), (200, y))
    over = (behind / 2 - y) / math.tan(lean)
    return half((0, 0), Vertex((x, y), Radius(radius)), (x + over, behind / 2), (x + over + 150, behind / 2))


def elliptic_nose(length: float, width: float = 24.0) -> Outline:
    b = width / 2
    edge = Bezier((0, b * CIRCLE), (length * (1 - CIRCLE), b))
    return half((0, 0), Vertex((length, b), edge), (300, b))


@pytest.mark.parametrize(
    ("width", "over"), [(24, 60), (24, 20), (3, 60), (3, 30), (3, 20), (1, 40), (10, 11)]
)
def test_a_flat_end_is_as_wide_as_it_is(width: float, over: float) -> None:
    shape = flat_nose(width, over)
    assert least(shape) == pytest.approx(width, abs=1e-4)
    assert least(tail_first(shape)) == pytest.approx(width, abs=1e-4)


def test_a_nose_on_a_level_bottom_is_as_thick_as_its_edge() -> None:
    for slope_end in (40, 60, 120):
        assert least(outline((0, 0), (200, 0), (200, 20), (slope_end, 20), (0, 1))) == pytest.approx(
            1, abs=1e-4
        )


@pytest.mark.parametrize("over", [120, 60, 30, 20, 13])
def test_a_straight_taper_to_an_edge_is_never_skipped(over: float) -> None:
    assert least(half((0, 0), (over, 12), (200, 12))) < 1e-3
    assert least(outline((0, 0), (200, 0), (200, 24), (over * 2, 24))) < 1e-3  # a wedge on a level bottom
    assert least(tail_first(half((0, 0), (over, 12), (200, 12)))) < 1e-3


@pytest.mark.parametrize("radius", [0.5, 1, 3, 12, 20])
def test_a_round_nose_is_as_wide_as_the_body_behind_it(radius: float) -> None:
    assert least(round_nose(radius, 0)) == pytest.approx(2 * radius, abs=1e-4)


@pytest.mark.parametrize("degrees", [2, 5, 15, 30, 40])
@pytest.mark.parametrize("radius", [0.5, 1, 3])
def test_a_small_round_tip_is_as_wide_as_the_end_of_its_taper(radius: float, degrees: float) -> None:
    # The arc leaves the taper where the chord is 2 R cos(lean).
    wanted = 2 * radius * math.cos(math.radians(degrees))
    assert least(round_nose(radius, degrees)) == pytest.approx(wanted, abs=1e-3)


def test_a_corner_rounded_or_chamfered_a_little_takes_nothing_off() -> None:
    for cut in (0.5, 1, 2, 3, 4):
        assert least(half((0, 12 - cut), (cut, 12), (200, 12))) == pytest.approx(24, abs=1e-4)
        rounded = half((0, 12 - cut), Vertex((cut, 12), Radius(cut)), (200, 12))
        assert least(rounded) == pytest.approx(24, abs=1e-4)
    # Chamfered to a point 4 wide it is a taper with a flat end.
    assert least(half((0, 2), (10, 12), (200, 12))) == pytest.approx(4, abs=1e-4)


def test_a_chin_rounded_on_one_side_only() -> None:
    # A quarter circle as high as the nose, and one half as high.
    assert least(outline((0, 8), Vertex((8, 0), Radius(8)), (200, 0), (200, 8))) == pytest.approx(8, abs=1e-4)
    shape = outline((0, 8), Vertex((8, 0), Radius(8)), (200, 0), (200, 16), (0, 16))
    assert least(shape) == pytest.approx(16, abs=1e-4)


def test_an_elliptic_nose_lies_between_its_tip_and_the_body() -> None:
    """At least twice the radius of its tip, b^2 / a; never more than the body; less the longer it is."""
    found = [least(elliptic_nose(length)) for length in (12, 18, 24, 36, 60, 120)]
    for length, value in zip((12, 18, 24, 36, 60, 120), found, strict=True):
        assert 2 * 12**2 / length - 0.01 <= value <= 24 + 1e-4
    assert found[0] == pytest.approx(24, abs=1e-3)
    assert all(a >= b for a, b in pairwise(found))


def test_the_arms_of_a_fork_have_ends_too() -> None:
    # Arms that taper to 2.5 and, inside them, a slot.
    shape = outline((0, -15), (200, -15), (200, 15), (0, 15), (0, 12.5), (60, 5), (60, -5), (0, -12.5))
    assert least(shape) == pytest.approx(2.5, abs=1e-4)


def test_a_point_beside_a_window() -> None:
    # The nose is 3 wide; a window farther back leaves 2 on either side.
    shape = Outline(flat_nose(3, 60, 40).outer, (rectangle(100, -18, 130, 18).turned(left=False),))
    assert least(shape) == pytest.approx(2, abs=1e-4)
    assert least_thickness(shape, windows=False).value_mm == pytest.approx(3, abs=1e-4)  # type: ignore[union-attr]


# ---------------------------------------------------------------- no jumps


def fin(lean_deg: float) -> Outline:
    """A fin on the tail whose sides lean from upright."""
    dx = 20 * math.tan(math.radians(lean_deg))
    return outline((0, 0), (250, 0), (250, 30), (240, 30), (238, 50), (235, 50), (235 - dx, 30), (0, 30))


SWEEPS: dict[str, tuple[Callable[[float], Outline], float, float]] = {
    "point, its length": (lambda n: half((0, 0), (n, 12), (200, 12)), 4, 30),
    "flat nose, its width": (lambda n: flat_nose(n, 20), 1, 32),
    "flat nose, its taper": (lambda n: flat_nose(6, n), 2, 40),
    "taper, its lean at 30 and 45": (lambda n: outline((0, 0), (200, 0), (200, 30), (n, 30), (0, 2)), 12, 80),
    "chamfer": (lambda n: half((0, 12 - n), (n, 12), (200, 12)), 0.2, 11.5),
    "rounded corner": (lambda n: half((0, 12 - n), Vertex((n, 12), Radius(n)), (200, 12)), 0.2, 11.9),
    "round tip": (lambda n: round_nose(n, 10), 0.3, 11),
    "round tip, its taper": (lambda n: round_nose(2, n), 1, 80),
    "ellipse": (elliptic_nose, 8, 90),
    "raked tail": (lambda n: outline((0, 0), (250, 0), (250 - n, 30), (0, 24)), -25, 60),
    "window by a slope": (
        lambda n: Outline(
            outline((0, 0), (240, 0), (240, 60), (80, 60), (30, 10), (0, 10)).outer,
            (rectangle(60 + n, 14, 120, 20 + n).turned(left=False),),
        ),
        0,
        16,
    ),
    "round window in a nose": (
        lambda n: Outline(half((0, 6), (60, 15), (200, 15)).outer, (disc(n, 0, 4).turned(left=False),)),
        8,
        80,
    ),
    "fin": (fin, -5, 60),
    "notch": (
        lambda n: outline((0, 0), (200, 0), (200, 30), (100 + n, 30), (100, 12), (98, 30), (0, 30)),
        0.5,
        90,
    ),
    "fork": (
        lambda n: outline((0, -15), (200, -15), (200, 15), (0, 15), (0, n), (60, 5), (60, -5), (0, -n)),
        1,
        14.5,
    ),
}


@pytest.mark.parametrize("name", list(SWEEPS))
def test_no_number_of_a_design_makes_it_jump(name: str) -> None:
    """Where it changes most between 60 values, halve the step again and again: the change dies away."""
    make, low, high = SWEEPS[name]
    numbers = [low + (high - low) * i / 59 for i in range(60)]
    values = [least(make(n)) for n in numbers]
    steps = sorted(range(59), key=lambda i: -abs(values[i + 1] - values[i]))
    for i in steps[:3]:
        a, b = numbers[i], numbers[i + 1]
        value_a, value_b = values[i], values[i + 1]
        while b - a > 1e-4:
            middle = 0.5 * (a + b)
            value = least(make(middle))
            if abs(value - value_a) > abs(value_b - value):
                b, value_b = middle, value
            else:
                a, value_a = middle, value
        assert abs(value_b - value_a) < 0.03, (name, a, value_a, value_b)

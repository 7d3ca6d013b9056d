"""The thinnest wood, by hand and against a fine search with another library.

The definition is that of `bodyshop.car.body.thickness`. The second opinion walks every face and station in
steps of 0.25 mm with shapely's intersections and shapely's walks along a ring.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bodyshop.car.body.thickness import least_thickness
from bodyshop.geometry.outlines import Bezier, Outline, Radius, Smooth, Vertex, outline_faults
from tests.bodies import disc, half, outline, rectangle

CLOSE = 0.012


def thinnest(shape: Outline, *, windows: bool = True) -> float:
    neck = least_thickness(shape, windows=windows)
    assert neck is not None
    assert math.dist(neck.end0, neck.end1) == pytest.approx(neck.value_mm, abs=1e-6)
    return neck.value_mm


def test_parallel_faces() -> None:
    assert thinnest(Outline(rectangle(0, 0, 200, 20))) == pytest.approx(20, abs=CLOSE)
    assert thinnest(Outline(rectangle(0, 0, 15, 200))) == pytest.approx(15, abs=CLOSE)


def test_a_step() -> None:
    assert thinnest(outline((0, 0), (200, 0), (200, 50), (80, 50), (80, 12), (0, 12))) == pytest.approx(
        12, abs=CLOSE
    )


def test_a_blunt_wedge_counts_and_a_blunt_corner_does_not() -> None:
    # A nose 4 high: the thinnest place is at the nose. Its faces lean 5.7 degrees to each other.
    assert thinnest(outline((0, 0), (200, 0), (200, 24), (0, 4))) == pytest.approx(4, abs=1e-4)
    # A blunt arrow, its sides 63 degrees from the length of the car: only the body behind it counts.
    assert thinnest(half((0, 0), (6, 12), (200, 12))) == pytest.approx(24, abs=1e-4)


def test_a_sharp_point_is_thin() -> None:
    assert thinnest(outline((0, 0), (200, -20), (200, 20))) < 1e-3


def test_a_neck_between_two_round_windows() -> None:
    # Centres 25 apart, radii 10 and 12: 3 between them.
    shape = Outline(
        rectangle(0, 0, 200, 60), (disc(60, 30, 10).turned(left=False), disc(85, 30, 12).turned(left=False))
    )
    assert thinnest(shape) == pytest.approx(3, abs=CLOSE)
    assert thinnest(shape, windows=False) == pytest.approx(60, abs=CLOSE)


def test_a_neck_between_a_window_and_the_outside() -> None:
    shape = Outline(rectangle(0, 0, 200, 60), (rectangle(50, 5, 90, 30).turned(left=False),))
    assert thinnest(shape) == pytest.approx(5, abs=CLOSE)
    shape = Outline(rectangle(0, 0, 200, 60), (disc(60, 45, 12).turned(left=False),))
    assert thinnest(shape) == pytest.approx(3, abs=CLOSE)


def test_a_waist() -> None:
    # Two hollow arcs of radius 100 facing each other, 14 apart at the middle.
    dip = 100 - math.sqrt(100**2 - 50**2)
    high = 7 + dip
    shape = outline(
        (0, -high),
        Vertex((100, -high), Radius(100, hollow=True)),
        (100, high),
        Vertex((0, high), Radius(100, hollow=True)),
    )
    assert thinnest(shape) == pytest.approx(14, abs=CLOSE)
    neck = least_thickness(shape)
    assert neck is not None
    assert neck.end0[0] == pytest.approx(50, abs=1.5)


def test_of_two_thin_places_the_thinner_is_found() -> None:
    # A long flat 3.10 thick and, elsewhere, a round window 3.00 off the top over a short stretch.
    shape = Outline(
        outline((0, 0), (200, 0), (200, 50), (90, 50), (90, 3.1), (0, 3.1)).outer,
        (disc(150, 37, 10).turned(left=False),),
    )
    assert thinnest(shape) == pytest.approx(3.0, abs=CLOSE)
    shape = Outline(
        outline((0, 0), (200, 0), (200, 50), (90, 50), (90, 2.95), (0, 2.95)).outer,
        (disc(150, 37, 10).turned(left=False),),
    )
    assert thinnest(shape) == pytest.approx(2.95, abs=CLOSE)


@pytest.mark.parametrize("radius", [1.5, 2.5, 4.0, 8.0])
def test_small_windows_are_not_overlooked(radius: float) -> None:
    shape = Outline(
        rectangle(0, 0, 300, 40),
        (disc(131.7, 40 - radius - 2.2, radius).turned(left=False), disc(60, 20, 16.9).turned(left=False)),
    )
    assert thinnest(shape) == pytest.approx(2.2, abs=CLOSE)


def test_a_long_shallow_waist() -> None:
    # Sides of hollow arcs of radius 3000 that come closest at x = 31: 2 x 3.9 mm there.
    def y(x: float) -> float:
        return 3.9 + 3000 - math.sqrt(3000**2 - (x - 31) ** 2)

    shape = half((0, y(0)), Vertex((280, y(280)), Radius(3000, hollow=True)))
    assert thinnest(shape) == pytest.approx(7.8, abs=1e-3)


# ---------------------------------------------------------------- inside corners


def test_the_tip_of_a_notch() -> None:
    for half_width in (5, 15, 35, 60):
        shape = outline(
            (0, 0), (240, 0), (240, 40), (120 + half_width, 40), (120, 5), (120 - half_width, 40), (0, 40)
        )
        assert thinnest(shape) == pytest.approx(5, abs=1e-6)


def test_a_sharp_waist() -> None:
    # From tip to tip; square to the edges it is 25.5.
    assert thinnest(half((0, 20), (80, 20), (120, 12), (160, 20), (240, 20))) == pytest.approx(24, abs=1e-6)


def test_the_corner_of_a_window_under_a_slope() -> None:
    # The slope runs from (30, 10) to (80, 60): (70, 45) is 5 from it along z, 5 / sqrt(2) square to it.
    shape = Outline(
        outline((0, 0), (240, 0), (240, 60), (80, 60), (30, 10), (0, 10)).outer,
        (rectangle(70, 20, 120, 45).turned(left=False),),
    )
    assert thinnest(shape) == pytest.approx(5 / math.sqrt(2), abs=CLOSE)


def test_two_notches_from_opposite_sides() -> None:
    # Tips 12 along and 5 up from each other: 13.
    shape = outline(
        (0, 0), (100, 0), (106, 20), (112, 0), (240, 0), (240, 45), (124, 45), (118, 25), (112, 45), (0, 45)
    )
    assert thinnest(shape) == pytest.approx(13, abs=1e-6)


def test_the_corners_of_two_windows() -> None:
    shape = Outline(
        rectangle(0, 0, 200, 80),
        (rectangle(40, 10, 90, 37).turned(left=False), rectangle(93, 41, 150, 70).turned(left=False)),
    )
    assert thinnest(shape) == pytest.approx(5, abs=1e-6)
    assert thinnest(shape, windows=False) == pytest.approx(80, abs=CLOSE)


def test_a_notch_against_a_curve() -> None:
    # A hollow belly of radius 100 whose top is at z = 10 under the tip at z = 17.
    dip = 100 - math.sqrt(100**2 - 40**2)
    shape = outline(
        (0, 10 - dip),
        (80, 10 - dip),
        Vertex((160, 10 - dip), Radius(100, hollow=True)),
        (240, 10 - dip),
        (240, 50),
        (140, 50),
        (120, 17),
        (100, 50),
        (0, 50),
    )
    assert thinnest(shape) == pytest.approx(7, abs=1e-3)


# ---------------------------------------------------------------- against a fine search


def rings_of(polygon: shapely.Polygon) -> list[shapely.LinearRing]:
    oriented = shapely.geometry.polygon.orient(polygon)  # the wood on the left of every ring
    return [oriented.exterior, *oriented.interiors]


def second_opinion(shape: Outline, more_deg: float) -> float:
    """The definition by shapely: lines square to every face, straight across and straight along, 0.25 mm
    apart; each limit of lean moved by `more_deg`.
    """
    polygon = shape.polygon(0.0001)
    found = [judged(polygon, *square_lines(polygon), 30 + more_deg)]
    for turned, limit in ((False, 45), (True, 30)):
        # Straight along is straight across with u and v changed over.
        wood = shapely.transform(polygon, lambda p: p[:, ::-1]) if turned else polygon
        found.append(judged(wood, *lines_across(wood), limit + more_deg))
    return min(found)


def square_lines(polygon: shapely.Polygon) -> tuple[np.ndarray, np.ndarray]:
    rings = [np.asarray(ring.coords) for ring in rings_of(polygon)]
    starts, ends = np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])
    edges = shapely.linestrings(np.stack((starts, ends), axis=1))
    along = ends - starts
    size = np.hypot(*along.T)
    count = np.maximum(1, np.ceil(size / 0.25)).astype(int) + 1
    row = np.repeat(np.arange(len(count)), count)
    share = (np.arange(len(row)) - np.repeat(np.cumsum(count) - count, count)) / (count - 1)[row]
    share = 1e-6 + share * (1 - 2e-6)
    origin = starts[row] + share[:, None] * along[row]
    inward = np.stack((-along[row][:, 1], along[row][:, 0]), axis=1) / size[row][:, None]
    rays = shapely.linestrings(np.stack((origin + 1e-4 * inward, origin + 400 * inward), axis=1))
    which, hit = shapely.STRtree(edges).query(rays, predicate="intersects")
    reach = shapely.distance(shapely.intersection(rays[which], edges[hit]), shapely.points(origin[which]))
    order = np.lexsort((reach, which))
    which, reach = which[order], reach[order]
    first = np.flatnonzero(np.diff(which, prepend=-1))
    start = origin[which[first]]
    return start, start + reach[first][:, None] * inward[which[first]]


def lines_across(polygon: shapely.Polygon) -> tuple[np.ndarray, np.ndarray]:
    u0, v0, u1, v1 = polygon.bounds
    joints = np.unique(shapely.get_coordinates(polygon)[:, 0])
    u = np.concatenate((np.arange(u0, u1, 0.25), joints - 2e-6, joints + 2e-6))
    u = u[(u > u0) & (u < u1)]
    cut = shapely.get_parts(
        shapely.intersection(shapely.linestrings([[(x, v0 - 1), (x, v1 + 1)] for x in u]), polygon)
    )
    ends = shapely.get_coordinates(cut[shapely.length(cut) > 0]).reshape(-1, 2, 2)
    return ends[:, 0], ends[:, 1]


def judged(polygon: shapely.Polygon, p: np.ndarray, q: np.ndarray, limit_deg: float) -> float:
    """The least that lines from p to q count."""
    rings = rings_of(polygon)
    length = np.hypot(*(q - p).T)

    def on(spots: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        points = shapely.points(spots)
        which = np.argmin([shapely.distance(ring, points) for ring in rings], axis=0)
        run = np.empty(len(which))
        for k, ring in enumerate(rings):
            run[which == k] = shapely.line_locate_point(ring, points[which == k])
        return which, run

    def at(which: np.ndarray, run: np.ndarray) -> np.ndarray:
        spots = np.empty((len(which), 2))
        for k, ring in enumerate(rings):
            on_it = shapely.line_interpolate_point(ring, np.mod(run[which == k], ring.length))
            spots[which == k] = shapely.get_coordinates(on_it)
        return spots

    def angle(a: np.ndarray, b: np.ndarray) -> np.ndarray:
        return np.arctan2(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0], np.sum(a * b, axis=1))

    (one, run_p), (two, run_q) = on(p), on(q)
    way_p = at(one, run_p + 1e-7) - at(one, run_p - 1e-7)
    way_q = at(two, run_q + 1e-7) - at(two, run_q - 1e-7)
    across = q - p
    # Wood on the left of both: square to the line, p's way is a quarter turn right of it, q's left.
    lean = np.degrees(
        np.maximum(
            np.abs(angle(way_p, np.stack((across[:, 1], -across[:, 0]), axis=1))),
            np.abs(angle(way_q, np.stack((-across[:, 1], across[:, 0]), axis=1))),
        )
    )
    back = 0.5 * length
    ahead = angle(way_p, at(one, run_p + back) - p) - angle(-way_q, at(two, run_q - back) - q)
    behind = angle(way_q, at(two, run_q + back) - q) - angle(-way_p, at(one, run_p - back) - p)
    together = np.maximum(np.minimum(ahead, behind), 0.0)
    u0, v0, u1, v1 = polygon.bounds
    counts = length * (1 + 2.5 * together) + min(u1 - u0, v1 - v0) * np.maximum((lean - limit_deg) / 15, 0.0)
    return float(np.min(counts[lean < limit_deg + 15], initial=math.inf))


@st.composite
def shapes(draw: st.DrawFn) -> Outline:
    high = st.floats(8, 45)
    kinds = st.sampled_from(("line", "arc", "hollow", "smooth", "bezier"))
    xs = [200.0, 150.0, 100.0, 50.0, 0.0]
    vertices = [Vertex((0, 0)), Vertex((200, 0)), Vertex((200, draw(high)))]
    for x in xs[1:]:
        kind, z = draw(kinds), draw(high)
        a, b = draw(st.floats(-5, 5)), draw(st.floats(-5, 5))
        before = vertices[-1].at
        edge = {
            "line": None,
            "arc": Radius(60),
            "hollow": Radius(70, hollow=True),
            "smooth": Smooth(),
            "bezier": Bezier((x + 33, before[1] + a), (x + 16, z + b)),
        }[kind]
        vertices.append(Vertex((x, z)) if edge is None else Vertex((x, z), edge))
    shape = outline(*vertices)
    windows = []
    if draw(st.booleans()):
        windows.append(disc(draw(st.floats(30, 170)), draw(st.floats(6, 12)), draw(st.floats(2, 4))))
    shape = Outline(shape.outer, tuple(w.turned(left=False) for w in windows))
    assume(not outline_faults(shape))
    return shape


@settings(max_examples=12)
@given(shapes())
def test_the_thinnest_place_of_random_outlines(shape: Outline) -> None:
    # Shapely's chords lean by a little from the curve: what counts lies between the two.
    neck = least_thickness(shape)
    found = math.inf if neck is None else neck.value_mm
    assert found <= second_opinion(shape, -0.5) + 0.08
    # Half a step on a face that leans 45 degrees: 0.13 mm.
    if found < second_opinion(shape, 0.5) - 0.15:
        assert neck is not None
        joints = [c.p0 for ring in shape.rings for c in ring.curves]
        assert min(math.dist(neck.end0, joint) for joint in joints) < 1e-6  # at an inside corner


def test_a_window_just_under_the_outside() -> None:
    # A disc of radius 3.75 whose top lies 0.29 under a roof that leans 1.7 degrees: wood of 0.29 cos(1.7).
    roof = outline((0, 0), (200, 0), (200, 8), (150, 8), (100, 13.5), (50, 15), (0, 8))
    window = disc(82, 10, 3.75).turned(left=False)
    neck = least_thickness(Outline(roof.outer, (window,)))
    # Distance of the disc's centre from the line through (100, 13.5) and (50, 15), less its radius.
    gap = abs(50 * (10 - 15) + 1.5 * (82 - 50)) / math.hypot(50, 1.5) - 3.75
    assert neck is not None
    assert neck.value_mm == pytest.approx(gap, abs=0.01)

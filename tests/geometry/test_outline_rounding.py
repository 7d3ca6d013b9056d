"""Rounded corners at every pairing of curves: tangent both ways, the right radius, never more than fits.

Outside sources: the tangent length of a corner turned by an angle a, r tan(a / 2), and the area it loses,
r^2 (tan(a / 2) - a / 2) (both sides of the tangent kite less the sector; any handbook); shapely's offset
curve as a second opinion on the centre.
"""

from __future__ import annotations

import math
from itertools import product

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.geometry.outlines import (
    Arc,
    Bezier,
    Chain,
    ChainFault,
    Curve,
    Edge,
    Outline,
    Point,
    Radius,
    Ring,
    Smooth,
    Straight,
    Through,
    Vertex,
    build_chain,
    dist,
    outline_faults,
)


def at(curve: Curve, t: float) -> Point:
    u, v = curve.at(np.array([t]))[0]
    return (float(u), float(v))


def turn(a: Point, b: Point) -> float:
    return math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


# Two edges that meet at (60, 0), and close by way of (60, 90) and (-40, 90) or so: which kind each is.
ARRIVING: dict[str, tuple[Point, Edge]] = {
    "line": ((0, 0), Straight()),
    "bulging arc": ((0, 0), Radius(80)),
    "hollow arc": ((0, 0), Radius(80, hollow=True)),
    "arc through": ((0, 0), Through((30, -6))),
    "cubic": ((0, 0), Bezier((15, 10), (40, -12))),
    "smooth": ((0, 0), Smooth()),
}
LEAVING: dict[str, Edge] = {
    "line": Straight(),
    "bulging arc": Radius(70),
    "hollow arc": Radius(70, hollow=True),
    "arc through": Through((66, 30)),
    "cubic": Bezier((50, 20), (75, 35)),
    "smooth": Smooth(),
}
# Where the leaving edge goes: a right angle, a blunt corner, a sharp one, and one that turns the other way.
TO: dict[str, Point] = {"square": (60, 60), "blunt": (110, 40), "sharp": (25, 55), "inside": (105, -50)}


def corner(
    arriving: str, leaving: str, to: str, radius: float
) -> tuple[list[Vertex], Chain | None, list[ChainFault]]:
    start, edge = ARRIVING[arriving]
    vertices = [Vertex(start), Vertex((60, 0), edge, radius)]
    if arriving == "smooth":
        vertices = [Vertex(start), Vertex((25, 4), Smooth()), Vertex((60, 0), Smooth(), radius)]
    if leaving == "smooth" and arriving != "smooth":  # two smooth edges have no corner between them
        end = TO[to]
        half = (60 + 0.5 * (end[0] - 60) + 4, 0.5 * end[1] + 3)
        vertices += [Vertex(half, Smooth()), Vertex(end, Smooth())]
    else:
        vertices.append(Vertex(TO[to], LEAVING[leaving]))
    if to == "inside":
        vertices += [Vertex((200, -50)), Vertex((200, 90))]
    vertices.append(Vertex((-40, 90)))
    chain, faults = build_chain(vertices)
    return vertices, chain, faults


PAIRS = [(a, b, to) for a, b, to in product(ARRIVING, LEAVING, TO) if not (a == "smooth" and b == "smooth")]


@pytest.mark.parametrize(("arriving", "leaving", "to"), PAIRS)
def test_a_rounding_is_tangent_to_both_edges_and_of_its_radius(arriving: str, leaving: str, to: str) -> None:
    for radius in (0.5, 4.0, 9.0):
        check_tangent(arriving, leaving, to, radius)


def check_tangent(arriving: str, leaving: str, to: str, radius: float) -> None:
    vertices, chain, faults = corner(arriving, leaving, to, radius)
    assert faults == []
    assert chain is not None
    owner = next(i for i, v in enumerate(vertices) if v.round_mm > 0)
    (i,) = [
        k
        for k, c in enumerate(chain.curves)
        if isinstance(c, Arc) and c.radius == radius and chain.owners[k] == owner
    ]
    before, arc, after = chain.curves[i - 1], chain.curves[i], chain.curves[(i + 1) % len(chain.curves)]
    assert isinstance(arc, Arc)
    assert before.p1 == arc.p0
    assert arc.p1 == after.p0
    assert dist(at(before, 1.0), arc.p0) < 1e-9
    assert dist(at(after, 0.0), arc.p1) < 1e-7
    for share, curve, end in ((0.0, before, 1.0), (1.0, after, 0.0)):
        assert abs(turn(curve.direction(end), arc.direction(share))) < 1e-6
        assert dist(at(arc, share), arc.centre) == pytest.approx(radius, abs=1e-9)
    # It turns the way the corner turns, and less than half round.
    _, sharp, _ = corner(arriving, leaving, to, 0.0)
    assert sharp is not None
    k = next(k for k, c in enumerate(sharp.curves) if c.p1 == (60.0, 0.0))
    turned = turn(sharp.curves[k].direction(1.0), sharp.curves[k + 1].direction(0.0))
    assert math.copysign(1, arc.sweep) == math.copysign(1, turned)
    assert abs(arc.sweep) < math.pi


@pytest.mark.parametrize(("arriving", "leaving", "to"), PAIRS)
def test_the_rest_of_the_outline_is_left_alone(arriving: str, leaving: str, to: str) -> None:
    _, sharp, _ = corner(arriving, leaving, to, 0.0)
    _, rounded, _ = corner(arriving, leaving, to, 4.0)
    assert sharp is not None
    assert rounded is not None
    a, b = (shapely.LinearRing(Ring(c.curves, c.owners).flattened(0.005)[0]) for c in (sharp, rounded))
    # Hollow arcs make the sharp corners sharper still: 4 tan(150 / 2) = 15 mm and more.
    away = shapely.Point(60, 0).buffer(24)
    assert shapely.hausdorff_distance(a.difference(away), b.difference(away), 0.2) < 0.02
    tip = shapely.Point(60, 0).distance(b)
    assert 0 < tip < 20


@pytest.mark.parametrize("degrees", [3, 30, 60, 90, 120, 150, 175])
@pytest.mark.parametrize("side", [-1, 1])
def test_what_a_corner_of_two_lines_loses(degrees: int, side: int) -> None:
    a, r = math.radians(degrees), 5.0
    far = (100 + 300 * math.cos(a), side * 300 * math.sin(a))
    closing = (-200.0, side * 500.0)

    def area(radius: float) -> float:
        points = [Vertex((-200.0, 0.0)), Vertex((100.0, 0.0), round_mm=radius), Vertex(far), Vertex(closing)]
        chain, faults = build_chain(points)
        assert faults == []
        assert chain is not None
        return Ring(chain.curves, chain.owners).area

    assert abs(area(0) - area(r)) == pytest.approx(r * r * (math.tan(a / 2) - a / 2), rel=1e-6, abs=1e-9)


def test_a_corner_that_is_nearly_straight_is_left_as_it_is() -> None:
    vertices = [Vertex((0, 0)), Vertex((50, 1e-6), round_mm=5), Vertex((100, 0)), Vertex((100, 50))]
    chain, faults = build_chain(vertices)
    assert faults == []
    assert chain is not None
    assert len(chain.curves) == 4


def test_neighbouring_roundings_may_use_an_edge_up() -> None:
    # A 30 x 10 slot with corners of 5: the short sides vanish, two half discs are left.
    points = [Vertex(p, round_mm=5) for p in ((0.0, 0.0), (30.0, 0.0), (30.0, 10.0), (0.0, 10.0))]
    chain, faults = build_chain(points)
    assert faults == []
    assert chain is not None
    ring = Ring(chain.curves, chain.owners)
    assert ring.area == pytest.approx(200 + math.pi * 25, rel=1e-9)
    assert outline_faults(Outline(ring)) == []


# ---------------------------------------------------------------- too large


def largest(fault: ChainFault) -> float:
    assert fault.code == "round-too-large"
    assert fault.field == "round"
    assert fault.expected.startswith("at most ")
    return float(fault.expected.split()[2])


def test_one_corner_too_round_for_its_edge_by_hand() -> None:
    # A right angle between edges of 30 and 10: r tan 45 = r, so 10 at the most.
    _, faults = build_chain([Vertex((0, 0)), Vertex((30, 0), round_mm=12), Vertex((30, 10)), Vertex((0, 40))])
    assert [f.vertex for f in faults] == [1]
    assert largest(faults[0]) == pytest.approx(10, abs=0.01)


def test_two_corners_share_an_edge_in_proportion_by_hand() -> None:
    # 8 and 4 on an edge of 9: three quarters of each.
    _, faults = build_chain(
        [Vertex((0, 0)), Vertex((30, 0), round_mm=8), Vertex((30, 9), round_mm=4), Vertex((0, 9))]
    )
    assert [f.vertex for f in faults] == [1, 2]
    assert [largest(f) for f in faults] == pytest.approx([6, 3], abs=0.01)


def fits_when_obeyed(vertices: list[Vertex]) -> None:
    """Do as the faults say and see that the outline is then accepted."""
    chain, faults = build_chain(vertices)
    assert chain is None
    for fault in faults:
        old = vertices[fault.vertex]
        new = largest(fault) if fault.expected.startswith("at most") else 0.0
        assert new < old.round_mm
        vertices[fault.vertex] = Vertex(old.at, old.edge, new, old.tangent)
    chain, faults = build_chain(vertices)
    assert faults == []
    assert chain is not None


def test_the_largest_radius_that_is_told_fits() -> None:
    refused = 0
    for arriving, leaving, to in PAIRS[::7]:
        # Two curves that bend apart have an arc of any radius, up to their common tangent.
        vertices, chain, _ = corner(arriving, leaving, to, 1000.0)
        if chain is None:
            fits_when_obeyed(vertices)
            refused += 1
    assert refused > 0.8 * len(PAIRS) / 7


def test_the_largest_radius_is_not_far_too_small() -> None:
    # The mean of what is told for the pairings of plain lines: r = edge / tan(a / 2), the shorter edge.
    for to, end in TO.items():
        vertices, _, faults = corner("line", "line", to, 1000.0)
        a = abs(turn((1, 0), (end[0] - 60, end[1])))
        assert largest(faults[0]) == pytest.approx(
            min(60, math.hypot(end[0] - 60, end[1])) / math.tan(a / 2), rel=1e-3
        )
        assert len(vertices) > 3


@pytest.mark.parametrize(
    "rounds", [(12, 12, 12, 12), (12, 0, 12, 0), (6, 6, 6, 6), (200, 3, 3, 3), (7, 6, 5, 4)]
)
def test_all_corners_of_a_square_of_ten_too_round(rounds: tuple[float, ...]) -> None:
    corners = ((0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0))
    fits_when_obeyed([Vertex(c, round_mm=r) for c, r in zip(corners, rounds, strict=True)])


@settings(max_examples=50)
@given(
    st.lists(st.floats(20, 60), min_size=5, max_size=7),
    st.lists(st.floats(0.5, 60), min_size=7, max_size=7),
    st.lists(st.sampled_from([Straight(), Radius(70.0), Radius(90.0, True)]), min_size=7, max_size=7),
)
def test_random_outlines_too_round_fit_once_the_advice_is_taken(
    reach: list[float], rounds: list[float], edges: list
) -> None:
    count = len(reach)
    vertices = [
        Vertex(
            (far * math.cos(2 * math.pi * k / count), far * math.sin(2 * math.pi * k / count)), edge, radius
        )
        for k, (far, radius, edge) in enumerate(zip(reach, rounds, edges, strict=False))
    ]
    chain, _ = build_chain(vertices)
    if chain is None:
        fits_when_obeyed(vertices)

"""Outlines that cannot be cut: crossings, windows out of the wood, windows that meet, nothing enclosed."""

from __future__ import annotations

import math

import pytest

from bodyshop.geometry.outlines import (
    Bezier,
    Line,
    Outline,
    OutlineFault,
    Point,
    Radius,
    Ring,
    Smooth,
    Through,
    Vertex,
    build_chain,
    outline_faults,
)


def ring_of(*vertices: Vertex | Point) -> Ring:
    chain, faults = build_chain([v if isinstance(v, Vertex) else Vertex(v) for v in vertices])
    assert faults == []
    assert chain is not None
    return Ring(chain.curves, chain.owners)


def box(u0: float, v0: float, u1: float, v1: float) -> Ring:
    return ring_of((u0, v0), (u1, v0), (u1, v1), (u0, v1))


def disc(u: float, v: float, r: float) -> Ring:
    return ring_of(
        Vertex((u + r, v), Radius(r)),
        Vertex((u, v + r), Radius(r)),
        Vertex((u - r, v), Radius(r)),
        Vertex((u, v - r), Radius(r)),
    )


def faults(outer: Ring, *windows: Ring) -> list[OutlineFault]:
    return outline_faults(Outline(outer.turned(left=True), tuple(w.turned(left=False) for w in windows)))


CAR = box(0, 0, 100, 40)


def test_a_good_outline_has_none() -> None:
    assert faults(CAR, disc(30, 20, 10), box(50, 10, 80, 30)) == []


def test_a_figure_of_eight_is_placed_at_its_crossing() -> None:
    (fault,) = faults(ring_of((0, 0), (40, 30), (40, 0), (0, 20)))
    assert (fault.code, fault.ring) == ("outline-crosses", 0)
    # v = 3u/4 and v = 20 - u/2 meet at u = 16, v = 12.
    assert fault.spot == pytest.approx((16, 12), abs=0.05)
    assert fault.vertex in (1, 3)
    assert fault.expected


def test_curves_that_cross_are_seen() -> None:
    # A bulge of the underside comes out through the top.
    (fault,) = faults(ring_of((0, 0), Vertex((100, 0), Through((50, 25))), (100, 20), (0, 20)))
    assert fault.code == "outline-crosses"
    assert fault.spot[1] == pytest.approx(20, abs=0.1)
    (fault,) = faults(ring_of((0, 0), Vertex((60, 0), Bezier((80, 60), (-20, 60))), (60, -30), (0, -30)))
    assert fault.code == "outline-crosses"
    assert fault.spot[0] == pytest.approx(30, abs=0.5)  # by symmetry


def test_an_outline_that_touches_itself_is_told() -> None:
    (fault,) = faults(ring_of((0, 0), (50, 0), (100, 0), (100, 40), (50, 0.0), (0, 40)))
    assert fault.code == "outline-crosses"
    assert fault.spot == pytest.approx((50, 0), abs=0.05)


def test_nothing_enclosed() -> None:
    (fault,) = faults(ring_of((0, 0), (50, 0), (100, 0), (60, 0)))
    assert (fault.code, fault.ring) == ("no-area", 0)
    # A line there and back, as a top view of no width is.
    there, back = Line((0.0, 0.0), (100.0, 0.0)), Line((100.0, 0.0), (0.0, 0.0))
    (fault,) = faults(Ring((there, back), (0, 1)))
    assert (fault.code, fault.ring) == ("no-area", 0)


def test_a_window_out_of_the_wood() -> None:
    (fault,) = faults(CAR, box(50, 10, 80, 30), disc(95, 20, 10))
    assert (fault.code, fault.ring) == ("window-outside", 2)
    assert fault.spot[0] >= 99.9
    (fault,) = faults(CAR, disc(300, 20, 10))
    assert fault.code == "window-outside"


def test_a_window_that_touches_the_outside() -> None:
    (fault,) = faults(CAR, box(60, 0, 80, 10))
    assert (fault.code, fault.ring) == ("window-outside", 1)
    (fault,) = faults(CAR, ring_of((60, 10), (70, 40), (80, 10)))
    assert fault.code == "window-outside"


def test_a_window_as_large_as_the_car() -> None:
    assert [f.code for f in faults(CAR, CAR)] == ["window-outside"]


def test_windows_that_meet() -> None:
    (fault,) = faults(CAR, disc(30, 20, 10), disc(45, 20, 10))
    assert (fault.code, fault.ring) == ("windows-meet", 2)
    assert "window 1" in fault.message
    # The lens between two circles 15 apart: u from 35 to 40, v within sqrt(100 - 7.5^2) = 6.61 of 20.
    assert 34.9 < fault.spot[0] < 40.1
    assert abs(fault.spot[1] - 20) < 6.7


def test_a_window_in_a_window() -> None:
    assert [f.code for f in faults(CAR, disc(30, 20, 12), disc(30, 20, 4))] == ["windows-meet"]


def test_windows_that_only_touch() -> None:
    assert [f.code for f in faults(CAR, box(20, 10, 40, 30), box(40, 15, 60, 25))] == ["windows-meet"]


def test_several_faults_at_once_and_crossed_rings_hide_theirs() -> None:
    crossed = ring_of((60, 10), (80, 30), (80, 10), (60, 30))
    found = faults(CAR, crossed, disc(99, 20, 5), disc(30, 35, 5.5), disc(30, 30, 3))
    assert [(f.code, f.ring) for f in found] == [
        ("outline-crosses", 1),
        ("window-outside", 2),
        ("window-outside", 3),
        ("windows-meet", 4),
    ]


def test_windows_are_judged_when_the_outside_itself_is_crossed() -> None:
    crossed = ring_of((0, 0), (100, 40), (100, 0), (0, 40))
    found = faults(crossed, disc(30, 20, 10), disc(35, 20, 10))
    assert [f.code for f in found] == ["outline-crosses", "windows-meet"]


@pytest.mark.parametrize("gap", [0.05, 0.2, 1.0])
def test_near_misses_are_let_through(gap: float) -> None:
    assert faults(CAR, disc(30, 20, 20 - gap), box(70, gap, 90, 40 - gap)) == []


def test_the_vertex_that_is_named_is_the_nearest_edge() -> None:
    (fault,) = faults(CAR, ring_of((60, 10), (120, 20), (60, 30)))
    # Edges 1 (to the tip) and 2 (from it) reach out of the wood.
    assert fault.vertex in (1, 2)


def test_a_smooth_run_that_loops_back() -> None:
    found = faults(
        ring_of(
            (0, 0),
            (60, 0),
            Vertex((60, 40), Smooth()),
            Vertex((30, -20), Smooth()),
            Vertex((0, 40), Smooth()),
        )
    )
    assert [f.code for f in found] == ["outline-crosses"]
    assert math.isfinite(found[0].spot[0])

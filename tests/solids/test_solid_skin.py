"""The skin's parts: splines that follow the sides, stretches, planes shared by neighbours, and refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bodyshop.car.body import BoreHole, Moments, Sections
from bodyshop.car.body.moments import undrilled_moments
from bodyshop.foundation.problems import ProblemsError
from bodyshop.geometry.outlines import Outline, Radius, Straight, Through, Vertex
from bodyshop.solids import SolidError, body_solid, drilled, undrilled
from bodyshop.solids import brep as skin_module
from bodyshop.solids import build as build_module
from bodyshop.solids.end_faces import ContactError, meet
from bodyshop.solids.ends import End
from bodyshop.solids.segments import stretches
from bodyshop.solids.splines import fit
from tests.bodies import body, box, disc, outline, rectangle

ALL, NONE = (True,) * 4, (False,) * 4


# ---------------------------------------------------------------- splines


def test_a_straight_side_is_one_straight_spline() -> None:
    found = fit([lambda s: np.stack((3 * s, 5 - s))], 1e-6)
    assert found.degree == 1
    assert found.at(np.array([0.25])).ravel() == pytest.approx([0.75, 4.75])


def test_a_circle_is_followed_to_its_upright_end() -> None:
    # A quarter circle as a function of x stands upright at x = 0: only the pace s^2 makes it smooth.
    ways = [
        lambda s, pace=pace: np.stack((pace(s), np.sqrt(np.maximum(2 * pace(s) - pace(s) ** 2, 0.0))))
        for pace in (lambda s: s, lambda s: s * s)
    ]
    found = fit(ways, 1e-8)
    x, v = found.at(np.linspace(0, 1, 2001))
    assert np.abs(np.hypot(x - 1, v) - 1).max() < 1e-7
    assert found.breaks.size < 20


def test_a_corner_is_reported_not_smoothed_over() -> None:
    assert fit([lambda s: np.abs(s - 1 / 3)[None]], 1e-9).error > 1e-9


# ---------------------------------------------------------------- stretches


def test_stretches_split_where_the_radius_changes_its_law() -> None:
    # A wedge from 4 mm to 40 mm high, edges rounded by 5: half the height is the radius up to 10 mm high.
    wedge = outline((0, 0), (180, 0), (180, 40), (0, 4))
    planes, parts = stretches(Sections(wedge, box(180, 40, 1)[1], 5.0))
    assert planes == pytest.approx([0, 30, 180])
    # Up to there the two corners of a side meet: no flat is left between them.
    assert parts[0].flat == (True, False, True, False)
    assert parts[1].flat == (True, True, True, True)


def test_a_run_goes_on_past_the_breaks_of_others() -> None:
    # The slot starts and ends at breaks that the wood beside it does not share.
    plan = Outline(rectangle(0, -20, 100, 20), (rectangle(40, 5, 60, 10).turned(left=False),))
    planes, parts = stretches(Sections(box(100, 1, 30)[0], plan, 0.0))
    assert planes == pytest.approx([0, 40, 60, 100])
    assert sorted((p.start, p.end) for p in parts) == [(0, 1), (1, 2), (1, 2), (2, 3)]


# ---------------------------------------------------------------- planes


def square(ahead: bool, y0: float, y1: float, z0: float, z1: float, r: float = 0.0) -> End:
    return End(ahead, y0, y1, z0, z1, r, ALL if r else NONE)


def test_equal_ends_share_their_edges_and_need_no_cap() -> None:
    found = meet([square(True, 0, 10, 0, 10, 2), square(False, 0, 10, 0, 10, 2)], 0.0)
    assert found.caps == ()
    assert len(found.edges) == 8
    assert found.sides[0] == found.sides[1]


def test_a_step_is_capped_on_the_side_that_ends() -> None:
    found = meet([square(True, 0, 10, 0, 10), square(False, 0, 10, 0, 6)], 0.0)
    (cap,) = found.caps
    assert cap.tailward
    assert len(cap.loops) == 1
    # The long side is cut where the lower one ends, so that both share the lower part.
    assert len(found.sides[0][3]) == 2


def test_a_smaller_end_inside_a_larger_leaves_a_cap_with_a_hole() -> None:
    found = meet([square(True, 0, 10, 0, 10, 3), square(False, 2, 8, 2, 8, 1)], 0.0)
    (cap,) = found.caps
    assert [len(loop) for loop in cap.loops] == [8, 8]


def test_ends_that_cross_leave_caps_both_ways() -> None:
    found = meet([square(True, 0, 10, 0, 4), square(False, 3, 7, 0, 9)], 0.0)
    assert sorted(cap.tailward for cap in found.caps) == [False, True, True]


def test_round_corners_that_cross_are_cut_where_they_do() -> None:
    # Two quarter circles of radius 4 about (6, 6) and (5, 7): they cross at points with y - z the same.
    found = meet([square(True, 0, 10, 0, 10, 4), square(False, -1, 9, 1, 11, 4)], 0.0)
    crossing = [
        p for p in found.vertices if abs(math.dist(p, (6, 6)) - 4) < 1e-9 > abs(math.dist(p, (5, 7)) - 4)
    ]
    assert len(crossing) == 1
    assert crossing[0][1] - crossing[0][0] == pytest.approx(1)


def test_a_window_that_opens_needs_no_cap() -> None:
    found = meet([square(True, 0, 10, 0, 10), square(False, 0, 10, 0, 6), square(False, 0, 10, 6, 10)], 0.0)
    assert found.caps == ()


def test_a_nose_that_closes_up_to_a_line() -> None:
    found = meet([square(False, 0, 10, 5, 5)], 0.0)
    assert found.caps == ()
    assert len(found.edges) == 1


def test_touching_along_a_line_is_refused() -> None:
    with pytest.raises(ContactError) as fault:
        meet([square(False, 0, 10, 0, 6), square(False, 0, 10, 6, 10)], 12.0)
    assert fault.value.tailward is True
    with pytest.raises(ContactError) as fault:
        meet([square(True, 0, 10, 0, 6), square(False, 10, 20, 0, 6)], 12.0)
    assert fault.value.tailward is None
    assert "12.00 mm from the nose" in str(fault.value)


def test_a_window_under_an_edge_rounded_wider_than_the_wood_beside_it() -> None:
    # Where it starts, the wood over it may be rounded by 3 only, where the whole body was rounded by 9: at
    # the window's tip the two parts only touch, and the plane has to move.
    side = outline((0, 0), (100, 0), (100, 40), (0, 40), windows=[disc(50, 34, 4)])
    sections = Sections(side, box(100, 40, 1)[1], 9.0)
    _, parts = stretches(sections)
    ends = [skin_module._end(p, side_) for p in parts for side_ in (0, 1)]
    with pytest.raises(ContactError):
        meet([e for e, x in zip(ends, (x for p in parts for x in p.ends[0]), strict=True) if x == 46], 46.0)
    assert undrilled(sections).Volume() == pytest.approx(undrilled_moments(sections).volume, rel=1e-5)


# ---------------------------------------------------------------- refusals


def test_bodies_that_touch_along_an_edge_are_refused() -> None:
    # The profile steps up where the plan steps out: ahead only low wood, behind only high wood at one line.
    side = outline((0, 0), (50, 0), (50, 20), (100, 20), (100, 40), (50, 40), (50, 20.0), (0, 20))
    with pytest.raises(SolidError):
        undrilled(Sections(side, box(100, 40, 1)[1], 0.0))


def test_a_solid_that_disagrees_with_the_sections_is_never_returned(monkeypatch: pytest.MonkeyPatch) -> None:
    sections = Sections(*box(100, 40, 30), 2.0)
    shrunk = Sections(*box(99.8, 40, 30), 2.0)
    assert undrilled(sections).Volume() > 0
    monkeypatch.setattr(build_module, "skin", lambda _sections: skin_module.skin(shrunk))
    with pytest.raises(SolidError, match="cm3 where the sections hold"):
        undrilled(sections)


def test_a_hole_that_was_not_cut_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    # A pilot hole is far less than the share of the volume that is let through.
    made = body(box(100, 40, 30))
    bore = BoreHole(100, 0, 15, 9, 40)
    expected = made.moments
    tiny = BoreHole(100, 0, 15, 0.4, 3)
    monkeypatch.setattr(build_module, "cut", lambda whole, *_args, **_kw: whole)
    with pytest.raises(SolidError, match="cannot drill"):
        drilled(made.sections, tiny, (), (), expected)
    monkeypatch.undo()
    rest = Moments(expected.volume - math.pi * 81 * 40, expected.first, expected.second)
    assert drilled(made.sections, bore, (), (), rest).Volume() == pytest.approx(rest.volume, rel=1e-9)


def test_a_bore_as_wide_as_the_tail_comes_out_open() -> None:
    # It only touches the sides: a wall of no thickness, which no solid can hold.
    sections = Sections(*box(100, 18, 40), 0.0)
    bore = BoreHole(100, 0, 20, 9, 30)
    expected = undrilled_moments(sections).volume - math.pi * 81 * 30
    found = drilled(sections, bore, (), (), Moments(expected, np.zeros(3), np.eye(3)))
    assert found.Volume() == pytest.approx(expected, rel=5e-4)


def test_a_fault_is_a_problem_of_the_design_s_file(monkeypatch: pytest.MonkeyPatch) -> None:
    made = body(box(100, 40, 30))
    monkeypatch.setattr(build_module, "_closed", lambda _shape: False)
    with pytest.raises(ProblemsError) as fault:
        body_solid(made)
    (problem,) = fault.value.problems
    assert (problem.file, problem.code) == ("test.toml", "solid")
    assert "does not close" in problem.message


def test_progress_is_told_in_order() -> None:
    told: list[tuple[str, float]] = []
    sections = Sections(*box(100, 40, 30), 2.0)
    bore = BoreHole(100, 0, 15, 9, 40)
    expected = undrilled_moments(sections).volume - math.pi * 81 * 40
    drilled(
        sections,
        bore,
        (),
        (),
        Moments(expected, np.zeros(3), np.eye(3)),
        lambda what, share: told.append((what, share)),
    )
    assert [what for what, _ in told] == ["building the body", "drilling"]
    shares = [share for _, share in told]
    assert shares == sorted(shares)


def test_two_pieces_of_wood_are_a_compound() -> None:
    # The plan is a fork whose prongs join behind the end of the profile: two rails are left.
    side = outline((0, 0), (50, 0), (50, 30), (0, 30))
    fork = outline((0, -15), (100, -15), (100, 15), (0, 15), (0, 5), (60, 5), (60, -5), (0, -5))
    found = undrilled(Sections(side, fork, 0.0))
    assert found.ShapeType() == "Compound"
    assert [solid.Volume() for solid in found.Solids()] == pytest.approx([50 * 10 * 30] * 2)


def test_curves_of_every_kind_meet_at_a_point() -> None:
    # Nose round in both views: the section closes up to a point.
    side = outline(Vertex((10, 0), Radius(10)), Vertex((80, 0)), Vertex((80, 20), Straight()), (10, 20))
    plan = outline(Vertex((10, -10), Through((0, 0))), Vertex((80, -10)), Vertex((80, 10)), (10, 10))
    sections = Sections(side, plan, 3.0)
    assert undrilled(sections).isValid()

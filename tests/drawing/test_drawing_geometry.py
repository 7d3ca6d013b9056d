"""Maps, segments, replay, extents and hatching, against numpy and shapely."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from bodyshop.drawing.sheet.items import Anchor, Circle, Clip, Group, Hatch, Item, Path, Sheet, Text
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.replay import (
    ClipBegin,
    ClipEnd,
    Drawn,
    InkedPath,
    Lettering,
    arc_as_cubics,
    bounds,
    ellipse_axes,
    replay,
    text_box,
)
from bodyshop.drawing.sheet.shapes import hatch_strokes, line, rectangle
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Rect

_NUMBER = st.floats(-50, 50).map(lambda x: round(x, 3))
_MAPS = st.builds(Affine, _NUMBER, _NUMBER, _NUMBER, _NUMBER, _NUMBER, _NUMBER)


def _matrix(affine: Affine) -> np.ndarray:
    return np.array([[affine.a, affine.c, affine.e], [affine.b, affine.d, affine.f], [0, 0, 1]])


def _drawn(*items: Item) -> list[Drawn]:
    return list(replay(Sheet(100, 100, items)))


def _only_ink(*items: Item) -> InkedPath:
    (ink,) = _drawn(*items)
    assert isinstance(ink, InkedPath)
    return ink


def _lettering(*items: Item) -> Lettering:
    (found,) = [drawn for drawn in _drawn(*items) if isinstance(drawn, Lettering)]
    return found


@given(_MAPS, _MAPS, st.tuples(_NUMBER, _NUMBER))
def test_maps_compose_as_matrices_do(first: Affine, second: Affine, point: Point) -> None:
    expected = _matrix(second) @ _matrix(first) @ np.array([*point, 1.0])
    assert first.then(second).point(point) == pytest.approx(tuple(expected[:2]), abs=1e-6)
    assert first.mirrors == (np.linalg.det(_matrix(first)) < 0)


@pytest.mark.parametrize("quarters", [-5, -1, 0, 1, 2, 3, 4])
def test_quarter_turns_are_exact(quarters: int) -> None:
    turned = Affine.turn(quarters * math.pi / 2, about=(10.0, 20.0)).point((13.0, 20.0))
    expected = [(13.0, 20.0), (10.0, 23.0), (7.0, 20.0), (10.0, 17.0)][quarters % 4]
    assert turned == expected


def test_a_path_that_jumps_is_refused() -> None:
    arc = ArcTo.circular((0, 0), 5, 0, 1)
    with pytest.raises(ValueError, match="an arc starts at"):
        Path((MoveTo((0, 0)), arc), Layer.CUT, Pen.CUT)
    with pytest.raises(ValueError, match="begins with a move"):
        Path((LineTo((0, 0)),), Layer.CUT, Pen.CUT)
    Path((MoveTo((5, 0)), arc), Layer.CUT, Pen.CUT)


@given(st.floats(-7, 7), st.floats(-6.2, 6.2))
def test_cubics_stay_on_the_circle(start: float, sweep: float) -> None:
    radius = 300.0
    arc = ArcTo.circular((10, -20), radius, start, sweep)
    here = np.array(arc.begin)
    t = np.linspace(0, 1, 21)[:, None]
    for cubic in arc_as_cubics(arc):
        a, b, c = (np.array(p) for p in (cubic.control_1, cubic.control_2, cubic.end))
        points = (1 - t) ** 3 * here + 3 * (1 - t) ** 2 * t * a + 3 * (1 - t) * t**2 * b + t**3 * c
        distance = np.hypot(points[:, 0] - 10, points[:, 1] + 20)
        assert np.abs(distance - radius).max() < 1e-4
        here = c
    assert tuple(here) == pytest.approx(arc.end, abs=1e-9)


def test_a_stretched_arc_is_still_exact() -> None:
    # Expected: every point of the circle mapped one by one.
    arc = ArcTo.circular((20, 10), 8, 0.3, 2.0)
    stretch = Affine.turn(0.4).then(Affine.stretch(1.0, 1.25)).then(Affine.move(3, 4))
    ink = _only_ink(Group(stretch, (Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT),)))
    mapped = ink.segments[1]
    assert isinstance(mapped, ArcTo)
    assert mapped.radius_mm is None
    for share in np.linspace(0, 1, 9):
        angle = 0.3 + 2.0 * share
        assert mapped.at(angle) == pytest.approx(stretch.point(arc.at(angle)), abs=1e-12)


@given(_MAPS.filter(lambda m: abs(m.a * m.d - m.b * m.c) > 1e-2))
def test_ellipse_axes_are_the_singular_values(affine: Affine) -> None:
    # Source: the half axes of a mapped unit circle are the singular values of the map (linear algebra).
    arc = ArcTo((0, 0), affine.vector((1, 0)), affine.vector((0, 1)), 0, 1)
    long, short, turn = ellipse_axes(arc)
    u, s, _ = np.linalg.svd(_matrix(affine)[:2, :2])
    assert (long, short) == pytest.approx((s[0], s[1]), rel=1e-6, abs=1e-6)
    if s[0] - s[1] > 1e-3 * s[0]:
        assert abs(math.cos(turn) * u[0, 0] + math.sin(turn) * u[1, 0]) == pytest.approx(1, abs=1e-6)


def test_circles_survive_turning_and_mirroring_but_not_stretching() -> None:
    circle = Circle((10, 5), 3, Layer.HOLE, Pen.VISIBLE)
    assert _only_ink(Group(Affine.mirror_y(8), (circle,))).circle == ((10.0, 11.0), 3.0)
    turned = _only_ink(Group(Affine.turn(math.pi / 2), (circle,))).circle
    assert turned == ((-5.0, 10.0), 3.0)
    assert _only_ink(Group(Affine.stretch(1, 1.1), (circle,))).circle is None


def test_text_is_moved_by_a_mirror_but_not_mirrored() -> None:
    text = Text("plan", (10, 20), 3, rotation_rad=0.0)
    plain = text_box(_lettering(text))
    mirrored = _lettering(Group(Affine.mirror_x(50), (text,)))
    assert mirrored.rotation_rad == pytest.approx(0)
    box = text_box(mirrored)
    # Its capitals take the mirrored room of the same size: left and right change places.
    assert box[0][0] == pytest.approx(100 - plain[1][0])
    assert box[1][0] == pytest.approx(100 - plain[0][0])
    assert mirrored.start[1] == pytest.approx(20)
    upside_down = _lettering(Group(Affine.mirror_y(0), (text,)))
    assert upside_down.rotation_rad == pytest.approx(0)
    assert upside_down.start == pytest.approx((10, -23))


def test_text_turns_with_its_group_and_is_never_stretched() -> None:
    text = Text("plan", (10, 20), 3, Anchor.MIDDLE)
    turned = _lettering(Group(Affine.turn(math.pi / 2), (text,)))
    assert turned.rotation_rad == pytest.approx(math.pi / 2)
    assert turned.start == pytest.approx((-20, 10 - turned.width_mm / 2))
    stretched = _lettering(Group(Affine.stretch(2, 5), (text,)))
    assert (stretched.height_mm, stretched.width_mm) == (3, turned.width_mm)


def test_nested_groups_and_clips_are_flattened_in_order() -> None:
    inner = Group(Affine.stretch(2, 1), (line((1, 1), (2, 1), Layer.CUT),))
    drawn = _drawn(Group(Affine.move(10, 0), (Clip(Rect(0, 0, 5, 5), (inner,)), Text("x", (0, 0), 2))))
    assert [type(d) for d in drawn] == [ClipBegin, InkedPath, ClipEnd, Lettering]
    begin, ink, _, lettering = drawn
    assert isinstance(begin, ClipBegin)
    assert begin.corners == ((10.0, 0.0), (15.0, 0.0), (15.0, 5.0), (10.0, 5.0))
    assert isinstance(ink, InkedPath)
    assert ink.segments == (MoveTo((12, 1)), LineTo((14, 1)))
    assert isinstance(lettering, Lettering)
    assert lettering.start == (10, 0)


def test_white_paper_behind_text_comes_first_and_is_larger() -> None:
    fill, words = _drawn(Text("305", (10, 10), 2.5, clear=True))
    assert isinstance(fill, InkedPath)
    assert fill.fill_grey == 1.0
    assert fill.pen is None
    assert isinstance(words, Lettering)
    box = shapely.Polygon([segment.end for segment in fill.segments])
    assert box.contains_properly(shapely.Polygon(text_box(words)))


@given(st.lists(st.tuples(_NUMBER, _NUMBER), min_size=4, max_size=4))
def test_bounds_of_a_cubic_are_tight(points: list[Point]) -> None:
    p = [np.array(point) for point in points]
    box = bounds([Path((MoveTo(points[0]), CubicTo(*points[1:])), Layer.CUT, Pen.CUT)])
    assert box is not None
    t = np.linspace(0, 1, 2001)[:, None]
    dense = (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]
    low, high = dense.min(axis=0), dense.max(axis=0)
    # 2000 chords miss an extreme by less than 1e-3 of a curve this size.
    assert (box.x, box.y) == pytest.approx(tuple(low), abs=1e-3)
    assert (box.right, box.top) == pytest.approx(tuple(high), abs=1e-3)


def test_bounds_of_arcs_text_and_clips() -> None:
    arc = ArcTo.circular((0, 0), 10, -math.pi / 4, math.pi / 2)
    box = bounds([Path((MoveTo(arc.begin), arc), Layer.CUT, Pen.CUT)])
    assert box is not None
    half = 10 / math.sqrt(2)
    assert (box.x, box.right, box.y, box.top) == pytest.approx((half, 10, -half, half))
    clipped = bounds([Clip(Rect(0, 0, 4, 4), (rectangle(Rect(-5, 1, 20, 2), Layer.CUT),))])
    assert clipped == Rect(0, 1, 4, 2)
    assert bounds([Clip(Rect(0, 0, 1, 1), (line((5, 5), (6, 6), Layer.CUT),))]) is None
    assert bounds([]) is None


@pytest.mark.parametrize("angle_deg", [0, 30, 45, 90, 135])
def test_hatch_covers_the_area_by_cavalieri(angle_deg: float) -> None:
    # Source: Cavalieri's principle; strokes times spacing tend to the area. Shapely holds the area.
    outer = ((0, 0), (60, 0), (70, 40), (5, 35))
    hole = ((20, 10), (40, 10), (40, 25), (20, 25))
    area = shapely.Polygon(outer, [hole])
    spacing = 0.26
    strokes = hatch_strokes(Hatch((outer, hole), spacing, math.radians(angle_deg)))
    total = sum(math.dist(a, b) for a, b in strokes)
    assert total * spacing == pytest.approx(area.area, rel=0.005)
    room = area.buffer(1e-6)
    assert all(room.covers(shapely.LineString(stroke)) for stroke in strokes)


def test_hatch_lines_are_multiples_of_the_spacing_and_meet_across_a_seam() -> None:
    whole = hatch_strokes(Hatch((((0, 0), (50, 0), (50, 30), (0, 30)),), 3, math.radians(45)))
    offsets = {round((b[1] - b[0]) / math.sqrt(2) / 3, 6) for stroke in whole for b in stroke}
    assert all(offset == round(offset) for offset in offsets)
    right = hatch_strokes(Hatch((((25, 0), (50, 0), (50, 30), (25, 30)),), 3, math.radians(45)))
    edge = {round(p[1], 6) for stroke in right for p in stroke if abs(p[0] - 25) < 1e-9}
    assert edge
    crossing = {
        round(a[1] + 25 - a[0], 6)
        for a, b in whole
        if min(a[0], b[0]) < 25 - 1e-9 < 25 + 1e-9 < max(a[0], b[0])
    }
    assert edge == crossing


@pytest.mark.parametrize("ring", [(), ((0, 0),), ((0, 0), (1, 1)), ((0, 0), (0, 0), (0, 0))])
def test_hatch_of_nothing_is_nothing(ring: tuple[Point, ...]) -> None:
    assert hatch_strokes(Hatch((ring,), 1, 0)) == ()


def test_hatch_of_a_ring_that_crosses_itself_does_not_fail() -> None:
    bow_tie = ((0, 0), (10, 10), (10, 0), (0, 10))
    strokes = hatch_strokes(Hatch((bow_tie,), 0.1, 0))
    assert sum(math.dist(a, b) for a, b in strokes) * 0.1 == pytest.approx(50, rel=0.01)

"""The drawing as data: exact curves, three views that fit together, handles on what they stand for."""

from __future__ import annotations

import json
import math
import re
from typing import Any

import numpy as np
import pytest
import shapely
from svgelements import Path as SvgPath

from bodyshop.app.bench.drawing import scene
from bodyshop.app.bench.drawing.scene import circle_path, outline_path, ring_path
from bodyshop.geometry.outlines import Arc, Outline, Ring
from tests.app.drawn import NAMES, handles, judged, many_points, sample

# The paths are read back by svgelements 1.9, which follows the path grammar of SVG 1.1, chapter 8.3.
READ_BACK_MM = 0.01


def strokes(name: str, view: str, kind: str) -> list[str]:
    drawn: Any = scene(sample(name))
    return [path for what, path in drawn["views"][view]["strokes"] if what == kind]


@pytest.mark.parametrize("name", NAMES)
def test_another_reader_of_svg_finds_the_outlines_with_their_bounds_and_lengths(name: str) -> None:
    design = sample(name).opened.design
    for outline, view in ((design.profile, "side"), (design.plan, "top")):
        (drawn,) = strokes(name, view, "body")
        assert drawn == outline_path(outline)
        for ring in outline.rings:
            read = SvgPath(ring_path(ring))
            assert read.bbox() == pytest.approx(Outline(ring).bounds, abs=READ_BACK_MM)
            assert read.length() == pytest.approx(
                sum(curve.length for curve in ring.curves), abs=READ_BACK_MM
            )


@pytest.mark.parametrize("name", ["kestrel", "heron"])
def test_the_shape_that_another_reader_draws_is_the_outline(name: str) -> None:
    design = sample(name).opened.design
    for outline in (design.profile, design.plan):
        read = SvgPath(ring_path(outline.outer))
        points = [
            (point.x, point.y)
            for part in read
            if type(part).__name__ not in ("Move", "Close")
            for point in (part.point(t) for t in np.linspace(0, 1, 60))
        ]
        lines = shapely.LinearRing(points)
        assert shapely.hausdorff_distance(lines, outline.outer_line) < 2 * READ_BACK_MM


def test_curves_are_curves_and_nothing_is_flattened() -> None:
    design = sample("kestrel").opened.design
    path = outline_path(design.profile)
    kinds = [type(curve).__name__ for curve in design.profile.outer.curves]
    assert len(re.findall("C", path)) == kinds.count("Cubic") > 0
    assert len(re.findall("A", path)) == kinds.count("Arc") > 0, "none of them turns further than 120 degrees"
    assert len(re.findall("L", path)) == kinds.count("Line")


def test_an_arc_of_almost_a_whole_turn_is_told_so_that_its_way_is_sure() -> None:
    start = math.radians(10)
    for sweep in (math.radians(358.9), -math.radians(358.9), math.radians(180.01), math.radians(200)):
        ends = [(20 * math.cos(a), 20 * math.sin(a)) for a in (start, start + sweep)]
        arc = Arc((0.0, 0.0), 20.0, start, sweep, *ends)
        read = SvgPath(ring_path(Ring((arc,), (0,))).removesuffix("Z"))
        assert read.length() == pytest.approx(arc.length, abs=READ_BACK_MM)
        middle = arc.at(np.array([0.5]))[0]
        found = read.point(0.5)
        assert (found.x, found.y) == pytest.approx(tuple(middle), abs=READ_BACK_MM)


@pytest.mark.parametrize("name", NAMES)
def test_the_three_views_are_at_one_scale_and_fit_together(name: str) -> None:
    drawn: Any = scene(sample(name))
    side, top, tail = (drawn["boxes"][view] for view in ("side", "top", "tail"))
    assert (side[0], side[2]) == (top[0], top[2]), "along the car"
    assert (side[1], side[3]) == (tail[1], tail[3]), "up"
    assert (top[1], top[3]) == (tail[0], tail[2]), "across"
    for view in ("side", "top", "tail"):
        u0, v0, u1, v1 = drawn["boxes"][view]
        for kind, path in drawn["views"][view]["strokes"]:
            if kind in ("centre", "track"):
                continue  # these run on past it
            box = SvgPath(path).bbox()
            within = u0 - 10 <= box[0] and v0 - 10 <= box[1] and box[2] <= u1 + 10 and box[3] <= v1 + 10
            assert within, (view, kind, box)


@pytest.mark.parametrize("name", NAMES)
def test_from_the_tail_the_body_is_as_wide_and_high_as_it_is(name: str) -> None:
    x0, y0, z0, x1, y1, z1 = sample(name).opened.car.body.bounds
    (body,) = strokes(name, "tail", "body")
    assert SvgPath(body).bbox() == pytest.approx((y0, z0, y1, z1), abs=READ_BACK_MM)
    assert x1 > x0


def test_the_track_touches_both_wheels() -> None:
    (track,) = strokes("kestrel", "side", "track")
    line = SvgPath(track)
    (ax, az), (bx, bz) = ((point.x, point.y) for point in (line.point(0), line.point(1)))
    wheels = [SvgPath(path).bbox() for path in strokes("kestrel", "side", "wheel")]
    assert len(wheels) == 2
    for x0, z0, x1, z1 in wheels:
        centre, radius = ((x0 + x1) / 2, (z0 + z1) / 2), (x1 - x0) / 2
        off = abs((bx - ax) * (centre[1] - az) - (bz - az) * (centre[0] - ax)) / math.hypot(bx - ax, bz - az)
        assert off == pytest.approx(radius, abs=READ_BACK_MM)
    design = sample("kestrel").opened.design
    assert wheels[1] == pytest.approx(
        SvgPath(circle_path((design.rear.x_mm, design.rear.height_mm), design.rear.wheel.radius_mm)).bbox()
    )


def test_hidden_bore_axles_eyes_blank_and_balance_are_all_there() -> None:
    drawn: Any = scene(sample("kestrel"))
    kinds = {view: {kind for kind, _ in drawn["views"][view]["strokes"]} for view in drawn["views"]}
    assert kinds["side"] >= {
        "blank",
        "body",
        "hidden",
        "centre",
        "eye",
        "wheel",
        "hole",
        "rod",
        "track",
        "mass",
    }
    assert kinds["top"] >= {"blank", "body", "hidden", "centre", "wheel", "mass"}
    assert kinds["tail"] >= {"blank", "body", "face", "bore", "wheel", "eye", "track", "mass"}


def test_the_handles_of_kestrel_stand_where_its_text_says() -> None:
    found = handles(sample("kestrel"))
    expected = {
        "profile.points[0]": (8, 0),
        "profile.points[2].through": (145, 6),
        "profile.points[9].handles[0]": (45, 16),
        "plan.points[1].through": (11, 15),
        "bore.height": (285, 25),
        "bore.depth": (285 - 52, 25),
        "bore.diameter": (285 - 26, 25 + 9.75),
        "bore.mouth": (0, 25),
        "axles.front": (55, 7),
        "axles.rear": (235, 8),
        "screw_eye[0]": (65, 0),
    }
    for name, at in expected.items():
        assert found[name].at == pytest.approx(at, abs=1e-6), name


def test_a_rounding_is_held_by_the_middle_of_its_arc() -> None:
    # The corner of 4 mm at (285, 44): its sides are upright and an arc of 180 mm; a right angle would have
    # the middle of its rounding at 4 (sqrt 2 - 1) = 1.657 mm from the corner.
    handle = handles(sample("kestrel"))["profile.points[4].round"]
    assert handle.tied_to == pytest.approx((285, 44))
    assert math.dist(handle.at, (285, 44)) == pytest.approx(4 * (math.sqrt(2) - 1), abs=0.6)
    (move,) = handle.moves
    assert move.wanted_mm(handle.at) == pytest.approx(4)


def test_an_arc_of_a_radius_is_held_by_its_middle_and_its_radius_follows_from_there() -> None:
    handle = handles(sample("kestrel"))["profile.points[0].radius"]
    # A quarter turn of 8 mm about (8, 8), from (0, 8) to (8, 0).
    assert handle.at == pytest.approx((8 - 8 / math.sqrt(2), 8 - 8 / math.sqrt(2)))
    (move,) = handle.moves
    assert move.wanted_mm(handle.at) == pytest.approx(8)
    # Half way to the chord: sagitta s, half chord h, r = (s^2 + h^2) / (2 s).
    h, s = 8 / math.sqrt(2), (8 - 8 / math.sqrt(2)) / 2
    middle = (4 - s / math.sqrt(2), 4 - s / math.sqrt(2))
    assert move.wanted_mm(middle) == pytest.approx((s * s + h * h) / (2 * s))


def test_the_bore_of_a_drilled_blank_cannot_be_held_and_says_why() -> None:
    found = handles(sample("plover"))
    assert "drilled blank's own" in found["bore.height"].fixed
    assert not handles(sample("kestrel"))["bore.height"].fixed


def test_windows_have_handles_and_their_mirror_images_have_none() -> None:
    found = handles(sample("heron"))
    assert "profile.window[0].points[3]" in found
    assert found["profile.window[1].circle"].at == pytest.approx((166, 12.5))
    assert found["profile.window[1].diameter"].at == pytest.approx((166 + 5.5, 12.5))
    assert "plan.window[0].points[0]" in found
    assert not any("plan.window[1]" in name for name in found)


@pytest.mark.parametrize("name", NAMES)
def test_the_scene_is_plain_data_of_moderate_size(name: str) -> None:
    told = json.dumps(scene(sample(name)), allow_nan=False)
    assert len(told) < 45_000


def test_an_outline_of_five_hundred_points_has_a_handle_for_each() -> None:
    drawn: Any = scene(judged(many_points(500)))
    held = [each for each in drawn["handles"] if each["view"] == "side" and each["kind"] == "point"]
    assert len(held) == 500

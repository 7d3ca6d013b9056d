"""Card gauges, axle guides and the line for the saw: shapes by hand, words, and what cannot be drawn."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from bodyshop.car.assembly import Car
from bodyshop.car.stock.blades import blades
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.replay import InkedPath, Lettering, replay
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Arc, Line, Outline, Ring
from bodyshop.geometry.paths import ArcTo, LineTo
from bodyshop.output.papers.templates import TemplateOptions, template_sheets, templates_drawing
from bodyshop.output.papers.templates.faces import BlankFace
from bodyshop.output.papers.templates.gauges import (
    HalfSection,
    _stretches,
    default_stations,
    gauge_panels,
    gauge_stations,
    halves,
    hollow,
)
from bodyshop.output.papers.templates.guides import axle_guides
from bodyshop.output.papers.templates.labels import rough_polygon
from bodyshop.output.papers.templates.options import faces_named, read_offset, read_stations
from bodyshop.output.papers.templates.plan import plan_panel
from bodyshop.output.papers.templates.saw_lines import saw_lines
from bodyshop.output.papers.templates.side import side_panel
from bodyshop.output.papers.templates.view import Panel, TemplateSettings
from tests.output.template_cars import PASSING, car_of, sample, samples, straight_text

MM = Figures(LengthUnit.MM)
SETTING = TemplateSettings(MM, "Wren", "ABCD-EFGH")
ONE_SIDED = "mirror = false\npoints = [[0, -5], [262.5, -17], [262.5, 12], [100, 18], [0, 9]]"


def texts(panel: Panel) -> list[str]:
    return [d.text for d in replay(Sheet(0, 0, panel.items)) if isinstance(d, Lettering)]


def inks(panel: Panel, layer: Layer) -> list[InkedPath]:
    return [d for d in replay(Sheet(0, 0, panel.items)) if isinstance(d, InkedPath) and d.layer is layer]


def ring(*points: tuple[float, float]) -> Ring:
    curves = tuple(Line(a, b) for a, b in zip(points, (*points[1:], points[0]), strict=True))
    return Ring(curves, tuple(range(len(curves))))


# ---------------------------------------------------------------- gauges


def test_a_half_profile_by_hand() -> None:
    """At x = 155 its top is at 22 + (42 - 22) / 70 * 35 = 32, its side at 18.5 - 1.25 / 222.5 * 115."""
    car = car_of(straight_text())
    car.design = replace(car.design, edge_round_mm=3.0)
    car.body.design = car.design
    (half,) = halves(car, 155.0)
    assert half.both
    out = 18.5 - 1.25 / 222.5 * 115
    assert (half.low, half.high, half.out) == pytest.approx((0.0, 32.0, out))
    edge = hollow(half)
    arcs = [segment for segment in edge if isinstance(segment, ArcTo)]
    assert [arc.radius_mm for arc in arcs] == pytest.approx([3.0, 3.0])
    assert [arc.centre for arc in arcs] == [pytest.approx((out - 3, 3.0)), pytest.approx((out - 3, 29.0))]
    assert edge[0].end == (0.0, 0.0)
    assert edge[-1] == LineTo((0.0, half.high))


def test_edges_that_are_not_rounded_are_square() -> None:
    (half,) = halves(car_of(straight_text()), 155.0)
    assert not any(isinstance(segment, ArcTo) for segment in hollow(half))
    assert len(hollow(half)) == 4


def test_sides_that_differ_take_a_gauge_each() -> None:
    car = car_of(straight_text(plan=ONE_SIDED))
    right, left = halves(car, 100.0)
    # The right one's corner is a point of the plan; the left edge falls from -5 at 0 to -17 at 262.5.
    assert (right.side, right.both, left.side) == (1, False, -1)
    assert [right.out, left.out] == pytest.approx([18.0, 5 + 12 * 100 / 262.5])
    one, other = gauge_panels(car, [100.0], MM)
    assert "right half" in texts(one)
    assert "left half" in texts(other)
    (cut,) = inks(other, Layer.CUT)
    assert min(segment.end[0] for segment in cut.segments) == pytest.approx(-left.out), "drawn as it is held"


def test_a_card_says_what_it_is() -> None:
    words = texts(gauge_panels(car_of(straight_text()), [52.0, 155.0], MM)[1])
    for needed in ("GAUGE G2", "G2", "UP", "155 from nose end", "both halves", "centre line", "Wren"):
        assert needed in words, needed
    assert any("base line" in text for text in words)


def test_a_window_across_the_body_is_a_tongue_of_the_card() -> None:
    car = car_of(straight_text())
    window = ring((140, 8), (140, 16), (170, 16), (170, 8))
    profile = Outline(car.design.profile.outer, (window,))
    car.design = replace(car.design, profile=profile)
    car.body.design, car.body.profile = car.design, profile
    (half,) = halves(car, 155.0)
    assert [(stretch.low, stretch.high) for stretch in half.stretches] == [
        pytest.approx((0, 8)),
        pytest.approx((16, 32)),
    ]
    corners = [segment.end for segment in hollow(half)]
    assert (0.0, 8.0) in [(round(x, 6), round(y, 6)) for x, y in corners]
    assert (0.0, 16.0) in [(round(x, 6), round(y, 6)) for x, y in corners]


def test_a_window_in_the_rounding_ends_the_arc_and_does_not_shrink_it() -> None:
    # The top edge, rounded by 5, is a quarter circle about (out - 5, 27). A window from 26 to 30 leaves of it
    # what lies over 30, where it is 4 out from the centre (a triangle of 3, 4 and 5).
    car = car_of(straight_text())
    window = ring((140, 26), (140, 30), (170, 30), (170, 26))
    profile = Outline(car.design.profile.outer, (window,))
    car.design = replace(car.design, profile=profile, edge_round_mm=5.0)
    car.body.design, car.body.profile = car.design, profile
    for half in (halves(car, 155.0)[0], *halves_apart(car, 155.0)):
        out = half.out
        lower, upper = half.stretches
        assert lower.head.arc is None
        assert lower.head.start == pytest.approx((out, 26.0))
        assert upper.foot.start == upper.head.start == pytest.approx((out - 1, 30.0))
        assert upper.head.arc is not None
        assert upper.head.arc.radius_mm == pytest.approx(5.0)
        assert upper.head.arc.end == pytest.approx((out - 5, 32.0))
    points = [segment.end for segment in hollow(half)]
    heights = [z for _, z in points]
    assert heights == sorted(heights), "the card goes up all the way"


def halves_apart(car: Car, x: float) -> tuple[HalfSection, ...]:
    """The right and the left half, though they are the same."""
    r = car.body.section(x)
    return tuple(HalfSection(x, side, False, _stretches(r, side)) for side in (1, -1))


def test_a_slit_that_no_card_goes_into_is_passed_over() -> None:
    car = car_of(straight_text())
    window = ring((140, 8), (140, 9), (170, 9), (170, 8))
    profile = Outline(car.design.profile.outer, (window,))
    car.design = replace(car.design, profile=profile)
    car.body.design, car.body.profile = car.design, profile
    (half,) = halves(car, 155.0)
    assert len(half.stretches) == 2
    assert (0.0, 8.0) not in [(round(x, 6), round(y, 6)) for x, y in (s.end for s in hollow(half))]


def test_default_stations_are_the_numbered_ones_on_the_body() -> None:
    assert default_stations(car_of(straight_text()), MM) == (50, 100, 150, 200, 250)
    dipper = sample("dipper")[0]
    inches = np.array(default_stations(dipper, Figures(LengthUnit.IN))) / 50.8
    assert np.abs(inches - np.round(inches)).max() < 1e-9


@pytest.mark.parametrize(
    ("wanted", "code"),
    [((400.0,), "station-off-body"), ((-1.0,), "station-off-body"), ((50.0, 262.6), "station-off-body"),
     (tuple(range(60, 90)), "stations-too-many")],
)  # fmt: skip
def test_stations_that_cannot_be(wanted: tuple[float, ...], code: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        gauge_stations(car_of(straight_text()), wanted, MM)
    assert [problem.code for problem in caught.value.problems] == [code]


def test_no_gauge_where_there_is_no_wood() -> None:
    """Two windows leave nothing but two rails of a third of a millimetre at station 150."""
    car = car_of(straight_text())
    window = ring((140, 0.3), (140, 21), (160, 21), (160, 0.3))
    outer = ring((0, 0), (262.5, 0), (262.5, 21.3), (0, 21.3))
    profile = Outline(outer, (window,))
    car.design = replace(car.design, profile=profile, eyes=())
    car.body.design, car.body.profile = car.design, profile
    assert halves(car, 150.0) == ()
    with pytest.raises(ProblemsError) as caught:
        gauge_stations(car, (150.0, 100.0), MM)
    (problem,) = caught.value.problems
    assert problem.code == "station-empty"
    assert "150 mm" in problem.message.replace("\u00a0", " ")
    assert 150.0 not in default_stations(car, MM)


def test_gauges_are_marked_on_side_and_plan() -> None:
    car = car_of(straight_text())
    setting = replace(SETTING, gauges=(60.0, 155.0))
    for panel in (side_panel(car, setting), plan_panel(car, setting, BlankFace.TOP)):
        assert {"G1", "G2"} <= set(texts(panel))
        upright = [
            ink.segments[0].end[0]
            for ink in inks(panel, Layer.STATION)
            if abs(ink.segments[0].end[1] - ink.segments[1].end[1]) > 5
        ]
        assert sorted(upright) == pytest.approx([60.0, 155.0])


@pytest.mark.parametrize("name", ["heron", "dipper", "lapwing"])
def test_samples_have_their_gauges_on_sheets(name: str) -> None:
    car, stamp = sample(name)
    stations = default_stations(car, Figures(car.design.unit))
    assert stations
    options = TemplateOptions(gauges=stations)
    sheets = template_sheets(car, stamp, sheet_sizes()["tabloid"], options)
    words = [d.text for sheet in sheets for d in replay(sheet) if isinstance(d, Lettering)]
    for number in range(1, len(stations) + 1):
        assert f"GAUGE G{number}" in words


# ---------------------------------------------------------------- axle guides


def test_axle_guides_lay_against_the_nearer_end_and_the_underside() -> None:
    front, rear = axle_guides(car_of(straight_text()), MM)
    assert {"FRONT AXLE GUIDE", "DATUM: UNDERSIDE", "DATUM: NOSE END", "52.25", "7.5"} <= set(texts(front))
    # 305 - 215 = 90 from the tail end of the blank.
    assert {"REAR AXLE GUIDE", "DATUM: UNDERSIDE", "DATUM: TAIL END", "90", "8"} <= set(texts(rear))
    assert "215 from the nose end" in texts(rear)
    for panel, place in ((front, (52.25, 7.5)), (rear, (215.0, 8.0))):
        ((centre, radius),) = [ink.circle for ink in inks(panel, Layer.HOLE) if ink.circle is not None]
        assert [*centre, radius] == pytest.approx([*place, 2.0])
        wide, _ = inks(panel, Layer.BLANK)
        assert list(wide.segments[1].end) == pytest.approx([0.0 if panel is front else 305.0, 0.0])


@pytest.mark.parametrize("name", samples())
def test_a_guide_is_no_larger_than_its_blank(name: str) -> None:
    car = sample(name)[0]
    blank = car.design.blank
    for panel in axle_guides(car, Figures(car.design.unit)):
        points = [s.end for ink in inks(panel, Layer.BLANK) for s in ink.segments]
        assert all(-1e-9 <= x <= blank.length_mm + 1e-9 for x, _ in points)
        assert all(-1e-9 <= y <= blank.height_at(x) + 1e-9 for x, y in points)


# ---------------------------------------------------------------- the line for the saw


@pytest.mark.parametrize("offset", [0.2, 1.0, 2.5, 10.0])
@pytest.mark.parametrize("name", ["kestrel", "heron"])
def test_the_saw_line_keeps_its_distance_everywhere(name: str, offset: float) -> None:
    design = sample(name)[0].design
    blank = shapely.box(0, 0, design.blank.length_mm, design.blank.height_tail_mm)
    true = design.profile.polygon(0.0005)
    chains = saw_lines(design.profile, blank, offset)
    for chain in chains:
        line = shapely.segmentize(shapely.LineString(chain), 0.5)
        points = shapely.points(shapely.get_coordinates(line))
        away = shapely.distance(points, true)
        # Measured along every chord, not only at its ends.
        assert np.abs(away - offset).max() < 0.01
        assert not shapely.contains(true, points).any(), "on the waste side"
        assert shapely.distance(points, blank).max() < 1e-6
    # Wherever there is wood to saw through, the line is there.
    ring_there = true.buffer(offset, quad_segs=64).boundary.intersection(blank.buffer(-0.01))
    assert sum(shapely.LineString(chain).length for chain in chains) == pytest.approx(
        ring_there.length, rel=1e-3, abs=2.5
    )


def test_round_an_outside_corner_the_line_is_an_arc() -> None:
    square = Outline(ring((20, 20), (40, 20), (40, 40), (20, 40)))
    (chain,) = saw_lines(square, shapely.box(0, 0, 60, 60), 5.0)
    # Four sides of 20 and a full circle of radius 5.
    assert shapely.LineString(chain).length == pytest.approx(80 + 10 * math.pi, rel=1e-4)
    assert shapely.Polygon(chain).area == pytest.approx(400 + 4 * 100 + 25 * math.pi, rel=1e-4)


def test_in_a_window_the_line_runs_inside_and_leaves_out_what_is_too_narrow() -> None:
    wide, slit = ring((30, 20), (30, 40), (70, 40), (70, 20)), ring((80, 20), (80, 40), (83, 40), (83, 20))
    outline = Outline(ring((10, 10), (90, 10), (90, 50), (10, 50)), (wide, slit))
    chains = saw_lines(outline, shapely.box(0, 0, 100, 60), 2.0)
    boxes = sorted(shapely.LineString(chain).bounds for chain in chains)
    assert len(boxes) == 2
    assert boxes[1] == pytest.approx((32, 22, 68, 38), abs=0.01)


def test_along_an_edge_of_the_blank_there_is_nothing_to_saw() -> None:
    outline = Outline(ring((0, 0), (100, 0), (100, 30), (0, 30)))
    chains = saw_lines(outline, shapely.box(0, 0, 100, 60), 1.0)
    (chain,) = chains
    assert {round(y, 3) for _, y in chain} == {31.0}


def test_round_thousands_of_points_it_is_the_same_line() -> None:
    n = 4000
    saw_teeth = [(100 * (1 - k / n), 30 + 0.2 * (k % 2)) for k in range(n)]
    outline = Outline(ring((0.0, 0.0), (100.0, 0.0), *saw_teeth))
    chains = saw_lines(outline, shapely.box(-20, -20, 120, 60), 1.5)
    true = outline.polygon(0.001)
    points = shapely.points(np.concatenate([np.array(chain) for chain in chains]))
    assert np.abs(shapely.distance(points, true) - 1.5).max() < 0.01


def test_the_saw_line_is_narrow_outside_and_told_of() -> None:
    car = car_of(straight_text())
    panel = side_panel(car, replace(SETTING, offset_mm=2.0))
    lines = inks(panel, Layer.SAW)
    assert lines
    assert any("saw here, 2" in text for text in texts(panel))
    assert not inks(side_panel(car, SETTING), Layer.SAW)
    sheets = template_sheets(car, PASSING, sheet_sizes()["a3"], TemplateOptions(offset_mm=2.0))
    words = " ".join(d.text for sheet in sheets for d in replay(sheet) if isinstance(d, Lettering))
    assert "along the thin line" in words


def test_on_a_slope_the_saw_line_keeps_its_distance_in_plan() -> None:
    car = car_of(straight_text(blank="quarry-lane-wedge"))
    stretch = 1 / math.cos(car.design.blank.top_slope_rad)
    panel = plan_panel(car, replace(SETTING, offset_mm=3.0), BlankFace.SLOPE)
    true = car.design.plan.polygon(0.001)
    for ink in inks(panel, Layer.SAW):
        fallen = np.array([segment.end for segment in ink.segments]) / (stretch, 1.0)
        assert np.abs(shapely.distance(shapely.points(fallen), true) - 3.0).max() < 0.01


def test_relief_cuts_on_a_slope_are_those_of_the_plan() -> None:
    car = car_of(straight_text(blank="quarry-lane-wedge"))
    hollow_arc = Arc((130.0, 18.0), 8.0, 0.0, -math.pi, (138.0, 18.0), (122.0, 18.0))
    plan = Outline(
        Ring(
            (
                Line((0, -15), (262.5, -15)),
                Line((262.5, -15), (262.5, 18)),
                Line((262.5, 18), (138, 18)),
                hollow_arc,
                Line((122, 18), (0, 18)),
                Line((0, 18), (0, -15)),
            ),
            tuple(range(6)),
        )
    )
    car.design = replace(car.design, plan=plan)
    car.body.design, car.body.plan = car.design, plan
    setting = replace(SETTING, blade=blades()["bandsaw-1-4"])
    flat = inks(plan_panel(car, setting, BlankFace.UNDERSIDE), Layer.RELIEF)
    sloped = inks(plan_panel(car, setting, BlankFace.SLOPE), Layer.RELIEF)
    stretch = 1 / math.cos(car.design.blank.top_slope_rad)
    assert len(flat) == len(sloped) > 0
    for one, other in zip(flat, sloped, strict=True):
        for a, b in zip(one.segments, other.segments, strict=True):
            assert b.end == pytest.approx((stretch * a.end[0], -a.end[1]))
    assert not rough_polygon(plan).is_empty


# ---------------------------------------------------------------- choices in words


@pytest.mark.parametrize(
    ("text", "unit", "length"),
    [
        ("1", LengthUnit.MM, 1.0),
        (" 1.5 mm ", LengthUnit.IN, 1.5),
        ("1/32", LengthUnit.IN, 25.4 / 32),
        ("10", LengthUnit.MM, 10.0),
    ],
)
def test_an_offset_is_a_length(text: str, unit: LengthUnit, length: float) -> None:
    assert read_offset(text, unit) == pytest.approx(length)


@pytest.mark.parametrize("text", ["0", "-1", "0.1", "10.01", "1 in", "", "wide", "nan", "1e3", "9" * 400])
def test_an_offset_that_cannot_be(text: str) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_offset(text, LengthUnit.MM)
    (problem,) = caught.value.problems
    assert problem.code == "offset"
    assert len(problem.sentence) < 300


def test_stations_are_lengths_with_commas_between() -> None:
    assert read_stations("50, 120;200 ,", LengthUnit.MM) == (50.0, 120.0, 200.0)
    assert read_stations("2 1/2, 100 mm", LengthUnit.IN) == pytest.approx((63.5, 100.0))
    for text in ("", ",", "50,tail", "x" * 500):
        with pytest.raises(ProblemsError):
            read_stations(text, LengthUnit.MM)


def test_faces_by_name() -> None:
    block, wedge = (
        car_of(straight_text(blank=name)).design.blank for name in ("larkfield-block", "quarry-lane-wedge")
    )
    assert faces_named("", block) == (BlankFace.TOP,)
    assert faces_named("underside", block) == (BlankFace.UNDERSIDE,)
    assert faces_named("top", wedge) == (BlankFace.SLOPE,)
    assert faces_named("both", block) == (BlankFace.TOP, BlankFace.UNDERSIDE)
    assert faces_named("", wedge) == faces_named("both", wedge) == (BlankFace.SLOPE, BlankFace.UNDERSIDE)


# ---------------------------------------------------------------- faces that could be swapped


def test_the_two_plans_of_a_wedge_cannot_be_taken_for_each_other() -> None:
    car = car_of(straight_text(blank="quarry-lane-wedge"))
    slope, below = (
        plan_panel(car, SETTING, face, alone=False) for face in (BlankFace.SLOPE, BlankFace.UNDERSIDE)
    )
    for panel, own, other, up in (
        (slope, "SLOPING TOP", "UNDERSIDE", "this side up, underside on the saw table"),
        (below, "UNDERSIDE", "SLOPING TOP", "this side up and level, wedge under the slope"),
    ):
        words = texts(panel)
        assert own in words, "in large letters, in a frame"
        assert other not in words
        assert f"PLAN TEMPLATE FOR THE {own}" in words
        assert {"NOSE", "TAIL", up} <= set(words)
        assert any("Never use both" in text for text in words)
    # Corners: filled squares for one, open wedges for the other.
    squares = [ink for ink in inks(below, Layer.TEXT) if ink.fill_grey == 0.0]
    wedges = [ink for ink in inks(slope, Layer.TEXT) if len(ink.segments) == 3 and ink.fill_grey == 1.0]
    assert squares
    assert wedges
    assert not [ink for ink in inks(slope, Layer.TEXT) if ink.fill_grey == 0.0]
    assert len({len(ink.segments) for ink in squares}) == 1


def test_one_plan_of_a_wedge_is_named_all_the_same() -> None:
    car = car_of(straight_text(blank="quarry-lane-wedge"))
    words = texts(plan_panel(car, SETTING, BlankFace.SLOPE))
    assert "SLOPING TOP" in words
    assert not any("Never use both" in text for text in words)


def test_a_whole_drawing_says_whose_it_is() -> None:
    data = templates_drawing(car_of(straight_text()), PASSING).decode("utf-8")
    for needed in (
        "one unit of this drawing is one millimetre",
        "PASSES (Quarry Lane Sprint)",
        "FRONT AXLE GUIDE",
    ):
        assert needed in data

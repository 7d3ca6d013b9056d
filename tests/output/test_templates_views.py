"""The parts of a template: the face a plan is for, waste, free spots, relief cuts, steps, figures."""

from __future__ import annotations

import itertools
import math
import time
from dataclasses import replace

import numpy as np
import pytest
import shapely

from bodyshop.car.stock.blades import blades
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.layout.free_space import FreeSpace
from bodyshop.drawing.sheet.items import Group, Hatch, Item, Path, Sheet, Text
from bodyshop.drawing.sheet.paper import sheet_sizes
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.replay import InkedPath, replay
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Arc, Cubic, Line, Outline, Ring
from bodyshop.output.papers.order_of_work import read_steps
from bodyshop.output.papers.templates.document import head_mm, headed
from bodyshop.output.papers.templates.faces import BlankFace, face_map, faces_for, faces_offered
from bodyshop.output.papers.templates.hole_notes import HoleNote, LevelDimension, dimension_rows, hole_notes
from bodyshop.output.papers.templates.labels import rough_outline, rough_polygon
from bodyshop.output.papers.templates.plan import plan_panel
from bodyshop.output.papers.templates.saw_lines import relief_cuts
from bodyshop.output.papers.templates.side import side_panel
from bodyshop.output.papers.templates.steps import FLAGS, STEPS, StepConditions, order_of_work
from bodyshop.output.papers.templates.view import Panel, TemplateSettings
from bodyshop.output.papers.templates.waste import BAND_MM, Waste
from bodyshop.output.words.papers import VerdictStamp
from tests.output.template_cars import FAILING, PASSING, car_of, sample, straight_text

MM = Figures(LengthUnit.MM)
INCH = Figures(LengthUnit.IN)
SETTING = TemplateSettings(MM, "Wren", "ABCD-EFGH")
ONE_SIDED = "mirror = false\npoints = [[0, -5], [262.5, -17], [262.5, 12], [100, 18], [0, 9]]"
"""A plan whose two sides differ."""


def ring(*points: tuple[float, float]) -> Ring:
    curves = tuple(Line(a, b) for a, b in zip(points, (*points[1:], points[0]), strict=True))
    return Ring(curves, tuple(range(len(curves))))


def texts(panel: Panel) -> list[str]:
    def inside(items: tuple[Item, ...]) -> list[str]:
        found: list[str] = []
        for item in items:
            if isinstance(item, Text):
                found.append(item.text)
            elif isinstance(item, Group):
                found += inside(item.items)
        return found

    return inside(panel.items)


# ---------------------------------------------------------------- faces


def cut_path(panel: Panel) -> Path:
    (path,) = [item for item in panel.items if isinstance(item, Path) and item.layer is Layer.CUT]
    return path


def test_a_level_blank_takes_the_plan_on_its_top_and_a_wedge_on_its_slope_or_its_underside() -> None:
    block, wedge = car_of(straight_text()), car_of(straight_text(blank="quarry-lane-wedge"))
    assert faces_for(block.design.blank) == (BlankFace.TOP,)
    assert faces_for(wedge.design.blank) == (BlankFace.SLOPE, BlankFace.UNDERSIDE)


def laid_corners(panel: Panel) -> set[tuple[float, float]]:
    """The corners of the cut line as they lie on the paper."""
    (ink,) = [
        d for d in replay(Sheet(0, 0, panel.items)) if isinstance(d, InkedPath) and d.layer is Layer.CUT
    ]
    return {(round(s.end[0], 6), round(s.end[1], 6)) for s in ink.segments}


@pytest.mark.parametrize(
    ("blank", "face", "sign"),
    [
        ("larkfield-block", BlankFace.TOP, 1),
        ("larkfield-block", BlankFace.UNDERSIDE, -1),
        ("quarry-lane-wedge", BlankFace.UNDERSIDE, -1),
    ],
)
def test_seen_from_below_the_sides_change_places(blank: str, face: BlankFace, sign: int) -> None:
    car = car_of(straight_text(blank=blank, plan=ONE_SIDED))
    # Turned over about its length, a block keeps x and changes the sign of y.
    corners = {(x, sign * y) for x, y in ((0, -5), (262.5, -17), (262.5, 12), (100, 18), (0, 9))}
    assert laid_corners(plan_panel(car, SETTING, face)) == corners


def test_on_the_slope_lengths_grow_as_the_secant_and_widths_stay() -> None:
    car = car_of(straight_text(blank="quarry-lane-wedge", plan=ONE_SIDED))
    blank = car.design.blank
    rise = blank.height_tail_mm - blank.height_nose_mm
    # Pythagoras, without an angle: the slope's own length over its length in plan.
    share = math.hypot(blank.length_mm, rise) / blank.length_mm
    assert share > 1.004
    expected = [(0, -5), (262.5, -17), (262.5, 12), (100, 18), (0, 9)]
    corners = laid_corners(plan_panel(car, SETTING, BlankFace.SLOPE))
    assert corners == {(round(share * x, 6), float(y)) for x, y in expected}
    assert face_map(BlankFace.SLOPE, blank).a == pytest.approx(1 / math.cos(blank.top_slope_rad), rel=1e-12)


def test_a_plan_for_the_underside_says_so_and_warns_of_the_slope() -> None:
    car = car_of(straight_text(blank="quarry-lane-wedge"))
    words = " / ".join(texts(plan_panel(car, SETTING, BlankFace.UNDERSIDE)))
    assert "PLAN TEMPLATE FOR THE UNDERSIDE" in words
    assert "seen from below" in words
    assert "Not for the sloping top" in words
    assert "TOP TEMPLATE" not in words
    steps = " ".join(order_of_work(car, MM, StepConditions(faces=(BlankFace.UNDERSIDE,))))
    assert "tape a wedge (the offcut) under the slope until the face with the paper is level" in steps
    assert "to the top face" not in steps


def test_a_plan_for_the_top_does_not_speak_of_slopes() -> None:
    words = " / ".join(texts(plan_panel(car_of(straight_text()), SETTING, BlankFace.TOP)))
    assert "TOP TEMPLATE" in words
    assert "seen from above" in words
    assert "slop" not in words


# ---------------------------------------------------------------- side view


def test_the_side_names_its_datum_edges_and_figures() -> None:
    words = texts(side_panel(car_of(straight_text()), SETTING))
    for needed in (
        "SIDE TEMPLATE",
        "NOSE",
        "WASTE",
        "DATUM: NOSE END",
        "DATUM: UNDERSIDE",
        "TAIL END",
        "front axle, Ø 4",
        "52.25 from nose end",
        "7.5 from underside",
        "215 from nose end",
        "bore Ø 19.5",
        "52 deep in the car",
        "25",
        "Wren · side · ABCD-EFGH",
        "figures in mm",
    ):
        assert needed in words, needed
    assert [w for w in words if w.isdecimal() and int(w) % 50 == 0] == [
        "0",
        "50",
        "100",
        "150",
        "200",
        "250",
        "300",
    ]


def test_the_plan_has_the_key_dimensions() -> None:
    words = texts(plan_panel(car_of(straight_text()), SETTING, BlankFace.TOP))
    assert {"wheelbase 162.75", "body 262.5", "centre line"} <= set(words)
    # The blank is 305 long and the car 262.5: 42.5 of waste are drilled through first.
    assert {"bore 52 deep in the car", "drill 94.5 from tail end"} <= set(words)


def test_a_tilted_bore_says_its_tilt_and_where_it_enters_the_blank() -> None:
    car = car_of(straight_text().replace('height = "25 mm"', 'height = "25 mm"\nangle = "4 deg"', 1))
    words = texts(side_panel(car, SETTING))
    assert any("tilted 4.0°" in w for w in words)
    # The axis falls towards the tail: 42.5 mm of waste behind the mouth.
    assert MM.number(25 - 42.5 * math.tan(math.radians(4))) in words


def test_twenty_screw_eyes_are_numbered_and_listed() -> None:
    car = car_of(straight_text())
    eye = car.design.eyes[0]
    eyes = tuple(replace(eye, x_mm=60.0 + 7 * k, offset_mm=float(k % 2)) for k in range(20))
    car.design = replace(car.design, eyes=eyes)
    car.body.design = car.design
    words = texts(side_panel(car, SETTING))
    assert [w for w in words if w in {str(k) for k in range(1, 21)}] == [str(k) for k in range(1, 21)]
    listed = " ".join(words)
    assert "20 193 from nose end, 1 off the centre line" in " ".join(listed.split())


def test_an_outline_of_twenty_thousand_points_does_not_hang() -> None:
    car = car_of(straight_text())
    n = 20_000
    top = [(262.5 * (1 - k / n), 40 - 20 * k / n + 0.3 * (k % 2)) for k in range(n)]
    profile = Outline(ring((0.0, 0.0), (262.5, 0.0), *top))
    car.design = replace(car.design, profile=profile, eyes=())
    car.body.design, car.body.profile = car.design, profile
    began = time.process_time()
    panel = side_panel(car, replace(SETTING, blade=blades()["bandsaw-1-4"]))
    # Its points were gone through a few times, not each with each: that would take minutes.
    assert time.process_time() - began < 8.0
    assert len(cut_path(panel).segments) == n + 3


# ---------------------------------------------------------------- rough outlines, waste, spots


def test_rough_outlines_are_near_the_true_ones() -> None:
    car, _ = sample("kestrel")
    for outline in (car.design.profile, car.design.plan):
        rough = rough_polygon(outline)
        assert shapely.hausdorff_distance(rough, outline.polygon(0.01)) < 0.12
        assert rough_outline(outline) is outline
    n = 4000
    wave = Outline(
        ring((0.0, 0.0), (200.0, 0.0), *((200 - k * 200 / n, 30 + 5 * math.sin(k / 300)) for k in range(n)))
    )
    assert shapely.hausdorff_distance(rough_polygon(wave), wave.polygon(0.01)) < 1.0
    few = rough_outline(wave)
    assert len(few.outer.curves) < 1000
    assert few.outer.area == pytest.approx(wave.outer.area, rel=1e-3)


def test_waste_is_hatched_on_its_own_side_only() -> None:
    blank = shapely.box(0, 0, 100, 40)
    hole = [(40, 10), (60, 10), (60, 20), (40, 20)]
    wood = shapely.Polygon([(0, 0), (90, 0), (90, 30), (0, 20)], [hole])
    waste = Waste(blank, wood)
    (hatch,) = waste.items
    assert isinstance(hatch, Hatch)
    assert waste.band.intersection(wood).area < 1e-6
    assert waste.band.within(blank.buffer(1e-9))
    assert (
        max(shapely.distance(shapely.points(np.array(r)), wood).max() for r in hatch.rings) <= BAND_MM + 1e-6
    )
    assert waste.band.intersects(shapely.Polygon(hole)), "inside a window too"
    assert [part.area > 350 for part in waste.parts] == [True]
    assert Waste(blank, blank).items == []


def test_a_free_spot_is_free_and_near() -> None:
    area = shapely.box(0, 0, 100, 50)
    wall = shapely.LineString([(50, 0), (50, 50)])
    places = FreeSpace(area, [wall])
    first = places.place(20, 5, (50, 25))
    second = places.place(20, 5, (50, 25))
    assert first is not None
    assert second is not None
    boxes = [shapely.box(r.x, r.y, r.right, r.top) for r in (first, second)]
    assert not boxes[0].intersects(boxes[1])
    for box in boxes:
        assert area.contains(box)
        assert not box.intersects(wall)
        assert abs(box.centroid.x - 50) < 20
    assert places.place(120, 5, (50, 25)) is None
    assert places.place(60, 5, (50, 25)) is None, "nothing that wide is clear of the wall"
    assert places.first([(120, 5), (10, 3)], (80, 10)) is not None


# ---------------------------------------------------------------- below the views


def test_hole_notes_stand_side_by_side_within_the_ends() -> None:
    notes = [HoleNote(x, 5.0, (f"hole at {x}", "12 from nose end")) for x in (10.0, 12.0, 280.0, 295.0)]
    laid = [item for item in hole_notes(notes, 0.0, (0.0, 305.0)) if isinstance(item, Text)]
    firsts = sorted(t.at[0] for t in laid if t.text.startswith("hole"))
    assert firsts == sorted(t.at[0] for t in laid if t.text.startswith("12"))
    assert min(b - a for a, b in itertools.pairwise(firsts)) > notes[0].width_mm
    assert firsts[0] > 10
    assert firsts[-1] + notes[-1].width_mm < 307


def test_dimensions_in_a_row_do_not_meet() -> None:
    spans = [
        LevelDimension((0.0, 0.0), (100.0, 0.0), "a"),
        LevelDimension((101.5, 0.0), (200.0, 0.0), "b"),
        LevelDimension((50.0, 0.0), (150.0, 0.0), "c"),
        LevelDimension((0.0, 0.0), (0.1, 0.0), "too short to draw"),
    ]
    levels = {t.text: t.at[1] for t in dimension_rows(spans, -3.0) if isinstance(t, Text)}
    assert set(levels) == {"a", "b", "c"}
    assert levels["a"] == pytest.approx(levels["b"])
    assert abs(levels["c"] - levels["a"]) > 5


# ---------------------------------------------------------------- relief cuts


def test_relief_cuts_reach_tight_inside_curves_only() -> None:
    blank = shapely.box(0, 0, 200, 60)
    hollow = Arc((100.0, 40.0), 10.0, 0.0, -math.pi, (110.0, 40.0), (90.0, 40.0))
    wood = Outline(
        Ring(
            (
                Line((0, 0), (200, 0)),
                Line((200, 0), (200, 40)),
                Line((200, 40), (110, 40)),
                hollow,
                Line((90, 40), (0, 40)),
                Line((0, 40), (0, 0)),
            ),
            tuple(range(6)),
        )
    )
    polygon = rough_polygon(wood)
    assert relief_cuts(wood, blank, polygon, blades()["bandsaw-3-16"]) == [], "9.5 mm goes round 10 mm"
    blade = blades()["bandsaw-1-4"]
    cuts = relief_cuts(wood, blank, polygon, blade)
    assert len(cuts) >= 3
    for start, end in cuts:
        line = shapely.LineString([start, end])
        assert not line.crosses(polygon)
        assert 0.3 < shapely.Point(start).distance(polygon.boundary) < 1.0
        assert shapely.Point(end).distance(blank.boundary) < 1e-6
        assert math.hypot(start[0] - 100, start[1] - 40) < 10.0, "into the hollow"


def test_a_sharp_inside_corner_takes_one_relief_cut() -> None:
    blank = shapely.box(0, 0, 100, 50)
    wood = Outline(ring((0, 0), (100, 0), (100, 40), (60, 40), (60, 20), (0, 20)))
    cuts = relief_cuts(wood, blank, rough_polygon(wood), blades()["bandsaw-1-8"])
    assert len(cuts) == 1
    assert math.dist(cuts[0][0], (60, 20)) < 1.2


def test_tight_outside_curves_and_corners_take_none() -> None:
    # The wood bulges: the blade turns away from it, and the waste falls off by itself.
    blank = shapely.box(0, 0, 200, 60)
    arc = Arc((150.0, 35.0), 5.0, 0.0, math.pi / 2, (155.0, 35.0), (150.0, 40.0))
    cubic = Cubic((50.0, 40.0), (47.0, 40.0), (45.0, 38.0), (45.0, 35.0))
    lines: list[Line | Arc | Cubic] = [
        Line((45, 0), (155, 0)),
        Line((155, 0), (155, 35)),
        arc,
        Line((150, 40), (50, 40)),
        cubic,
        Line((45, 35), (45, 0)),
    ]
    wood = Outline(Ring(tuple(lines), tuple(range(6))))
    assert relief_cuts(wood, blank, rough_polygon(wood), blades()["bandsaw-1-2"]) == []


@pytest.mark.parametrize(
    ("degrees", "count"),
    # Under 15 degrees the blade steers round it; below zero the wood bulges.
    [(12.0, 0), (14.5, 0), (15.5, 1), (25.0, 1), (39.0, 1), (60.0, 1), (-25.0, 0), (-60.0, 0)],
)
def test_a_hollow_corner_of_more_than_15_degrees_takes_a_relief_cut(degrees: float, count: int) -> None:
    blank = shapely.box(0, 0, 200, 200)
    rise = 80 * math.tan(math.radians(degrees))
    # Two straight edges meet at x = 100; the wood lies under them, and turns up by `degrees` there.
    low = 100 - rise / 2
    wood = Outline(ring((20, 0), (180, 0), (180, low + rise), (100, low), (20, low)))
    cuts = relief_cuts(wood, blank, rough_polygon(wood), blades()["bandsaw-1-8"])
    assert len(cuts) == count
    for start, _ in cuts:
        assert math.dist(start, (100, low)) < 1.2


def test_a_pocket_shut_in_by_the_car_has_no_way_out() -> None:
    blank = shapely.box(0, 0, 100, 50)
    keyhole = ring(
        (0, 0), (100, 0), (100, 45), (51, 45), (51, 44), (70, 44), (70, 20), (30, 20), (30, 44), (49, 44),
        (49, 45), (0, 45),
    )  # fmt: skip
    wood = Outline(keyhole)
    cuts = relief_cuts(wood, blank, rough_polygon(wood), blades()["bandsaw-1-8"])
    for start, end in cuts:
        assert not shapely.LineString([start, end]).crosses(rough_polygon(wood).buffer(-0.5))
    assert len(cuts) < 4


# ---------------------------------------------------------------- steps, figures, head


def test_steps_are_all_used_and_all_filled_in() -> None:
    used: set[str] = set()
    texts = {step.text: step.id for step in read_steps(STEPS)}
    assert all({*step.when, *step.unless} <= FLAGS for step in read_steps(STEPS))
    assert len({step.id for step in read_steps(STEPS)}) == len(read_steps(STEPS))
    cars = [sample(name)[0] for name in ("kestrel", "heron", "plover", "dipper")] + [car_of(straight_text())]
    works = [
        StepConditions(),
        StepConditions(tiled=True, blade=blades()["bandsaw-1-4"], relief=True, offset_mm=1.5, gauges=True),
    ]
    for car in cars:
        usual, below = faces_offered(car.design.blank)
        for work in works:
            for faces in ((usual,), (below,), (usual, below)):
                steps = order_of_work(car, Figures(car.design.unit), replace(work, faces=faces))
                assert not [step for step in steps if "{" in step]
                found = {
                    name
                    for template, name in texts.items()
                    if any(step.startswith(template.partition("{")[0]) for step in steps)
                }
                assert len([name for name in found if name.startswith("saw-")]) == 2, "side, then one plan"
                used |= found
    assert used == set(texts.values())


def test_a_drilled_blank_is_not_drilled_again() -> None:
    drilled = sample("plover")[0]
    assert drilled.design.blank.is_drilled
    steps = " ".join(order_of_work(drilled, MM, StepConditions()))
    assert "The cartridge hole is there already" in steps
    assert "then the cartridge hole" not in steps


def test_windows_are_not_for_the_bandsaw() -> None:
    heron = " ".join(order_of_work(sample("heron")[0], MM, StepConditions()))
    assert "Never use a bandsaw for a window" in heron
    assert "windows" not in " ".join(order_of_work(car_of(straight_text()), MM, StepConditions()))


@pytest.mark.parametrize(
    ("figures", "length", "text"),
    [
        (MM, 55.0, "55"),
        (MM, 19.5, "19.5"),
        (MM, 0.0, "0"),
        (MM, -0.001, "0"),
        # 55 / 25.4 = 2.16535; 2 11/64 = 2.171875 is the nearest 1/64 (2 10/64 = 2.15625).
        (INCH, 55.0, "2 11/64 (2.165)"),
        (INCH, 25.4, "1"),
        (INCH, 304.8, "12"),
        (INCH, 3.175, "1/8 (0.125)"),
        (INCH, 304.9, "12 (12.004)"),
        (Figures(LengthUnit.CM), 55.0, "5.5"),
    ],
)
def test_figures(figures: Figures, length: float, text: str) -> None:
    assert figures.number(length) == text


def test_running_text_carries_units() -> None:
    assert MM.length(72).replace("\u00a0", " ") == "72 mm"
    assert INCH.length(55).replace("\u00a0", " ") == "2 11/64 in (2.165)"
    assert INCH.hole(25.4).replace("\u00a0", " ") == "Ø 1 in"


@pytest.mark.parametrize("stamp", [PASSING, FAILING])
def test_a_sheet_less_its_head_turns_with_its_head_on_top(stamp: VerdictStamp) -> None:
    size = sheet_sizes()["a4"]
    less = headed(size, stamp)
    head = head_mm(stamp)
    assert (less.width_mm, less.height_mm) == (210, 297 - head)
    assert (less.turned.width_mm, less.turned.height_mm) == (297, 210 - head)
    assert (less.turned.turned.width_mm, less.turned.turned.height_mm) == (210, 297 - head)

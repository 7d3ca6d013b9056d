"""The views with their call-outs: laid apart, on the page, and read back true to the design.

Geometry is read back from the SVG by svgelements; overlaps are looked for with shapely.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterator
from pathlib import Path

import pytest
import shapely
import svgelements
from hypothesis import given, settings

from bodyshop.car.measures import QuantityKind
from bodyshop.drawing.layout.dimensions import scale_text
from bodyshop.output.figures.aspects import Aspect, flat
from bodyshop.output.figures.labels import CALLED_OUT, callouts_of
from bodyshop.output.figures.measured_lines import MeasuredLine
from bodyshop.output.figures.views import Figure, Views, draw_views
from bodyshop.output.html.annotated_report import figure_svg
from bodyshop.rules.checking import Checked, check_car, open_car
from bodyshop.rules.rulebook import Outcome
from tests.output.teaching_cars import failing_car, random_texts

SAMPLES = ["dipper", "heron", "kestrel", "lapwing", "plover", "swift", "wren"]
_WIDTH = 186.0
# Source: CSS: 96 px to the inch, so the reader's pixels are 25.4 / 96 mm.
_PX = 25.4 / 96
_NEAR_MM = 0.01

Point = tuple[float, float]


@pytest.fixture(scope="module")
def lapwing() -> Checked:
    return _sample("lapwing")


def _sample(name: str) -> Checked:
    root = Path(__file__).resolve().parents[2]
    return check_car(open_car(root / "samples" / f"{name}.toml"))


# ---------------------------------------------------------------- apart


def _box(rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def _look(views: Views) -> None:
    """No label on a label, no leader over a leader or a label, and everything inside its frame."""
    for figure in views.figures:
        boxes = [_box(each.seat.box) for each in figure.seated]
        boxes += [_box(each.box) for each in figure.inline]
        leaders = [shapely.LineString([each.seat.port, each.seat.tip]) for each in figure.seated]
        frame = _box(figure.frame).buffer(1e-6)
        for k, box in enumerate(boxes):
            assert frame.covers(box)
            assert all(box.distance(other) > 0.3 for other in boxes[:k])
        for k, leader in enumerate(leaders):
            assert frame.covers(leader)
            assert all(leader.distance(other) > 0.05 for other in leaders[:k])
            # its own label is touched at the port, every other one is left alone
            assert all(leader.distance(box) > 0.2 for j, box in enumerate(boxes) if j != k)
        for line in figure.lines:
            assert frame.covers(shapely.LineString(line.feet))


def _shown(views: Views) -> list[int]:
    """Numbers of the call-outs that have a label."""
    seated = [each.callout.number for figure in views.figures for each in figure.seated]
    return seated + [each.callout.number for figure in views.figures for each in figure.inline]


def _everything_is_told(views: Views) -> None:
    told = _shown(views)
    left = [callout.number for figure in views.figures for callout in figure.left_out]
    assert sorted(told + left) == [callout.number for callout in views.callouts]


@pytest.mark.parametrize("name", SAMPLES)
def test_samples_are_laid_apart(name: str) -> None:
    views = draw_views(_sample(name), _WIDTH)
    _look(views)
    _everything_is_told(views)
    assert not any(figure.left_out for figure in views.figures)


@given(random_texts())
@settings(max_examples=12)
def test_random_failing_cars_are_laid_apart(text: str) -> None:
    views = draw_views(failing_car(text), _WIDTH)
    _look(views)
    _everything_is_told(views)
    for figure in views.figures:
        _reads_back(figure)


@pytest.mark.slow
@given(random_texts())
@settings(max_examples=100)
def test_a_hundred_random_failing_cars(text: str) -> None:
    views = draw_views(failing_car(text), _WIDTH)
    _look(views)
    _everything_is_told(views)


def test_a_narrow_page_tells_less_but_stays_tidy(lapwing: Checked) -> None:
    # 110 mm is about the room of a phone: labels shrink to numbers, then the least of them are left out
    views = draw_views(lapwing, 110.0)
    _look(views)
    _everything_is_told(views)
    shown = _shown(views)
    left = {callout.number for f in views.figures for callout in f.left_out}
    assert not left or min(left) > min(shown)


# ---------------------------------------------------------------- read back


def _shapes(figure: Figure) -> Iterator[tuple[list[Point], bool]]:
    """Points of every path of the SVG in the figure's own mm, and whether it is filled."""
    read = svgelements.SVG.parse(io.StringIO(figure_svg(figure)), reify=True, ppi=96)
    frame = figure.frame
    for shape in read.elements():
        if isinstance(shape, svgelements.Path):
            points = [segment.end for segment in shape.segments() if segment.end is not None]
            filled = shape.fill is not None and shape.fill.value is not None
            yield [(p.x * _PX + frame.x, frame.top - p.y * _PX) for p in points], filled


def _reads_back(figure: Figure) -> None:
    shapes = list(_shapes(figure))
    tips = [points[0] for points, filled in shapes if filled and len(points) in (3, 4)]
    dots = [points[::2] for points, filled in shapes if not filled and len(points) >= 4]
    strokes = [points for points, filled in shapes if not filled and len(points) == 2]
    for line in figure.lines:
        _line_reads_back(figure, line, tips, strokes)
        for ghost in line.ghosts:
            assert any(_near(run[0], ghost.cross[0]) for run in dots)


def _line_reads_back(
    figure: Figure, line: MeasuredLine, tips: list[Point], strokes: list[list[Point]]
) -> None:
    """Arrows at the real ends, told from the place of the reading and not from the layout."""
    verdict = line.callout.verdict
    place = verdict.place
    assert place is not None
    assert len(place.points) == 2
    unit = (math.cos(line.direction_rad), math.sin(line.direction_rad))
    ends = [figure.to_sheet.point(flat(figure.aspect, point)) for point in place.points]
    along = sorted(end[0] * unit[0] + end[1] * unit[1] for end in ends)
    # the arrows of this line: those level with it
    level = -line.feet[0][0] * unit[1] + line.feet[0][1] * unit[0]
    own = [t for t in tips if abs(-t[0] * unit[1] + t[1] * unit[0] - level) < _NEAR_MM]
    found = [t[0] * unit[0] + t[1] * unit[1] for t in own]
    assert all(min(abs(a - f) for f in found) < _NEAR_MM for a in along)
    # and one line through both, no longer than its arrows need
    runs = [shapely.LineString(stroke) for stroke in strokes if math.dist(*stroke) > 0]
    most = line.length_mm + (0.0 if line.ink == line.feet else 8.0)
    feet = [shapely.Point(foot) for foot in line.feet]
    assert any(
        run.length <= most + _NEAR_MM and all(run.distance(foot) < _NEAR_MM for foot in feet) for run in runs
    )


def _near(a: Point, b: Point) -> bool:
    return math.dist(a, b) < _NEAR_MM


@pytest.mark.parametrize("name", ["lapwing", "kestrel"])
def test_dimension_lines_end_at_the_real_points(name: str) -> None:
    views = draw_views(_sample(name), _WIDTH)
    for figure in views.figures:
        _reads_back(figure)
    lines = sum(len(figure.lines) for figure in views.figures)
    assert lines >= 12 if name == "lapwing" else lines == 0


def test_lengths_on_paper_are_the_values_at_scale(lapwing: Checked) -> None:
    for figure in draw_views(lapwing, _WIDTH).figures:
        for line in figure.lines:
            value = line.callout.verdict.value
            assert value is not None
            assert line.length_mm == pytest.approx(figure.scale * abs(value), abs=_NEAR_MM)


def test_ghosts_stand_at_the_limit(lapwing: Checked) -> None:
    looked = 0
    for figure in draw_views(lapwing, _WIDTH).figures:
        for line in figure.lines:
            verdict = line.callout.verdict
            assert verdict.limit is not None
            want = figure.scale * abs(verdict.limit)
            if len(line.ghosts) == 2:
                # a width about the centre line: from ghost to ghost
                assert math.dist(line.ghosts[0].at, line.ghosts[1].at) == pytest.approx(want, abs=_NEAR_MM)
                looked += 1
            for ghost in line.ghosts if len(line.ghosts) == 1 else ():
                assert math.dist(line.feet[0], ghost.at) == pytest.approx(want, abs=_NEAR_MM)
                looked += 1
    assert looked >= 12


def test_a_value_below_zero_has_its_limit_on_the_other_side(lapwing: Checked) -> None:
    # body over the track: -0.3 mm where 2.5 mm are asked: the track is between the two
    figure = draw_views(lapwing, _WIDTH).side
    (line,) = (x for x in figure.lines if x.callout.verdict.rule.measure == "car.track_clearance")
    (ghost,) = line.ghosts
    track, body = line.feet
    assert body[1] < track[1] < ghost.at[1]


# ---------------------------------------------------------------- what is called out


def test_every_place_is_called_out_once(lapwing: Checked) -> None:
    told = [v for v in lapwing.judgement.verdicts if v.outcome in CALLED_OUT]
    placed = [v for v in told if v.place is not None and v.rule.kind is not QuantityKind.MASS]
    callouts = callouts_of(lapwing.judgement)
    assert [c.verdict.rule.clause for c in callouts] == [v.rule.clause for v in placed]
    assert [c.number for c in callouts if c.verdict.outcome is Outcome.FAIL] == [
        k for k, v in enumerate(told, 1) if v in placed and v.outcome is Outcome.FAIL
    ]
    assert sum(c.verdict.outcome is Outcome.FAIL for c in callouts) == 17


def test_a_length_measured_along_the_car_is_level(lapwing: Checked) -> None:
    # the screw eyes' spacing: one of them is off the centre line, the distance counts along the car
    (spacing,) = (c for c in callouts_of(lapwing.judgement) if c.verdict.rule.measure == "eyes.spacing")
    assert spacing.aspect is Aspect.TOP
    assert spacing.measured is not None
    assert spacing.measured.along_rad == 0.0
    assert spacing.measured.start[1] != spacing.measured.end[1]


def test_views_share_one_scale_and_line_up(lapwing: Checked) -> None:
    views = draw_views(lapwing, _WIDTH)
    assert {figure.scale for figure in views.figures} == {views.scale}
    assert views.side.to_sheet.point((100.0, 0.0))[0] == views.top.to_sheet.point((100.0, 0.0))[0]


@pytest.mark.parametrize(
    ("scale", "words"), [(0.5, "1 : 2"), (1 / 1.5, "1 : 1.5"), (2.0, "2 : 1"), (1.0, "1 : 1")]
)
def test_the_scale_in_words(scale: float, words: str) -> None:
    assert scale_text(scale) == words

"""Points added, taken away and made something else: the shape stays where it should, and the text is kept."""

from __future__ import annotations

import pytest
import shapely
from shapely import Polygon

from bodyshop.app.bench.drawing import (
    EDGES,
    STEPS,
    DrawingView,
    EditResult,
    add_point,
    convert_point,
    delete_handle,
    insert_point,
    round_point,
)
from bodyshop.rules.checking import Checked
from tests.app.drawn import NAMES, handles, judged, sample, source_of

SHAPE_MM = 0.03
"""How far an outline may move that is divided: its new points are written to 0.01 mm."""


def points_of(checked: Checked) -> list[str]:
    return [name for name, handle in handles(checked).items() if handle.kind.value == "point"]


def outlines(checked: Checked) -> tuple[Polygon, Polygon]:
    design = checked.opened.design
    return design.profile.polygon(), design.plan.polygon()


def remarks(text: str) -> list[str]:
    return sorted(line[line.index("#") :].strip() for line in text.splitlines() if "#" in line)


def added(checked: Checked, name: str) -> EditResult:
    return insert_point(source_of(checked), checked, name, STEPS["0.5 mm"])


@pytest.mark.parametrize("name", ["kestrel", "heron", "dipper"])
def test_an_edge_that_is_divided_stays_where_it_was(name: str) -> None:
    checked = sample(name)
    inches = checked.opened.design.unit.symbol == "in"
    for point in points_of(checked)[:: 3 if name == "heron" else 1]:
        result = added(checked, point)
        if result.text is None:
            assert result.refusal.endswith(".")
            continue
        after = judged(result.text)
        assert len(points_of(after)) == len(points_of(checked)) + 1
        assert remarks(result.text) == remarks(source_of(checked).text)
        for old, new in zip(outlines(checked), outlines(after), strict=True):
            apart = shapely.hausdorff_distance(old.boundary, new.boundary)
            # A smooth run finds its own way through one more point, and a tape has marks of 1/64 in.
            limit = 25.4 / 64 if inches else 1.0 if near_smooth(checked, point) else SHAPE_MM
            assert apart < limit, (point, apart)


def near_smooth(checked: Checked, point: str) -> bool:
    """Whether the edge behind a point, or a neighbour of it, is part of a smooth run."""
    stem, _, number = point.rstrip("]").rpartition("[")
    raw = source_of(checked).values
    for part in stem.replace("[", ".").replace("]", "").split("."):
        raw = raw[int(part)] if part.isdecimal() else raw[part]  # type: ignore[index, assignment]
    around = [raw[(int(number) + k) % len(raw)] for k in (0, 1, 2)]  # type: ignore[index]
    return any(isinstance(each, dict) and each.get("smooth") is True for each in around)


def test_a_point_added_to_a_straight_edge_and_taken_away_leaves_the_text_as_it_was() -> None:
    for name in ("wren", "kestrel"):
        checked = sample(name)
        before = source_of(checked).text.splitlines()
        for point in points_of(checked)[:4]:
            result = added(checked, point)
            if result.text is None:
                continue
            new = [line for line in result.text.splitlines() if line not in before]
            if len(new) != 1 or "{" in new[0] or (name == "wren" and "plan" in point):
                continue
            after = judged(result.text)
            back = delete_handle(source_of(after), after, point_at(after, new[0]))
            assert back.text == source_of(checked).text, point


def point_at(checked: Checked, line: str) -> str:
    """The point that a line of the text `  [x, y],` is."""
    place = tuple(float(part) for part in line.strip().strip("[],").split(","))
    found = handles(checked)
    return next(name for name in points_of(checked) if found[name].at == pytest.approx(place))


def test_a_point_is_put_on_its_own_line_on_the_grid() -> None:
    wren = sample("wren")
    result = add_point(source_of(wren), wren, DrawingView.SIDE, (103.3, 0.4), 5.0, STEPS["0.5 mm"])
    assert result.text is not None
    assert "  [0, 0],\n  [103.5, 0],\n  [260, 0],\n" in result.text
    result = add_point(source_of(wren), wren, DrawingView.TOP, (100.2, -18.0), 5.0, STEPS["1 mm"])
    assert result.text is not None
    assert "points = [[0, 12], [40, 18.5], [100, 18.5], [260, 18.5]]" in result.text


def test_no_point_is_added_off_the_edges_nor_on_what_the_mirror_makes() -> None:
    wren = sample("wren")
    for sheet, at in (
        (DrawingView.SIDE, (100.0, 12.0)),
        (DrawingView.TOP, (260.0, 3.0)),
        (DrawingView.TOP, (0.0, 2.0)),
    ):
        result = add_point(source_of(wren), wren, sheet, at, 5.0)
        assert result.text is None
        assert "no edge here" in result.refusal or "mirror image" in result.refusal


def test_the_last_point_that_goes_takes_no_remark_with_it() -> None:
    for name in ("kestrel", "lapwing", "dipper"):
        checked = sample(name)
        for point in points_of(checked)[::2]:
            result = delete_handle(source_of(checked), checked, point)
            if result.text is None:
                assert result.refusal.endswith(".")
                continue
            assert remarks(result.text) == remarks(source_of(checked).text), point
            assert len(points_of(judged(result.text))) == len(points_of(checked)) - 1


def test_an_outline_keeps_the_points_it_needs() -> None:
    text = source_of(sample("wren")).text.replace(
        "[[0, 12], [40, 18.5], [260, 18.5]]", "[[0, 15], [260, 18.5]]"
    )
    car = judged(text)
    result = delete_handle(source_of(car), car, "plan.points[1]")
    assert result.text is None
    assert "needs the points" in result.refusal


def test_a_rounding_is_made_and_taken_away() -> None:
    wren = sample("wren")
    made = round_point(source_of(wren), wren, "profile.points[2]")
    assert made.text is not None
    assert "  { to = [260, 42], round = 3 }," in made.text
    car = judged(made.text)
    gone = delete_handle(source_of(car), car, "profile.points[2].round")
    assert gone.text == made.text.replace(", round = 3 }", " }")
    dipper = sample("dipper")
    made = round_point(source_of(dipper), dipper, "profile.points[2]")
    assert made.text is not None
    assert '{ to = ["10 3/4", 0], round = "1/8" }' in made.text


@pytest.mark.parametrize(
    ("to", "line"),
    [
        ("line", "  { to = [205, 0] },"),
        ("smooth", "  { to = [205, 0], smooth = true },"),
        ("curve", "  { to = [205, 0], handles = [[124.6, 8], [165.4, 8]] },"),
    ],
)
def test_an_edge_is_made_something_else_in_its_own_line(to: str, line: str) -> None:
    kestrel = sample("kestrel")
    result = convert_point(source_of(kestrel), kestrel, "profile.points[2]", to)
    assert result.text is not None
    belly = "              # a hollow belly: an arc through its highest point"
    assert line + belly in result.text.splitlines()


@pytest.mark.parametrize("name", NAMES)
def test_any_edge_can_be_made_any_kind_or_says_why_not(name: str) -> None:
    checked = sample(name)
    for point in points_of(checked)[::3]:
        for to in EDGES:
            result = convert_point(source_of(checked), checked, point, to)
            if result.text is None:
                assert result.refusal.endswith(".")
            else:
                assert remarks(result.text) == remarks(source_of(checked).text)


def test_an_arc_made_a_curve_and_a_curve_made_an_arc_stay_near() -> None:
    kestrel = sample("kestrel")
    for point, to, limit in (
        ("profile.points[2]", "curve", 0.05),
        ("profile.points[5]", "curve", 0.05),
        ("profile.points[5]", "arc", 0.02),
        ("plan.points[1]", "curve", 0.6),
    ):
        result = convert_point(source_of(kestrel), kestrel, point, to)
        assert result.text is not None, result.refusal
        for old, new in zip(outlines(kestrel), outlines(judged(result.text)), strict=True):
            assert shapely.hausdorff_distance(old.boundary, new.boundary) < limit, (point, to)


def test_points_under_headers_of_their_own_are_left_to_their_writer() -> None:
    text = source_of(sample("wren")).text
    listed = "points = [[0, 12], [40, 18.5], [260, 18.5]]"
    headed = "\n".join(f"[[plan.points]]\nto = [{place}]" for place in ("0, 12", "40, 18.5", "260, 18.5"))
    car = judged(text.replace(listed, headed))
    result = delete_handle(source_of(car), car, "plan.points[1]")
    assert result.text is None
    assert "header of its own" in result.refusal


def test_a_curve_on_named_dimensions_is_not_divided() -> None:
    text = source_of(sample("wren")).text.replace("[blank]", "[dimensions]\nhump = 48\n\n[blank]")
    car = judged(text.replace("  [190, 42],", '  { to = [190, 42], through = [225, "hump"] },'))
    result = insert_point(source_of(car), car, "profile.points[2]")
    assert result.text is None
    assert "named dimensions" in result.refusal

"""A hand on the drawing changes just the numbers it moves, in the notation of each, and nothing else."""

from __future__ import annotations

import difflib
import re
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bodyshop.app.bench.drawing import STEPS, EditResult, Snap, drag, nudge, set_value
from bodyshop.car.editing.numbers import Numbers
from bodyshop.foundation.toml import Source, parse_source
from bodyshop.foundation.toml.places import find_places
from bodyshop.geometry.outlines import Point
from bodyshop.rules.checking import Checked
from tests.app.drawn import NAMES, handles, judged, sample, source_of

BELLY = 14 * " " + "# a hollow belly: an arc through its highest point"
HALF_MM = Snap(STEPS["0.5 mm"])


def moved(checked: Checked, name: str, by: Point, snap: Snap = HALF_MM) -> EditResult:
    """A handle dragged by so much."""
    at = handles(checked)[name].at
    return drag(source_of(checked), checked, name, (at[0] + by[0], at[1] + by[1]), snap)


def changed_lines(checked: Checked, result: EditResult) -> list[str]:
    assert result.text is not None, result.refusal
    before = source_of(checked).text.splitlines()
    lines = difflib.ndiff(before, result.text.splitlines())
    return [line[2:] for line in lines if line.startswith("+ ")]


def remarks(text: str) -> list[str]:
    return [line[line.index("#") :] for line in text.splitlines() if "#" in line]


@pytest.mark.parametrize(
    ("handle", "by", "line"),
    [
        ("profile.points[1]", (2.1, 0.1), "  [87, 0],"),
        (
            "profile.points[2]",
            (-1.2, 0.6),
            "  { to = [204, 0.5], through = [145, 6] }," + BELLY,
        ),
        (
            "profile.points[2].through",
            (0.0, 2.0),
            "  { to = [205, 0], through = [145, 8] }," + BELLY,
        ),
        (
            "profile.points[9].handles[1]",
            (5.0, 0.2),
            "  { to = [0, 8], handles = [[45, 16], [20, 17]] },    # the bonnet: a Bézier curve",
        ),
        ("bore.height", (3.0, 1.0), "height = 26"),
        ("bore.depth", (-1.0, 4.0), "depth = 53"),
        ("bore.diameter", (0.0, 0.25), "diameter = 20"),
        ("axles.front", (2.0, 0.0), "x = 57"),
        ("screw_eye[0]", (1.5, 9.0), "behind = 11.5"),
        ("screw_eye[1]", (1.5, 9.0), "ahead = 8.5"),
    ],
)
def test_each_kind_of_handle_changes_its_own_numbers(handle: str, by: Point, line: str) -> None:
    kestrel = sample("kestrel")
    assert changed_lines(kestrel, moved(kestrel, handle, by)) == [line]


def test_a_rounding_grows_with_the_way_from_its_corner() -> None:
    kestrel = sample("kestrel")
    handle = handles(kestrel)["profile.points[4].round"]
    corner = handle.tied_to
    assert corner is not None
    twice = (corner[0] + 2 * (handle.at[0] - corner[0]), corner[1] + 2 * (handle.at[1] - corner[1]))
    result = drag(source_of(kestrel), kestrel, handle.id, twice, HALF_MM)
    assert [(change.old, change.new) for change in result.changes] == [("4", "8")]


def test_an_arc_of_a_radius_follows_its_middle() -> None:
    kestrel = sample("kestrel")
    handle = handles(kestrel)["profile.points[5].radius"]
    assert handle.way is not None
    higher = (handle.at[0] + handle.way[0], handle.at[1] + handle.way[1])
    result = drag(source_of(kestrel), kestrel, handle.id, higher, Snap())
    (change,) = result.changes
    # The chord from (285, 44) to (215, 45); sagitta from a radius of 180, one more; r = (s^2 + h^2) / 2 s.
    h = 0.5 * (70**2 + 1) ** 0.5
    s = 180 - (180**2 - h * h) ** 0.5 + 1
    assert float(change.new) == pytest.approx((s * s + h * h) / (2 * s), abs=0.006)


def test_windows_move_and_grow() -> None:
    heron = sample("heron")
    assert changed_lines(heron, moved(heron, "profile.window[1].circle", (2.0, 0.0))) == [
        "circle = [168, 12.5]"
    ]
    assert changed_lines(heron, moved(heron, "profile.window[1].diameter", (0.5, 3.0))) == ["diameter = 12"]
    line = "  { to = [150, 7], round = 3 },"
    assert changed_lines(heron, moved(heron, "profile.window[0].points[1]", (0.1, 0.5))) == [line]


def test_less_than_half_a_step_leaves_a_number_that_is_off_the_grid_alone() -> None:
    car = judged(source_of(sample("wren")).text.replace("[120, 22]", "[120.3, 22]"))
    result = moved(car, "profile.points[4]", (0.2, 3.0))
    assert changed_lines(car, result) == ["  [120.3, 25],"]


def test_nothing_moved_is_the_same_text() -> None:
    wren = sample("wren")
    result = moved(wren, "profile.points[4]", (0.1, -0.1))
    assert result.text == source_of(wren).text
    assert result.changes == ()


def test_the_half_of_a_mirrored_plan_stops_at_the_centre_line() -> None:
    wren = sample("wren")
    result = moved(wren, "plan.points[0]", (0.0, -40.0))
    assert changed_lines(wren, result) == ["points = [[0, 0], [40, 18.5], [260, 18.5]]"]


def test_what_would_be_no_car_is_refused_with_the_reason() -> None:
    result = moved(sample("kestrel"), "axles.front", (0.0, 30.0))
    assert result.text is None
    assert "front axle hole" in result.refusal
    result = moved(sample("wren"), "profile.points[3]", (-150.0, -60.0))
    assert result.text is None
    assert "crosses or touches itself" in result.refusal


def test_a_drilled_blanks_bore_is_refused_with_the_reason() -> None:
    result = moved(sample("plover"), "bore.height", (0.0, 1.0))
    assert result.text is None
    assert "drilled blank's own" in result.refusal


# ---------------------------------------------------------------- inches, and units of a number's own


def test_a_step_of_a_sixty_fourth_keeps_the_tapes_fractions() -> None:
    dipper = sample("dipper")
    result = nudge(source_of(dipper), dipper, "profile.points[3]", (1, -2), STEPS["1/64 in"])
    told = {change.path[-1]: (change.old, change.new) for change in result.changes}
    # fractions, of Python's own library, says what 10 3/4 + 1/64 and 1 3/4 - 2/64 are.
    assert told == {0: ("10 3/4", "10 49/64"), 1: ("1 3/4", "1 23/32")}
    assert 10 + Fraction(49, 64) == 10 + Fraction(3, 4) + Fraction(1, 64)
    assert 1 + Fraction(23, 32) == 1 + Fraction(3, 4) - Fraction(2, 64)


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.integers(-24, 24), st.integers(-12, 12), st.sampled_from(["1/64 in", "1/16 in"]))
def test_nudges_in_inches_are_exact_sums_of_fractions(along: int, up: int, step: str) -> None:
    dipper = sample("dipper")
    result = nudge(source_of(dipper), dipper, "profile.points[4]", (along, up), STEPS[step])
    if result.text is None:
        assert result.refusal
        return
    for change in result.changes:
        count = along if change.path[-1] == 0 else up
        assert in_fractions(change.new) == in_fractions(change.old) + count * Fraction(
            step.split(maxsplit=1)[0]
        )


def in_fractions(text: str) -> Fraction:
    """A tape's reading by the fractions library: `7 3/4` is 7 + 3/4."""
    return sum((Fraction(part) for part in text.split()), Fraction(0))


@pytest.mark.parametrize(
    ("written", "grid", "expected"),
    [
        ('"4.5 cm"', "1 mm", '"4.6 cm"'),
        ("'45 mm'", "0.5 mm", "'46 mm'"),
        ('"45.00 mm"', "0.5 mm", '"46.00 mm"'),
        ("45.0", "0.5 mm", "46.0"),
        ('"1 49/64 in"', "1/64 in", '"1 13/16 in"'),
        ('"1-49/64in"', "1/64 in", '"1-13/16in"'),
    ],
)
def test_a_number_keeps_the_unit_and_the_way_it_is_written_in(written: str, grid: str, expected: str) -> None:
    text = source_of(sample("wren")).text
    car = judged(text.replace("[axles.front]\nx = 50", f"[axles.front]\nx = {written}  # here"))
    result = moved(car, "axles.front", (1.0, 0.0), Snap(STEPS[grid]))
    assert changed_lines(car, result) == [f"x = {expected}  # here"]


def test_the_arrow_keys_go_on_from_a_number_that_is_off_the_grid() -> None:
    car = judged(source_of(sample("wren")).text.replace("[120, 22]", "[120.25, 22]"))
    result = nudge(source_of(car), car, "profile.points[4]", (1, 0), STEPS["0.1 mm"])
    assert changed_lines(car, result) == ["  [120.35, 22],"]


@pytest.mark.parametrize(
    ("handle", "by", "old", "new"),
    [
        ("bore.depth", (-1, 0), "52", "53"),
        ("bore.depth", (0, 1), "52", "52"),
        ("bore.diameter", (0, 1), "19.5", "20.5"),
        ("screw_eye[1]", (-2, 0), "8", "10"),
    ],
)
def test_arrows_move_a_handle_the_way_they_point(
    handle: str, by: tuple[int, int], old: str, new: str
) -> None:
    wren = sample("wren")
    result = nudge(source_of(wren), wren, handle, by, STEPS["1 mm"])
    assert [(c.old, c.new) for c in result.changes] == ([] if old == new else [(old, new)])


def test_typed_values_are_written_as_typed_where_their_unit_is_another() -> None:
    wren = sample("wren")
    source = source_of(wren)

    def typed(text: str, number: int = 0) -> list[str]:
        return changed_lines(wren, set_value(source, wren, "axles.front", number, text))

    assert typed("51.25") == ["x = 51.25"]
    assert typed("51.25 mm") == ["x = 51.25"]
    assert typed("2 in") == ['x = "2 in"']
    assert typed("7.5", 1) == ["height = 7.5"]
    refused = set_value(source, wren, "axles.front", 0, "wide")
    assert refused.text is None
    assert refused.refusal.endswith(".")


# ---------------------------------------------------------------- named dimensions


def test_a_named_dimension_is_changed_and_all_that_use_it_follow() -> None:
    swift = sample("swift")
    result = moved(swift, "profile.points[1]", (2.0, 0.0))
    assert changed_lines(swift, result) == ["length = 274"]
    assert "length is now 274" in result.note
    assert "other lengths follow" in result.note
    assert result.text is not None
    again = judged(result.text)
    assert handles(again)["profile.points[2]"].at[0] == 274
    assert handles(again)["profile.points[3]"].at[0] == 274 - 75


@pytest.mark.parametrize(
    ("handle", "by", "lines"),
    [
        ("plan.points[2]", (1.0, 0.0), ["front_axle = 51"]),  # front_axle + 26
        ("plan.points[0]", (0.0, 0.75), ["half_width = 20"]),  # half_width / 2
        ("profile.points[3]", (-2.0, 0.0), ["length = 270"]),  # deck, which is length - 75
        ("screw_eye[0]", (1.0, 0.0), ["eye_gap = 10"]),
        ("profile.points[2]", (0.0, -1.0), ["tail_height = 43"]),
    ],
)
def test_arithmetic_is_followed_back_to_the_dimension(handle: str, by: Point, lines: list[str]) -> None:
    swift = sample("swift")
    target = tuple(a + b for a, b in zip(handles(swift)[handle].at, by, strict=True))
    result = moved(swift, handle, by)
    assert changed_lines(swift, result) == lines
    assert result.text is not None
    now = handles(judged(result.text))[handle].at
    moving = 0 if by[0] else 1
    assert now[moving] == pytest.approx(target[moving], abs=0.26)


def test_what_rests_on_several_dimensions_stays_and_names_them() -> None:
    swift = sample("swift")
    result = moved(swift, "axles.rear", (3.0, 0.0))
    assert result.text is None
    assert 'worked out as "rear_axle" and rests on length and front_axle' in result.refusal
    # The other coordinate of the same handle is a plain number, and moves.
    result = moved(swift, "axles.rear", (3.0, 1.0))
    assert changed_lines(swift, result) == ["height = 9"]
    assert "rests on length and front_axle" in result.note


@pytest.mark.parametrize(
    ("written", "why"),
    [
        ('"abs(reach - 100)"', ""),  # followed back: 100 +- 50
        ('"min(reach, 50)"', "no single dimension moves"),
        ('"20 + 30"', "This is arithmetic"),
        ('"max(reach, 50)"', "no other reach brings it there"),
    ],
)
def test_arithmetic_that_cannot_be_followed_back_says_so(written: str, why: str) -> None:
    text = source_of(sample("wren")).text
    reach = 50 if "max" in written else 150
    text = text.replace("[blank]", f"[dimensions]\nreach = {reach}\n\n[blank]")
    car = judged(text.replace("[axles.front]\nx = 50", f"[axles.front]\nx = {written}"))
    result = moved(car, "axles.front", (-4.0, 0.0))
    if why:
        assert result.text is None
        assert why in result.refusal
    else:
        assert changed_lines(car, result) == ["reach = 146"]


def test_a_dimension_with_a_unit_of_its_own_keeps_it() -> None:
    text = source_of(sample("wren")).text
    text = text.replace("[blank]", '[dimensions]\nreach = "1 7/8 in"  # by tape\n\n[blank]')
    car = judged(text.replace("[axles.front]\nx = 50", '[axles.front]\nx = "reach + 2 mm"'))
    result = moved(car, "axles.front", (25.4 / 16, 0.0), Snap())
    assert changed_lines(car, result) == ['reach = "1 15/16 in"  # by tape']


# ---------------------------------------------------------------- whatever is done


@settings(max_examples=70, deadline=None, derandomize=True)
@given(st.data())
def test_any_drag_changes_the_numbers_of_its_handle_and_nothing_else(data: st.DataObject) -> None:
    checked = sample(data.draw(st.sampled_from(NAMES)))
    found = handles(checked)
    handle = found[data.draw(st.sampled_from(sorted(found)))]
    by = data.draw(st.tuples(st.floats(-6, 6), st.floats(-6, 6)))
    inches = checked.opened.design.unit.symbol == "in"
    names = ["", "1/64 in", "1/16 in"] if inches else ["", "0.1 mm", "1 mm"]
    step = STEPS.get(data.draw(st.sampled_from(names)))
    before = source_of(checked)
    to = (handle.at[0] + by[0], handle.at[1] + by[1])
    result = drag(before, checked, handle.id, to, Snap(step))
    if result.text is None:
        assert result.refusal.endswith(".")
        return
    after = parse_source(result.text, "after.toml")
    assert remarks(result.text) == remarks(before.text), "every remark stands"
    assert outside(before, result) == outside(after, result), "all else is the same, letter by letter"
    own = {move.path for move in handle.moves}
    assert all(change.path in own or change.path[0] == "dimensions" for change in result.changes)
    for change in result.changes:
        move = next((move for move in handle.moves if move.path == change.path), None)
        if move is None:
            continue
        now = Numbers(after).mm(move.path)
        assert now is not None
        grain = 0.01 if step is None else float(step.mm)
        tape = 25.4 / 64 if inches else 0.0
        assert now == pytest.approx(move.wanted_mm(to), abs=max(grain, tape) + 0.011)


def outside(source: Source, result: EditResult) -> list[str]:
    """The text between the numbers that were changed."""
    spans: list[Any] = sorted(source.value_range(change.path) for change in result.changes)
    ends = [0, *(end for _, end in spans)]
    starts = [*(start for start, _ in spans), len(source.text)]
    return [source.text[a:b] for a, b in zip(ends, starts, strict=True)]


def test_a_text_with_a_byte_order_mark_and_odd_spaces_keeps_them() -> None:
    text = "\ufeff" + re.sub(r"\[120, 22\]", "[ 120 ,\t22 ]", source_of(sample("wren")).text)
    car = judged(text)
    result = moved(car, "profile.points[4]", (2.0, 0.0))
    assert result.text is not None
    assert result.text.startswith("\ufeff")
    assert "[ 122 ,\t22 ]" in result.text


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.data())
def test_places_carried_over_to_the_changed_text_are_those_that_are_found_there(data: st.DataObject) -> None:
    checked = sample(data.draw(st.sampled_from(NAMES)))
    found = handles(checked)
    handle = found[data.draw(st.sampled_from(sorted(found)))]
    by = data.draw(st.tuples(st.sampled_from([-9, -1, 1, 12]), st.sampled_from([-3, 1, 2])))
    before = source_of(checked)
    assert before.value_range(("bore", "height")) or checked.opened.design.stem == "plover", (
        "places are known"
    )
    step = STEPS["1/64 in" if checked.opened.design.unit.symbol == "in" else "0.1 mm"]
    result = nudge(before, checked, handle.id, by, step)
    if result.opened is None:
        return
    carried, fresh = result.opened.source, parse_source(result.opened.source.text, "after.toml")
    for path in find_places(fresh.text).at:
        assert carried.value_range(path) == fresh.value_range(path), path

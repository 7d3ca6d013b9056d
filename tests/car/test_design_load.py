"""Designs as loaded: what the file says is what the car is.

Outside checks: areas by shapely (a general geometry library) and by hand; lengths by pint (units of
ISO 80000-3 and the 1959 yard and pound agreement).
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import pint
import pytest
import shapely

from bodyshop.car.design import AxleEnd, Design, Kit, peek_rulebook, read_design
from bodyshop.car.design.schema import MAX_POINTS
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml import parse_source, read_source
from bodyshop.foundation.units import LengthUnit
from tests.car.kits import TEST_KIT, TEST_KIT_INCH

SAMPLES = sorted(samples_folder().glob("*.toml"))
WREN = (samples_folder() / "wren.toml").read_text(encoding="utf-8")


def load(text: str, kit: Kit = TEST_KIT) -> Design:
    return read_design(parse_source(text, "car.toml"), kit)


def sample(name: str) -> Design:
    kit = TEST_KIT_INCH if name == "dipper" else TEST_KIT
    return read_design(read_source(samples_folder() / f"{name}.toml"), kit)


def swapped(text: str, *pairs: tuple[str, str]) -> str:
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text


def problems(text: str, kit: Kit = TEST_KIT) -> list[tuple[str, str]]:
    with pytest.raises(ProblemsError) as raised:
        load(text, kit)
    return [(problem.key, problem.code) for problem in raised.value.problems]


# ---------------------------------------------------------------- samples


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_samples_load_without_a_warning(file: Path) -> None:
    design = sample(file.stem)
    assert design.warnings == ()
    assert design.name.casefold() == file.stem
    assert design.stem == file.stem


def test_samples_are_of_our_own_scenario() -> None:
    for file in SAMPLES:
        text = file.read_text(encoding="utf-8")
        assert "Larkfield School's Quarry Lane Sprint" in text
        assert "invented" in text
        assert "\nbench = " in text


def test_kestrel_is_what_its_file_says() -> None:
    car = sample("kestrel")
    assert (car.name, car.bench, car.unit, car.rulebook) == (
        "Kestrel",
        "Bench 4",
        LengthUnit.MM,
        "quarry-lane",
    )
    assert (car.bore.diameter_mm, car.bore.depth_mm, car.bore.height_mm) == (19.5, 52, 25)
    assert (car.front.x_mm, car.front.height_mm, car.rear.x_mm) == (55, 7, 235)
    assert [axle.end for axle in car.axles] == [AxleEnd.FRONT, AxleEnd.REAR]
    assert [(eye.x_mm, eye.from_axle_mm, eye.axle) for eye in car.eyes] == [
        (65, 10, AxleEnd.FRONT),
        (225, -10, AxleEnd.REAR),
    ]
    assert car.edge_round_mm == 2
    assert car.profile.bounds[:3] == pytest.approx((0, 0, 285))
    assert car.plan.bounds[1] == pytest.approx(-car.plan.bounds[3])


def test_kestrel_names_all_its_parts_and_needs_no_kit() -> None:
    alone = read_design(read_source(samples_folder() / "kestrel.toml"))
    assert alone.fingerprint == sample("kestrel").fingerprint


def test_wren_draws_its_outlines_in_about_a_dozen_short_lines() -> None:
    start, end = WREN.index("[profile]"), WREN.index("[bore]")
    lines = [line for line in WREN[start:end].splitlines() if line.strip()]
    assert len(lines) <= 12
    assert max(map(len, lines)) <= 80


def test_every_kind_of_line_is_shown_in_some_sample() -> None:
    everything = "".join(file.read_text(encoding="utf-8") for file in SAMPLES)
    for key in ("round", "through", "radius", "smooth", "tangent", "handles", "circle", "window"):
        assert key in everything


# ---------------------------------------------------------------- what the kit stands in for


def test_parts_come_from_the_kit_where_the_file_is_silent() -> None:
    car = load(WREN)
    assert car.blank.id == TEST_KIT.blank
    assert [axle.wheel.id for axle in car.axles] == [TEST_KIT.front_wheel, TEST_KIT.rear_wheel]
    assert {axle.axle.id for axle in car.axles} == {TEST_KIT.axle}
    assert all(axle.bearing is not None and axle.hole_mm == axle.bearing.outer_mm for axle in car.axles)
    assert all(axle.washers == 1 for axle in car.axles)
    assert {eye.eye.id for eye in car.eyes} == {TEST_KIT.screw_eye}
    assert (car.cartridge.id, car.finish.id, car.glue.id) == ("cartridge-8g", "painted", "drops")


def test_a_kit_without_bearings_and_washers_leaves_them_out() -> None:
    car = load(WREN, replace(TEST_KIT, bearing="", washer="", finish="", glue="", cartridge=""))
    assert all(axle.bearing is None and axle.washer is None and axle.washers == 0 for axle in car.axles)
    assert car.front.hole_mm == car.front.axle.diameter_mm + 0.5
    assert (car.finish.id, car.glue.id, car.cartridge.id) == ("bare", "none", "cartridge-8g")


def test_none_takes_a_part_of_the_kit_away() -> None:
    car = load(swapped(WREN, ("x = 50\n", 'x = 50\nbearing = "none"\nwasher = "none"\n')))
    assert car.front.bearing is None
    assert car.front.washer is None
    assert car.rear.bearing is not None


@pytest.mark.parametrize("part", list(Kit().names))
def test_a_kit_that_names_what_is_not_in_stock_is_told(part: str) -> None:
    text = WREN.replace('wood = "basswood"\n', "")
    kit = replace(TEST_KIT, **{part: "no-such-thing"})  # type: ignore[arg-type]
    found = problems(text, kit)
    assert found
    assert {code for _, code in found} == {"missing-key"}


def test_a_wheel_with_figures_of_its_own() -> None:
    wheel = 'wheel = { diameter = "1 1/4 in", width = 4, mass = "1/16 oz" }'
    car = load(swapped(WREN, ("x = 50\n", f"x = 50\n{wheel}\n")))
    stock = load(WREN).front.wheel
    assert car.front.wheel.diameter_mm == pytest.approx(31.75)
    assert car.front.wheel.hub_length_mm == stock.hub_length_mm + 4 - stock.width_mm
    # An ounce is 28.349523125 g exactly (international yard and pound agreement, 1959).
    assert car.front.wheel.mass_g == pytest.approx(28.349523125 / 16)
    assert car.rear.wheel == load(WREN).rear.wheel


def test_the_bore_of_a_drilled_blank_gets_shallower_with_the_wood_sawn_off_its_tail() -> None:
    plover = sample("plover")
    assert (plover.bore.diameter_mm, plover.bore.depth_mm, plover.bore.height_mm) == (19.5, 52, 35)
    text = (samples_folder() / "plover.toml").read_text(encoding="utf-8")
    shorter = load(text.replace("305", "300"))
    assert shorter.bore.depth_mm == pytest.approx(47)


def test_own_blanks() -> None:
    block = load(
        swapped(WREN, ('wood = "basswood"', 'wood = "balsa"\nlength = 280\nwidth = 40\nheight = 50'))
    )
    assert (block.blank.length_mm, block.blank.width_mm, block.blank.is_wedge) == (280, 40, False)
    own = 'wood = "balsa"\nlength = 280\nwidth = 40\nheight_nose = 30\nheight_tail = 60'
    wedge = load(
        swapped(
            WREN,
            ('wood = "basswood"', f"{own}\nbore = {{ diameter = 19.5, depth = 60, height = 25 }}"),
            ("[bore]\ndiameter = 19.5\ndepth = 52\nheight = 25\n", ""),
        )
    )
    assert wedge.blank.is_wedge
    assert wedge.bore.depth_mm == pytest.approx(60 - 20)  # the body ends 20 mm ahead of the blank's end


def test_the_rulebook_asked_for_can_be_seen_before_and_overruled() -> None:
    source = parse_source(WREN, "car.toml")
    assert peek_rulebook(source) == "quarry-lane"
    assert read_design(source, TEST_KIT).rulebook == "quarry-lane"
    assert read_design(source, TEST_KIT, "other").rulebook == "other"
    assert peek_rulebook(parse_source("rulebook = 5", "car.toml")) == ""
    assert peek_rulebook(parse_source("name = 'x'", "car.toml")) == ""


# ---------------------------------------------------------------- lengths


@pytest.mark.parametrize(
    ("written", "amount", "unit"),
    [
        ('"2 1/16 in"', 33 / 16, "inch"),
        ('"5.2 cm"', 5.2, "centimetre"),
        ('"52 mm"', 52, "millimetre"),
        ("51.5", 51.5, "millimetre"),
        ('"2\\""', 2, "inch"),
        ('"2 in + 1 mm"', 51.8, "millimetre"),
    ],
)
def test_lengths_are_those_of_pint(written: str, amount: float, unit: str) -> None:
    car = load(swapped(WREN, ("depth = 52", f"depth = {written}")))
    assert car.bore.depth_mm == pytest.approx(pint.UnitRegistry().Quantity(amount, unit).m_as("millimetre"))


def test_a_file_in_inches_or_centimetres_is_the_same_car() -> None:
    def scaled(unit: str, size: float) -> Design:
        lines = []
        for line in WREN.splitlines():
            number = line.rpartition("= ")[2]
            if line.startswith("format") or not number.replace(".", "").isdigit():
                lines.append(line)
            else:
                lines.append(line.replace(number, repr(float(number) / size)))
        text = "\n".join(lines).replace('name = "Wren"', f'name = "Wren"\nunits = "{unit}"')
        half = [[u / size, v / size] for u, v in ((0.0, 12.0), (40.0, 18.5), (260.0, 18.5))]
        text = text.replace("[[0, 12], [40, 18.5], [260, 18.5]]", str(half))
        for u, v in ((0, 0), (260, 0), (260, 42), (190, 42), (120, 22), (0, 10)):
            text = text.replace(f"  [{u}, {v}],", f"  [{u / size!r}, {v / size!r}],")
        return load(text)

    millimetres = load(WREN)
    for unit, size in (("in", 25.4), ("cm", 10.0)):
        car = scaled(unit, size)
        assert car.profile.area == pytest.approx(millimetres.profile.area, rel=1e-12)
        assert car.rear.x_mm == pytest.approx(millimetres.rear.x_mm, rel=1e-12)
        assert car.eyes[1].x_mm == pytest.approx(millimetres.eyes[1].x_mm, rel=1e-12)


def test_a_named_dimension_moves_all_that_rests_on_it() -> None:
    text = (samples_folder() / "swift.toml").read_text(encoding="utf-8")
    short, long = load(text), load(swapped(text, ("length = 272", "length = 290")))
    assert long.profile.bounds[2] == pytest.approx(290)
    assert long.plan.bounds[2] == pytest.approx(290)
    assert long.rear.x_mm - short.rear.x_mm == pytest.approx(18 * 0.66)
    assert long.front == short.front
    assert long.eyes[1].x_mm == pytest.approx(long.rear.x_mm - 9)


# ---------------------------------------------------------------- outlines


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_areas_are_those_of_shapely(file: Path) -> None:
    car = sample(file.stem)
    for outline in (car.profile, car.plan):
        flat = outline.polygon(1e-6)
        assert flat.is_valid
        assert outline.area == pytest.approx(flat.area, rel=1e-7)
        assert outline.bounds == pytest.approx(shapely.bounds(flat), abs=1e-5)


def with_profile(points: str, *windows: str) -> Design:
    start, end = WREN.index("[profile]"), WREN.index("[plan]")
    cut = "\n".join(f"[[profile.window]]\n{window}" for window in windows)
    return load(f"{WREN[:start]}[profile]\npoints = {points}\n{cut}\n{WREN[end:]}")


def test_an_outline_worked_by_hand() -> None:
    # A block 260 x 42 less a quarter of its corner, a hollow half circle of radius 20 in its underside and
    # a round window of 6 mm; plus a bulge of a half circle of radius 21 on its nose.
    # 260 * 42 = 10920; rounding of 10 takes (1 - pi/4) * 100 = 21.460; the hollow pi/2 * 400 = 628.319;
    # the window pi * 9 = 28.274; the bulge adds pi/2 * 441 = 692.721.
    car = with_profile(
        """[
          { to = [0, 0], radius = 21 },
          [100, 0],
          { to = [140, 0], radius = 20, hollow = true },
          [260, 0],
          { to = [260, 42], round = 10 },
          [0, 42],
        ]""",
        "circle = [180, 12]\ndiameter = 6",
    )
    by_hand = 10920 - (1 - math.pi / 4) * 100 - math.pi / 2 * 400 - math.pi * 9 + math.pi / 2 * 441
    assert car.profile.area == pytest.approx(by_hand, rel=1e-12)
    assert round(car.profile.area, 3) == 10934.668
    assert car.profile.bounds == pytest.approx((-21, 0, 260, 42))


def test_the_long_way_round_an_arc() -> None:
    # A chord of 30 in a circle of radius 17: the long arc adds the circle less the short segment.
    car = with_profile(
        "[[0, 0], [260, 0], [260, 42], [0, 42], [0, 36], { to = [0, 6], radius = 17, long = true }]"
    )
    half = math.asin(15 / 17)
    segment = 17 * 17 * (half - math.sin(half) * math.cos(half))
    assert car.profile.area == pytest.approx(260 * 42 + math.pi * 17 * 17 - segment, rel=1e-12)


def test_direction_of_drawing_does_not_matter() -> None:
    there = with_profile("[[0, 0], [260, 0], { to = [260, 42], radius = 60 }, [0, 42]]")
    back = with_profile("[[0, 42], [260, 42], { to = [260, 0], radius = 60 }, [0, 0]]")
    assert there.profile.area == pytest.approx(back.profile.area, rel=1e-12)
    assert there.profile.area > 260 * 42  # it bulges out of the wood either way


PLAN = "points = [[0, 12], [40, 18.5], [260, 18.5]]\n"


def test_a_mirrored_plan_has_its_windows_on_both_sides() -> None:
    one = "[[plan.window]]\ncircle = [120, 10]\ndiameter = 6\n"
    two = "[[plan.window]]\ncircle = [160, 0]\ndiameter = 8\n"
    car = load(swapped(WREN, (PLAN, PLAN + one + two)))
    assert car.plan_mirrored
    middles = sorted(tuple(round(c, 6) for c in line.centroid.coords[0]) for line in car.plan.window_lines)
    assert middles == [(120, -10), (120, 10), (160, 0)]
    plain = load(WREN).plan.area
    assert car.plan.area == pytest.approx(plain - 2 * math.pi * 9 - math.pi * 16, rel=1e-12)


def test_a_symmetric_window_of_points_may_lie_across_the_centre_line() -> None:
    right = "[100, -6], { to = [150, -6], round = 3 }"
    left = "{ to = [150, 6], round = 3 }, [100, 6]"
    car = load(swapped(WREN, (PLAN, f"{PLAN}[[plan.window]]\npoints = [{right}, {left}]\n")))
    assert len(car.plan.windows) == 1


def test_a_whole_plan_may_differ_from_side_to_side() -> None:
    whole = "mirror = false\npoints = [[0, -12], [260, -18], [260, 18.5], [40, 18.5], [0, 12]]\n"
    car = load(swapped(WREN, (PLAN, whole)))
    assert not car.plan_mirrored
    assert car.plan.bounds == pytest.approx((0, -18, 260, 18.5))
    windowed = load(swapped(WREN, (PLAN, whole + "[[plan.window]]\ncircle = [120, 3]\ndiameter = 6\n")))
    assert len(windowed.plan.windows) == 1


def test_a_plan_may_start_and_end_in_a_point() -> None:
    car = load(swapped(WREN, (PLAN, "points = [[0, 0], [40, 18.5], [200, 18.5], [260, 0]]\n")))
    assert car.plan.area == pytest.approx(2 * (20 * 18.5 + 160 * 18.5 + 30 * 18.5))


def test_more_points_than_a_person_writes() -> None:
    def zigzag(count: int) -> str:
        top = ", ".join(f"[{260 - 260 * i / count:.5f}, {42 + i % 2}]" for i in range(count - 2))
        return f"[[0, 0], [260, 0], {top}]"

    start, end = WREN.index("[profile]"), WREN.index("[plan]")
    text = WREN[:start] + "[profile]\npoints = POINTS\n\n" + WREN[end:]
    car = load(text.replace("POINTS", zigzag(MAX_POINTS)))
    assert len(car.profile.outer.curves) == MAX_POINTS
    assert problems(text.replace("POINTS", zigzag(MAX_POINTS + 1))) == [("profile.points", "too-many")]


# ---------------------------------------------------------------- the file as a file


def test_windows_newlines_and_a_byte_order_mark_change_nothing() -> None:
    assert load("\ufeff" + WREN.replace("\n", "\r\n")).fingerprint == load(WREN).fingerprint


def test_problems_are_placed_in_a_file_with_windows_newlines() -> None:
    text = WREN.replace("depth = 52", 'depth = "5x"').replace("\n", "\r\n")
    with pytest.raises(ProblemsError) as raised:
        load(text)
    (problem,) = raised.value.problems
    assert problem.span is not None
    line = WREN.replace("depth = 52", 'depth = "5x"').splitlines()[problem.span.line - 1]
    assert line[problem.span.column - 1 :].startswith("x")

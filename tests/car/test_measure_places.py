"""Where measures were taken: on the car, and as far apart as the reading says."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings

from bodyshop.car.assembly import Car
from bodyshop.car.design import read_design
from bodyshop.car.design.model import Design
from bodyshop.car.measures import QuantityKind, Reading, catalogue, take_all
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.place import View
from bodyshop.foundation.toml import read_source
from tests.car.hand_cases import car_from, read_cases
from tests.car.kits import TEST_KIT, TEST_KIT_INCH
from tests.strategies_body import light_designs

SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))
ROOM_MM = 20.0
# Lengths that are not a distance on the car, or whose place is a single spot.
SPOTS = {
    "bore.cartridge_play",
    "bore.cartridge_showing",
    "bore.offset",
    "blank.fit",
    "body.least_hollow_radius",
    "windows.least_radius",
    "marking.number_height",
    *(
        f"{end}_{what}"
        for end in ("front", "rear")
        for what in (
            "axle.diameter",
            "wheel.diameter",
            "bearing.diameter",
            "washer.diameter",
            "eye.inside_diameter",
        )
    ),
}

# Lengths along one direction of the car, between points that lie apart across it as well.
ALONG = {
    "bore.height_over_body",
    "car.balance",
    "eyes.spacing",
    "eyes.spread",
    "front_eye.from_axle",
    "rear_eye.from_axle",
}


def sample(name: str) -> Car:
    source = read_source(samples_folder() / f"{name}.toml")
    return Car(read_design(source, TEST_KIT_INCH if "inch" in str(source.values["rulebook"]) else TEST_KIT))


def bounds(car: Car) -> tuple[tuple[float, float], ...]:
    """What body, wheels, axles, screw eyes and the track under them take up, in x, y and z."""
    x0, y0, z0, x1, y1, z1 = car.body.bounds
    xs, ys, zs = [x0, x1], [y0, y1], [z0, z1]
    if car.body.bore is not None:
        x, z = car.body.bore.point(car.body.bore.depth - car.design.cartridge.length_mm)
        xs, zs = [*xs, x], [*zs, z]
    for stack in car.stacks:
        r, a = stack.axle.wheel.radius_mm, stack.axle
        xs += [a.x_mm - r, a.x_mm + r]
        ys += list(stack.ends)
        zs += [a.height_mm - r, a.height_mm + r]
    return ((min(xs), max(xs)), (min(ys), max(ys)), (min(zs), max(zs)))


def check_places(car: Car) -> int:
    box = bounds(car)
    placed = 0
    for name, reading in take_all(car).items():
        if not isinstance(reading, Reading) or reading.place is None:
            continue
        placed += 1
        place = reading.place
        assert isinstance(place.view, View)
        assert place.label
        assert len(place.label) <= 80, name
        assert 1 <= len(place.points) <= 2
        for point in place.points:
            for value, (low, high) in zip(point, box, strict=True):
                assert math.isfinite(value), name
                assert low - ROOM_MM <= value <= high + ROOM_MM, (name, point, box)
        entry = catalogue()[name]
        if entry.kind is QuantityKind.LENGTH and name not in SPOTS:
            assert len(place.points) == 2, name
            a, b = place.points
            apart = [abs(p - q) for p, q in zip(a, b, strict=True)] if name in ALONG else [math.dist(a, b)]
            # Where a hole breaks out, how deep it does is found to within the promised 0.01 mm only.
            near = 1e-6 if reading.value >= 0 else 0.01
            assert min(abs(d - abs(reading.value)) for d in apart) < near, (name, reading)
    return placed


@pytest.mark.parametrize("name", SAMPLES)
def test_places_on_every_sample(name: str) -> None:
    car = sample(name)
    assert check_places(car) > 60


@pytest.mark.parametrize("case", read_cases(), ids=lambda c: c.name)
def test_places_of_every_hand_case(case) -> None:
    check_places(car_from(case.change, case.drop))


@settings(max_examples=20)
@given(light_designs())
def test_places_on_random_designs(design: Design) -> None:
    check_places(Car(design))


def test_a_length_is_placed_unless_it_is_on_the_list() -> None:
    readings = take_all(car_from())
    without = {
        name
        for name, reading in readings.items()
        if isinstance(reading, Reading)
        and reading.place is None
        and catalogue()[name].kind is QuantityKind.LENGTH
    }
    assert without == {"marking.number_height"}


def test_the_list_of_spots_names_live_measures() -> None:
    assert set(catalogue()) >= SPOTS | ALONG


@pytest.mark.parametrize(("offset", "view"), [(18, View.TOP), (2, View.SIDE)])
def test_the_wall_between_bore_and_screw_eye_is_shown_where_it_can_be_seen(offset: int, view: View) -> None:
    # Dunlin's bore has its axis 22 up and a radius of 10; the eye's hole is 1 wide and 8 deep. At 18 to one
    # side the nearest points lie 17.5 across and 14 up of each other's axis: more across, so the view from
    # above shows it. At 2 to one side they lie 1.5 across.
    car = car_from(f'[[screw_eye]]\nx = 215\noffset = {offset}\neye = "screw-eye-small"\n')
    wall = take_all(car)["bore.wall_eye"]
    assert isinstance(wall, Reading)
    assert wall.value == pytest.approx(math.hypot(offset - 0.5, 14) - 10, abs=1e-3)
    assert wall.place is not None
    assert wall.place.view is view


def test_the_catalogue_is_in_the_order_of_its_modules() -> None:
    from bodyshop.car.measures import MODULES, catalogue

    names = list(catalogue())
    assert (names[0], names.index("car.wheelbase") > names.index("body.frontal_area")) == (
        "body.length",
        True,
    )
    assert [module.__name__.rpartition(".")[2] for module in MODULES][:3] == ["body", "axles", "bore"]

"""The wall over the first stretch of the bore against the 3D kernel's least distance between shapes.

The stretch is a cylinder of the kernel, as long as the stretch and run on past the mouth. Its distances to
the skin of the undrilled body but the mouth, to the axle holes and to the pilots are those of
BRepExtrema_DistShapeShape. The bar: 0.01 mm.
"""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bodyshop.car.assembly import Car
from bodyshop.car.body import BoreHole
from bodyshop.car.design import read_design
from bodyshop.car.design.model import Design
from bodyshop.car.measures import NotKnown, Reading, catalogue
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import read_source
from bodyshop.solids import undrilled
from tests.car.kits import TEST_KIT, TEST_KIT_INCH
from tests.outside.kernel import cylinder, distance, faces, nearest_face
from tests.outside.test_walls_kernel import axle_solid, pilot_solid
from tests.strategies_body import light_designs

BAR = 0.01
SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))


def stretch_solid(bore: BoreHole, first: float, beyond: float):
    """The first `first` mm of the bore as a cylinder, run on past its mouth by `beyond`."""
    depth = min(first, bore.depth)
    return cylinder(bore.rod.start - beyond * bore.axis, bore.axis, bore.radius, depth + beyond)


def least_of_kernel(car: Car, first: float) -> float:
    body, bore = car.body, car.body.bore
    assert bore is not None
    skin = nearest_face(stretch_solid(bore, first, 80.0), faces(undrilled(body.sections).wrapped))
    inside = stretch_solid(bore, first, 0.0)
    holes = [axle_solid(hole) for hole in body.axle_holes] + [pilot_solid(pilot) for pilot in body.pilots]
    return min([skin, *(distance(inside, hole) for hole in holes)])


def take(car: Car, name: str) -> Reading | NotKnown:
    return catalogue()[name].take(car)


@pytest.mark.parametrize("first", [5.0, 20.0, 35.0, 400.0])
@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples(name: str, first: float) -> None:
    source = read_source(samples_folder() / f"{name}.toml")
    kit = TEST_KIT_INCH if "inch" in str(source.values["rulebook"]) else TEST_KIT
    car = Car(read_design(source, kit))
    reading = take(car, f"bore.wall[first {first:g} mm]")
    assert isinstance(reading, Reading)
    assert reading.value == pytest.approx(least_of_kernel(car, first), abs=BAR)
    whole = take(car, "bore.wall")
    assert isinstance(whole, Reading)
    assert reading.value >= whole.value - 1e-9
    if first > 300.0:
        assert reading.value == whole.value


@settings(max_examples=25)
@given(light_designs(), st.floats(3.0, 60.0))
def test_random_bodies(design: Design, first: float) -> None:
    car = Car(design)
    reading = take(car, f"bore.wall[first {first:.6f} mm]")
    assume(isinstance(reading, Reading) and reading.value > 0.2 and bool(car.body.walls))
    assert isinstance(reading, Reading)
    assume(car.body.bore is not None and car.body.rim is not None and car.body.rim.square)
    assert reading.value == pytest.approx(least_of_kernel(car, float(f"{first:.6f}")), abs=BAR)

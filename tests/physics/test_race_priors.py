from __future__ import annotations

import math
from dataclasses import replace

import pytest

from bodyshop.car.assembly import Car
from bodyshop.car.stock.hardware import hardware
from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics.air import standard_air
from bodyshop.physics.model import Basis, Estimate
from bodyshop.physics.priors import (
    EMPTY_LINE,
    car_numbers,
    cartridge_numbers,
    inertia,
    line_drag,
    priors,
    rolling,
    room_temperature,
)
from tests.output.cars import sample


def kestrel() -> Car:
    return sample("kestrel").opened.car


def test_every_prior_has_a_range_and_a_source() -> None:
    for table in (priors().cartridge, priors().bearing, priors().running):
        for prior in table.values():
            assert 0 < prior.low <= prior.high
            assert len(prior.source) > 20


def test_wheels_add_their_inertia_by_hand() -> None:
    # Kestrel: two wheels of 1.6 g with factor 0.6 and two of 3.2 g with factor 0.7, so 2·0.96 + 2·2.24 g
    # before the rods, 3 mm of steel turning on radii of 16 and 17 mm: under 0.05 g
    found = inertia(kestrel())
    assert 6.40 < found.value < 6.45
    assert 0.05 < found.sd / found.value < 0.09


def test_rolling_is_bearing_friction_by_the_lever_and_the_tread() -> None:
    # steel in polypropylene about 0.26, axle 1.5 mm over wheels of 16 and 17 mm: 0.023; tread 0.0077
    found = rolling(kestrel())
    assert found.value == pytest.approx(0.26 * 1.5 / 16.6 + math.sqrt(0.003 * 0.02), rel=0.02)
    assert "polypropylene" in found.source
    interval = found.interval()
    assert interval.low < 0.02
    assert interval.high > 0.03


def test_bare_wood_drags_more_than_a_straw() -> None:
    design = kestrel().design
    axles = (replace(design.axles[0], bearing=None), replace(design.axles[1], bearing=None))
    bare = Car(replace(design, axles=axles))
    assert rolling(bare).value > rolling(kestrel()).value


def test_a_car_without_eyes_drags_nothing_along_the_line() -> None:
    design = kestrel().design
    assert line_drag(Car(replace(design, eyes=()))).source == EMPTY_LINE
    assert line_drag(Car(replace(design, eyes=()))).value == 0.0
    one = line_drag(Car(replace(design, eyes=design.eyes[:1]))).value
    assert line_drag(kestrel()).value == pytest.approx(2 * one)


def test_an_unmeasured_car_is_a_drawing_with_published_figures() -> None:
    numbers = car_numbers(kestrel(), standard_air())
    assert numbers.mass_g.basis is Basis.DESIGN
    assert numbers.cda_m2.basis is Basis.PUBLISHED
    assert numbers.mass_g.value == pytest.approx(kestrel().mass.mass_g)


def test_the_cartridge_of_the_kit_is_the_published_one() -> None:
    numbers = cartridge_numbers(hardware().cartridges["cartridge-8g"])
    full = numbers.shell_g.value + numbers.charge_g.value
    assert 28.9 < full < 29.4  # a published race regulation's range of full cartridges
    assert math.hypot(numbers.shell_g.sd, numbers.charge_g.sd) == pytest.approx(0.146, abs=0.01)
    assert numbers.volume_cm3.value == pytest.approx(10.4, abs=0.05)
    measured = cartridge_numbers(hardware().cartridges["cartridge-8g"], measured_curve=True)
    assert measured.impulse_factor.sd < numbers.impulse_factor.sd


def test_a_cartridge_that_no_table_knows_is_refused() -> None:
    kit = hardware().cartridges["cartridge-8g"]
    assert cartridge_numbers(kit, Estimate.exact(12.0, "read")).temperature_c.value == 12.0
    with pytest.raises(ProblemsError, match="no liquid above"):
        cartridge_numbers(kit, Estimate.exact(45.0, "read"))


def test_a_hall_is_about_twenty_degrees() -> None:
    assert room_temperature().interval().low == pytest.approx(16.0)
    assert room_temperature().interval().high == pytest.approx(24.0)


def test_a_car_whose_axle_hole_is_in_the_air_cannot_run() -> None:
    design = kestrel().design
    high = replace(design.axles[0], height_mm=60.0)
    with pytest.raises(ProblemsError) as caught:
        car_numbers(Car(replace(design, axles=(high, design.axles[1]))), standard_air())
    assert [problem.code for problem in caught.value.problems] == ["race-no-axle"]


def test_a_car_without_a_bore_cannot_run() -> None:
    design = kestrel().design
    with pytest.raises(ProblemsError) as caught:
        car_numbers(Car(replace(design, bore=replace(design.bore, height_mm=300.0))), standard_air())
    assert "race-no-bore" in [problem.code for problem in caught.value.problems]

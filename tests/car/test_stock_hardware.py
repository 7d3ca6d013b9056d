"""Hardware and finishes against closed forms, standards and a general mesh library."""

from __future__ import annotations

import math

import pint
import pytest
import trimesh

from bodyshop.car.stock.finish import finishes, glues
from bodyshop.car.stock.hardware import WheelEnd, hardware

UNITS: pint.UnitRegistry = pint.UnitRegistry()


def test_steel_rod_by_the_closed_form() -> None:
    # pi/4 x 0.3 cm x 0.3 cm x 10 cm x 7.85 g/cm3 = 5.549 g for 100 mm of 3 mm rod; tables of round bar
    # print 0.0555 kg/m (from memory).
    assert hardware().axles["axle-3"].mass_g_per_mm * 100.0 == pytest.approx(5.549, abs=5e-4)


@pytest.mark.parametrize("axle", sorted(hardware().axles))
def test_rods_weigh_what_units_say(axle: str) -> None:
    rod = hardware().axles[axle]
    volume = math.pi * (UNITS.Quantity(rod.diameter_mm, "mm") / 2) ** 2 * UNITS.Quantity(1.0, "m")
    mass = (volume * UNITS.Quantity(7.85, "g/cm^3")).to("g").magnitude
    assert rod.material.id == "steel"
    assert rod.mass_g_per_mm * 1000.0 == pytest.approx(mass, rel=1e-12)


def test_a_steel_m3_washer_is_that_of_the_standards_mass_table() -> None:
    # DIN 125 (the earlier text of ISO 7089), M3: 3.2 x 7 x 0.5 mm, 0.119 kg for a thousand; from memory.
    washer = hardware().washers["washer-steel-3"]
    assert (washer.inner_mm, washer.outer_mm, washer.thickness_mm) == (3.2, 7, 0.5)
    assert washer.mass_g == pytest.approx(0.119, abs=1e-3)


@pytest.mark.parametrize("washer", sorted(hardware().washers))
def test_washers_by_a_mesh(washer: str) -> None:
    item = hardware().washers[washer]
    ring = trimesh.creation.annulus(item.inner_mm / 2, item.outer_mm / 2, item.thickness_mm, sections=256)
    # a polygon of n sides holds (n / 2 pi) sin(2 pi / n) of its circle
    mesh_volume = ring.volume / (256 / (2 * math.pi) * math.sin(2 * math.pi / 256))
    assert item.mass_g == pytest.approx(item.material.density_g_per_mm3 * mesh_volume, rel=1e-9)


@pytest.mark.parametrize("bearing", sorted(hardware().bearings))
def test_tubes_are_a_wall_round_a_middle_circle(bearing: str) -> None:
    tube = hardware().bearings[bearing]
    area = math.pi * (tube.outer_mm - tube.wall_mm) * tube.wall_mm
    assert tube.mass_g_per_mm == pytest.approx(area * tube.material.density_g_per_mm3, rel=1e-12)


@pytest.mark.parametrize("eye", sorted(hardware().screw_eyes))
def test_screw_eyes_by_a_mesh(eye: str) -> None:
    item = hardware().screw_eyes[eye]
    ring = trimesh.creation.torus((item.ring_inner_mm + item.wire_mm) / 2, item.wire_mm / 2, 192, 192)
    shank = trimesh.creation.cylinder(item.wire_mm / 2, item.shank_length_mm, sections=192)
    mass = item.material.density_g_per_mm3 * (ring.volume + shank.volume)
    assert item.mass_g == pytest.approx(mass, rel=1e-3)
    assert item.overall_length_mm == item.ring_inner_mm + 2 * item.wire_mm + item.shank_length_mm


def test_every_axle_has_a_bearing_a_washer_and_wheels_for_both_ends() -> None:
    kit = hardware()
    for axle in kit.axles.values():
        rod = axle.diameter_mm
        assert any(rod < tube.inner_mm <= rod + 1 for tube in kit.bearings.values())
        assert any(rod < washer.inner_mm <= rod + 1 for washer in kit.washers.values())
        ends = {wheel.end for wheel in kit.wheels.values() if wheel.bore_mm == rod}
        assert {WheelEnd.FRONT, WheelEnd.REAR} <= ends


@pytest.mark.parametrize("wheel", sorted(hardware().wheels))
def test_wheels_are_lighter_than_a_plastic_disc_and_turn_between_disc_and_ring(wheel: str) -> None:
    item = hardware().wheels[wheel]
    # a solid disc as wide as the hub, of nylon: no moulded wheel is heavier
    disc = math.pi * item.radius_mm**2 * max(item.width_mm, item.hub_length_mm) * 1140e-6
    assert item.mass_g < disc
    assert 0.5 * item.mass_g * item.radius_mm**2 <= item.moment_g_mm2 <= item.mass_g * item.radius_mm**2
    assert item.hub_inboard_mm + item.width_mm <= item.hub_length_mm


def test_the_cartridge() -> None:
    # A published 2025 event regulation: 28.9 to 29.4 g full with an 8 g charge; shell about 21 g.
    cartridge = hardware().cartridges["cartridge-8g"]
    reach = 2.0 * cartridge.mass_spread * cartridge.full_mass_g
    assert cartridge.full_mass_g - reach < 28.9
    assert cartridge.full_mass_g + reach > 29.4
    assert cartridge.empty_mass_g == pytest.approx(21.0, abs=0.5)
    assert cartridge.neck_diameter_mm < cartridge.diameter_mm
    # Filling ratio for CO2 at 250 bar test pressure, 0.76 kg/L (ADR P200, from memory): the shell's outside
    # must be larger than the room that 8 g needs.
    outside = math.pi / 4.0 * cartridge.diameter_mm**2 * cartridge.length_mm
    assert outside > cartridge.charge_g / 0.76e-3


def test_a_coat_of_paint_is_its_film_times_its_density() -> None:
    # 0.085 mm at 1.3 g/cm3 on 450 cm2: 0.0085 cm x 450 cm2 x 1.3 g/cm3 = 4.97 g. Three to four thousandths
    # of an inch (a finisher's guide) are 0.076 to 0.102 mm.
    painted = finishes()["painted"]
    assert painted.mass_g_per_mm2 * 45_000.0 == pytest.approx(4.9725, rel=1e-12)
    low, high = (UNITS.Quantity(mils, "thou").to("mm").magnitude for mils in (3, 4))
    assert low < painted.film_mm < high
    assert finishes()["bare"].mass_g_per_mm2 == 0.0
    assert finishes()["sealed"].mass_g_per_mm2 < painted.mass_g_per_mm2
    assert glues()["none"].mass_g == 0.0 < glues()["drops"].mass_g

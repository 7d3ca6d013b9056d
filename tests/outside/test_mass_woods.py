"""Masses against handbook arithmetic, and the pair of cars that everybody quotes.

Outside sources: Wood Handbook FPL-GTR-190, chapter 4, density = 1000 kg/m3 x G x (1 + moisture / 100), and
table 5-3a, basswood G 0.37; table 5-6, spread of 0.10; air-dry balsa 8 to 14 lb/ft3, trade mean 10 lb/ft3 (a
timber merchant's page), the pound 453.59237 g and the foot 304.8 mm (international agreement of 1959).

The pair: "the same design weighs about 116 g in basswood and about 50 g in balsa". Common practice, no
published source. Balsa at its trade mean is 0.386 of basswood, and 50 g is 0.431 of 116 g: some of the car is
not wood.
"""

from __future__ import annotations

import numpy as np
import pint
import pytest

from bodyshop.car.assembly import WIDE, Car
from bodyshop.car.design.model import AxleEnd, Bore
from bodyshop.car.stock.woods import woods
from tests.bodies import axle, box, car, design, eye, half, outline

BASSWOOD_G, BALSA_G = 116.0, 50.0
BASSWOOD, BALSA = woods()["basswood"], woods()["balsa"]


def densities(wood) -> tuple[float, float]:
    """Two standard deviations to each side, g/mm^3."""
    spread = WIDE * wood.spread
    return wood.density_g_per_mm3 * (1 - spread), wood.density_g_per_mm3 * (1 + spread)


# ---------------------------------------------------------------- density


def test_basswood_by_the_handbook() -> None:
    assert BASSWOOD.density_g_per_mm3 == pytest.approx(1000 * 0.37 * 1.12 * 1e-6, rel=1e-12)
    assert BASSWOOD.spread == 0.10


def test_balsa_by_the_merchant() -> None:
    units: pint.UnitRegistry = pint.UnitRegistry()
    low, mean, high = (
        (q * units.pound / units.foot**3).to("gram / millimetre**3").magnitude for q in (8, 10, 14)
    )
    assert BALSA.density_g_per_mm3 == pytest.approx(mean, rel=0.002)
    assert densities(BALSA)[0] < low
    assert densities(BALSA)[1] == pytest.approx(high, rel=0.002)


@pytest.mark.parametrize(("wood", "grams"), [("balsa", 143), ("basswood", 371), ("eastern-white-pine", 352)])
def test_a_whole_block_by_handbook_arithmetic(wood: str, grams: float) -> None:
    # 305 x 42 x 70 mm = 896.7 cm3, by 0.16, 0.4144 and 0.392 g/cm3.
    c = car(box(305, 42, 70), wood=wood)
    assert {i.label: i.mass_g for i in c.items}["wooden body"] == pytest.approx(grams, abs=1.0)


def test_drier_wood_is_lighter_but_it_shrinks_too() -> None:
    # G at 6 % over basic: 1 / (1 - 0.265 Gb (1 - 6/30)); mass changes by 1.06 / 1.12.
    basic = 0.37 / (1 + 0.265 * 0.37 * (1 - 12 / 30))
    at_6 = basic / (1 - 0.265 * basic * (1 - 6 / 30))
    assert BASSWOOD.density_at_moisture(6) == pytest.approx(at_6 * 1.06 * 1e-3, rel=1e-12)
    assert BASSWOOD.density_at_moisture(12) == pytest.approx(BASSWOOD.density_g_per_mm3, rel=1e-12)


# ---------------------------------------------------------------- the pair


def feasible() -> list[tuple[float, float]]:
    """Pairs of one volume (cm^3) and one mass of hardware (g) that explain both cars within the ranges.

    116 = d1 V + m and 50 = d2 V + m give V = 66 / (d1 - d2) and m = 116 - d1 V for each pair of densities.
    """
    found = []
    for d1 in np.linspace(*densities(BASSWOOD), 61):
        for d2 in np.linspace(*densities(BALSA), 61):
            volume = (BASSWOOD_G - BALSA_G) / (d1 - d2)
            hardware = BASSWOOD_G - d1 * volume
            found.append((volume / 1000, hardware))
    return found


def test_one_volume_and_one_mass_of_hardware_explain_the_pair() -> None:
    # At the means: V = 66 / (0.4144 - 0.16) = 259.4 cm3, m = 116 - 107.5 = 8.5 g.
    volume = (BASSWOOD_G - BALSA_G) / (BASSWOOD.density_g_per_mm3 - BALSA.density_g_per_mm3)
    hardware = BASSWOOD_G - BASSWOOD.density_g_per_mm3 * volume
    assert volume / 1000 == pytest.approx(259.4, abs=0.1)
    assert hardware == pytest.approx(8.5, abs=0.05)
    # Over the ranges there is room for the hardware of a real car, 15 to 25 g, in a body out of one block.
    good = [(v, m) for v, m in feasible() if 15 <= m <= 25]
    assert good
    volumes = [v for v, _ in good]
    assert 150 < min(volumes) < max(volumes) < 350


def car_of(volume_cm3: float, wood: str) -> Car:
    """A wedge of a car with all its hardware, its height chosen for the volume."""
    height, made = 62.0, None
    for _ in range(30):
        shape = outline((0, 0), (280, 0), (280, height), (0, height / 3)), half((0, 10), (90, 19), (280, 19))
        made = car(
            shape,
            wood=wood,
            edge_round=2.0,
            bore=Bore(19.5, 52, 25),
            axles=(
                axle(AxleEnd.FRONT, 50, 7, wheel="wheel-front-32"),
                axle(AxleEnd.REAR, 215, 8, wheel="wheel-rear-34"),
            ),
            eyes=[eye(60), eye(205)],
            finish="sealed",
            glue="drops",
        )
        height *= volume_cm3 * 1000 / made.body.volume
    assert made is not None
    return made


def test_a_car_of_that_volume_gives_intervals_that_hold_both() -> None:
    hard, soft = car_of(245.0, "basswood"), car_of(245.0, "balsa")
    assert hard.body.volume == pytest.approx(245_000, rel=1e-6)
    assert hard.mass.low_g < BASSWOOD_G < hard.mass.high_g
    assert soft.mass.low_g < BALSA_G < soft.mass.high_g
    # What is not wood is the same in both, and within what the pair allows.
    rest = [c.mass.mass_g - c.body.volume * c.design.wood.density_g_per_mm3 for c in (hard, soft)]
    assert rest[0] == pytest.approx(rest[1], abs=1e-9)
    allowed = [m for v, m in feasible() if abs(v - 245) < 3]
    assert min(allowed) < rest[0] < max(allowed)


def test_no_interval_holds_the_other_car() -> None:
    # The estimate is wide but not empty of meaning: the basswood car is not taken for the balsa one.
    hard, soft = car_of(245.0, "basswood"), car_of(245.0, "balsa")
    assert hard.mass.low_g > BALSA_G
    assert soft.mass.high_g < BASSWOOD_G


def test_weighing_the_blank_settles_it() -> None:
    # A block of balsa that weighed 143 g: the interval shrinks to a few grams.
    shape = outline((0, 0), (280, 0), (280, 45), (0, 20)), half((0, 10), (90, 19), (280, 19))
    guess, weighed = Car(design(shape, wood="balsa")), Car(design(shape, wood="balsa", weighed=143.0))
    assert weighed.mass.sd_g < 0.25 * guess.mass.sd_g
    assert weighed.mass.mass_g == pytest.approx(143 / 896_700 * weighed.body.volume, rel=1e-9)

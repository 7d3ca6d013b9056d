"""The day's air."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from bodyshop.foundation.problems import ProblemsError
from bodyshop.physics.air import air_of_the_day, dynamic_pressure_pa, reynolds, standard_air
from bodyshop.physics.model import Basis


def test_the_standard_day() -> None:
    # ISO 2533:1975, sea level: 1.225 kg/m3, 1.7894e-5 Pa s.
    air = standard_air()
    assert air.density_kg_m3.value == pytest.approx(1.2250, abs=5e-6)
    assert air.viscosity_pa_s == pytest.approx(1.7894e-5, rel=1e-4)
    assert dynamic_pressure_pa(air, 20.0) == pytest.approx(245.0, abs=0.01)


def test_dry_air_at_room_temperatures() -> None:
    # p / (287.053 T) at 101 325 Pa: 1.2041 at 20 C, 1.1839 at 25 C.
    assert air_of_the_day(20, 1013.25, 0).density_kg_m3.value == pytest.approx(1.2041, abs=5e-5)
    assert air_of_the_day(25, 1013.25, 0).density_kg_m3.value == pytest.approx(1.1839, abs=5e-5)


def test_reynolds_number_of_a_car() -> None:
    # 305 mm at 20 m/s and 20 C: 4.04e5.
    assert reynolds(air_of_the_day(20, 1013.25, 0), 20.0, 0.305) == pytest.approx(4.04e5, rel=5e-3)


def test_what_was_read_narrows_the_interval() -> None:
    spreads = [
        air_of_the_day().density_kg_m3.sd,
        air_of_the_day(20).density_kg_m3.sd,
        air_of_the_day(20, 1013.25).density_kg_m3.sd,
        air_of_the_day(20, 1013.25, 0.5).density_kg_m3.sd,
    ]
    assert all(wider > narrower for wider, narrower in pairwise(spreads))
    # 20 hPa of weather alone are 2 %.
    assert spreads[1] / 1.2 == pytest.approx(math.hypot(0.02, 0.002), rel=0.1)


def test_what_was_taken_for_granted_is_said() -> None:
    assert "assumed" in air_of_the_day(18.0).density_kg_m3.source
    assert air_of_the_day(18.0).density_kg_m3.basis is Basis.ASSUMED
    read = air_of_the_day(18.0, 990.0, 0.4).density_kg_m3
    assert read.basis is Basis.MEASURED
    assert "granted" not in read.source


@pytest.mark.parametrize(
    ("temperature", "pressure", "humidity"),
    [
        (200.0, None, None),
        (None, 2.0, None),
        (None, 101_325.0, None),
        (20.0, 1000.0, 55.0),
        (math.nan, 1000.0, 0.5),
    ],
)
def test_no_air_is_like_that(temperature, pressure, humidity) -> None:
    with pytest.raises(ProblemsError, match="the air's"):
        air_of_the_day(temperature, pressure, humidity)

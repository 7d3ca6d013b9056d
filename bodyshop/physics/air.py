"""The day's air: density and viscosity from temperature, pressure and, where it was read, humidity.

SI units inside: K, Pa, kg/m^3, Pa s, m/s. The gas constant, Sutherland's constants and the standard day are
those of ISO 2533:1975; the pressure of water vapour is by the formula of the WMO's Guide to Meteorological
Instruments (WMO-No. 8, annex 4.B).
"""

from __future__ import annotations

import math
from typing import Final

from bodyshop.foundation.constants import DRY_AIR_J_KG_K, STANDARD_HPA, ZERO_C_K
from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.physics.model import Air, Basis, Estimate, Law

__all__ = [
    "DENSITY_FORMULA",
    "DENSITY_SOURCE",
    "HIGHEST_HPA",
    "HOTTEST_C",
    "COLDEST_C",
    "LOWEST_HPA",
    "air_of_the_day",
    "dynamic_pressure_pa",
    "reynolds",
    "standard_air",
    "viscosity_pa_s",
]

COLDEST_C, HOTTEST_C = -50.0, 60.0
LOWEST_HPA, HIGHEST_HPA = 300.0, 1200.0

DENSITY_FORMULA: Final = "rho = p / (287.05 T), less what vapour makes lighter"
DENSITY_SOURCE: Final = "ISO 2533:1975 for dry air; WMO-No. 8 for the vapour"

_VAPOUR_SHARE: Final = 0.62198  # molar mass of water over that of dry air
_SUTHERLAND_B: Final = 1.458e-6  # kg/(m s K^0.5), ISO 2533
_SUTHERLAND_S: Final = 110.4  # K, ISO 2533

# What is taken where nothing was read, as a middle and one standard deviation: a school hall, and the
# weather's pressure up to some 300 m above the sea. Common practice, no published source.
_HALL_C, _HALL_SD_C = 20.0, 3.0
_WEATHER_SD_HPA: Final = 20.0
_HUMIDITY, _HUMIDITY_SD = 0.5, 0.2
# How well a room's instruments are read, one standard deviation. Common practice, no published source.
_THERMOMETER_SD_C, _BAROMETER_SD_HPA, _HYGROMETER_SD = 0.5, 1.0, 0.05


def standard_air() -> Air:
    """The standard day at sea level: 15 C, 1013.25 hPa, dry (ISO 2533)."""
    density = _density(15.0, STANDARD_HPA, 0.0)
    return Air(15.0, STANDARD_HPA, Estimate.exact(density, "standard day, ISO 2533"), viscosity_pa_s(15.0))


def air_of_the_day(
    temperature_c: float | None = None,
    pressure_hpa: float | None = None,
    humidity: float | None = None,
) -> Air:
    """Air from what was read in the hall: degrees Celsius, hectopascal, relative humidity from 0 to 1.

    What was not read is taken as 20 C, 1013.25 hPa and half way to wet, and widens the interval. The
    standard deviation of the density is propagated from those of the readings by differences.

    Raises:
        ProblemsError: no hall's air is like that: see the bounds above; humidity from 0 to 1.
    """
    t, t_sd = (_HALL_C, _HALL_SD_C) if temperature_c is None else (temperature_c, _THERMOMETER_SD_C)
    p, p_sd = (STANDARD_HPA, _WEATHER_SD_HPA) if pressure_hpa is None else (pressure_hpa, _BAROMETER_SD_HPA)
    h, h_sd = (_HUMIDITY, _HUMIDITY_SD) if humidity is None else (humidity, _HYGROMETER_SD)
    problems = [
        Problem(
            "race-air",
            f"the air's {name} is {value:g} {unit}",
            found=f"{value:g} {unit}",
            expected=f"from {low:g} to {high:g} {unit}",
        )
        for name, value, low, high, unit in (
            ("temperature", t, COLDEST_C, HOTTEST_C, "°C"),
            ("pressure", p, LOWEST_HPA, HIGHEST_HPA, "hPa"),
            ("humidity", 100.0 * h, 0.0, 100.0, "%"),
        )
        if not low <= value <= high
    ]
    if problems:
        raise ProblemsError(problems)
    density = _density(t, p, h)
    spread = math.hypot(
        _density(t + t_sd, p, h) - density,
        _density(t, p + p_sd, h) - density,
        _density(t, p, h + h_sd) - density,
    )
    read = [
        name
        for name, value in (
            ("temperature", temperature_c),
            ("pressure", pressure_hpa),
            ("humidity", humidity),
        )
        if value is not None
    ]
    taken = [
        words
        for words, value in (
            ("20 °C", temperature_c),
            ("1013 hPa", pressure_hpa),
            ("50 % humidity", humidity),
        )
        if value is None
    ]
    source = f"{_listed(read)} as read" if read else ""
    if taken:
        source += ("; " if source else "") + f"{_listed(taken)} assumed"
    basis = Basis.MEASURED if temperature_c is not None and pressure_hpa is not None else Basis.ASSUMED
    return Air(t, p, Estimate(density, spread, source, basis, Law.PLAIN), viscosity_pa_s(t))


def viscosity_pa_s(temperature_c: float) -> float:
    """Dynamic viscosity by Sutherland's formula with the constants of ISO 2533."""
    temperature = temperature_c + ZERO_C_K
    return _SUTHERLAND_B * math.sqrt(temperature) ** 3 / (temperature + _SUTHERLAND_S)


def reynolds(air: Air, speed_m_s: float, length_m: float) -> float:
    """Reynolds number of a length at a speed."""
    return speed_m_s * length_m * air.density_kg_m3.value / air.viscosity_pa_s


def dynamic_pressure_pa(air: Air, speed_m_s: float) -> float:
    """Half the density times the speed squared."""
    return 0.5 * air.density_kg_m3.value * speed_m_s**2


def _density(temperature_c: float, pressure_hpa: float, humidity: float) -> float:
    """Density of moist air as a mixture of ideal gases, kg/m^3."""
    vapour_hpa = humidity * 6.112 * math.exp(17.62 * temperature_c / (243.12 + temperature_c))
    weight_hpa = pressure_hpa - (1.0 - _VAPOUR_SHARE) * vapour_hpa
    return 100.0 * weight_hpa / (DRY_AIR_J_KG_K * (temperature_c + ZERO_C_K))


def _listed(words: list[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]

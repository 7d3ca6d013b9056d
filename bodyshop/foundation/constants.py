"""Figures that nature or a standard fixes, each written once."""

from __future__ import annotations

from typing import Final

__all__ = [
    "DRY_AIR_J_KG_K",
    "GRAVITY_M_S2",
    "MM_PER_IN",
    "NORMAL_95",
    "OUNCE_G",
    "STANDARD_HPA",
    "ZERO_C_K",
]

GRAVITY_M_S2: Final = 9.80665
"""Standard acceleration of free fall (ISO 80000-3). It differs by 0.5 % from equator to poles."""

STANDARD_HPA: Final = 1013.25
"""The standard atmosphere's pressure at sea level (ISO 2533:1975)."""

ZERO_C_K: Final = 273.15
"""0 degrees Celsius in kelvin, exact (ISO 80000-5)."""

DRY_AIR_J_KG_K: Final = 287.05287
"""The gas constant of dry air (ISO 2533:1975)."""

MM_PER_IN: Final = 25.4
"""Exact by definition (international yard and pound agreement, 1959; ISO 80000-3)."""

OUNCE_G: Final = 28.349523125
"""The avoirdupois ounce, exact by the same agreement."""

NORMAL_95: Final = 1.959963984540054
"""How many standard deviations either way hold 95 % of a normal law: `NormalDist().inv_cdf(0.975)`, written
out since the library that knows it takes longer to load than all else here."""

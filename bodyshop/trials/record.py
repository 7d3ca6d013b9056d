"""What every kind of record has in common, and fields that several kinds have."""

from __future__ import annotations

from typing import Final

from bodyshop.trials.columns import Field

__all__ = ["AIR_C", "AIR_HPA", "A_CAR", "HUMIDITY", "MAX_JSON", "SHA256", "Record"]


class Record:
    """What all kinds of records have in common: they are kept by the book."""

    __slots__ = ()


_HOT, _COLD = 60.0, -50.0
_HIGH_HPA, _LOW_HPA = 1200.0, 300.0
A_CAR: Final = Field("The car.", car=True)
AIR_C: Final = Field("Temperature of the air.", low=_COLD, high=_HOT)
AIR_HPA: Final = Field(
    "Pressure of the air as the barometer shows it here, not reduced to sea level.",
    low=_LOW_HPA,
    high=_HIGH_HPA,
)
HUMIDITY: Final = Field("Relative humidity of the air.", low=0.0, high=100.0)
SHA256: Final = Field("SHA-256 of the file, so that it can be known again.", longest=64)
MAX_JSON: Final = 2_000_000

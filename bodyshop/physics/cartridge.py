"""Thrust of a cartridge from the shipped table of blow-downs, for any number of samples at once.

`blowdown` tells the model; `make_table` makes the table. Reading it takes some milliseconds, once; a curve
then takes a fraction of one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Protocol

import numpy as np

from bodyshop.foundation.problems import Problem, ProblemsError
from bodyshop.physics.model import Array, Push

__all__ = [
    "CRITICAL_C",
    "TABLE_FILE",
    "TABLE_VERSION",
    "TRIPLE_C",
    "BlowDownTable",
    "GasDraw",
    "TableThrust",
    "Thrust",
    "blow_down_table",
    "check_filling",
    "check_temperature",
]

TABLE_FILE: Final = Path(__file__).resolve().parent / "blowdown.csv"
TABLE_VERSION: Final = "1"
TRIPLE_C: Final = -56.558
CRITICAL_C: Final = 30.978
"""Triple and critical point of CO2, Span and Wagner 1996: 216.592 K and 304.1282 K."""


@dataclass(frozen=True, slots=True)
class GasDraw:
    """Samples of what the thrust depends on, each of shape (n,); names and units as `CartridgeNumbers`."""

    charge_g: Array
    volume_cm3: Array
    temperature_c: Array
    hole_mm: Array
    impulse_factor: Array


class Thrust(Protocol):
    """Anything that pushes a car."""

    @property
    def source(self) -> str:
        """Where the curve comes from, in a clause."""

    def push(self, gas: GasDraw) -> Push:
        """The curves for samples of the cartridge."""


@dataclass(frozen=True, slots=True)
class BlowDownTable:
    """The table: axes (°C, kg/m³), and over both of them the nodes of a curve.

    `left` as a share, `time` in s m²/m³, `thrust` in N/mm².
    """

    temperatures: Array
    fillings: Array
    left: Array
    time: Array
    thrust: Array

    def curves(self, temperature_c: Array, filling_kg_m3: Array) -> tuple[Array, Array, Array]:
        """Left, time and thrust at the nodes, each (n, nodes); a sample outside is taken at the edge."""
        i, u = _place(self.temperatures, temperature_c)
        j, w = _place(self.fillings, filling_kg_m3)
        parts = (
            (i, j, (1 - u) * (1 - w)),
            (i + 1, j, u * (1 - w)),
            (i, j + 1, (1 - u) * w),
            (i + 1, j + 1, u * w),
        )

        def mixed(grid: Array) -> Array:
            return np.asarray(sum(weight[:, None] * grid[a, b] for a, b, weight in parts))

        return mixed(self.left), mixed(self.time), mixed(self.thrust)


def _place(axis: Array, at: Array) -> tuple[np.ndarray[tuple[int], np.dtype[np.intp]], Array]:
    inside = np.clip(at, axis[0], axis[-1])
    index = np.clip(np.searchsorted(axis, inside, side="right") - 1, 0, len(axis) - 2)
    return index, (inside - axis[index]) / (axis[index + 1] - axis[index])


@cache
def blow_down_table() -> BlowDownTable:
    """The table that comes with the program.

    Raises:
        ProblemsError: this copy of the program lacks it, or it is damaged.
    """
    try:
        with TABLE_FILE.open(encoding="utf-8") as stream:
            rows = np.loadtxt((line for line in stream if line[:1] not in ("#", "t")), delimiter=",", ndmin=2)
        temperatures, fillings = np.unique(rows[:, 0]), np.unique(rows[:, 1])
        grid = rows.reshape(len(temperatures), len(fillings), -1, rows.shape[1])
    except (OSError, ValueError, IndexError):
        message = (
            "this copy of bodyshop is incomplete: its table of cartridges cannot be read; install it again"
        )
        raise ProblemsError([Problem("copy-incomplete", message, file=TABLE_FILE.name)]) from None
    return BlowDownTable(temperatures, fillings, grid[..., 2], grid[..., 3], grid[..., 4])


@dataclass(frozen=True, slots=True)
class TableThrust:
    """The computed blow-down."""

    @property
    def source(self) -> str:
        """Where the curve comes from, in a clause."""
        return (
            "computed two-phase blow-down of CO2 (Span and Wagner properties, homogeneous equilibrium), from "
            "the shipped table"
        )

    def push(self, gas: GasDraw) -> Push:
        """The curves; temperature and filling are taken at the edge of the table where they are outside."""
        filling = 1000.0 * gas.charge_g / gas.volume_cm3
        left, time, thrust = blow_down_table().curves(gas.temperature_c, filling)
        area_mm2 = (0.25 * math.pi * gas.hole_mm**2)[:, None]
        return Push(
            time_s=time * gas.volume_cm3[:, None] / area_mm2,  # cm³ over mm² is m³ over m²
            force_n=thrust * area_mm2 * gas.impulse_factor[:, None],
            gone_g=(1.0 - left) * gas.charge_g[:, None],
        )


def check_temperature(temperature_c: float, file: str = "") -> Problem | None:
    """What is wrong with the temperature of a cartridge, if anything."""
    table = blow_down_table()
    low, high = float(table.temperatures[0]), float(table.temperatures[-1])
    if low <= temperature_c <= high:
        return None
    expected = f"from {low:g} to {high:g} °C"
    if not math.isfinite(temperature_c) or temperature_c < TRIPLE_C:
        reason = f"CO2 has no liquid below {TRIPLE_C:g} °C"
    elif temperature_c > CRITICAL_C:
        reason = f"CO2 has no liquid above {CRITICAL_C:g} °C; a cartridge so warm belongs in the cool"
    else:
        reason = "the table of cartridges does not go so far"
    found = f"{temperature_c:g} °C"
    return Problem(
        "race-cartridge-temperature",
        f"the cartridge is at {found}: {reason}",
        file=file,
        found=found,
        expected=expected,
    )


def check_filling(charge_g: float, volume_cm3: float) -> Problem | None:
    """What is wrong with a charge in a volume, if anything."""
    table = blow_down_table()
    low, high = float(table.fillings[0]), float(table.fillings[-1])
    filling = 1000.0 * charge_g / volume_cm3 if volume_cm3 > 0.0 else math.inf
    if low <= filling <= high:
        return None
    room = f"{charge_g / high * 1000:.1f} to {charge_g / low * 1000:.1f} cm³"
    return Problem(
        "race-cartridge-filling",
        f"{charge_g:g} g of CO2 in {volume_cm3:g} cm³ is outside the table of cartridges",
        found=f"{volume_cm3:g} cm³",
        expected=room,
    )

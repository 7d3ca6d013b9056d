"""What the drag balance's reading means: net force, the air's pressure, and the drag area between them.

CdA = (reading - zero) / (0.5 rho v^2). Forces in N, speeds in m/s, areas in mm^2 and m^2.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.foundation.constants import NORMAL_95
from bodyshop.foundation.statistics import Repeats, repeats
from bodyshop.physics.air import dynamic_pressure_pa
from bodyshop.physics.model import Air, Basis, Estimate, Law

__all__ = [
    "SPEED_SHARE",
    "TUNNEL_FORMULA",
    "TUNNEL_SOURCE",
    "DragReading",
    "Force",
    "TunnelDrag",
    "blockage",
    "drag_area",
    "net_force",
]

TUNNEL_FORMULA: Final = "CdA = (reading - zero) / (1/2 rho v²)"
TUNNEL_SOURCE: Final = "definition of drag area, any textbook on fluid mechanics"

SPEED_SHARE: Final = 0.03
"""How well the tunnel's speed is known where nothing is said, one standard deviation over the speed. The
speed counts twice. Common practice, no published source."""

_BLOCKAGE_SHARE: Final = 0.25
"""Speed gained over the share of the section that is filled: a quarter, for shapes out of the ordinary
(Barlow, Rae and Pope, Low-Speed Wind Tunnel Testing, 3rd edition 1999; from memory)."""

MOST_COEFFICIENT: Final = 2.0
"""A drag area over twice the frontal area is no car's: a plate set square to the air has 1.2 to 2.0
(Aeronautical Engineer's Data Book, fig. 5.13b)."""


@dataclass(frozen=True, slots=True)
class Force:
    """A force as its balance showed it. `lowest_n` and `highest_n` bound the flicker; `resolution_n` is the
    smallest step, 0 where not known.
    """

    shown_n: float
    zero_n: float = 0.0
    lowest_n: float | None = None
    highest_n: float | None = None
    resolution_n: float = 0.0


@dataclass(frozen=True, slots=True)
class DragReading:
    """One reading of drag with the air it was taken in."""

    force: Force
    speed_m_s: float
    air: Air


@dataclass(frozen=True, slots=True)
class TunnelDrag:
    """Drag area from one or more readings.

    `each` is the drag area of every reading, m^2, in their order, zero taken off and blockage allowed for;
    `alone` the estimate of each by itself. `filled` is the share of the tunnel that the car fills, None
    where its section is not known; `lowered_by` the share by which that lowered every drag area. `doubts`
    are questions about readings that can hardly be true.
    """

    estimate: Estimate
    series: Repeats
    alone: tuple[Estimate, ...]
    filled: float | None
    lowered_by: float
    doubts: tuple[str, ...]


def net_force(force: Force) -> Estimate:
    """Reading less zero, N. The flicker counts as a level distribution from its lowest to its highest, the
    step of the balance likewise, once for the reading and once for the zero (JCGM 100:2008, 4.3.7).
    """
    variance = _step_sd(force) ** 2
    if force.lowest_n is not None and force.highest_n is not None:
        middle = 0.5 * (force.lowest_n + force.highest_n)
        variance += (force.highest_n - force.lowest_n) ** 2 / 12.0 + (middle - force.shown_n) ** 2
    return Estimate(
        force.shown_n - force.zero_n, math.sqrt(variance), "balance less zero", Basis.MEASURED, Law.PLAIN
    )


def _step_sd(force: Force) -> float:
    return force.resolution_n * math.sqrt(2.0 / 12.0)


def blockage(frontal_mm2: float, section_mm2: float) -> tuple[float, float]:
    """The share of a closed tunnel that a car fills, and the share by which its drag then reads too high.

    The air speeds up by a quarter of the filled share; drag goes with the square. In an open jet it is the
    other way about, and small.
    """
    filled = frontal_mm2 / section_mm2
    return filled, 1.0 - 1.0 / (1.0 + _BLOCKAGE_SHARE * filled) ** 2


def drag_area(
    readings: Sequence[DragReading],
    frontal_mm2: float | None = None,
    section_mm2: float | None = None,
    speed_share: float = SPEED_SHARE,
) -> TunnelDrag:
    """Drag area from at least one reading at a speed over 0, m^2.

    What all readings share (the speed's error, the air's, the blockage) does not average out; the flicker
    and the scatter do.
    """
    filled, lowered = None, 0.0
    if frontal_mm2 is not None and section_mm2:
        filled, lowered = blockage(frontal_mm2, section_mm2)
    values, alone = [], []
    shared = step = 0.0
    for reading in readings:
        force = net_force(reading.force)
        pressure = dynamic_pressure_pa(reading.air, reading.speed_m_s)
        value = force.value / pressure * (1.0 - lowered)
        density = reading.air.density_kg_m3
        common = abs(value) * math.hypot(2.0 * speed_share, density.sd / density.value, lowered)
        values.append(value)
        alone.append(_estimate(value, math.hypot(force.sd / pressure, common), 1))
        shared += common / len(readings)
        step += _step_sd(reading.force) / pressure / len(readings)
    series = repeats(values)
    # Ten equal readings of a coarse balance do not make it fine.
    spread = alone[0].sd if series.sd is None else math.hypot(max(series.sd, step), shared)
    return TunnelDrag(
        _estimate(series.mean, spread, series.count),
        series,
        tuple(alone),
        filled,
        lowered,
        tuple(_doubts(readings, series, frontal_mm2)),
    )


def _estimate(value: float, sd: float, count: int) -> Estimate:
    source = "one tunnel reading" if count == 1 else f"{count} tunnel readings"
    # A log-normal figure cannot be had from nothing, nor one whose interval reaches below zero.
    law = Law.POSITIVE if value > NORMAL_95 * sd else Law.PLAIN
    return Estimate(value, sd, source, Basis.MEASURED, law)


def _doubts(readings: Sequence[DragReading], series: Repeats, frontal_mm2: float | None) -> list[str]:
    doubts = []
    for number, (reading, value) in enumerate(zip(readings, series.values, strict=True), 1):
        which = "The reading" if len(readings) == 1 else f"Reading {number}"
        force = reading.force
        if value <= 0:
            doubts.append(
                f"{which} comes to a drag of {force.shown_n - force.zero_n:.3g} N: air does not pull a car "
                "forward. Is the zero reading that of still air, and is the sign right?"
            )
        elif frontal_mm2 and value * 1e6 > MOST_COEFFICIENT * frontal_mm2:
            doubts.append(
                f"{which} comes to a drag area of {value * 1e6:.0f} mm², over twice the car's frontal area "
                f"of {frontal_mm2:.0f} mm²: no car is like that. Is it the unit, the speed or the zero?"
            )
        low, high = force.lowest_n, force.highest_n
        if low is not None and high is not None and not low <= force.shown_n <= high:
            doubts.append(f"{which} does not lie between its own lowest and highest.")
    return doubts

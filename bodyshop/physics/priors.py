"""What is taken of a car and its cartridge before anything is measured: from the drawing, the stock and
`priors.toml`, each with its spread and its source.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from statistics import NormalDist
from typing import Annotated, Final

from bodyshop.car.assembly import Car
from bodyshop.car.design.model import AxleSet
from bodyshop.car.stock.hardware import Cartridge
from bodyshop.foundation.problems import ProblemsError
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, Disagreements, by_id, read_tables
from bodyshop.physics import drag
from bodyshop.physics.cartridge import check_temperature
from bodyshop.physics.model import CONFIDENCE, Air, Basis, CarNumbers, CartridgeNumbers, Estimate, Law

__all__ = [
    "EMPTY_LINE",
    "PRIOR_TABLES",
    "Prior",
    "Priors",
    "car_numbers",
    "cartridge_numbers",
    "inertia",
    "line_drag",
    "priors",
    "rolling",
    "room_temperature",
]

_FILE: Final = Path(__file__).resolve().parent / "priors.toml"
_HALF: Final = NormalDist().inv_cdf(0.5 + CONFIDENCE / 2.0)
EMPTY_LINE: Final = "no screw eye, so nothing runs on the line"


@dataclass(frozen=True, slots=True)
class Prior:
    """A range that holds 19 cases in 20, and where it comes from."""

    id: str
    label: str
    low: Annotated[float, TomlKey(low=1e-06, high=10000.0)]
    high: Annotated[float, TomlKey(low=1e-06, high=10000.0)]
    source: str
    confidence: Confidence

    @property
    def estimate(self) -> Estimate:
        """The range as a figure."""
        published = self.confidence in (Confidence.READ, Confidence.SECOND_HAND)
        basis = Basis.PUBLISHED if published else Basis.ASSUMED
        return Estimate.between(self.low, self.high, self.source, basis)

    def disagreements(self) -> Disagreements:
        """A range has its ends in order."""
        if self.high < self.low:
            yield "high", "high is under low", ""


@dataclass(frozen=True, slots=True)
class Priors:
    """The three tables, each by id."""

    cartridge: Mapping[str, Prior]
    bearing: Mapping[str, Prior]
    running: Mapping[str, Prior]


@cache
def priors() -> Priors:
    """The priors that come with the program.

    Raises:
        ProblemsError: the table is damaged.
    """
    return Priors(*(by_id(items) for items in read_tables(_FILE, PRIOR_TABLES).values()))


PRIOR_TABLES: Final[Mapping[str, type]] = {"cartridge": Prior, "bearing": Prior, "running": Prior}
"""What stands in the file of priors."""


def car_numbers(car: Car, air: Air) -> CarNumbers:
    """A car's figures before any test.

    Raises:
        ProblemsError: the car cannot run: an axle hole or the cartridge hole is not in the wood.
    """
    design = car.design
    problems = [
        design.problem(
            ("axles", axle.end.value),
            "race-no-axle",
            f"the {axle.end.value} axle hole is not in the wood, so the car cannot run",
        )
        for axle in design.axles
        if car.stack(axle.end) is None
    ]
    if car.body.bore is None:
        message = "the cartridge hole does not meet the body, so nothing can push the car"
        problems.append(design.problem(("bore",), "race-no-bore", message))
    if problems:
        raise ProblemsError(problems)
    mass = Estimate(car.mass.mass_g, car.mass.sd_g, "estimated from the drawing", Basis.DESIGN, Law.PLAIN)
    if design.weighed_blank_g is not None:
        mass = Estimate(
            mass.value, mass.sd, "estimated from the drawing and the weighed blank", Basis.DESIGN, Law.PLAIN
        )
    return CarNumbers(
        mass_g=mass,
        inertia_g=inertia(car),
        cda_m2=drag.estimate(car, air),
        rolling=rolling(car),
        line_n=line_drag(car),
    )


def inertia(car: Car) -> Estimate:
    """Sum of I / r² over wheels and axles, g: what turning adds to the mass that is pushed."""
    total, square = 0.0, 0.0
    shape = priors().running["wheel-shape"].estimate
    for stack in car.stacks:
        wheel = stack.axle.wheel
        wheels = 2.0 * wheel.moment_g_mm2 / wheel.radius_mm**2
        rod = stack.axle.axle.mass_g_per_mm * stack.axle_length_mm
        turn = 0.5 * rod * (0.5 * stack.axle.axle.diameter_mm / wheel.radius_mm) ** 2
        total += wheels + turn
        square += (wheels * math.hypot(wheel.mass_spread, shape.sd)) ** 2
    source = "mass and shape of the wheels in the table of stock"
    return Estimate(total, math.sqrt(square), source, Basis.DESIGN)


def rolling(car: Car) -> Estimate:
    """Rolling resistance over weight: friction in the bearings times axle over wheel radius, and the tread.

    The load on each axle is its share of the loaded car's weight by the lever rule.
    """
    tread = priors().running["tread"].estimate
    share = _front_share(car)
    value, sd = tread.value, 0.0
    pairs = []
    for axle, load in zip(car.design.axles, (share, 1.0 - share), strict=True):
        pair = _bearing(axle)
        friction = pair.estimate
        lever = load * axle.axle.diameter_mm / (2.0 * axle.wheel.radius_mm)
        value += lever * friction.value
        sd += lever * friction.sd  # the same pair turns at both ends
        if pair.label not in pairs:
            pairs.append(pair.label)
    source = f"friction of {' and '.join(pairs)} in data sheets, axle over wheel radius, and the tread"
    return Estimate(value, math.hypot(sd, tread.sd), source, Basis.PUBLISHED)


def _bearing(axle: AxleSet) -> Prior:
    table = priors().bearing
    if axle.bearing is None:
        return table["wood"]
    return table.get(axle.bearing.material.id, table["other"])


def _front_share(car: Car) -> float:
    """The front axle's share of the loaded car's weight, between 0 and 1."""
    front, rear = car.design.front.x_mm, car.design.rear.x_mm
    if rear <= front:
        return 0.5
    return min(max((rear - car.mass_loaded.centre[0]) / (rear - front), 0.0), 1.0)


def line_drag(car: Car) -> Estimate:
    """Drag of the guide line on the car's eyes, N."""
    if not car.design.eyes:
        return Estimate.exact(0.0, EMPTY_LINE, Basis.DESIGN)
    return priors().running["line"].estimate.scaled(len(car.design.eyes) / 2.0)


def room_temperature() -> Estimate:
    """Temperature of a cartridge that nobody measured, °C."""
    prior = priors().cartridge["temperature"]
    half = 0.5 * (prior.high - prior.low)
    return Estimate(0.5 * (prior.low + prior.high), half / _HALF, prior.source, Basis.ASSUMED, Law.PLAIN)


def cartridge_numbers(
    cartridge: Cartridge, temperature_c: Estimate | None = None, *, measured_curve: bool = False
) -> CartridgeNumbers:
    """A cartridge's figures before any run; `measured_curve` where its thrust was measured on a stand.

    Raises:
        ProblemsError: the table of cartridges does not know that temperature.
    """
    fault = None if temperature_c is None else check_temperature(temperature_c.value)
    if fault is not None:
        raise ProblemsError([fault])
    table = priors().cartridge
    charge = table["charge-share"].estimate.scaled(cartridge.charge_g)
    # The spread of a full cartridge is that of its shell and its gas together.
    full_sd = cartridge.full_mass_g * cartridge.mass_spread
    shell_sd = math.sqrt(max(full_sd**2 - charge.sd**2, (0.1 * full_sd) ** 2))
    filling = table["filling"].estimate
    ratio = filling.sd / filling.value
    volume = 1000.0 * cartridge.charge_g / filling.value
    factor = table["measured-factor" if measured_curve else "impulse-factor"]
    return CartridgeNumbers(
        shell_g=Estimate(
            cartridge.empty_mass_g, shell_sd, "the table of stock, full mass less charge", Basis.PUBLISHED
        ),
        charge_g=charge,
        volume_cm3=Estimate(volume, volume * ratio, filling.source, filling.basis),
        temperature_c=room_temperature() if temperature_c is None else temperature_c,
        hole_mm=table["hole"].estimate,
        impulse_factor=factor.estimate,
    )

"""One race about to be run: the car, its cartridge, the air, the lane, and every figure by its name."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from bodyshop.physics.cartridge import TableThrust, Thrust
from bodyshop.physics.model import Air, CarNumbers, CartridgeNumbers, Estimate, Lane
from bodyshop.physics.priors import priors

__all__ = ["Factor", "Setup", "make_setup"]


class Factor(Enum):
    """A figure that a race depends on; told in `unit`, as `scale` times what it is held as."""

    MASS = ("mass", "mass of the car", "g", 1.0)
    SHELL = ("shell", "mass of the empty cartridge", "g", 1.0)
    CHARGE = ("charge", "gas in the cartridge", "g", 1.0)
    INERTIA = ("inertia", "inertia of the wheels", "g", 1.0)
    DRAG = ("drag", "drag area", "cm2", 1e4)
    ROLLING = ("rolling", "rolling friction", "", 1.0)
    LINE = ("line", "drag of the guide line", "N", 1.0)
    AIR = ("air", "density of the air", "kg/m3", 1.0)
    TEMPERATURE = ("cartridge-temperature", "temperature of the cartridge", "degC", 1.0)
    VOLUME = ("volume", "inside volume of the cartridge", "cm3", 1.0)
    HOLE = ("hole", "puncture", "mm", 1.0)
    IMPULSE = ("impulse-factor", "measured push ÷ calculated push", "", 1.0)
    REST = ("rest", "everything else", "", 1.0)

    def __init__(self, id: str, label: str, unit: str, scale: float) -> None:  # noqa: A002 - as elsewhere
        self.id = id
        self.label = label
        self.unit = unit
        self.scale = scale


_CAR = {
    Factor.MASS: "mass_g",
    Factor.INERTIA: "inertia_g",
    Factor.DRAG: "cda_m2",
    Factor.ROLLING: "rolling",
    Factor.LINE: "line_n",
}
_GAS = {
    Factor.SHELL: "shell_g",
    Factor.CHARGE: "charge_g",
    Factor.VOLUME: "volume_cm3",
    Factor.TEMPERATURE: "temperature_c",
    Factor.HOLE: "hole_mm",
    Factor.IMPULSE: "impulse_factor",
}


@dataclass(frozen=True, slots=True)
class Setup:
    """Everything a race depends on. `rest` is time over computed time: what no sum of this kind holds."""

    car: CarNumbers
    cartridge: CartridgeNumbers
    air: Air
    lane: Lane
    thrust: Thrust
    rest: Estimate

    def figure(self, factor: Factor) -> Estimate:
        """A figure by its name."""
        if factor is Factor.AIR:
            return self.air.density_kg_m3
        if factor is Factor.REST:
            return self.rest
        owner, names = (self.car, _CAR) if factor in _CAR else (self.cartridge, _GAS)
        found: Estimate = getattr(owner, names[factor])
        return found

    def having(self, factor: Factor, figure: Estimate) -> Setup:
        """The same race with another figure."""
        if factor is Factor.AIR:
            return replace(self, air=replace(self.air, density_kg_m3=figure))
        if factor is Factor.REST:
            return replace(self, rest=figure)
        if factor in _CAR:
            return replace(self, car=replace(self.car, **{_CAR[factor]: figure}))
        changed: dict[str, Any] = {_GAS[factor]: figure}
        return replace(self, cartridge=replace(self.cartridge, **changed))


def make_setup(
    car: CarNumbers, cartridge: CartridgeNumbers, air: Air, lane: Lane, thrust: Thrust | None = None
) -> Setup:
    """A race; by the shipped table of cartridges unless a thrust is given."""
    rest = priors().running["rest"].estimate
    return Setup(car, cartridge, air, lane, TableThrust() if thrust is None else thrust, rest)

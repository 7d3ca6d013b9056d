"""Races for tests: a car with plain figures, on a plain lane, in plain air."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bodyshop.physics.cartridge import GasDraw, TableThrust
from bodyshop.physics.factors import Setup, make_setup
from bodyshop.physics.model import Air, CarNumbers, CartridgeNumbers, Estimate, Lane, Law, Push
from bodyshop.physics.motion import CarDraw, Runs, run

SHELL_G = 21.0
CHARGE_G = 8.0


def figure(value: float, sd: float = 0.0, law: Law = Law.POSITIVE) -> Estimate:
    from bodyshop.physics.model import Basis

    return Estimate(value, sd, "a test", Basis.GIVEN, law)


def one(value: float) -> np.ndarray:
    return np.array([float(value)])


def gas(
    temperature_c: float = 20.0, hole_mm: float = 1.8, charge_g: float = CHARGE_G, volume_cm3: float = 10.4
) -> GasDraw:
    return GasDraw(one(charge_g), one(volume_cm3), one(temperature_c), one(hole_mm), one(1.0))


def car(
    mass_g: float = 50.0,
    inertia_g: float = 2.0,
    cda_m2: float = 9e-4,
    rolling: float = 0.03,
    line_n: float = 0.0,
    density: float = 1.2,
) -> CarDraw:
    """The car of the prototype's figures, by its mass without cartridge."""
    start = mass_g + SHELL_G + CHARGE_G
    return CarDraw(one(start), one(inertia_g), one(cda_m2), one(rolling), one(line_n), one(density))


def raced(
    draw: CarDraw, push: Push | None = None, length_m: float = 20.0, gates: tuple[float, ...] = ()
) -> Runs:
    return run(TableThrust().push(gas()) if push is None else push, draw, length_m, gates)


def steady_push(force_n: float, seconds: float, gone_g: float = 0.0, nodes: int = 2) -> Push:
    """A constant thrust, gas leaving evenly."""
    time = np.linspace(0.0, seconds, nodes)[None, :]
    return Push(time, np.full_like(time, force_n), gone_g * time / seconds)


def setup(grams: float = 50.0, **spread: float) -> Setup:
    """The prototype's car as a setup: exact but for the standard deviations named, relative to the value."""
    values = {
        "mass_g": grams,
        "inertia_g": 2.0,
        "cda_m2": 9e-4,
        "rolling": 0.03,
        "line_n": 0.01,
        "shell_g": SHELL_G,
        "charge_g": CHARGE_G,
        "volume_cm3": 10.4,
        "temperature_c": 20.0,
        "hole_mm": 1.8,
        "impulse_factor": 1.0,
        "density": 1.2,
    }
    made = {name: figure(value, spread.get(name, 0.0) * value) for name, value in values.items()}
    air = Air(20.0, 1013.25, made.pop("density"), 1.8e-5)
    names = ("mass_g", "inertia_g", "cda_m2", "rolling", "line_n")
    numbers = CarNumbers(**{name: made.pop(name) for name in names})
    cartridge = CartridgeNumbers(coupling=0.0, **made)
    ready = make_setup(numbers, cartridge, air, Lane(20.0, (5.0,)))
    return replace(ready, rest=figure(1.0, spread.get("rest", 0.0)))

"""Runs of a class with a known truth, for fits."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from bodyshop.physics.cartridge import GasDraw, TableThrust, Thrust
from bodyshop.physics.classfit import TimedRun, computed_times
from bodyshop.physics.model import Basis, CarNumbers, CartridgeNumbers, Estimate, Law, Push
from bodyshop.physics.priors import priors

TIMING_S = 0.004
DENSITY = Estimate(1.2, 0.006, "read", Basis.MEASURED, Law.PLAIN)


class PlainThrust:
    """A push that dies away evenly, with few nodes: 1.7 N s, over 0.08 s through a hole of 1.8 mm."""

    source = "a test"

    def push(self, gas: GasDraw) -> Push:
        share = np.linspace(0.0, 1.0, 5)[None, :]
        seconds = (0.08 * (1.8 / gas.hole_mm) ** 2)[:, None]
        force = 2.0 * 1.7 / 8.0 * (gas.charge_g * gas.impulse_factor)[:, None] * (1.0 - share) / seconds
        return Push(seconds * share, force, gas.charge_g[:, None] * share)


@dataclass(frozen=True)
class ClassTruth:
    """None: drawn from its prior."""

    factor: float | None = 1.0
    hole_mm: float | None = 1.8


def known_car(mass_g: float) -> CarNumbers:
    return CarNumbers(
        mass_g=Estimate(mass_g, 0.2, "weighed", Basis.MEASURED, Law.PLAIN),
        inertia_g=Estimate(4.0, 0.3, "drawn", Basis.DESIGN),
        cda_m2=Estimate(1.1e-3, 1e-4, "tunnel", Basis.MEASURED),
        rolling=Estimate(0.02, 0.002, "rolled", Basis.MEASURED),
        line_n=Estimate(0.01, 0.005, "assumed", Basis.ASSUMED),
    )


def known_cartridge() -> CartridgeNumbers:
    table = priors().cartridge
    return CartridgeNumbers(
        shell_g=Estimate(21.0, 0.1, "stock", Basis.PUBLISHED),
        charge_g=Estimate(8.0, 0.1, "stock", Basis.PUBLISHED),
        volume_cm3=Estimate(10.4, 0.2, "stock", Basis.ASSUMED),
        temperature_c=Estimate(20.0, 1.0, "hall", Basis.ASSUMED, Law.PLAIN),
        hole_mm=table["hole"].estimate,
        impulse_factor=table["impulse-factor"].estimate,
    )


def class_runs(
    rng: np.random.Generator | None,
    truth: ClassTruth,
    places: tuple[float, ...],
    cars: int,
    each: int,
    masses: tuple[float, ...] = (110.0, 60.0),
    thrust: Thrust | None = None,
) -> list[TimedRun]:
    """Runs of cars of some masses in turn; everything but the truth drawn from what is known, or at its
    middle without a generator.
    """

    def drawn(known: Estimate) -> Estimate:
        z = 0.0 if rng is None else float(rng.standard_normal())
        return Estimate.exact(float(known.draw(np.array([z]))[0]), "true")

    gas = known_cartridge()
    factor = drawn(gas.impulse_factor) if truth.factor is None else Estimate.exact(truth.factor, "true")
    hole = drawn(gas.hole_mm) if truth.hole_mm is None else Estimate.exact(truth.hole_mm, "true")
    line, volume = drawn(known_car(60.0).line_n), drawn(gas.volume_cm3)
    warmth, density = drawn(gas.temperature_c), drawn(DENSITY)
    rest = priors().running["rest"].estimate
    known: list[TimedRun] = []
    true: list[TimedRun] = []
    slower: list[float] = []
    blank = tuple((place, 0.0) for place in places)
    for k in range(cars):
        told = known_car(masses[k % len(masses)])
        real = CarNumbers(
            drawn(told.mass_g), drawn(told.inertia_g), drawn(told.cda_m2), drawn(told.rolling), line
        )
        own = drawn(rest).value
        for _ in range(each):
            fired = CartridgeNumbers(drawn(gas.shell_g), drawn(gas.charge_g), volume, warmth, hole, factor)
            known.append(TimedRun(f"car {k}", told, gas, DENSITY, blank, TIMING_S))
            true.append(TimedRun(f"car {k}", real, fired, density, blank, TIMING_S))
            slower.append(own)
    noise: Callable[[], float] = (
        (lambda: 0.0) if rng is None else (lambda: TIMING_S * float(rng.standard_normal()))
    )
    found = computed_times(true, thrust or TableThrust())
    return [
        replace(
            run,
            times=tuple((place, float(t) * own + noise()) for place, t in zip(places, times, strict=True)),
        )
        for run, times, own in zip(known, found, slower, strict=True)
    ]

"""The words of the race: figures that know how sure they are, the car, the gas, the air and the lane.

Grams and newtons as everywhere; metres where the lane and the air are concerned, as the suffix says.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

from bodyshop.foundation.statistics import CONFIDENCE, Repeats

__all__ = [
    "CONFIDENCE",
    "Air",
    "Array",
    "Basis",
    "CarNumbers",
    "CartridgeNumbers",
    "Estimate",
    "Interval",
    "Lane",
    "Law",
    "Push",
]

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Interval:
    """A value, and the range that holds it in `confidence` of all cases."""

    value: float
    low: float
    high: float
    confidence: float = CONFIDENCE

    @classmethod
    def of_mean(cls, series: Repeats) -> Interval | None:
        """The mean of a series and what holds it; None for a single reading."""
        half = series.half_width
        return None if half is None else cls(series.mean, series.mean - half, series.mean + half)


class Basis(Enum):
    """Where a figure comes from, the surest first."""

    MEASURED = "measured"
    FITTED = "fitted to runs"
    GIVEN = "given"
    DESIGN = "from the design"
    PUBLISHED = "published"
    ASSUMED = "assumed"


class Law(Enum):
    """How a figure is spread."""

    POSITIVE = "log-normal"  # never below zero; `value` is the median
    PLAIN = "normal"  # may have either sign; `value` is the mean


@dataclass(frozen=True, slots=True)
class Estimate:
    """A figure as far as it is known: one standard deviation, and where it comes from in a clause.

    The unit is in the name of the field that holds it. A `POSITIVE` figure of 0 has no spread.
    """

    value: float
    sd: float
    source: str
    basis: Basis
    law: Law = Law.POSITIVE

    @classmethod
    def exact(cls, value: float, source: str, basis: Basis = Basis.GIVEN) -> Estimate:
        """A figure taken as it stands."""
        return cls(value, 0.0, source, basis, Law.PLAIN)

    @classmethod
    def between(
        cls, low: float, high: float, source: str, basis: Basis, confidence: float = CONFIDENCE
    ) -> Estimate:
        """A positive figure that lies in the range in `confidence` of all cases, as likely above as below
        the geometric middle. 0 < low <= high.
        """
        middle = math.sqrt(low * high)
        tau = math.log(high / low) / (2.0 * NormalDist().inv_cdf(0.5 + confidence / 2.0))
        square = math.exp(tau * tau)
        return cls(middle, middle * math.sqrt(square * (square - 1.0)), source, basis)

    @property
    def tau(self) -> float:
        """Standard deviation of the logarithm of a `POSITIVE` figure with this median and `sd`."""
        if self.value <= 0.0 or self.sd <= 0.0:
            return 0.0
        ratio = self.sd / self.value
        return math.sqrt(math.log(0.5 * (1.0 + math.sqrt(1.0 + 4.0 * ratio * ratio))))

    def draw(self, z: Array) -> Array:
        """Samples for standard normal deviates `z`."""
        if self.law is Law.POSITIVE:
            return np.asarray(self.value * np.exp(self.tau * z), dtype=np.float64)
        return np.asarray(self.value + self.sd * z, dtype=np.float64)

    def interval(self, confidence: float = CONFIDENCE) -> Interval:
        """The range between the outer quantiles."""
        z = NormalDist().inv_cdf(0.5 + confidence / 2.0)
        low, high = self.draw(np.array([-z, z]))
        return Interval(self.value, float(low), float(high), confidence)

    def scaled(self, factor: float) -> Estimate:
        """The same figure times `factor` > 0, spread alike."""
        return Estimate(self.value * factor, self.sd * factor, self.source, self.basis, self.law)

    def shifted(self, step: float) -> Estimate:
        """The same figure with `step` added to its middle, the spread kept."""
        return Estimate(self.value + step, self.sd, self.source, self.basis, self.law)


@dataclass(frozen=True, slots=True)
class CarNumbers:
    """Everything the race asks of a car.

    `mass_g`: the complete car without its cartridge. `inertia_g`: sum of I / r² over wheels and axles, the
    mass that turning adds to rolling. `cda_m2`: drag area of the complete car. `rolling`: rolling
    resistance over weight, bearings and tyres together. `line_n`: drag of the guide line on the eyes.
    """

    mass_g: Estimate
    inertia_g: Estimate
    cda_m2: Estimate
    rolling: Estimate
    line_n: Estimate


@dataclass(frozen=True, slots=True)
class CartridgeNumbers:
    """Everything the race asks of the cartridge.

    `shell_g`: the empty shell; `charge_g`: the gas in it; `volume_cm3`: room inside; `temperature_c`: of
    the gas as it is fired; `hole_mm`: diameter of the puncture; `impulse_factor`: impulse that reaches the
    car over that of the computed blow-down (1 before a class has fitted it to its runs). `coupling` is the
    correlation between the logarithms of `hole_mm` and `impulse_factor` that such a fit leaves.
    """

    shell_g: Estimate
    charge_g: Estimate
    volume_cm3: Estimate
    temperature_c: Estimate
    hole_mm: Estimate
    impulse_factor: Estimate
    coupling: float = 0.0


@dataclass(frozen=True, slots=True)
class Air:
    """The air of the day. `viscosity_pa_s` is dynamic."""

    temperature_c: float
    pressure_hpa: float
    density_kg_m3: Estimate
    viscosity_pa_s: float


@dataclass(frozen=True, slots=True)
class Lane:
    """The lane from the nose at the start to the line, level and straight; gates in between, ascending."""

    length_m: float
    gates_m: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Push:
    """Thrust over time for n samples at once, straight between the nodes and nothing after the last.

    Arrays of shape (n, k) or (1, k): `time_s` ascending from 0, `force_n`, and `gone_g`, the gas that has
    left by then. Time may stand still between two nodes, where the force jumps.
    """

    time_s: Array
    force_n: Array
    gone_g: Array

    @property
    def impulse_ns(self) -> Array:
        """The impulse of each sample: exact, as the curve is straight between its nodes."""
        steps = np.diff(self.time_s, axis=1)
        return np.asarray(
            (0.5 * (self.force_n[:, 1:] + self.force_n[:, :-1]) * steps).sum(axis=1), dtype=np.float64
        )

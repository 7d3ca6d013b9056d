"""What a book knows of a car and of the class's cartridges, to take the place of what was assumed.

known = priors_from_book(book, "Kestrel", car)
setup = make_setup(known.car_numbers(car_numbers(car, air)), known.cartridge(cartridge_numbers(...)), ...)
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from bodyshop.car.assembly import Car
from bodyshop.foundation.statistics import repeats
from bodyshop.physics.air import air_of_the_day
from bodyshop.physics.drag import estimate as drag_estimate
from bodyshop.physics.factors import Factor
from bodyshop.physics.model import Air, Basis, CarNumbers, CartridgeNumbers, Estimate, Law
from bodyshop.physics.priors import inertia
from bodyshop.physics.roll import Roll, RollConditions, RollResult, impossible, rolling_friction
from bodyshop.physics.shape import body_shape
from bodyshop.physics.tunnel import DragReading, Force, TunnelDrag, drag_area
from bodyshop.records.book.book import Book
from bodyshop.records.book.model import (
    Entry,
    MassReading,
    MeasuredFrom,
    RollTest,
    TrackRun,
    TunnelReading,
    WeighingStage,
)
from bodyshop.records.findings.cars import StoredFit, latest_fit

__all__ = [
    "MeasuredPriors",
    "BELIEVED",
    "air_of",
    "believed",
    "complete_mass",
    "drag_from",
    "mass_estimate",
    "priors_from_book",
    "roll_of",
    "rolling_from",
    "usable_rolls",
    "usable_tunnel",
]

_OLD_CDA = Estimate.between(
    7e-4, 2.4e-3, "cars of this kind, before anything is known of this one", Basis.PUBLISHED
)
_OLD_INERTIA = Estimate.between(2.0, 9.0, "wheels of this kind, before anything is known", Basis.ASSUMED)
_OLD_MASS = Estimate.between(40.0, 160.0, "cars of this kind, before this one was weighed", Basis.ASSUMED)


_LEAST_SURE = 0.25
"""A mass that is less sure than this share of itself is no measurement."""

_MOVING_M_S = 0.1
"""No school's anemometer shows less."""

BELIEVED: Final[Mapping[Factor, tuple[float, float]]] = {
    Factor.MASS: (5.0, 2000.0),
    Factor.DRAG: (3e-5, 5e-2),
    Factor.ROLLING: (1e-4, 0.5),
}
"""What is used of what was measured, g, m^2 and as a ratio: nothing outside was ever a car. What
lies outside is shown and asked about, and the estimate stays."""


@dataclass(frozen=True, slots=True)
class MeasuredPriors:
    """What was measured or fitted; None where nothing was."""

    mass_g: Estimate | None = None
    cda_m2: Estimate | None = None
    rolling: Estimate | None = None
    fit: StoredFit | None = None

    @property
    def figures(self) -> dict[Factor, Estimate]:
        """What is known, by the figure's name."""
        found = {Factor.MASS: self.mass_g, Factor.DRAG: self.cda_m2, Factor.ROLLING: self.rolling}
        if self.fit is not None:
            found |= {Factor.IMPULSE: self.fit.impulse_factor, Factor.HOLE: self.fit.hole_mm}
        return {factor: figure for factor, figure in found.items() if figure is not None}

    @property
    def coupling(self) -> float:
        """Correlation between the logarithms of impulse and puncture that the class's fit leaves."""
        return 0.0 if self.fit is None else self.fit.coupling

    def car_numbers(self, numbers: CarNumbers) -> CarNumbers:
        """A car's figures with what is known in the place of what was estimated."""
        return replace(
            numbers,
            mass_g=self.mass_g or numbers.mass_g,
            cda_m2=self.cda_m2 or numbers.cda_m2,
            rolling=self.rolling or numbers.rolling,
        )

    def cartridge(self, numbers: CartridgeNumbers) -> CartridgeNumbers:
        """A cartridge's figures with the class's own fit in the place of the priors."""
        if self.fit is None:
            return numbers
        return replace(
            numbers,
            impulse_factor=self.fit.impulse_factor,
            hole_mm=self.fit.hole_mm,
            coupling=self.fit.coupling,
        )


def priors_from_book(
    book: Book, car: str, design: Car | None = None, section_mm2: float | None = None
) -> MeasuredPriors:
    """Everything that the book knows of a car, and the newest fit of the class.

    `design` is the car as drawn, for its frontal area, its wheels and its drag area where no tunnel has told
    it; `section_mm2` the section of the tunnel.

    Raises:
        ProblemsError: there is no such car in the book.
    """
    mass = complete_mass(book, car)
    tunnel = drag_from(book.records(TunnelReading, car=car), design, section_mm2)
    # A figure that its doubts or its own interval do not keep above nothing is not used.
    cda = None
    if tunnel is not None and not tunnel.doubts and believed(Factor.DRAG, tunnel.estimate):
        cda = tunnel.estimate
    rolled = rolling_from(book.records(RollTest, car=car), design, mass, cda)
    rolling = None
    if rolled is not None and not rolled.doubts and believed(Factor.ROLLING, rolled.estimate):
        rolling = rolled.estimate
    return MeasuredPriors(mass, cda, rolling, latest_fit(book))


def believed(factor: Factor, figure: Estimate) -> bool:
    """Whether a measured figure is used: surely above nothing, and such as a car has."""
    low, high = BELIEVED[factor]
    sure = figure.law is Law.POSITIVE or (factor is Factor.MASS and figure.sd < _LEAST_SURE * figure.value)
    return sure and low <= figure.value <= high


def air_of(temperature_c: float | None, pressure_hpa: float | None, humidity: float | None = None) -> Air:
    """The air of a record; humidity in percent."""
    return air_of_the_day(temperature_c, pressure_hpa, None if humidity is None else humidity / 100.0)


# ---------------------------------------------------------------- mass


def complete_mass(book: Book, car: str) -> Estimate | None:
    """Mass of the complete car without its cartridge: from the balance, else as it was noted at its runs."""
    weighed = [
        (entry.record.mass_g, entry.record.resolution_g)
        for entry in book.records(MassReading, car=car)
        if entry.record.stage is WeighingStage.COMPLETE
    ]
    if not weighed:
        weighed = [
            (entry.record.mass_g, 0.1)
            for entry in book.records(TrackRun, car=car)
            if entry.record.mass_g is not None
        ]
    found = mass_estimate(weighed)
    return found if found is not None and believed(Factor.MASS, found) else None


def mass_estimate(weighed: Sequence[tuple[float, float]]) -> Estimate | None:
    """A mass from readings and the balance's steps, g; None without any over nothing."""
    known = [(value, step) for value, step in weighed if value > 0]
    if not known:
        return None
    series = repeats([value for value, _ in known], max(step for _, step in known))
    source = "weighed once" if series.count == 1 else f"weighed {series.count} times"
    sd = series.resolution / math.sqrt(12.0) if series.sd is None else series.sd
    return Estimate(series.mean, sd, source, Basis.MEASURED, Law.PLAIN)


# ---------------------------------------------------------------- drag


def usable_tunnel(entries: Sequence[Entry[TunnelReading]]) -> list[Entry[TunnelReading]]:
    """Readings with the air moving."""
    return [entry for entry in entries if entry.record.speed_m_s >= _MOVING_M_S]


def drag_from(
    entries: Sequence[Entry[TunnelReading]], design: Car | None, section_mm2: float | None = None
) -> TunnelDrag | None:
    """Drag area from a car's tunnel readings; None where the air never moved."""
    readings = [
        DragReading(
            Force(
                record.drag_n,
                record.drag_zero_n,
                record.drag_lowest_n,
                record.drag_highest_n,
                record.resolution_n,
            ),
            record.speed_m_s,
            air_of(record.temperature_c, record.pressure_hpa, record.humidity_percent),
        )
        for record in (entry.record for entry in usable_tunnel(entries))
    ]
    if not readings:
        return None
    frontal = None if design is None else body_shape(design).car_mm2
    return drag_area(readings, frontal, section_mm2)


# ---------------------------------------------------------------- rolling


def roll_of(record: RollTest) -> Roll:
    """A roll with its run-out counted from the foot of the ramp, in metres."""
    run_out = record.run_out_mm
    if record.measured_from is MeasuredFrom.TOP:
        run_out -= record.ramp_length_mm
    return Roll(
        record.ramp_height_mm / 1e3,
        record.ramp_length_mm / 1e3,
        run_out / 1e3,
        " ".join(record.direction.split()).casefold(),
        math.hypot(0.02, record.resolution_mm / 1e3 / math.sqrt(12.0)),
    )


def usable_rolls(entries: Sequence[Entry[RollTest]]) -> list[Entry[RollTest]]:
    """Rolls that can be."""
    return [entry for entry in entries if not impossible(roll_of(entry.record))]


def rolling_from(
    entries: Sequence[Entry[RollTest]],
    design: Car | None,
    mass_g: Estimate | None,
    cda_m2: Estimate | None,
) -> RollResult | None:
    """Friction from a car's rolls; None where none can be.

    Mass is the one noted with the rolls, else the car's; drag area and wheels are what is known of the car,
    else what its drawing says, else what cars of this kind have.
    """
    usable = usable_rolls(entries)
    if not usable:
        return None
    rolls = [roll_of(entry.record) for entry in usable]
    noted = [entry.record.mass_g for entry in usable if entry.record.mass_g]
    mass = mass_estimate([(value, 0.1) for value in noted])
    if mass is None or not believed(Factor.MASS, mass):
        mass = mass_g
    if mass is None:
        mass = (
            Estimate(
                design.mass.mass_g, design.mass.sd_g, "estimated from the drawing", Basis.DESIGN, Law.PLAIN
            )
            if design
            else _OLD_MASS
        )
    air = air_of(
        _mean([entry.record.temperature_c for entry in usable]),
        _mean([entry.record.pressure_hpa for entry in usable]),
    )
    cda = cda_m2 or (drag_estimate(design, air) if design else _OLD_CDA)
    turning = inertia(design) if design else _OLD_INERTIA
    given = RollConditions(mass.scaled(1e-3), turning.scaled(1e-3), cda, air.density_kg_m3)
    return rolling_friction(rolls, given)


def _mean(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) / len(known) if known else None

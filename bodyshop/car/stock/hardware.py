"""Hardware: wheels, axles, bearings, washers, screw eyes, cartridges.

Every `mass_spread` is one standard deviation relative to the mass, from lot to lot and piece to piece
together. Alike items of one car mostly come from one bag, so take their errors to move together.
Where a shape tells the mass (rod, tube, ring, bent wire) it is computed from it and the material.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Final, TypeAlias

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import GRAMS_PER_MM3, Confidence, Disagreements, by_id, read_tables

__all__ = [
    "HARDWARE_TABLES",
    "PART_SHELVES",
    "NOTHING",
    "Axle",
    "Bearing",
    "Cartridge",
    "Hardware",
    "Material",
    "Part",
    "ScrewEye",
    "Washer",
    "Wheel",
    "WheelEnd",
    "hardware",
    "read_hardware",
]

Part: TypeAlias = "Wheel | Axle | Bearing | Washer | ScrewEye | Cartridge"
"""A piece of hardware."""


class WheelEnd(Enum):
    """The end of the car that a wheel is made for."""

    FRONT = "front"
    REAR = "rear"
    EITHER = "either"


@dataclass(frozen=True, slots=True)
class Material:
    """What an item is made of."""

    id: str
    label: str
    density_g_per_mm3: Annotated[
        float, TomlKey(low=100.0, high=25_000.0, name="density_kg_per_m3", factor=GRAMS_PER_MM3)
    ]
    source: str
    confidence: Confidence
    note: str = ""


@dataclass(frozen=True, slots=True)
class Wheel:
    """A wheel.

    `width_mm` is the tread that touches the track; `hub_length_mm` is the width at the hub;
    `hub_inboard_mm` is how far the hub's inner end stands towards the body from the inner edge of the
    tread, negative where it is set back; `moment_factor` is I / (m r²) about the axle: 1/2 for a plain
    disc, 1 for a thin ring.
    """

    id: str
    label: str
    end: WheelEnd
    diameter_mm: Annotated[float, TomlKey(low=5.0, high=150.0)]
    width_mm: Annotated[float, TomlKey(low=0.2, high=60.0)]
    hub_length_mm: Annotated[float, TomlKey(low=0.2, high=80.0)]
    hub_inboard_mm: Annotated[float, TomlKey(low=-60.0, high=60.0)]
    bore_mm: Annotated[float, TomlKey(low=0.5, high=20.0)]
    mass_g: Annotated[float, TomlKey(low=0.01, high=500.0)]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    moment_factor: Annotated[float, TomlKey(low=0.05, high=1.0)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def radius_mm(self) -> float:
        """Half the diameter."""
        return self.diameter_mm / 2.0

    @property
    def moment_g_mm2(self) -> float:
        """Moment of inertia about the axle."""
        return self.moment_factor * self.mass_g * self.radius_mm**2

    def disagreements(self) -> Disagreements:
        """No wheel is all hole."""
        if self.bore_mm >= self.diameter_mm:
            yield "bore_mm", "the bore is as wide as the wheel", f"under {self.diameter_mm:g}"


@dataclass(frozen=True, slots=True)
class Axle:
    """A rod that axles are cut from; `stock_length_mm` is the longest that can be had."""

    id: str
    label: str
    diameter_mm: Annotated[float, TomlKey(low=0.5, high=20.0)]
    stock_length_mm: Annotated[float, TomlKey(low=10.0, high=3000.0)]
    material: Annotated[Material, TomlKey(table="material")]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def mass_g_per_mm(self) -> float:
        """Mass of one millimetre: a solid round rod."""
        return self.material.density_g_per_mm3 * math.pi / 4.0 * self.diameter_mm**2


@dataclass(frozen=True, slots=True)
class Bearing:
    """A straw or a tube that an axle turns in, cut to length."""

    id: str
    label: str
    outer_mm: Annotated[float, TomlKey(low=0.5, high=60.0)]
    inner_mm: Annotated[float, TomlKey(low=0.2, high=59.0)]
    material: Annotated[Material, TomlKey(table="material")]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def wall_mm(self) -> float:
        """Thickness of the tube."""
        return (self.outer_mm - self.inner_mm) / 2.0

    @property
    def mass_g_per_mm(self) -> float:
        """Mass of one millimetre: a round tube."""
        return self.material.density_g_per_mm3 * _ring_area(self.outer_mm, self.inner_mm)

    def disagreements(self) -> Disagreements:
        """A ring has a wall."""
        yield from _wall_faults(self.outer_mm, self.inner_mm)


@dataclass(frozen=True, slots=True)
class Washer:
    """A flat ring between wheel and body."""

    id: str
    label: str
    outer_mm: Annotated[float, TomlKey(low=0.5, high=60.0)]
    inner_mm: Annotated[float, TomlKey(low=0.2, high=59.0)]
    thickness_mm: Annotated[float, TomlKey(low=0.05, high=20.0)]
    material: Annotated[Material, TomlKey(table="material")]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def mass_g(self) -> float:
        """Mass of a flat ring without chamfers."""
        return self.material.density_g_per_mm3 * _ring_area(self.outer_mm, self.inner_mm) * self.thickness_mm

    def disagreements(self) -> Disagreements:
        """A ring has a wall."""
        yield from _wall_faults(self.outer_mm, self.inner_mm)


@dataclass(frozen=True, slots=True)
class ScrewEye:
    """A screw with a closed ring, which runs on the guide line.

    `shank_length_mm` is from the ring's outside to the point; `thread_mm` is over the threads;
    the pilot hole is drilled into the wood for the shank, square to the underside.
    """

    id: str
    label: str
    wire_mm: Annotated[float, TomlKey(low=0.3, high=10.0)]
    ring_inner_mm: Annotated[float, TomlKey(low=1.0, high=50.0)]
    shank_length_mm: Annotated[float, TomlKey(low=2.0, high=80.0)]
    thread_mm: Annotated[float, TomlKey(low=0.3, high=12.0)]
    pilot_diameter_mm: Annotated[float, TomlKey(low=0.2, high=10.0)]
    pilot_depth_mm: Annotated[float, TomlKey(low=1.0, high=80.0)]
    material: Annotated[Material, TomlKey(table="material")]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def ring_outer_mm(self) -> float:
        """Over the outside of the ring."""
        return self.ring_inner_mm + 2.0 * self.wire_mm

    @property
    def overall_length_mm(self) -> float:
        """From the outside of the ring to the point."""
        return self.ring_outer_mm + self.shank_length_mm

    @property
    def mass_g(self) -> float:
        """Mass of the wire: a torus and a straight shank. The metal moved by the thread stays in it."""
        length = math.pi * (self.ring_inner_mm + self.wire_mm) + self.shank_length_mm
        return self.material.density_g_per_mm3 * math.pi / 4.0 * self.wire_mm**2 * length

    def disagreements(self) -> Disagreements:
        """A thread has to bite."""
        if self.pilot_diameter_mm > self.thread_mm:
            message, limit = "the thread would not bite in the pilot hole", f"up to {self.thread_mm:g}"
            yield "pilot_diameter_mm", message, limit


@dataclass(frozen=True, slots=True)
class Cartridge:
    """A pierced-to-fire gas cartridge; its round base goes into the bore, its neck looks out of the tail.

    `balance_from_base_mm` is how far its centre of mass lies from the end of the round base.
    """

    id: str
    label: str
    diameter_mm: Annotated[float, TomlKey(low=5.0, high=60.0)]
    length_mm: Annotated[float, TomlKey(low=10.0, high=200.0)]
    neck_diameter_mm: Annotated[float, TomlKey(low=2.0, high=60.0)]
    balance_from_base_mm: Annotated[float, TomlKey(low=0.0, high=200.0)]
    full_mass_g: Annotated[float, TomlKey(low=1.0, high=500.0)]
    charge_g: Annotated[float, TomlKey(low=0.1, high=200.0)]
    mass_spread: Annotated[float, TomlKey(low=0.0, high=0.5)]
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def empty_mass_g(self) -> float:
        """The shell when all of the charge has left."""
        return self.full_mass_g - self.charge_g

    def disagreements(self) -> Disagreements:
        """A shell weighs something, and balances inside itself."""
        if self.charge_g >= self.full_mass_g:
            yield "charge_g", "the charge is heavier than the full cartridge", ""
        if self.balance_from_base_mm >= self.length_mm:
            yield "balance_from_base_mm", "the centre of mass lies outside the cartridge", ""


@dataclass(frozen=True, slots=True)
class Hardware:
    """All the hardware of a table, each kind by id. A field is called after its shelf in the stock list."""

    materials: Mapping[str, Material]
    wheels: Mapping[str, Wheel]
    axles: Mapping[str, Axle]
    bearings: Mapping[str, Bearing]
    washers: Mapping[str, Washer]
    screw_eyes: Mapping[str, ScrewEye]
    cartridges: Mapping[str, Cartridge]

    def shelf(self, name: str) -> Mapping[str, Part]:
        """The parts on a shelf, `wheels` or `screw-eyes`, by id."""
        found: Mapping[str, Part] = getattr(self, name.replace("-", "_"))
        return found

    def and_also(self, more: Hardware) -> Hardware:
        """This hardware and more; of two parts with one id that of `more`."""
        if more is NOTHING:
            return self
        own, others = ({name: getattr(each, name) for name in _KINDS} for each in (self, more))
        return Hardware(**{name: MappingProxyType({**own[name], **others[name]}) for name in _KINDS})


_KINDS = ("materials", "wheels", "axles", "bearings", "washers", "screw_eyes", "cartridges")
_NONE: Mapping[str, Any] = MappingProxyType({})
NOTHING: Final = Hardware(_NONE, _NONE, _NONE, _NONE, _NONE, _NONE, _NONE)
"""No hardware at all."""


@cache
def hardware() -> Hardware:
    """The hardware that comes with the program."""
    return read_hardware(stock_folder() / "hardware.toml")


def read_hardware(file: Path) -> Hardware:
    """The hardware of a table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    read = read_tables(file, HARDWARE_TABLES)
    return Hardware(*(by_id(items) for items in read.values()))


HARDWARE_TABLES: Final[Mapping[str, type]] = {
    "material": Material,
    "wheel": Wheel,
    "axle": Axle,
    "bearing": Bearing,
    "washer": Washer,
    "screw-eye": ScrewEye,
    "cartridge": Cartridge,
}
"""What stands in a file of hardware."""

PART_SHELVES: Final[Mapping[str, type[Part]]] = {
    f"{name}s": declared for name, declared in HARDWARE_TABLES.items() if declared is not Material
}
"""What stands on each shelf."""


def _ring_area(outer_mm: float, inner_mm: float) -> float:
    return math.pi / 4.0 * (outer_mm**2 - inner_mm**2)


def _wall_faults(outer_mm: float, inner_mm: float) -> Disagreements:
    if inner_mm >= outer_mm:
        yield "inner_mm", "the hole is as wide as the outside", f"under {outer_mm:g}"

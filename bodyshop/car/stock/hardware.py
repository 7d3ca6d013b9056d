"""Hardware: wheels, axles, bearings, washers, screw eyes, cartridges.

Every `mass_spread` is one standard deviation relative to the mass, from lot to lot and piece to piece
together. Alike items of one car mostly come from one bag, so take their errors to move together.
Where a shape tells the mass (rod, tube, ring, bent wire) it is computed from it and the material.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from bodyshop.foundation.files.shipped import stock_folder
from bodyshop.foundation.toml.stock_tables import GRAMS_PER_MM3, Confidence, StockRow, StockTable, by_id

__all__ = [
    "MAKERS",
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
    density_g_per_mm3: float
    source: str
    confidence: Confidence
    note: str


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
    diameter_mm: float
    width_mm: float
    hub_length_mm: float
    hub_inboard_mm: float
    bore_mm: float
    mass_g: float
    mass_spread: float
    moment_factor: float
    source: str
    confidence: Confidence
    note: str

    @property
    def radius_mm(self) -> float:
        """Half the diameter."""
        return self.diameter_mm / 2.0

    @property
    def moment_g_mm2(self) -> float:
        """Moment of inertia about the axle."""
        return self.moment_factor * self.mass_g * self.radius_mm**2


@dataclass(frozen=True, slots=True)
class Axle:
    """A rod that axles are cut from; `stock_length_mm` is the longest that can be had."""

    id: str
    label: str
    diameter_mm: float
    stock_length_mm: float
    material: Material
    mass_spread: float
    source: str
    confidence: Confidence
    note: str

    @property
    def mass_g_per_mm(self) -> float:
        """Mass of one millimetre: a solid round rod."""
        return self.material.density_g_per_mm3 * math.pi / 4.0 * self.diameter_mm**2


@dataclass(frozen=True, slots=True)
class Bearing:
    """A straw or a tube that an axle turns in, cut to length."""

    id: str
    label: str
    outer_mm: float
    inner_mm: float
    material: Material
    mass_spread: float
    source: str
    confidence: Confidence
    note: str

    @property
    def wall_mm(self) -> float:
        """Thickness of the tube."""
        return (self.outer_mm - self.inner_mm) / 2.0

    @property
    def mass_g_per_mm(self) -> float:
        """Mass of one millimetre: a round tube."""
        return self.material.density_g_per_mm3 * _ring_area(self.outer_mm, self.inner_mm)


@dataclass(frozen=True, slots=True)
class Washer:
    """A flat ring between wheel and body."""

    id: str
    label: str
    outer_mm: float
    inner_mm: float
    thickness_mm: float
    material: Material
    mass_spread: float
    source: str
    confidence: Confidence
    note: str

    @property
    def mass_g(self) -> float:
        """Mass of a flat ring without chamfers."""
        return self.material.density_g_per_mm3 * _ring_area(self.outer_mm, self.inner_mm) * self.thickness_mm


@dataclass(frozen=True, slots=True)
class ScrewEye:
    """A screw with a closed ring, which runs on the guide line.

    `shank_length_mm` is from the ring's outside to the point; `thread_mm` is over the threads;
    the pilot hole is drilled into the wood for the shank, square to the underside.
    """

    id: str
    label: str
    wire_mm: float
    ring_inner_mm: float
    shank_length_mm: float
    thread_mm: float
    pilot_diameter_mm: float
    pilot_depth_mm: float
    material: Material
    mass_spread: float
    source: str
    confidence: Confidence
    note: str

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


@dataclass(frozen=True, slots=True)
class Cartridge:
    """A pierced-to-fire gas cartridge; its round base goes into the bore, its neck looks out of the tail.

    `balance_from_base_mm` is how far its centre of mass lies from the end of the round base.
    """

    id: str
    label: str
    diameter_mm: float
    length_mm: float
    neck_diameter_mm: float
    balance_from_base_mm: float
    full_mass_g: float
    charge_g: float
    mass_spread: float
    source: str
    confidence: Confidence
    note: str

    @property
    def empty_mass_g(self) -> float:
        """The shell when all of the charge has left."""
        return self.full_mass_g - self.charge_g


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
    table = StockTable(file)
    materials = by_id(table.rows("material", _material))
    read = Hardware(
        materials=materials,
        wheels=by_id(table.rows("wheel", _wheel)),
        axles=by_id(table.rows("axle", lambda row: _axle(row, materials))),
        bearings=by_id(table.rows("bearing", lambda row: _bearing(row, materials))),
        washers=by_id(table.rows("washer", lambda row: _washer(row, materials))),
        screw_eyes=by_id(table.rows("screw-eye", lambda row: _screw_eye(row, materials))),
        cartridges=by_id(table.rows("cartridge", _cartridge)),
    )
    table.close()
    return read


def _ring_area(outer_mm: float, inner_mm: float) -> float:
    return math.pi / 4.0 * (outer_mm**2 - inner_mm**2)


def _material(row: StockRow) -> Material:
    return Material(
        id=row.id(),
        label=row.text("label"),
        density_g_per_mm3=row.number("density_kg_per_m3", 100.0, 25_000.0) * GRAMS_PER_MM3,
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )


def _wheel(row: StockRow) -> Wheel:
    wheel = Wheel(
        id=row.id(),
        label=row.text("label"),
        end=row.word("end", WheelEnd),
        diameter_mm=row.number("diameter_mm", 5.0, 150.0),
        width_mm=row.number("width_mm", 0.2, 60.0),
        hub_length_mm=row.number("hub_length_mm", 0.2, 80.0),
        hub_inboard_mm=row.number("hub_inboard_mm", -60.0, 60.0),
        bore_mm=row.number("bore_mm", 0.5, 20.0),
        mass_g=row.number("mass_g", 0.01, 500.0),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        moment_factor=row.number("moment_factor", 0.05, 1.0),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )
    if wheel.bore_mm >= wheel.diameter_mm:
        row.disagree("bore_mm", "the bore is as wide as the wheel", f"under {wheel.diameter_mm:g}")
    return wheel


def _axle(row: StockRow, materials: Mapping[str, Material]) -> Axle:
    return Axle(
        id=row.id(),
        label=row.text("label"),
        diameter_mm=row.number("diameter_mm", 0.5, 20.0),
        stock_length_mm=row.number("stock_length_mm", 10.0, 3000.0),
        material=row.one_of("material", materials),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )


def _bearing(row: StockRow, materials: Mapping[str, Material]) -> Bearing:
    outer, inner = _rings(row)
    return Bearing(
        id=row.id(),
        label=row.text("label"),
        outer_mm=outer,
        inner_mm=inner,
        material=row.one_of("material", materials),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )


def _washer(row: StockRow, materials: Mapping[str, Material]) -> Washer:
    outer, inner = _rings(row)
    return Washer(
        id=row.id(),
        label=row.text("label"),
        outer_mm=outer,
        inner_mm=inner,
        thickness_mm=row.number("thickness_mm", 0.05, 20.0),
        material=row.one_of("material", materials),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )


def _screw_eye(row: StockRow, materials: Mapping[str, Material]) -> ScrewEye:
    eye = ScrewEye(
        id=row.id(),
        label=row.text("label"),
        wire_mm=row.number("wire_mm", 0.3, 10.0),
        ring_inner_mm=row.number("ring_inner_mm", 1.0, 50.0),
        shank_length_mm=row.number("shank_length_mm", 2.0, 80.0),
        thread_mm=row.number("thread_mm", 0.3, 12.0),
        pilot_diameter_mm=row.number("pilot_diameter_mm", 0.2, 10.0),
        pilot_depth_mm=row.number("pilot_depth_mm", 1.0, 80.0),
        material=row.one_of("material", materials),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )
    if eye.pilot_diameter_mm > eye.thread_mm:
        row.disagree(
            "pilot_diameter_mm", "the thread would not bite in the pilot hole", f"up to {eye.thread_mm:g}"
        )
    return eye


def _cartridge(row: StockRow) -> Cartridge:
    cartridge = Cartridge(
        id=row.id(),
        label=row.text("label"),
        diameter_mm=row.number("diameter_mm", 5.0, 60.0),
        length_mm=row.number("length_mm", 10.0, 200.0),
        neck_diameter_mm=row.number("neck_diameter_mm", 2.0, 60.0),
        balance_from_base_mm=row.number("balance_from_base_mm", 0.0, 200.0),
        full_mass_g=row.number("full_mass_g", 1.0, 500.0),
        charge_g=row.number("charge_g", 0.1, 200.0),
        mass_spread=row.number("mass_spread", 0.0, 0.5),
        source=row.text("source"),
        confidence=row.word("confidence", Confidence),
        note=row.text("note", ""),
    )
    if cartridge.charge_g >= cartridge.full_mass_g:
        row.disagree("charge_g", "the charge is heavier than the full cartridge")
    if cartridge.balance_from_base_mm >= cartridge.length_mm:
        row.disagree("balance_from_base_mm", "the centre of mass lies outside the cartridge")
    return cartridge


def _rings(row: StockRow) -> tuple[float, float]:
    outer = row.number("outer_mm", 0.5, 60.0)
    inner = row.number("inner_mm", 0.2, 59.0)
    if inner >= outer:
        row.disagree("inner_mm", "the hole is as wide as the outside", f"under {outer:g}")
    return outer, inner


MAKERS: Final[Mapping[str, tuple[type[Part], Callable[[StockRow, Mapping[str, Material]], Part]]]] = {
    "wheels": (Wheel, lambda row, _: _wheel(row)),
    "axles": (Axle, _axle),
    "bearings": (Bearing, _bearing),
    "washers": (Washer, _washer),
    "screw-eyes": (ScrewEye, _screw_eye),
    "cartridges": (Cartridge, lambda row, _: _cartridge(row)),
}
"""By shelf: what stands on it, and how one is made of a row."""

"""Drag area before any test: built up part by part from a table of published coefficients, as a range."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated, Final

from bodyshop.car.assembly import Car
from bodyshop.foundation.toml.declared import TomlKey
from bodyshop.foundation.toml.rows import Confidence, Disagreements, by_id, read_tables
from bodyshop.physics.air import reynolds, standard_air
from bodyshop.physics.model import Air, Basis, Estimate
from bodyshop.physics.shape import CarShape, body_shape

__all__ = [
    "BUILD_UP_FORMULA",
    "BUILD_UP_SOURCE",
    "DRAG_TABLES",
    "Coefficient",
    "DragBuildUp",
    "DragItem",
    "DragTable",
    "FaceCoefficient",
    "RACE_SPEED_M_S",
    "build_up",
    "build_up_shape",
    "drag_table",
    "estimate",
    "laminar_friction",
    "read_drag_table",
    "turbulent_friction",
]


@dataclass(frozen=True, slots=True)
class Coefficient:
    """Coefficients of one kind of part: the ends of what published values leave open."""

    id: str
    label: str
    area: str
    low: Annotated[float, TomlKey(low=0.0, high=3.0)]
    high: Annotated[float, TomlKey(low=0.0, high=3.0)]
    source: str
    confidence: Confidence
    note: str = ""

    def disagreements(self) -> Disagreements:
        """A range has its ends in order."""
        yield from _order_faults(self.low, self.high)


@dataclass(frozen=True, slots=True)
class FaceCoefficient:
    """Coefficients of a face at an angle to the air's path, on its frontal area."""

    angle_rad: Annotated[float, TomlKey(low=0.0, high=90.0, name="angle_deg", factor=math.pi / 180.0)]
    low: Annotated[float, TomlKey(low=0.0, high=3.0)]
    high: Annotated[float, TomlKey(low=0.0, high=3.0)]
    source: str
    confidence: Confidence

    def disagreements(self) -> Disagreements:
        """A range has its ends in order."""
        yield from _order_faults(self.low, self.high)


@dataclass(frozen=True, slots=True)
class DragTable:
    """Parts by id, and faces by rising angle."""

    parts: Mapping[str, Coefficient]
    faces: tuple[FaceCoefficient, ...]


@cache
def drag_table() -> DragTable:
    """The table that comes with the program."""
    return read_drag_table(Path(__file__).resolve().parent / "drag.toml")


def read_drag_table(file: Path) -> DragTable:
    """A table like the shipped one.

    Raises:
        ProblemsError: the table is damaged.
    """
    read = read_tables(file, DRAG_TABLES)
    return DragTable(by_id(read["coefficient"]), tuple(sorted(read["face"], key=lambda face: face.angle_rad)))


DRAG_TABLES: Final[Mapping[str, type]] = {"coefficient": Coefficient, "face": FaceCoefficient}
"""What stands in a file of coefficients."""


def _order_faults(low: float, high: float) -> Disagreements:
    if high < low:
        yield "high", "high is below low", ""


RACE_SPEED_M_S: Final = 16.0
"""Speed at which skin friction is worked out: 20 m in 1.2 s is 16.7 m/s on average; from 10 to 25 m/s the
whole drag area changes by less than a twentieth."""

BUILD_UP_FORMULA: Final = "CdA = sum of (coefficient x area) over the parts"
BUILD_UP_SOURCE: Final = "published coefficients, each named beside its part"

_MM2_PER_M2: Final = 1e6
_TRANSITION: Final = "laminar 1.328/sqrt(Re) to turbulent 0.075/(log10 Re - 2)^2 (ITTC 1957)"
_MOST_FORM: Final = 1.5
_LEVEL: Final = math.sqrt(12.0)
_SHORT: Final = 2.0
_TIED: Final = 0.5
"""Correlation between any two parts' errors: between none (too sure) and all at one end (too unsure)."""


@dataclass(frozen=True, slots=True)
class DragItem:
    """What one kind of part costs: area, the coefficient's ends, where they come from.

    `cda_m2` is the middle. The shares of a build-up are shares of its sum of middles.
    """

    id: str
    label: str
    area_mm2: float
    low: float
    high: float
    source: str
    confidence: Confidence
    note: str = ""

    @property
    def low_m2(self) -> float:
        """Least drag area."""
        return self.low * self.area_mm2 / _MM2_PER_M2

    @property
    def high_m2(self) -> float:
        """Most drag area."""
        return self.high * self.area_mm2 / _MM2_PER_M2

    @property
    def cda_m2(self) -> float:
        """Half way between."""
        return 0.5 * (self.low_m2 + self.high_m2)

    @property
    def sd_m2(self) -> float:
        """One standard deviation."""
        return (self.high_m2 - self.low_m2) / _LEVEL


@dataclass(frozen=True, slots=True)
class DragBuildUp:
    """A drag area in its parts, in the order of the nose to the tail to the wheels.

    `frontal_mm2` is the shadow of the whole car; `reynolds` belongs to the body's length.
    """

    items: tuple[DragItem, ...]
    estimate: Estimate
    frontal_mm2: float
    reynolds: float
    speed_m_s: float

    @property
    def middle_m2(self) -> float:
        """The sum of the middles: a little over the median that `estimate` has for its value."""
        return sum(item.cda_m2 for item in self.items)

    @property
    def low_m2(self) -> float:
        """Every part at its least: an outer bound."""
        return sum(item.low_m2 for item in self.items)

    @property
    def high_m2(self) -> float:
        """Every part at its most: an outer bound."""
        return sum(item.high_m2 for item in self.items)

    @property
    def coefficient(self) -> float:
        """The drag coefficient on the whole car's frontal area."""
        return self.estimate.value * _MM2_PER_M2 / self.frontal_mm2

    @property
    def by_cost(self) -> tuple[DragItem, ...]:
        """The parts, the one that costs most drag first."""
        return tuple(sorted(self.items, key=lambda item: -item.cda_m2))

    def share(self, item: DragItem) -> float:
        """What part of the whole an item is."""
        return item.cda_m2 / self.middle_m2


def estimate(car: Car, air: Air | None = None, speed_m_s: float = RACE_SPEED_M_S) -> Estimate:
    """Drag area of the complete car at a speed, m^2, before anything was measured."""
    return build_up(car, air, speed_m_s).estimate


def build_up(car: Car, air: Air | None = None, speed_m_s: float = RACE_SPEED_M_S) -> DragBuildUp:
    """The same in its parts; standard air unless given."""
    return build_up_shape(body_shape(car), air, speed_m_s)


def build_up_shape(
    shape: CarShape,
    air: Air | None = None,
    speed_m_s: float = RACE_SPEED_M_S,
    table: DragTable | None = None,
) -> DragBuildUp:
    """The drag area of any shape; parts without area are left out."""
    air = standard_air() if air is None else air
    table = drag_table() if table is None else table
    number = reynolds(air, speed_m_s, shape.length_mm / 1e3)
    found = [
        _skin(shape, number),
        *_faces(shape, table),
        _plain(table.parts["window"], shape.window_mm2),
        _base(shape, number, table),
        _plain(table.parts["steep-tail"], shape.steep_mm2),
        *_wheels(shape, table.parts["wheels"]),
        _plain(table.parts["axles"], shape.axles_mm2),
        _plain(table.parts["eyes"], shape.eyes_mm2),
    ]
    items = [item for item in found if item.area_mm2 > 0]
    joined = _interference(items, table.parts["interference"])
    if shape.car_mm2 > 0:  # a plain body in free air has nothing to interfere with
        items.append(joined)
    frontal = shape.car_mm2 or shape.frontal_mm2
    return DragBuildUp(tuple(items), _total(items), frontal, number, speed_m_s)


def laminar_friction(number: float) -> float:
    """Mean friction coefficient of a smooth plate, one side: Blasius, 1.328 / sqrt(Re)."""
    return 1.328 / math.sqrt(number)


def turbulent_friction(number: float) -> float:
    """Mean friction coefficient of a plate, one side, by the line of ITTC 1957, which lies some 12 % above a
    smooth plate's and so allows for a hand-painted one.
    """
    return 0.075 / (math.log10(number) - 2.0) ** 2


def _skin(shape: CarShape, number: float) -> DragItem:
    """Friction on the wetted area, with Hoerner's allowance for thickness at the upper end:
    1 + 1.5 (d/l)^1.5 + 7 (d/l)^3.
    """
    number = max(number, 1e3)  # the lines mean nothing for a car that hardly moves
    thick = shape.diameter_mm / shape.length_mm
    form = min(1.0 + 1.5 * thick**1.5 + 7.0 * thick**3, _MOST_FORM)
    return DragItem(
        "skin",
        "skin friction",
        shape.wetted_mm2,
        laminar_friction(number),
        max(turbulent_friction(number), laminar_friction(number)) * form,
        f"flat plates: {_TRANSITION}; thickness by Hoerner (1965), from memory",
        Confidence.READ,
        "a polished skin may stay laminar, a rough one will not",
    )


def _faces(shape: CarShape, table: DragTable) -> Iterable[DragItem]:
    """Faces that meet the air, gathered into blunt, slanting and gentle ones. What looks forward beyond the
    body's own shadow stands behind something else, and the lower end counts it for nothing.
    """
    whole = sum(face.area_mm2 for face in shape.faces)
    seen = min(1.0, shape.frontal_mm2 / whole) if whole else 1.0
    known = table.faces
    for id_, label, least, most in (
        ("blunt", "blunt faces (over 60°)", 60.0, 90.1),
        ("slanting", "slanting faces (20° to 60°)", 20.0, 60.0),
        ("gentle", "gentle faces (up to 20°)", 0.0, 20.0),
    ):
        picked = [f for f in shape.faces if least <= math.degrees(f.angle_rad) < most]
        area = sum(f.area_mm2 for f in picked)
        if area <= 0:
            continue
        low = sum(f.area_mm2 * _between(table, f.angle_rad, upper=False) for f in picked) / area * seen
        high = sum(f.area_mm2 * _between(table, f.angle_rad, upper=True) for f in picked) / area
        angle = sum(f.area_mm2 * f.angle_rad for f in picked) / area
        near = min(known[1:], key=lambda k: abs(k.angle_rad - angle))
        yield DragItem(id_, label, area, low, high, near.source, near.confidence)


def _between(table: DragTable, angle: float, *, upper: bool) -> float:
    faces = table.faces
    values = [face.high if upper else face.low for face in faces]
    if angle <= faces[0].angle_rad:
        return values[0]
    for i in range(1, len(faces)):
        if angle <= faces[i].angle_rad:
            t = (angle - faces[i - 1].angle_rad) / (faces[i].angle_rad - faces[i - 1].angle_rad)
            return values[i - 1] + t * (values[i] - values[i - 1])
    return values[-1]


def _base(shape: CarShape, number: float, table: DragTable) -> DragItem:
    """The flat tail. Behind a long body the boundary layer shields it: 0.029 / sqrt(Cf S / A_base)."""
    area = shape.base_mm2
    short = shape.blunt_share > 0.5 and shape.length_mm < _SHORT * shape.diameter_mm
    row = table.parts["base-short" if short else "base"]
    low = row.low
    if area > 0 and not short:
        friction = turbulent_friction(max(number, 1e3)) * shape.wetted_mm2 / area
        low = min(low, 0.029 / math.sqrt(friction))
    return DragItem(row.id, row.label, area, low, row.high, row.source, row.confidence, row.note)


def _wheels(shape: CarShape, row: Coefficient) -> Iterable[DragItem]:
    for id_, label, area, hidden in (
        ("front-wheels", "front wheels", shape.front_wheels_mm2, 0.0),
        ("rear-wheels", "rear wheels", shape.rear_wheels_mm2, shape.hidden_mm2),
    ):
        low = row.low * (area - hidden) / area if area else row.low
        yield DragItem(id_, label, area, low, row.high, row.source, row.confidence, row.note)


def _plain(row: Coefficient, area: float) -> DragItem:
    return DragItem(row.id, row.label, area, row.low, row.high, row.source, row.confidence, row.note)


def _interference(items: Iterable[DragItem], row: Coefficient) -> DragItem:
    """A share of all the rest, written as coefficients on one square metre's millionth."""
    whole = sum(item.cda_m2 for item in items) * _MM2_PER_M2
    return DragItem(row.id, row.label, whole, row.low, row.high, row.source, row.confidence, row.note)


def _total(items: Iterable[DragItem]) -> Estimate:
    """The sum with its spread, as the log-normal figure of the same mean and standard deviation."""
    parts = list(items)
    mean = sum(item.cda_m2 for item in parts)
    alone, together = sum(item.sd_m2**2 for item in parts), sum(item.sd_m2 for item in parts) ** 2
    sd = math.sqrt((1.0 - _TIED) * alone + _TIED * together)
    median = mean / math.sqrt(1.0 + (sd / mean) ** 2) if mean > 0 else 0.0
    return Estimate(median, sd, "built up from published coefficients", Basis.PUBLISHED)

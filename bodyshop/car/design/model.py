"""One car as designed: everything in millimetres, grams and radians, nothing judged yet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, fields
from enum import Enum
from pathlib import Path

from bodyshop.car.stock.blanks import Blank
from bodyshop.car.stock.finish import Finish, Glue
from bodyshop.car.stock.hardware import NOTHING, Axle, Bearing, Cartridge, Hardware, ScrewEye, Washer, Wheel
from bodyshop.car.stock.woods import Wood
from bodyshop.foundation.problems import Problem, Severity
from bodyshop.foundation.toml import Source
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Outline

__all__ = ["AxleEnd", "AxleSet", "Bore", "Design", "EyePlace", "KeyPath", "Kit", "Parts"]

KeyPath = tuple[str | int, ...]


class AxleEnd(Enum):
    """Which axle."""

    FRONT = "front"
    REAR = "rear"


@dataclass(frozen=True, slots=True)
class Bore:
    """The cartridge hole.

    At the mouth its centre is `height_mm` over the underside of the blank and `offset_mm` right of the
    centre line; a positive tilt raises the blind end.
    """

    diameter_mm: float
    depth_mm: float
    height_mm: float
    offset_mm: float = 0.0
    tilt_rad: float = 0.0


@dataclass(frozen=True, slots=True)
class AxleSet:
    """An axle with its hole and what turns on it.

    `washers` is the number at each wheel, between wheel and body; `play_mm` the free gap at each side; a
    length left None follows from the body.
    """

    end: AxleEnd
    x_mm: float
    height_mm: float
    hole_mm: float
    axle: Axle
    length_mm: float | None
    bearing: Bearing | None
    wheel: Wheel
    washer: Washer | None
    washers: int
    play_mm: float


@dataclass(frozen=True, slots=True)
class EyePlace:
    """A screw eye: its shank's centre is at `x_mm`, `offset_mm` right of the centre line.

    `from_axle_mm` behind (positive) or ahead of the axle it was placed from, if it was.
    """

    eye: ScrewEye
    x_mm: float
    offset_mm: float
    axle: AxleEnd | None
    from_axle_mm: float


@dataclass(frozen=True, slots=True)
class Parts:
    """What the design declares beyond its drawing: small parts, spares, the height of its number."""

    clips: int = 0
    spare_wheels: int = 0
    spare_axles: int = 0
    spare_washers: int = 0
    spare_eyes: int = 0
    spare_clips: int = 0
    number_height_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Kit:
    """What an event hands out, or a class builds with: names of stock items that designs default to.

    Empty where the event leaves it open. `brought` is hardware of the event's own, which a design may name as
    it names what is in stock.
    """

    blank: str = ""
    wood: str = ""
    axle: str = ""
    bearing: str = ""
    front_wheel: str = ""
    rear_wheel: str = ""
    washer: str = ""
    washers: int = 1
    screw_eye: str = ""
    cartridge: str = ""
    finish: str = ""
    glue: str = ""
    brought: Hardware = field(default=NOTHING, hash=False, repr=False)

    @property
    def names(self) -> dict[str, str]:
        """The name of each piece by its key, empty where the event leaves it open."""
        return {
            each.name: getattr(self, each.name)
            for each in fields(self)
            if each.name not in ("washers", "brought")
        }


@dataclass(frozen=True)
class Design:
    """A car, read and understood. `warnings` are slips that did not stop the reading."""

    source: Source
    name: str
    bench: str
    unit: LengthUnit
    rulebook: str
    wood: Wood
    blank: Blank
    weighed_blank_g: float | None
    balance_g: float
    profile: Outline
    plan: Outline
    plan_mirrored: bool
    edge_round_mm: float
    bore: Bore
    axles: tuple[AxleSet, AxleSet]
    eyes: tuple[EyePlace, ...]
    cartridge: Cartridge
    finish: Finish
    glue: Glue
    fingerprint: str
    parts: Parts = Parts()
    warnings: tuple[Problem, ...] = ()

    @property
    def front(self) -> AxleSet:
        """The axle nearer the nose."""
        return self.axles[0]

    @property
    def rear(self) -> AxleSet:
        """The axle nearer the tail."""
        return self.axles[1]

    @property
    def stem(self) -> str:
        """The file's name without folder and ending."""
        return Path(self.source.name).stem

    def problem(
        self,
        keys: Iterable[str | int],
        code: str,
        message: str,
        expected: str = "",
        severity: Severity = Severity.ERROR,
    ) -> Problem:
        """A problem placed at the value that `keys` name."""
        return self.source.problem(tuple(keys), code, message, expected=expected, severity=severity)

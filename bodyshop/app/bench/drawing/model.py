"""What the hand can take hold of on the drawing, and what comes of moving it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Final

from bodyshop.foundation.toml import KeyPath
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Point, dist
from bodyshop.rules.checking import LoadedCar

__all__ = [
    "FREE_MM",
    "STEPS",
    "Bulge",
    "NumberChange",
    "EditResult",
    "Handle",
    "HandleKind",
    "Move",
    "DrawingView",
    "Snap",
    "GridStep",
    "usual_steps",
]


class DrawingView(Enum):
    """One of the three views of the drawing. In each the first axis points right and the second up.

    The side view shows (x, z), the top view (x, y), the view from the tail (y, z).
    """

    SIDE = "side"
    TOP = "top"
    TAIL = "tail"


class HandleKind(Enum):
    """What is taken hold of."""

    POINT = "point"
    ROUNDING = "rounding"
    THROUGH = "through"
    BULGE = "bulge"
    CONTROL = "control"
    BORE = "bore"
    AXLE = "axle"
    EYE = "eye"
    CENTRE = "centre"
    DIAMETER = "diameter"


@dataclass(frozen=True, slots=True)
class GridStep:
    """A step of the grid. `size` of `unit` is one step; `mm` is the same exactly."""

    id: str
    size: Fraction
    unit: LengthUnit

    @property
    def mm(self) -> Fraction:
        """The step in mm."""
        return self.size * Fraction(*self.unit.ratio)


STEPS: Final = {
    step.id: step
    for step in (
        GridStep("0.1 mm", Fraction(1, 10), LengthUnit.MM),
        GridStep("0.5 mm", Fraction(1, 2), LengthUnit.MM),
        GridStep("1 mm", Fraction(1), LengthUnit.MM),
        GridStep("5 mm", Fraction(5), LengthUnit.MM),
        GridStep("1/64 in", Fraction(1, 64), LengthUnit.IN),
        GridStep("1/32 in", Fraction(1, 32), LengthUnit.IN),
        GridStep("1/16 in", Fraction(1, 16), LengthUnit.IN),
        GridStep("1/8 in", Fraction(1, 8), LengthUnit.IN),
    )
}
"""The steps that a drawing snaps to, by their names."""

FREE_MM: Final = 0.01
"""What counts as moved where nothing is snapped to; the finest that is written."""


def usual_steps(unit: LengthUnit) -> tuple[GridStep, ...]:
    """The steps that go with a unit, finest first; the first two are those of the arrow keys."""
    inches = unit is LengthUnit.IN
    names = ("1/64 in", "1/16 in", "1/32 in", "1/8 in") if inches else ("0.1 mm", "1 mm", "0.5 mm", "5 mm")
    return tuple(STEPS[name] for name in names)


@dataclass(frozen=True, slots=True)
class Snap:
    """What a place is brought to. `step` None: the finest that is written.

    `exact` says for each axis that the place is meant as it is, because it lies on a limit.
    """

    step: GridStep | None = None
    exact: tuple[bool, bool] = (False, False)


@dataclass(frozen=True, slots=True)
class Bulge:
    """An arc of a radius from `start` to `end`, taken by its middle, which lies on `side` (+1 left)."""

    start: Point
    end: Point
    side: float
    long: bool


@dataclass(frozen=True, slots=True)
class Move:
    """A number that a handle moves: value = base + du * u + dv * v, all in mm.

    `value_mm` is what it is now, `least_mm` what it may not fall below. Where there is a `bulge` the number
    is the radius of that arc instead.
    """

    path: KeyPath
    value_mm: float
    base: float = 0.0
    du: float = 0.0
    dv: float = 0.0
    least_mm: float | None = None
    bulge: Bulge | None = None

    def wanted_mm(self, to: Point) -> float:
        """The number for another place of the handle."""
        value = self.base + self.du * to[0] + self.dv * to[1] if self.bulge is None else _radius(self, to)
        return value if self.least_mm is None else max(value, self.least_mm)


@dataclass(frozen=True, slots=True)
class Handle:
    """Something that can be moved. `at` is its place in its view, `moves` the numbers it stands for.

    `way` is the direction it slides in where it is not free; `tied_to` a point it is drawn tied to, the
    corner of a rounding; `fixed` says why it cannot be moved at all.
    """

    id: str
    kind: HandleKind
    sheet: DrawingView
    at: Point
    label: str
    moves: tuple[Move, ...]
    way: Point | None = None
    tied_to: Point | None = None
    fixed: str = ""


@dataclass(frozen=True, slots=True)
class NumberChange:
    """One number as it stood in the text and as it stands now."""

    path: KeyPath
    old: str
    new: str


@dataclass(frozen=True, slots=True)
class EditResult:
    """What a movement makes of the text: a new text, or None and why not.

    `note` is a sentence about what else moves, or about what was not moved. `opened` is the car of the new
    text, which need not be read a second time.
    """

    text: str | None
    changes: tuple[NumberChange, ...] = ()
    refusal: str = ""
    note: str = ""
    opened: LoadedCar | None = None


def _radius(move: Move, to: Point) -> float:
    """The radius of the arc over the same chord whose middle is nearest to `to`."""
    bulge = move.bulge
    assert bulge is not None  # noqa: S101 - asked for where there is one
    (u0, v0), (u1, v1) = bulge.start, bulge.end
    chord = dist(bulge.start, bulge.end)
    rise = bulge.side * ((u1 - u0) * (to[1] - v0) - (v1 - v0) * (to[0] - u0)) / chord
    half = 0.5 * chord
    # Flatter than this no saw follows; more than half a turn is another arc.
    rise = max(rise, half) if bulge.long else min(max(rise, half / 200), half)
    return 0.5 * (rise + half * half / rise)

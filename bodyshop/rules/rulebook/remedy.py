"""The smallest change that would bring a car inside a rule, and the keys of its design that make it.

A remedy looks at one rule only: another rule may be broken by following it.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from bodyshop.car.design.model import Design
from bodyshop.car.measures.catalogue import Measure, QuantityKind
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.problems import Span
from bodyshop.foundation.toml import KeyPath
from bodyshop.foundation.units import (
    LengthUnit,
    MassUnit,
    QuantityError,
    format_number,
    length_from_number,
    parse_angle,
    parse_length,
    parse_mass,
)
from bodyshop.rules.rulebook.judge import INTERVAL_SD, LimitSide, Outcome, Verdict
from bodyshop.rules.rulebook.model import Limits

__all__ = ["Driver", "Remedy", "driver_path", "remedy"]

_OUTSIDE: Final = (Outcome.FAIL, Outcome.TOO_CLOSE, Outcome.ADVICE)
_HAIR: Final = 1e-9
_SAME: Final = 1e-6
_STEPS: Final = {
    QuantityKind.MASS: 0.1,
    QuantityKind.ANGLE: math.radians(0.1),
    QuantityKind.COUNT: 1.0,
    QuantityKind.AREA: 1.0,
    QuantityKind.VOLUME: 1.0,
}
_OUNCE_STEP: Final = 0.01 * MassUnit.OZ.g
_LENGTH_STEP: Final = {LengthUnit.MM: 0.1, LengthUnit.CM: 0.1, LengthUnit.IN: MM_PER_IN / 64}


@dataclass(frozen=True, slots=True)
class Driver:
    """A key of the design that moves the measure.

    `span` is where its value stands, None where the file leaves it to the kit. `new_text` is the number
    to write there where the key is the very quantity measured and is written as a plain number; else
    it is empty.
    """

    key: str
    path: KeyPath
    span: Span | None
    new_text: str


@dataclass(frozen=True, slots=True)
class Remedy:
    """How to pass one rule. Quantities are in the unit of `kind`: mm, g, rad, a count.

    `command` is what the builder does ("lower the bore") and may be empty; `amount` how far the
    measured value has to move, rounded away to a step of `step` in the design's unit, so that it does
    pass; `target` the value to aim for, the nearest such step inside the limit. `side` says whether the
    value is to rise (it is under) or to fall (it is over).
    """

    command: str
    side: LimitSide
    kind: QuantityKind
    unit: LengthUnit
    amount: float
    target: float
    step: float
    drivers: tuple[Driver, ...]
    mass_unit: MassUnit = MassUnit.G

    @property
    def shown_unit(self) -> LengthUnit | MassUnit:
        """The unit in which the amount is printed."""
        return self.mass_unit if self.kind is QuantityKind.MASS else self.unit


def remedy(verdict: Verdict, measure: Measure, design: Design | None = None) -> Remedy | None:
    """The remedy for a rule that failed, probably fails or advises against; None for any other outcome.

    An estimate has to move until its whole range is inside, or as far as it can where both limits leave less
    room than that. Without a design lengths are in the rule's unit, and no driver is placed.

    >>> from bodyshop.foundation.files.shipped import samples_folder
    >>> from bodyshop.rules.checking import check_car, open_car
    >>> checked = check_car(open_car(samples_folder() / "lapwing.toml"))
    >>> checked.remedies["C1"].command
    'make the cartridge hole smaller'
    """
    rule = verdict.rule
    limits, value, read, side = rule.limits, verdict.value, verdict.read, verdict.side
    outside = verdict.outcome in _OUTSIDE and verdict.over > 0.0
    if not outside or limits is None or value is None or read is None or side is None:
        return None
    if verdict.limit is None:
        return None
    unit = design.unit if design is not None else rule.unit
    step = _LENGTH_STEP[unit] if measure.kind is QuantityKind.LENGTH else _STEPS[measure.kind]
    if measure.kind is QuantityKind.MASS and rule.mass_unit is MassUnit.OZ:
        step = _OUNCE_STEP
    limit = _limit_with_range(verdict.limit, verdict.spread, side, limits)
    target = _inward(limit, step, side, limits)
    return Remedy(
        command=measure.more if side is LimitSide.UNDER else measure.less,
        side=side,
        kind=measure.kind,
        unit=unit,
        amount=round(_amount(value, limit, step, side, limits), 9),
        target=round(target, 9),
        step=step,
        drivers=tuple(
            _driver(key, measure.kind, value + rule.past, target + rule.past, design)
            for key in measure.drivers
        ),
        mass_unit=rule.mass_unit,
    )


def driver_path(key: str, design: Design | None = None) -> KeyPath:
    """The path that a driver's key names: `screw_eye[0].offset` and `screw_eye.0.offset` are the same.

    In a design, `screw_eye.front` and `screw_eye.rear` are the eyes nearest to nose and tail, wherever in
    the file they stand.
    """
    parts = re.sub(r"\[(\d+)\]", r".\1", key).split(".")
    if design is not None and design.eyes and parts[0] == "screw_eye" and parts[1:2] in (["front"], ["rear"]):
        order = sorted(range(len(design.eyes)), key=lambda i: design.eyes[i].x_mm)
        parts[1] = str(order[0] if parts[1] == "front" else order[-1])
    return tuple(int(part) if part.isdecimal() else part for part in parts)


def _limit_with_range(limit: float, spread: float, side: LimitSide, limits: Limits) -> float:
    """Where an estimate has to be for its whole range to be inside; half way between both limits where they
    leave less room.
    """
    if spread == 0.0 or limits.one_of:
        return limit
    half = INTERVAL_SD * spread
    if limits.low is not None and limits.high is not None:
        half = min(half, (limits.high - limits.low) / 2.0)
    return limit + half if side is LimitSide.UNDER else limit - half


def _inward(limit: float, step: float, side: LimitSide, limits: Limits) -> float:
    """The step on the inner side of a limit; the limit itself where that lies beyond the other one."""
    marks = limit / step
    inner = (math.ceil(marks - _SAME) if side is LimitSide.UNDER else math.floor(marks + _SAME)) * step
    inner = limit if abs(inner - limit) < _HAIR else inner
    return inner if _inside(inner, limits) else limit


def _amount(value: float, limit: float, step: float, side: LimitSide, limits: Limits) -> float:
    """The distance to the limit rounded up to a step; exact where that would overshoot the other one."""
    gap = abs(limit - value)
    amount = math.ceil(gap / step - _SAME) * step
    moved = value + amount if side is LimitSide.UNDER else value - amount
    return amount if _inside(moved, limits) else gap


def _inside(value: float, limits: Limits) -> bool:
    if limits.one_of:
        return any(abs(value - choice) < _SAME for choice in limits.one_of)
    under = limits.low is not None and value < limits.low - _SAME
    over = limits.high is not None and value > limits.high + _SAME
    return not (under or over)


def _driver(key: str, kind: QuantityKind, value: float, target: float, design: Design | None) -> Driver:
    path = driver_path(key, design)
    if design is None or design.source.value_range(path) is None:
        return Driver(key, path, None, "")
    span = design.source.span(path)
    written = _written(_value_at(design.source.values, path), kind, design.unit)
    if written is None or abs(written - value) > _SAME:
        return Driver(key, path, span, "")
    return Driver(key, path, span, _number_text(target, kind, design.unit))


def _value_at(values: object, path: KeyPath) -> object:
    for part in path:
        if isinstance(values, dict) and isinstance(part, str):
            values = values.get(part)
        elif isinstance(values, list) and isinstance(part, int) and part < len(values):
            values = values[part]
        else:
            return None
    return values


def _written(value: object, kind: QuantityKind, unit: LengthUnit) -> float | None:
    """The plain quantity that a value of a design is; None when it is worked out from others."""
    if isinstance(value, bool) or not isinstance(value, int | float | str):
        return None
    try:
        if kind is QuantityKind.LENGTH:
            return parse_length(value, unit) if isinstance(value, str) else length_from_number(value, unit)
        if kind is QuantityKind.MASS:
            return parse_mass(value) if isinstance(value, str) else float(value)
        if kind is QuantityKind.ANGLE:
            return parse_angle(value) if isinstance(value, str) else math.radians(value)
    except QuantityError:
        return None
    return float(value) if kind is QuantityKind.COUNT and not isinstance(value, str) else None


def _number_text(value: float, kind: QuantityKind, unit: LengthUnit) -> str:
    if kind is QuantityKind.LENGTH and unit is LengthUnit.IN and abs(value * 64 / MM_PER_IN % 1) < _SAME:
        return format_number(value, unit, fraction=64)
    if kind is QuantityKind.LENGTH:
        text = format_number(value, unit, decimals=4)
    else:
        text = f"{math.degrees(value) if kind is QuantityKind.ANGLE else value:.4f}"
    return text.rstrip("0").rstrip(".")

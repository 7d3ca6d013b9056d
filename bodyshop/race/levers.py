"""What a gram, a tenth of the drag or a degree is worth on this car: each lever pulled alone, in pairs of
draws with the same luck, so that the difference is sharp though the time itself is not.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Final

from bodyshop.race.prediction import SAMPLES, Difference, compare_all
from bodyshop.race.setup import Factor, Setup

__all__ = ["LEVERS", "Effect", "Lever", "Reach", "effects"]


class Reach(Enum):
    """Who can pull a lever."""

    BUILDER = "the builder"
    DAY = "the day"


@dataclass(frozen=True, slots=True)
class Lever:
    """A change of one figure: a name, what is done in a few words, what it takes, and whose it is."""

    id: str
    deed: str
    reach: Reach
    pull: Callable[[Setup], Setup]
    note: str = ""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a lever does: seconds gained (negative) or lost."""

    lever: Lever
    difference: Difference


def _step(factor: Factor, step: float) -> Callable[[Setup], Setup]:
    return lambda setup: setup.having(factor, setup.figure(factor).shifted(step))


def _times(factor: Factor, ratio: float) -> Callable[[Setup], Setup]:
    return lambda setup: setup.having(factor, setup.figure(factor).scaled(ratio))


def _tread_gram(setup: Setup) -> Setup:
    return _step(Factor.INERTIA, -1.0)(_step(Factor.MASS, -1.0)(setup))


LEVERS: Final = (
    Lever("gram", "1 g off the body", Reach.BUILDER, _step(Factor.MASS, -1.0)),
    Lever(
        "tread-gram",
        "1 g off the treads of the wheels",
        Reach.BUILDER,
        _tread_gram,
        "it counts as mass and again as inertia",
    ),
    Lever("drag", "10 % less drag area", Reach.BUILDER, _times(Factor.DRAG, 0.9)),
    Lever("rolling", "10 % less rolling friction", Reach.BUILDER, _times(Factor.ROLLING, 0.9)),
    Lever("inertia", "10 % less inertia of the wheels", Reach.BUILDER, _times(Factor.INERTIA, 0.9)),
    Lever("line", "half the drag of the guide line", Reach.BUILDER, _times(Factor.LINE, 0.5)),
    Lever("degree", "cartridge 1 °C warmer", Reach.DAY, _step(Factor.TEMPERATURE, 1.0)),
    Lever("charge", "0.1 g more gas", Reach.DAY, _step(Factor.CHARGE, 0.1)),
    Lever("hole", "puncture 0.1 mm wider", Reach.DAY, _step(Factor.HOLE, 0.1)),
    Lever("impulse", "1 % more impulse", Reach.DAY, _times(Factor.IMPULSE, 1.01)),
    Lever("air", "1 % thinner air", Reach.DAY, _times(Factor.AIR, 0.99)),
)
"""The steps are about what one evening's work, or one race day, may change."""


def effects(setup: Setup, samples: int = SAMPLES) -> tuple[Effect, ...]:
    """Every lever that moves this car at all, the strongest first."""
    levers = [lever for lever in LEVERS if _can_be_pulled(lever, setup)]
    differences = compare_all(setup, (lever.pull(setup) for lever in levers), samples=samples)
    found = [
        Effect(lever, difference)
        for lever, difference in zip(levers, differences, strict=True)
        if math.isfinite(difference.seconds.value) and difference.seconds.value
    ]
    return tuple(sorted(found, key=lambda effect: -abs(effect.difference.seconds.value)))


def _can_be_pulled(lever: Lever, setup: Setup) -> bool:
    """Whether there is a gram to take off."""
    if lever.id not in ("gram", "tread-gram"):
        return True
    if lever.id == "tread-gram" and setup.figure(Factor.INERTIA).value <= 1.0:
        return False
    return setup.figure(Factor.MASS).value > 2.0

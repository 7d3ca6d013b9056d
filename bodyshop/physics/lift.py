"""What the lift balance means: lift against the load that each axle carries.

The loads are those of the car at rest, from its mass and where it balances between the axles. Lift grows
with the square of the speed. Forces in N, up positive; speeds in m/s; lengths in mm; mass in g.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from bodyshop.foundation.constants import GRAVITY_M_S2
from bodyshop.physics.model import Basis, Estimate, Interval, Law

__all__ = [
    "EQUAL_SHARE",
    "LIFT_FORMULA",
    "LIFT_SOURCE",
    "LOAD_FORMULA",
    "PRACTICE",
    "REAR_LOAD_FORMULA",
    "SMALL_SHARE",
    "AxleLift",
    "LiftBalance",
    "AxleLoadChange",
    "AxleLoads",
    "axle_loads",
    "lift_balance",
    "leaves_at",
    "shifted_by_push",
]

LIFT_FORMULA: Final = "lift at race speed = lift in the tunnel x (race speed / tunnel speed)²"
LIFT_SOURCE: Final = "dynamic pressure, any textbook on fluid mechanics"
LOAD_FORMULA: Final = "front load = m g (rear axle - balance point) / wheelbase"
REAR_LOAD_FORMULA: Final = "rear load = m g (balance point - front axle) / wheelbase"
PRACTICE: Final = (
    "front and rear lift about equal, small, and not negative (common practice, no published source)"
)

SMALL_SHARE: Final = 0.10
"""Lift up to this share of an axle's load counts as small."""

EQUAL_SHARE: Final = 0.25
"""Front and rear lift that differ by less than this share of the larger count as about equal, and so do two
that are both under a fiftieth of their loads."""

_NOTHING_SHARE: Final = 0.02


class AxleLoadChange(Enum):
    """What the air does to an axle at race speed."""

    LEAVES = "leaves the ground"
    LIGHT = "grows light"
    SMALL = "hardly changes"
    PRESSED = "is pressed down"


@dataclass(frozen=True, slots=True)
class AxleLoads:
    """How a car stands: mass, and distances from the nose to its balance point and its axles."""

    mass_g: float
    balance_mm: float
    front_axle_mm: float
    rear_axle_mm: float

    @property
    def wheelbase_mm(self) -> float:
        """Between the axles."""
        return self.rear_axle_mm - self.front_axle_mm


@dataclass(frozen=True, slots=True)
class AxleLift:
    """One axle. `share` is lift at race speed over load, `leaves_m_s` the speed at which the lift equals the
    load, None where the lift presses down or is nothing.
    """

    load_n: float
    tunnel_n: Estimate
    race_n: Estimate
    share: float
    lightness: AxleLoadChange
    leaves_m_s: Interval | None


@dataclass(frozen=True, slots=True)
class LiftBalance:
    """Both axles at the tunnel's speed and at the race's. `doubts` are questions about readings that can
    hardly be true.
    """

    tunnel_m_s: float
    race_m_s: float
    front: AxleLift
    rear: AxleLift
    equal: bool
    small: bool
    negative: bool
    doubts: tuple[str, ...]

    @property
    def by_practice(self) -> bool:
        """Whether it is as common practice wants it."""
        return self.equal and self.small and not self.negative


def axle_loads(stance: AxleLoads) -> tuple[float, float]:
    """Load on the front and on the rear axle at rest, N: moments about the axles."""
    weight = stance.mass_g / 1e3 * GRAVITY_M_S2
    front = weight * (stance.rear_axle_mm - stance.balance_mm) / stance.wheelbase_mm
    return front, weight - front


def shifted_by_push(push_n: float, above_mm: float, wheelbase_mm: float) -> float:
    """Load that a push along the car moves from the rear axle to the front one, N, where its line lies
    `above_mm` over the balance point: moments about that point, textbook mechanics.
    """
    return push_n * above_mm / wheelbase_mm


def leaves_at(load_n: float, lift_n: float, speed_m_s: float) -> float:
    """The speed at which a lift that is `lift_n` > 0 at `speed_m_s` equals a load >= 0."""
    return speed_m_s * math.sqrt(load_n / lift_n)


def lift_balance(
    front_n: Estimate, rear_n: Estimate, tunnel_m_s: float, race_m_s: float, stance: AxleLoads
) -> LiftBalance:
    """Lift at both axles, read at one tunnel speed over 0, against the loads of the car."""
    loads = axle_loads(stance)
    front, rear = (
        _axle(lift, load, tunnel_m_s, race_m_s) for lift, load in zip((front_n, rear_n), loads, strict=True)
    )
    slight = all(abs(axle.race_n.value) < _NOTHING_SHARE * abs(axle.load_n) for axle in (front, rear))
    larger = max(abs(front_n.value), abs(rear_n.value))
    gap = abs(front_n.value - rear_n.value)
    return LiftBalance(
        tunnel_m_s,
        race_m_s,
        front,
        rear,
        equal=slight or gap <= EQUAL_SHARE * larger,
        small=all(abs(axle.share) <= SMALL_SHARE for axle in (front, rear)),
        negative=any(_below_nothing(axle.tunnel_n) for axle in (front, rear)),
        doubts=tuple(_doubts(front_n, rear_n, loads, stance)),
    )


def _axle(lift: Estimate, load: float, tunnel_m_s: float, race_m_s: float) -> AxleLift:
    factor = (race_m_s / tunnel_m_s) ** 2
    race = replace(lift.scaled(factor), source="scaled with the square of the speed", basis=Basis.MEASURED)
    share = race.value / load if load > 0 else math.inf if race.value > 0 else 0.0
    if race.value > load:
        lightness = AxleLoadChange.LEAVES
    elif share > SMALL_SHARE:
        lightness = AxleLoadChange.LIGHT
    elif _below_nothing(lift) and share < -_NOTHING_SHARE:
        lightness = AxleLoadChange.PRESSED
    else:
        lightness = AxleLoadChange.SMALL
    return AxleLift(load, lift, race, share, lightness, _leaving(lift, load, tunnel_m_s))


def _leaving(lift: Estimate, load: float, tunnel_m_s: float) -> Interval | None:
    """The speed of leaving with its interval; one that does not end is closed at infinity."""
    if lift.value <= 0 or load <= 0:
        return None
    held = lift.interval()
    most = leaves_at(load, held.low, tunnel_m_s) if held.low > 0 else math.inf
    return Interval(
        leaves_at(load, lift.value, tunnel_m_s), leaves_at(load, held.high, tunnel_m_s), most, held.confidence
    )


def _below_nothing(lift: Estimate) -> bool:
    """Whether a lift is surely downwards."""
    return lift.interval().high < 0 if lift.law is Law.PLAIN else False


def _doubts(front: Estimate, rear: Estimate, loads: tuple[float, float], stance: AxleLoads) -> list[str]:
    doubts = []
    weight = stance.mass_g / 1e3 * GRAVITY_M_S2
    both = front.value + rear.value
    if both > weight:
        doubts.append(
            f"The lift of {both:.3g} N is more than the car's weight of {weight:.3g} N: in the tunnel it "
            "would have flown. Is it the unit or the zero?"
        )
    for name, lift, load in (("front", front, loads[0]), ("rear", rear, loads[1])):
        if lift.value > max(load, 0.0) and both <= weight:
            doubts.append(
                f"The {name} lift of {lift.value:.3g} N is more than the {load:.3g} N that the {name} axle "
                "carries: it would have left the ground in the tunnel. Is it the unit, the zero, or the axle?"
            )
        if lift.value < -weight:
            doubts.append(
                f"The {name} lift of {lift.value:.3g} N presses down by more than the car weighs. Is it the "
                "unit, the zero or the sign?"
            )
        if load <= 0:
            doubts.append(
                f"The {name} axle carries nothing: the car balances beyond the other axle and would tip."
            )
    return doubts

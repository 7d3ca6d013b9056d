"""Rolling friction from a roll test, by energy: down a straight ramp, out over the flat until it stands.

With the mass m, the mass m_e = m + sum(I / r²) that is got going, c = rho CdA / m_e, and a ramp of length L
at the angle theta:

    v² at the foot = (A / c)(1 - exp(-c L)),  A = 2 g (m / m_e)(sin theta - mu cos theta)
    run-out        = (1 / c) ln(1 + c v² / B),  B = 2 g (m / m_e)(mu - e)

where e is how much the floor falls the way the car rolls. Both follow from d(v²)/dx = constant - c v². mu is
found by bisection, as the run-out falls steadily with it. SI units: kg, m, s.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from bodyshop.foundation.constants import GRAVITY_M_S2, NORMAL_95
from bodyshop.foundation.statistics import Repeats, repeats
from bodyshop.physics.model import Array, Basis, Estimate, Law

__all__ = [
    "FLOOR_FALL",
    "HEIGHT_SD_M",
    "ROLL_FORMULA",
    "ROLL_SOURCE",
    "Energy",
    "Roll",
    "RollConditions",
    "RollResult",
    "RollFriction",
    "impossible",
    "rolling_friction",
    "run_out_m",
    "simple_friction",
    "solve_friction",
    "speed_at_foot_m_s",
]

ROLL_FORMULA: Final = (
    "height x weight = friction x way + what the air took; mu found so that the run-out fits"
)
ROLL_SOURCE: Final = "energy balance with drag and wheel inertia, any textbook on mechanics"

HEIGHT_SD_M: Final = 1.5e-3
READING_SD_M: Final = 20e-3
FLOOR_FALL: Final = 1e-3
"""One standard deviation of the ramp's height, of where the car is said to stand, and of the floor's fall
over its length, where nothing is said. Common practice, no published source."""

_SHARED: Final = ("the ramp's height", "the floor's slope", "the drag area", "the air", "the mass")
"""What all rolls of a test have in common."""

_HALVINGS: Final = 44


@dataclass(frozen=True, slots=True)
class Roll:
    """One roll: height the car came down, way along the ramp, run-out from the foot, and which way.

    `reading_sd_m` is how well the run-out was read.
    """

    height_m: float
    ramp_m: float
    run_out_m: float
    direction: str = ""
    reading_sd_m: float = READING_SD_M


@dataclass(frozen=True, slots=True)
class RollConditions:
    """What the balance needs beside the roll: mass (kg), mass that turning adds (kg), drag area (m^2),
    density of the air (kg/m^3).
    """

    mass_kg: Estimate
    inertia_kg: Estimate
    cda_m2: Estimate
    density_kg_m3: Estimate


@dataclass(frozen=True, slots=True)
class Energy:
    """Where the height's energy went, J."""

    height: float
    friction: float
    air: float

    @property
    def air_share(self) -> float:
        """What the air took, as a share."""
        return self.air / self.height


@dataclass(frozen=True, slots=True)
class RollFriction:
    """One roll understood: its friction by energy, and by the simple formula without air."""

    roll: Roll
    friction: float
    simple: float
    foot_m_s: float
    energy: Energy


@dataclass(frozen=True, slots=True)
class RollResult:
    """Friction from all rolls. `series` are the rolls of each direction taken together; `floor_fall` is
    what rolling both ways tells of the floor (positive: it falls the first way), None with one way only.
    `air_share` is the mean share that the air took; `doubts` questions about what can hardly be true.
    """

    estimate: Estimate
    rolls: tuple[RollFriction, ...]
    series: Repeats
    directions: tuple[str, ...]
    floor_fall: float | None
    causes: tuple[tuple[str, float], ...]
    doubts: tuple[str, ...]

    @property
    def both_ways(self) -> bool:
        """Whether the car was rolled both ways, so that the floor's slope cancels."""
        return len(self.directions) == 2

    @property
    def air_share(self) -> float:
        """The mean share of the energy that the air took."""
        return sum(each.energy.air_share for each in self.rolls) / len(self.rolls)


def speed_at_foot_m_s(
    friction: Array | float,
    height_m: Array | float,
    ramp_m: Array | float,
    mass_kg: Array | float,
    inertia_kg: Array | float,
    drag_kg_m: Array | float,
) -> Array:
    """Speed at the foot of the ramp; `drag_kg_m` is rho CdA. 0 where the car does not get there."""
    ramp = np.asarray(ramp_m, dtype=np.float64)
    sine = np.asarray(height_m, dtype=np.float64) / ramp
    cosine = np.sqrt(np.maximum(1.0 - sine**2, 0.0))
    moved = np.asarray(mass_kg) + np.asarray(inertia_kg)
    push = 2.0 * GRAVITY_M_S2 * np.asarray(mass_kg) / moved * (sine - np.asarray(friction) * cosine)
    c = np.asarray(drag_kg_m) / moved
    small = c * ramp < 1e-9
    reach = np.where(small, ramp, -np.expm1(-c * ramp) / np.where(small, 1.0, c))
    return np.asarray(np.sqrt(np.maximum(push * reach, 0.0)), dtype=np.float64)


def run_out_m(
    friction: Array | float,
    foot_m_s: Array | float,
    mass_kg: Array | float,
    inertia_kg: Array | float,
    drag_kg_m: Array | float,
    fall: Array | float = 0.0,
) -> Array:
    """How far a car that has `foot_m_s` rolls on a floor that falls by `fall` metres a metre; endless where
    the floor falls by more than the friction.
    """
    moved = np.asarray(mass_kg) + np.asarray(inertia_kg)
    c = np.asarray(drag_kg_m) / moved
    brake = 2.0 * GRAVITY_M_S2 * np.asarray(mass_kg) / moved * (np.asarray(friction) - np.asarray(fall))
    square = np.asarray(foot_m_s) ** 2
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = square / brake
        far = np.where(c * ratio > 1e-12, np.log1p(c * ratio) / np.maximum(c, 1e-300), ratio)
    return np.asarray(np.where(brake > 0.0, far, np.inf), dtype=np.float64)


def solve_friction(
    height_m: Array | float,
    ramp_m: Array | float,
    run_m: Array | float,
    mass_kg: Array | float,
    inertia_kg: Array | float,
    drag_kg_m: Array | float,
    fall: Array | float = 0.0,
) -> Array:
    """The friction at which the car stands after `run_m` > 0 from the foot, by bisection; arrays of one shape
    or plain numbers. 0 < height < ramp.
    """
    h, ramp, run, m, i, k, e = np.broadcast_arrays(
        *(
            np.asarray(v, dtype=np.float64)
            for v in (height_m, ramp_m, run_m, mass_kg, inertia_kg, drag_kg_m, fall)
        )
    )
    low = np.maximum(e, 0.0)
    high = np.maximum(h / np.sqrt(np.maximum(ramp**2 - h**2, 1e-12)), low)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        far = run_out_m(middle, speed_at_foot_m_s(middle, h, ramp, m, i, k), m, i, k, e)
        too_far = far > run
        low, high = np.where(too_far, middle, low), np.where(too_far, high, middle)
    return np.asarray(0.5 * (low + high), dtype=np.float64)


def simple_friction(roll: Roll) -> float:
    """Height over the whole level way: the balance without air, in which mass and wheels cancel."""
    return roll.height_m / (math.sqrt(roll.ramp_m**2 - roll.height_m**2) + roll.run_out_m)


def impossible(roll: Roll) -> str:
    """Why a roll cannot be, in a clause; empty where it can."""
    if not 0.0 < roll.height_m < roll.ramp_m:
        return "the ramp is not as high as that over its length"
    if roll.run_out_m <= 0.0:
        return "the car has not come past the foot of the ramp"
    return ""


def rolling_friction(rolls: Sequence[Roll], given: RollConditions) -> RollResult:
    """Friction of the car from at least one roll that is not `impossible`, with its interval.

    What all rolls share (mass, wheels, drag area, air, the ramp's height, the floor's fall) is drawn once
    for all of them, 2000 times with a fixed seed; the floor's fall counts the other way for rolls the other
    way, and each way has the same weight. The scatter of the rolls is added by Student's t; a single roll
    has the error of its reading instead.
    """
    ways = _ways(rolls)
    weights = np.array(_weights(rolls, ways))
    solved = _solved(rolls, ways, given)
    rolled = tuple(_friction(roll, float(mu), given) for roll, mu in zip(rolls, solved[:, 0], strict=True))
    means = weights @ solved
    mean = float(means[0])
    half = 0.5 * np.abs(means[1 : 1 + len(_SHARED)] - means[1 + len(_SHARED) : 1 + 2 * len(_SHARED)])
    parts = [(name, float(each)) for name, each in zip(_SHARED, half, strict=True)]
    shared = math.sqrt(sum(sd**2 for _, sd in parts))
    series = _series(rolled, rolls, ways)
    reading = 0.5 * np.abs(solved[:, -1] - solved[:, -2])
    own = float(np.sqrt(np.sum((weights * reading) ** 2)))
    if series.sd is not None:  # equal readings do not make a coarse one fine
        own = max(own, series.sd)
    total = math.hypot(shared, own)
    causes = (*parts, ("the rolls themselves", own))
    fall = None
    if len(ways) == 2:
        first, second = (
            float(np.mean([r.friction for r in rolled if r.roll.direction == way])) for way in ways
        )
        # The floor's fall acts on the run-out alone, friction on the ramp's level way as well.
        flat = sum(each.roll.run_out_m for each in rolled)
        level = flat + sum(math.sqrt(each.roll.ramp_m**2 - each.roll.height_m**2) for each in rolled)
        fall = 0.5 * (second - first) * level / flat
    law = Law.POSITIVE if mean > NORMAL_95 * total else Law.PLAIN
    count = len(rolls)
    source = "one roll" if count == 1 else f"{count} rolls" + (", both ways" if len(ways) == 2 else "")
    return RollResult(
        Estimate(mean, total, f"roll test, {source}", Basis.MEASURED, law),
        rolled,
        series,
        ways,
        fall,
        tuple(sorted(causes, key=lambda cause: -cause[1])),
        tuple(_doubts(rolled, fall)),
    )


def _friction(roll: Roll, mu: float, given: RollConditions) -> RollFriction:
    m, i = given.mass_kg.value, given.inertia_kg.value
    k = given.density_kg_m3.value * given.cda_m2.value
    foot = float(speed_at_foot_m_s(mu, roll.height_m, roll.ramp_m, m, i, k))
    level = math.sqrt(roll.ramp_m**2 - roll.height_m**2) + roll.run_out_m
    height, rubbed = m * GRAVITY_M_S2 * roll.height_m, mu * m * GRAVITY_M_S2 * level
    return RollFriction(roll, mu, simple_friction(roll), foot, Energy(height, rubbed, height - rubbed))


def _ways(rolls: Sequence[Roll]) -> tuple[str, ...]:
    """The two ways that the car was rolled, or the one; more names than two tell no ways apart."""
    named = tuple(dict.fromkeys(roll.direction for roll in rolls))
    return named if len(named) == 2 and all(named) else named[:1]


def _weights(rolls: Sequence[Roll], ways: tuple[str, ...]) -> list[float]:
    """Each way has the same weight, and each roll of a way."""
    if len(ways) != 2:
        return [1.0 / len(rolls)] * len(rolls)
    count = {way: sum(roll.direction == way for roll in rolls) for way in ways}
    return [0.5 / count[roll.direction] for roll in rolls]


def _solved(rolls: Sequence[Roll], ways: tuple[str, ...], given: RollConditions) -> Array:
    """The friction of every roll, a row each: as it is, then with each thing that all rolls share one
    standard deviation up, then each down, then with the run-out read shorter and longer by its own.

    Half the difference of up and down is what a thing contributes (JCGM 100:2008, 5.1.3, note 2).
    """
    count = len(_SHARED)
    z = np.concatenate([np.zeros((1, count)), np.eye(count), -np.eye(count), np.zeros((2, count))])
    cda, density, mass = (
        known.draw(z[:, k]) for k, known in ((2, given.cda_m2), (3, given.density_kg_m3), (4, given.mass_kg))
    )
    height, ramp, run, step = (
        np.array([[getattr(roll, name)] for roll in rolls])
        for name in ("height_m", "ramp_m", "run_out_m", "reading_sd_m")
    )
    read = np.zeros(len(z))
    read[-2:] = (-1.0, 1.0)
    sign = np.array([[-1.0 if len(ways) == 2 and roll.direction == ways[1] else 1.0] for roll in rolls])
    return solve_friction(
        np.clip(height + HEIGHT_SD_M * z[:, 0], 1e-4, 0.9999 * ramp),
        ramp,
        np.maximum(run + step * read, 0.5 * run),
        np.maximum(mass, 1e-6),
        given.inertia_kg.value,
        np.maximum(density * cda, 0.0),
        sign * FLOOR_FALL * z[:, 1],
    )


def _series(rolled: Sequence[RollFriction], rolls: Sequence[Roll], ways: tuple[str, ...]) -> Repeats:
    """The rolls as repeats: where the car was rolled both ways, each with its own way's offset taken off, so
    that the floor's slope does not count as scatter.
    """
    values = [each.friction for each in rolled]
    if len(ways) != 2:
        return repeats(values)
    means = {
        way: float(np.mean([v for v, roll in zip(values, rolls, strict=True) if roll.direction == way]))
        for way in ways
    }
    middle = float(np.mean(list(means.values())))
    centred = [v - means[roll.direction] + middle for v, roll in zip(values, rolls, strict=True)]
    if len(centred) > 2:
        # Two means were taken off instead of one: the spread is mended for the lost degree of freedom.
        stretch = math.sqrt((len(centred) - 1) / (len(centred) - 2))
        centred = [middle + stretch * (v - middle) for v in centred]
    else:
        return repeats([middle])
    return repeats(centred)


def _doubts(rolled: Sequence[RollFriction], fall: float | None) -> list[str]:
    doubts = []
    for number, each in enumerate(rolled, 1):
        which = "The roll" if len(rolled) == 1 else f"Roll {number}"
        if each.friction < 0.001:
            doubts.append(
                f"{which} comes to a friction of {each.friction:.4f}: hardly any wheel turns so easily. "
                "Does the floor fall, or is the run-out in the wrong unit?"
            )
        if each.friction > 0.2:
            doubts.append(
                f"{which} comes to a friction of {each.friction:.2f}: a wheel must have rubbed or stuck. "
                "Is the height or the run-out in the wrong unit?"
            )
    if fall is not None and abs(fall) > 5e-3:
        doubts.append(
            f"One way and the other differ as if the floor fell by {abs(fall) * 1e3:.0f} mm in a metre. "
            "Is it so, or were the ramps different?"
        )
    return doubts

"""Random cars for the outside family, as plain numbers first: the program's design and the kernel's solid are
both made from them, each in its own way.

A car is drawn from its seed alone, so car 17 is the same car everywhere. Every figure is invented.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from bodyshop.car.design.model import AxleEnd, Bore, Design, EyePlace
from bodyshop.car.stock.hardware import hardware
from bodyshop.geometry.outlines import Outline, Ring, outline_faults
from tests.bodies import axle, design, ring

__all__ = ["CarNumbers", "car_numbers", "design_of"]

Points = tuple[tuple[float, float], ...]

LENGTH = 240.0
EYE = "screw-eye-small"


@dataclass(frozen=True)
class AxleNumbers:
    """An axle hole and its wheel: place and diameters, mm."""

    x: float
    z: float
    hole: float
    wheel: float


@dataclass(frozen=True)
class CarNumbers:
    """A car as corner points, mm. Outlines run anticlockwise, windows are convex; the plan and its windows
    are given whole, both sides.
    """

    seed: int
    profile: Points
    plan: Points
    side_windows: tuple[Points, ...]
    top_windows: tuple[Points, ...]
    edge_round: float
    diameter: float
    depth: float
    height: float
    offset: float
    degrees: float
    front: AxleNumbers
    rear: AxleNumbers
    eyes: tuple[tuple[float, float], ...]

    @property
    def tilt(self) -> float:
        """The bore's tilt, rad; positive with the blind end up."""
        return math.radians(self.degrees)


def car_numbers(seed: int) -> CarNumbers:
    """The car of a seed: of all that its generator draws, the first that can be made."""
    rng = np.random.default_rng(10_000 + seed)
    while True:
        car = _drawn(seed, rng)
        if not outline_faults(_outline(car.profile, car.side_windows)) and not outline_faults(
            _outline(car.plan, car.top_windows)
        ):
            return car


def _drawn(seed: int, rng: np.random.Generator) -> CarNumbers:
    def pick(low: float, high: float) -> float:
        return float(np.round(rng.uniform(low, high), 2))

    rounding = 0.0 if rng.random() < 0.35 else pick(1.0, 9.0)
    degrees = 0.0 if rng.random() < 0.15 else pick(-10.0, 10.0)
    # ---- side view: an underside with a dip, a tail that leans, a top with a waist, a blunt nose
    nose_low = pick(0.0, 4.0)
    nose_high = nose_low + pick(6.0, 16.0)
    tail_low = pick(0.0, 3.0)
    tail_high = pick(40.0, 48.0)
    lean = 0.0 if rng.random() < 0.3 else pick(-0.5, 0.5)
    waist, hood = pick(70.0, 120.0), pick(150.0, 200.0)
    top: list[tuple[float, float]] = [
        (LENGTH + lean * (tail_high - tail_low), tail_high),
        (hood, pick(42.0, 54.0)),
        (waist, pick(22.0, 34.0)),
        (0.0, nose_high),
    ]
    if rounding == 0 and rng.random() < 0.25:
        # A bevelled step ahead of the blind end: a face that looks more to the nose than up.
        x = pick(150.0, 165.0)
        top = [
            top[0],
            (max(hood, x + 20), top[1][1]),
            (x + 4, pick(36.0, 44.0)),
            (x, pick(20.0, 26.0)),
            top[3],
        ]
    dip = (pick(150.0, 200.0), pick(0.0, 2.0))
    bottom = [(0.0, nose_low), (pick(30.0, 60.0), 0.0), dip, (LENGTH, tail_low)]
    # ---- top view
    nose, wide, tail = pick(6.0, 12.0), pick(17.0, 21.0), pick(14.0, 21.0)
    right = [(0.0, nose), (pick(80.0, 150.0), wide), (LENGTH + 40.0, tail)]
    left = [(x, -y) for x, y in reversed(right)]
    front: list[tuple[float, float]] = []
    if rng.random() < 0.3:
        inner, notch = nose * pick(0.25, 0.4), pick(15.0, 40.0)
        front = [(0.0, -inner), (notch, 0.0), (0.0, inner)]
    plan = [*front, *right, *left]
    # ---- windows: in the side view ahead of the bore or over it, in the top view beside it
    side_windows: list[Points] = []
    top_windows: list[Points] = []
    height = pick(20.0, 26.0)
    diameter, depth = pick(16.0, 20.0), pick(40.0, 60.0)
    blind = LENGTH - depth
    draw = rng.random()
    if draw < 0.3:
        x, z = blind - pick(16.0, 40.0), height + pick(-6.0, 4.0)
        side_windows.append(_box(x, z, pick(6.0, 10.0), pick(6.0, 12.0)))
    elif draw < 0.45:
        x, w, h = pick(200.0, 215.0), pick(6.0, 12.0), pick(2.0, 4.0)
        side_windows.append(_box(x, height + diameter / 2 + pick(4.0, 6.0), w, h))
    draw = rng.random()
    if draw < 0.25:
        x, y, w, h = pick(90.0, 130.0), pick(1.0, 3.0), pick(10.0, 20.0), pick(4.0, 6.0)
        top_windows.append(_box(x, y, w, h))
    elif draw < 0.4:
        x, y, w = pick(195.0, 210.0), diameter / 2 + pick(3.0, 4.0), pick(6.0, 14.0)
        top_windows.append(_box(x, y, w, 1.5))
    return CarNumbers(
        seed=seed,
        profile=(*bottom, *top),
        plan=tuple(plan),
        side_windows=tuple(side_windows),
        top_windows=tuple(top_windows),
        edge_round=rounding,
        diameter=diameter,
        depth=depth,
        height=height,
        offset=0.0 if rng.random() < 0.5 else pick(-2.0, 2.0),
        degrees=degrees,
        front=AxleNumbers(pick(45.0, 65.0), pick(5.0, 8.0), pick(3.0, 4.5), pick(26.0, 40.0)),
        rear=AxleNumbers(pick(195.0, 225.0), pick(4.5, 6.5), pick(3.0, 4.5), pick(26.0, 40.0)),
        eyes=((pick(75.0, 95.0), 0.0), (pick(165.0, 185.0), 0.0 if rng.random() < 0.6 else pick(-5.0, 5.0))),
    )


def _box(x: float, v: float, width: float, height: float) -> Points:
    return ((x, v), (x + width, v), (x + width, v + height), (x, v + height))


# ---------------------------------------------------------------- the program's design


def _outline(points: Points, windows: tuple[Points, ...]) -> Outline:
    def made(spots: Points, *, left: bool) -> Ring:
        return ring(*spots, left=left)

    return Outline(made(points, left=True), tuple(made(w, left=False) for w in windows))


def design_of(car: CarNumbers) -> Design:
    """The car as a design of the program."""
    own = hardware().wheels["wheel-34"]
    wheels = {end: replace(own, diameter_mm=n.wheel) for end, n in _ends(car).items()}
    front, rear = (
        axle(end, n.x, n.z, hole=n.hole, wheel=wheels[end], bearing="") for end, n in _ends(car).items()
    )
    return design(
        (_outline(car.profile, car.side_windows), _outline(car.plan, car.top_windows)),
        edge_round=car.edge_round,
        bore=Bore(car.diameter, car.depth, car.height, car.offset, car.tilt),
        axles=(front, rear),
        eyes=[EyePlace(hardware().screw_eyes[EYE], x, y, None, 0.0) for x, y in car.eyes],
    )


def _ends(car: CarNumbers) -> dict[AxleEnd, AxleNumbers]:
    return {AxleEnd.FRONT: car.front, AxleEnd.REAR: car.rear}

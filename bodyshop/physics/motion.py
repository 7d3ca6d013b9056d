"""The run of a car down its lane, for many samples at once.

(m + I) dv/dt = F − ½ ρ CdA v² − μ m g − line, while v > 0

m falls as gas leaves; the gas goes with its own speed, which is inside F. I is the sum of I / r² over what
turns. While the cartridge pushes, a Runge-Kutta step of fourth order from node to node of the thrust
curve, none longer than `LONGEST_S`; afterwards the closed form of coasting with drag and friction, so that
the time at the line carries no error of a step at all. Textbook mechanics; units SI inside.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from bodyshop.foundation.constants import GRAVITY_M_S2
from bodyshop.physics.model import Array, Push

__all__ = ["LONGEST_S", "CarDraw", "Runs", "coast_speed_squared", "coast_time", "run"]

LONGEST_S: Final = 0.010
"""Longest step while the cartridge pushes; halving it moves a race by less than 0.01 ms."""

_TINY: Final = 1e-12
_LEAST_SPEED: Final = 1e-6


@dataclass(frozen=True, slots=True)
class CarDraw:
    """Samples of a car on the day, each of shape (n,): mass at the start with the full cartridge, inertia
    of what turns over r², drag area, rolling resistance over weight, drag of the line, air density.
    """

    start_g: Array
    inertia_g: Array
    cda_m2: Array
    rolling: Array
    line_n: Array
    density_kg_m3: Array


@dataclass(frozen=True, slots=True)
class Runs:
    """What came of each sample, shape (n,); `gates_s` and `gates_m_s` (gates, n).

    Times are NaN where the car stops short of the place; `reached_m` is how far it came, at most the lane.
    """

    finish_s: Array
    top_m_s: Array
    line_m_s: Array
    gates_s: Array
    gates_m_s: Array
    reached_m: Array

    @property
    def finishes(self) -> Array:
        """1 where the car comes to the line, else 0."""
        return np.where(np.isfinite(self.finish_s), 1.0, 0.0)


@dataclass(frozen=True, slots=True)
class _Pushed:
    """States at the nodes, shape (k, n) each: time, place, speed."""

    time: Array
    place: Array
    speed: Array


def run(push: Push, car: CarDraw, length_m: float, gates_m: tuple[float, ...] = ()) -> Runs:
    """The race of every sample. Shapes broadcast: one thrust curve may push many cars."""
    samples = max(len(car.start_g), push.time_s.shape[0])
    pushed, drag, resist = _push_phase(push, car, samples)
    gates = [_passing(pushed, drag, resist, gate) for gate in gates_m]
    finish, line = _passing(pushed, drag, resist, length_m)
    top = np.where(pushed.place <= length_m, pushed.speed, 0.0).max(axis=0)
    top = np.fmax(top, np.where(pushed.place[-1] >= length_m, line, 0.0))
    end = pushed.place[-1] + _coast_length(pushed.speed[-1], drag, resist)
    return Runs(
        finish_s=finish,
        top_m_s=top,
        line_m_s=line,
        gates_s=np.array([time for time, _ in gates]).reshape(len(gates_m), samples),
        gates_m_s=np.array([speed for _, speed in gates]).reshape(len(gates_m), samples),
        reached_m=np.minimum(end, length_m),
    )


def _push_phase(push: Push, car: CarDraw, samples: int) -> tuple[_Pushed, Array, Array]:
    """The states while gas leaves, and after it drag over moving mass (1/m) and friction over it (m/s²)."""
    push = _refined(push)
    nodes = push.time_s.shape[1]
    mass = (car.start_g[:, None] - push.gone_g).T * 1e-3 + np.zeros((1, samples))
    inertia = car.inertia_g * 1e-3
    force = push.force_n.T
    resist = car.rolling * mass * GRAVITY_M_S2 + car.line_n
    half_drag = 0.5 * car.density_kg_m3 * car.cda_m2
    moving = mass + inertia
    net = force - resist
    steps = np.diff(push.time_s, axis=1).T
    time = push.time_s.T + np.zeros((1, samples))
    place, speed = np.zeros((nodes, samples)), np.zeros((nodes, samples))
    x, v = place[0], speed[0]
    for k in range(nodes - 1):
        h = steps[k]
        middle_net, middle_mass = 0.5 * (net[k] + net[k + 1]), 0.5 * (moving[k] + moving[k + 1])
        a1 = (net[k] - half_drag * v * v) / moving[k]
        v2 = v + 0.5 * h * a1
        a2 = (middle_net - half_drag * v2 * v2) / middle_mass
        v3 = v + 0.5 * h * a2
        a3 = (middle_net - half_drag * v3 * v3) / middle_mass
        v4 = v + h * a3
        a4 = (net[k + 1] - half_drag * v4 * v4) / moving[k + 1]
        # A car that friction holds stands still: it is not pushed backwards.
        after = np.maximum(v + h * (a1 + 2.0 * (a2 + a3) + a4) / 6.0, 0.0)
        x = np.maximum(x + h * (v + 2.0 * (v2 + v3) + v4) / 6.0, x)
        v = after
        place[k + 1], speed[k + 1] = x, v
    return _Pushed(time, place, speed), half_drag / moving[-1], resist[-1] / moving[-1]


def _refined(push: Push) -> Push:
    """The same curve with nodes put in where a step is too long for the integrator."""
    longest = np.diff(push.time_s, axis=1).max(axis=0)
    parts = np.maximum(np.ceil(longest / LONGEST_S), 1.0)
    if parts.max(initial=1.0) <= 1.0:
        return push
    at = np.concatenate(
        [np.arange(count) / count + k for k, count in enumerate(parts.astype(int))] + [[len(parts)]]
    )
    low = np.minimum(at.astype(int), len(parts) - 1)
    share = at - low

    def spread(curve: Array) -> Array:
        return np.asarray((1.0 - share) * curve[:, low] + share * curve[:, low + 1])

    return Push(spread(push.time_s), spread(push.force_n), spread(push.gone_g))


def _passing(pushed: _Pushed, drag: Array, resist: Array, distance: float) -> tuple[Array, Array]:
    """Time and speed at a place: inside a step of the push by its cubic, else by coasting."""
    last = pushed.place[-1]
    coast = np.maximum(distance - last, 0.0)
    speed = np.sqrt(np.maximum(coast_speed_squared(pushed.speed[-1], drag, resist, coast), 0.0))
    time = pushed.time[-1] + coast_time(pushed.speed[-1], speed, drag, resist, coast)
    short = coast_speed_squared(pushed.speed[-1], drag, resist, coast) <= _LEAST_SPEED**2
    stopped = (last < distance) & short
    time, speed = np.where(stopped, np.nan, time), np.where(stopped, np.nan, speed)
    inside = last >= distance
    if inside.any():
        early_time, early_speed = _in_step(pushed, distance)
        time, speed = np.where(inside, early_time, time), np.where(inside, early_speed, speed)
    return time, speed


def _in_step(pushed: _Pushed, distance: float) -> tuple[Array, Array]:
    """Time and speed where the cubic through places and speeds of a step's ends meets a place."""
    column = np.arange(pushed.place.shape[1])
    after = np.maximum((pushed.place >= distance).argmax(axis=0), 1)
    x0, x1 = pushed.place[after - 1, column], pushed.place[after, column]
    h = pushed.time[after, column] - pushed.time[after - 1, column]
    h = np.where(h > 0.0, h, 1.0)
    d0, d1 = pushed.speed[after - 1, column] * h, pushed.speed[after, column] * h
    rise = x1 - x0
    b, a = 3.0 * rise - 2.0 * d0 - d1, d0 + d1 - 2.0 * rise
    share = np.clip((distance - x0) / np.where(rise > 0.0, rise, 1.0), 0.0, 1.0)
    for _ in range(8):
        slope = d0 + share * (2.0 * b + share * 3.0 * a)
        miss = share * (d0 + share * (b + share * a)) - (distance - x0)
        share = np.clip(share - miss / np.where(np.abs(slope) > _TINY, slope, 1.0), 0.0, 1.0)
    speed = (d0 + share * (2.0 * b + share * 3.0 * a)) / h
    return pushed.time[after - 1, column] + share * h, speed


def coast_speed_squared(speed: Array, drag: Array, resist: Array, length: Array) -> Array:
    """v² after coasting a way: v dv/dx = −(resist + drag v²); negative where the car stops before.

    v² = (v0² + resist/drag) exp(−2 drag x) − resist/drag, written so that no drag at all is no trouble.
    """
    fall = -np.expm1(-2.0 * drag * length)
    ratio = np.where(drag * length > _TINY, fall / np.maximum(drag, _TINY * _TINY), 2.0 * length)
    return np.asarray(speed**2 - speed**2 * fall - resist * ratio)


def coast_time(speed: Array, after: Array, drag: Array, resist: Array, length: Array) -> Array:
    """Time to slow down from one speed to another while coasting `length`.

    t = atan(y) / sqrt(resist drag) with y = sqrt(resist drag) (v0 − v) / (resist + drag v0 v): the closed
    form of dv/dt = −(resist + drag v²).
    """
    slowing = resist + drag * speed * after
    y = np.sqrt(resist * drag) * (speed - after) / np.maximum(slowing, _TINY)
    bend = np.where(y > 1e-8, np.arctan(y) / np.maximum(y, _TINY), 1.0)
    by_speed = (speed - after) / np.maximum(slowing, _TINY) * bend
    even = length / np.maximum(0.5 * (speed + after), _LEAST_SPEED)
    return np.asarray(np.where(slowing * length > 1e-9 * speed * speed, by_speed, even))


def _coast_length(speed: Array, drag: Array, resist: Array) -> Array:
    """How far a car coasts until it stops: ln(1 + drag v²/resist) / (2 drag)."""
    energy = 0.5 * speed * speed
    held = np.maximum(resist, _TINY)
    ratio = 2.0 * drag * energy / held
    bend = np.where(ratio > 1e-9, np.log1p(ratio) / np.maximum(ratio, _TINY), 1.0)
    return np.asarray(energy / held * bend)

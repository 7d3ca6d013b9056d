"""Measures of the outlines themselves: what a blade has to follow."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from bodyshop.car.assembly import Car
from bodyshop.car.measures.catalogue import NotKnown, QuantityKind, Reading, measure
from bodyshop.foundation.place import Place, Point3, View
from bodyshop.geometry.outlines import Arc, Cubic, Curve, Line, Point, Ring

__all__ = ["hollow_bends", "hollow_corners"]

# Two edges that meet within this of straight make no corner for a blade.
CORNER_RAD = math.radians(3)
SAMPLES, ZOOMS = 65, 3


@measure(
    "body.least_hollow_radius",
    "tightest inside curve",
    between=("centre of the curve", "the outline"),
    more="open out the tightest inside curve",
    less="tighten the inside curve",
    drivers=("profile.points", "plan.points"),
)
def least_hollow_radius(car: Car) -> Reading | NotKnown:
    """Radius of the tightest inside (hollow) curve of the outer outlines, seen from the side or from above:
    a saw blade must be able to turn in it. Corners are counted apart.
    """
    return _tightest((car.body.profile.outer,), (car.body.plan.outer,))


@measure(
    "windows.least_radius",
    "tightest curve of a window",
    between=("centre of the curve", "edge of the window"),
    more="round the corners of the window more",
    less="round the corners of the window less",
    drivers=("profile.window", "plan.window"),
)
def least_window_radius(car: Car) -> Reading | NotKnown:
    """Radius of the tightest curve of any window, which the blade turns in from inside."""
    side, top = car.body.profile.windows, car.body.plan.windows
    if not side and not top:
        return NotKnown("there is no window", absent=True)
    return _tightest(side, top)


@measure(
    "body.hollow_corners",
    "inside corners",
    QuantityKind.COUNT,
    less="round the inside corners",
    drivers=("profile.points", "plan.points"),
)
def inside_corners(car: Car) -> Reading | NotKnown:
    """How many sharp inside (hollow) corners the outer outlines have: each is sawn by two cuts that meet."""
    spots: list[tuple[View, Point]] = [(View.SIDE, p) for p in hollow_corners(car.body.profile.outer)]
    spots += [(View.TOP, p) for p in hollow_corners(car.body.plan.outer)]
    place = _place(*spots[0], "the first inside corner") if spots else None
    return Reading(float(len(spots)), place)


@measure(
    "windows.count",
    "windows",
    QuantityKind.COUNT,
    less="leave a window out",
    drivers=("profile.window", "plan.window"),
)
def window_count(car: Car) -> Reading | NotKnown:
    """How many windows are cut through the body, from the side and from above together."""
    return Reading(float(len(car.body.profile.windows) + len(car.body.plan.windows)), None)


def hollow_bends(ring: Ring) -> Iterator[tuple[float, Point]]:
    """Radius (mm) and place of the tightest hollow bend of each curve that has one; wood is on the left."""
    for curve in ring.curves:
        found = _tightest_bend(curve)
        if found is not None:
            yield found


def hollow_corners(ring: Ring) -> list[Point]:
    """Where two curves of a ring meet in an inside corner."""
    corners = []
    for before, after in zip((ring.curves[-1], *ring.curves[:-1]), ring.curves, strict=True):
        u, v = before.direction(1.0), after.direction(0.0)
        turn = math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])
        if turn < -CORNER_RAD:
            corners.append(after.p0)
    return corners


def _tightest_bend(curve: Curve) -> tuple[float, Point] | None:
    match curve:
        case Line():
            return None
        case Arc():
            return (curve.radius, _at(curve, 0.5)) if curve.sweep < 0 else None
        case Cubic():
            return _tightest_of_cubic(curve)


def _tightest_of_cubic(curve: Cubic) -> tuple[float, Point] | None:
    (_, a1, a2, a3), (_, b1, b2, b3) = curve.power()
    low, high = 0.0, 1.0
    bend, t = 0.0, 0.5
    for _ in range(ZOOMS):
        s = np.linspace(low, high, SAMPLES)
        du, dv = (3 * a3 * s + 2 * a2) * s + a1, (3 * b3 * s + 2 * b2) * s + b1
        ddu, ddv = 6 * a3 * s + 2 * a2, 6 * b3 * s + 2 * b2
        speed = np.maximum(np.hypot(du, dv), 1e-9)
        bends = (du * ddv - dv * ddu) / speed**3
        at = int(np.argmin(bends))
        bend, t = float(bends[at]), float(s[at])
        low, high = float(s[max(at - 1, 0)]), float(s[min(at + 1, SAMPLES - 1)])
    return (-1 / bend, _at(curve, t)) if bend < -1e-9 else None


def _at(curve: Curve, t: float) -> Point:
    u, v = curve.at(np.array([t]))[0]
    return (float(u), float(v))


def _tightest(side: tuple[Ring, ...], top: tuple[Ring, ...]) -> Reading | NotKnown:
    found = [(r, View.SIDE, p) for ring in side for r, p in hollow_bends(ring)]
    found += [(r, View.TOP, p) for ring in top for r, p in hollow_bends(ring)]
    if not found:
        return NotKnown("no curve bends inwards", absent=True)
    radius, view, spot = min(found, key=lambda f: f[0])
    word = "side view" if view is View.SIDE else "top view"
    return Reading(radius, _place(view, spot, f"{word}, x = {spot[0]:.0f} mm"))


def _place(view: View, spot: Point, label: str) -> Place:
    point: Point3 = (spot[0], 0.0, spot[1]) if view is View.SIDE else (spot[0], spot[1], 0.0)
    return Place(view, (point,), label)

"""Rounded corners: an arc of a radius laid tangent to the two curves that meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from bodyshop.geometry.outlines.curves import SAME_POINT_MM, Arc, Cubic, Curve, Line, Point

__all__ = ["Corner", "round_corners"]

# Edges that meet more nearly straight than this need no rounding.
STRAIGHT_RAD = 1e-6
# Neither does a corner whose arc would be shorter than this, mm.
SHORTEST_ARC_MM = 1e-5
# Curves shorter than this share of themselves, or than one point is wide, are dropped after trimming.
EMPTY = 1e-9


@dataclass(frozen=True, slots=True)
class Corner:
    """The rounding asked for where a curve starts, and the vertex it belongs to."""

    radius_mm: float
    vertex: int


@dataclass(frozen=True, slots=True)
class _Fillet:
    arc: Arc
    t_in: float  # where the arriving curve stops
    t_out: float  # where the leaving curve starts


def round_corners(
    curves: Sequence[Curve], owners: Sequence[int], corners: Sequence[Corner]
) -> tuple[list[Curve], list[int], dict[Corner, float]]:
    """Lay the arcs and trim the curves. `corners[i]` is the corner at which `curves[i]` starts.

    Returns the new closed chain, its owners, and for every corner that cannot be had a radius (mm): with
    all of these, in whole hundredths of a millimetre, the outline can be made.
    """
    count = len(curves)
    fillets = _fillets(curves, _wanted(curves, corners))
    if fillets is None:
        failures: dict[Corner, float] = {}
        for corner, radius in zip(corners, _that_fit(curves, corners), strict=True):
            if radius < corner.radius_mm:
                failures[corner] = min(failures.get(corner, math.inf), radius)
        return [], [], failures
    out: list[Curve] = []
    owner_of: list[int] = []
    for i, curve in enumerate(curves):
        start, end = fillets[i], fillets[(i + 1) % count]
        if start:
            out.append(start.arc)
            owner_of.append(corners[i].vertex)
        t0, t1 = (start.t_out if start else 0.0), (end.t_in if end else 1.0)
        if t1 - t0 > EMPTY and (t1 - t0) * curve.length > SAME_POINT_MM:
            piece = curve.part(t0, t1)
            out.append(piece)
            owner_of.append(owners[i])
    return _joined(out), owner_of, {}


def _turn(a: Curve, b: Curve) -> float:
    """Angle turned at the corner, rad, positive to the left."""
    u, v = a.direction(1.0), b.direction(0.0)
    return math.atan2(u[0] * v[1] - u[1] * v[0], u[0] * v[0] + u[1] * v[1])


def _fillet(a: Curve, b: Curve, radius: float) -> _Fillet | None:
    """The arc tangent to the end of `a` and the start of `b`; None when they are too short for it.

    The centre lies at `radius` from both: A(s) + r n_A(s) = B(t) + r n_B(t), solved by Newton from the
    answer for the two tangent lines.
    """
    turn = _turn(a, b)
    side = math.copysign(1.0, turn)
    setback = radius * math.tan(min(abs(turn), math.pi - 1e-6) / 2)
    s = 1 - setback / a.length
    t = setback / b.length
    if not (isinstance(a, Line) and isinstance(b, Line)):
        found = _newton(a, b, radius * side, max(s, 0.02), min(t, 0.98))
        if found is None:
            return None
        s, t = found
    if s < -1e-9 or t > 1 + 1e-9 or s > 1 or t < 0:
        return None
    s, t = max(s, 0.0), min(t, 1.0)
    p, q = _point(a, s), _point(b, t)
    u = a.direction(s)
    centre = (p[0] - side * radius * u[1], p[1] + side * radius * u[0])
    start = math.atan2(p[1] - centre[1], p[0] - centre[0])
    end = math.atan2(q[1] - centre[1], q[0] - centre[0])
    sweep = (end - start) % (2 * math.pi) if side > 0 else -((start - end) % (2 * math.pi))
    if abs(sweep) > math.pi:
        return None
    return _Fillet(Arc(centre, radius, start, sweep, p, q), s, t)


def _newton(a: Curve, b: Curve, offset: float, s: float, t: float) -> tuple[float, float] | None:
    for _ in range(40):
        pa, pb = _point(a, s), _point(b, t)
        ua, ub = a.direction(s), b.direction(t)
        fx = pa[0] - offset * ua[1] - pb[0] + offset * ub[1]
        fy = pa[1] + offset * ua[0] - pb[1] - offset * ub[0]
        if math.hypot(fx, fy) < 1e-12 * (1 + abs(offset)):
            return s, t
        # d/ds of the offset curve is the tangent shortened by (1 - offset * curvature).
        ka = _speed(a, s) * (1 - offset * a.curvature(s))
        kb = _speed(b, t) * (1 - offset * b.curvature(t))
        a11, a21, a12, a22 = ka * ua[0], ka * ua[1], -kb * ub[0], -kb * ub[1]
        det = a11 * a22 - a12 * a21
        if abs(det) < 1e-14:
            return None
        ds, dt = (-fx * a22 + fy * a12) / det, (-fy * a11 + fx * a21) / det
        limit = max(abs(ds), abs(dt), 0.25) / 0.25
        s, t = s + ds / limit, t + dt / limit
        if not (-1 < s < 2 and -1 < t < 2):
            return None
    return None


def _fillets(curves: Sequence[Curve], radii: Sequence[float]) -> list[_Fillet | None] | None:
    """The arc at the start of each curve; None when one of them does not fit, alone or with the next."""
    found: list[_Fillet | None] = []
    for i, radius in enumerate(radii):
        fillet = _fillet(curves[i - 1], curves[i], radius) if radius > 0 else None
        if radius > 0 and fillet is None:
            return None
        found.append(fillet)
    return found if all(_share(found, i) >= 1 for i in range(len(found))) else None


def _share(fillets: Sequence[_Fillet | None], i: int) -> float:
    """By how much both roundings of curve i must shrink to find room on it; 1 where they do."""
    start, end = fillets[i], fillets[(i + 1) % len(fillets)]
    if start and end and start.t_out > end.t_in + 1e-9:
        return 1 / (start.t_out + 1 - end.t_in)
    return 1.0


def _that_fit(curves: Sequence[Curve], corners: Sequence[Corner]) -> list[float]:
    """Radii no larger than those asked for that fit together: where two want more than the length of
    their edge, both shrink in proportion.
    """
    asked = _wanted(curves, corners)
    radii = asked
    for _ in range(60):
        fillets = [_fillet(curves[i - 1], curves[i], r) if r > 0 else None for i, r in enumerate(radii)]
        shrunk = list(radii)
        for i, radius in enumerate(radii):
            if radius > 0 and fillets[i] is None:
                shrunk[i] = _rounded_down(_largest(curves[i - 1], curves[i], radius), radius)
            share = min(_share(fillets, i - 1), _share(fillets, i))
            if share < 1:
                shrunk[i] = _rounded_down(radius * share, radius)
        if shrunk == radii:
            break
        radii = shrunk
    return [r if a > 0 else c.radius_mm for r, a, c in zip(radii, asked, corners, strict=True)]


def _rounded_down(radius: float, less_than: float) -> float:
    """A radius as it is told: a whole hundredth, not above what was found, and less than it was."""
    near = round(radius, 2)
    told = near if abs(near - radius) < 1e-6 else math.floor(radius * 100) / 100
    return told if told < less_than else max(math.ceil(less_than * 100 - 1) / 100, 0.0)


def _wanted(curves: Sequence[Curve], corners: Sequence[Corner]) -> list[float]:
    """The radius of each corner; 0 for one that needs no arc, or has room for none that could be seen."""
    radii = []
    for i, corner in enumerate(corners):
        radius = corner.radius_mm
        turn = abs(_turn(curves[i - 1], curves[i])) if radius > 0 else 0.0
        radii.append(radius if turn >= STRAIGHT_RAD and radius * turn >= SHORTEST_ARC_MM else 0.0)
    return radii


def _largest(a: Curve, b: Curve, too_big: float) -> float:
    lo, hi = 0.0, too_big
    for _ in range(50):
        mid = (lo + hi) / 2
        lo, hi = (mid, hi) if _fillet(a, b, mid) else (lo, mid)
    return lo


def _point(curve: Curve, t: float) -> Point:
    # In plain floats, as there is one point: the same sums as in `Curve.at`.
    match curve:
        case Line(p0, p1):
            return (p0[0] + t * (p1[0] - p0[0]), p0[1] + t * (p1[1] - p0[1]))
        case Arc(centre=centre, radius=radius, start=start, sweep=sweep):
            angle = start + t * sweep
            return (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))
        case Cubic():
            (a0, a1, a2, a3), (b0, b1, b2, b3) = curve.power()
            return (((a3 * t + a2) * t + a1) * t + a0, ((b3 * t + b2) * t + b1) * t + b0)


def _speed(curve: Curve, t: float) -> float:
    match curve:
        case Line():
            return curve.length
        case Arc(radius=radius, sweep=sweep):
            return abs(radius * sweep)
        case _:
            h = 1e-6
            p, q = curve.at(np.array([t - h, t + h]))
            return float(math.hypot(*(q - p)) / (2 * h))


def _joined(curves: list[Curve]) -> list[Curve]:
    """Make each curve start exactly where the one before it ends, against rounding error."""
    return [_from(curve, curves[i - 1].p1) for i, curve in enumerate(curves)]


def _from(curve: Curve, p0: Point) -> Curve:
    match curve:
        case Line():
            return Line(p0, curve.p1)
        case Arc():
            return Arc(curve.centre, curve.radius, curve.start, curve.sweep, p0, curve.p1)
        case Cubic():
            return Cubic(p0, curve.c1, curve.c2, curve.p1)

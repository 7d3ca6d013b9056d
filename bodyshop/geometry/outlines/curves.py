"""Pieces of an outline: lines, arcs and cubics, each with its exact measures, and many of them as arrays."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Arc",
    "Array",
    "Cubic",
    "Curve",
    "CurveTable",
    "Line",
    "Point",
    "arc_through",
    "arc_with_radius",
    "dist",
]


Point = tuple[float, float]
Array = NDArray[np.float64]

# Two points nearer than this (mm) are one point: far below what wood or paper can show.
SAME_POINT_MM = 1e-7

# An arc of a larger radius (mm) is straight: over a foot it strays 0.1 µm from its chord, and further out
# the rounding of floats is coarser than that.
STRAIGHT_RADIUS_MM = 1e8


def dist(a: Point, b: Point) -> float:
    """Distance between two points, mm."""
    return math.hypot(b[0] - a[0], b[1] - a[1])


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line from `p0` to `p1`."""

    p0: Point
    p1: Point

    def at(self, t: Array) -> Array:
        """Points at parameters `t`, shape (n, 2)."""
        return _columns(
            self.p0[0] + t * (self.p1[0] - self.p0[0]), self.p0[1] + t * (self.p1[1] - self.p0[1])
        )

    def direction(self, t: float) -> Point:
        """Unit tangent at `t`."""
        return _unit((self.p1[0] - self.p0[0], self.p1[1] - self.p0[1]))

    def curvature(self, t: float) -> float:
        """Signed curvature at `t`, 1/mm; positive bends left."""
        return 0.0

    def reversed(self) -> Line:
        """The same curve run the other way."""
        return Line(self.p1, self.p0)

    def mirrored(self) -> Line:
        """The mirror image in v = 0, run the same way."""
        return Line(_flip(self.p0), _flip(self.p1))

    def part(self, t0: float, t1: float) -> Line:
        """The stretch from t0 to t1."""
        return Line(
            self.p0 if t0 == 0 else _mix(self.p0, self.p1, t0),
            self.p1 if t1 == 1 else _mix(self.p0, self.p1, t1),
        )

    def turning_points(self, axis: int) -> tuple[float, ...]:
        """Parameters strictly inside (0, 1) at which the coordinate `axis` turns round."""
        return ()

    def steps(self, chord_mm: float) -> int:
        """How many equal steps in t keep every chord within `chord_mm` of the curve."""
        return 1

    @property
    def length(self) -> float:
        """Arc length, mm."""
        return dist(self.p0, self.p1)


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc. `start` and `sweep` are in radians, `sweep` positive turning left.

    The end points are kept beside the circle so that a chain of curves closes exactly.
    """

    centre: Point
    radius: float
    start: float
    sweep: float
    p0: Point
    p1: Point

    def at(self, t: Array) -> Array:
        """Points at parameters `t`, shape (n, 2)."""
        angle = self.start + t * self.sweep
        return _columns(
            self.centre[0] + self.radius * np.cos(angle), self.centre[1] + self.radius * np.sin(angle)
        )

    def direction(self, t: float) -> Point:
        """Unit tangent at `t`."""
        angle = self.start + t * self.sweep
        side = math.copysign(1.0, self.sweep)
        return (-side * math.sin(angle), side * math.cos(angle))

    def curvature(self, t: float) -> float:
        """Signed curvature at `t`, 1/mm; positive bends left."""
        return math.copysign(1.0 / self.radius, self.sweep)

    def reversed(self) -> Arc:
        """The same curve run the other way."""
        return Arc(self.centre, self.radius, self.start + self.sweep, -self.sweep, self.p1, self.p0)

    def mirrored(self) -> Arc:
        """The mirror image in v = 0, run the same way."""
        return Arc(_flip(self.centre), self.radius, -self.start, -self.sweep, _flip(self.p0), _flip(self.p1))

    def part(self, t0: float, t1: float) -> Arc:
        """The stretch from t0 to t1."""
        return Arc(
            self.centre,
            self.radius,
            self.start + t0 * self.sweep,
            (t1 - t0) * self.sweep,
            self.p0 if t0 == 0 else self._point(t0),
            self.p1 if t1 == 1 else self._point(t1),
        )

    def turning_points(self, axis: int) -> tuple[float, ...]:
        """Parameters strictly inside (0, 1) at which the coordinate `axis` turns round."""
        # u turns where the radius is level (0, pi), v where it is upright (pi/2, 3 pi/2).
        base = 0.0 if axis == 0 else math.pi / 2
        lo, hi = sorted((self.start, self.start + self.sweep))
        first = math.ceil((lo - base) / math.pi)
        last = math.floor((hi - base) / math.pi)
        found = ((base + k * math.pi - self.start) / self.sweep for k in range(first, last + 1))
        return tuple(sorted(t for t in found if 1e-12 < t < 1 - 1e-12))

    def steps(self, chord_mm: float) -> int:
        """How many equal steps in t keep every chord within `chord_mm` of the curve."""
        if chord_mm >= self.radius:
            return max(1, math.ceil(abs(self.sweep) / (math.pi / 2)))
        # Sagitta of a chord: s = r (1 - cos(step / 2)).
        return max(1, math.ceil(abs(self.sweep) / (2 * math.acos(1 - chord_mm / self.radius))))

    @property
    def length(self) -> float:
        """Arc length, mm."""
        return abs(self.sweep) * self.radius

    def _point(self, t: float) -> Point:
        angle = self.start + t * self.sweep
        return (
            self.centre[0] + self.radius * math.cos(angle),
            self.centre[1] + self.radius * math.sin(angle),
        )


@dataclass(frozen=True, slots=True)
class Cubic:
    """A cubic Bézier curve with end points `p0`, `p1` and handles `c1`, `c2`."""

    p0: Point
    c1: Point
    c2: Point
    p1: Point

    def power(self) -> tuple[tuple[float, float, float, float], tuple[float, float, float, float]]:
        """Power-basis coefficients (constant first) of u(t) and v(t)."""
        return (
            _power(self.p0[0], self.c1[0], self.c2[0], self.p1[0]),
            _power(self.p0[1], self.c1[1], self.c2[1], self.p1[1]),
        )

    def at(self, t: Array) -> Array:
        """Points at parameters `t`, shape (n, 2)."""
        (a0, a1, a2, a3), (b0, b1, b2, b3) = self.power()
        return _columns(((a3 * t + a2) * t + a1) * t + a0, ((b3 * t + b2) * t + b1) * t + b0)

    def direction(self, t: float) -> Point:
        """Unit tangent at `t`; at a doubled end point, the limit from inside."""
        first = self._derivative(t)
        if math.hypot(*first) > 1e-9:
            return _unit(first)
        step = 1e-4 if t < 0.5 else -1e-4
        near = self._derivative(t + step)
        return _unit(near)

    def curvature(self, t: float) -> float:
        """Signed curvature at `t`, 1/mm; positive bends left."""
        dx, dy = self._derivative(t)
        speed = math.hypot(dx, dy)
        if speed < 1e-9:
            return 0.0
        (_, _, a2, a3), (_, _, b2, b3) = self.power()
        ddx, ddy = 2 * a2 + 6 * a3 * t, 2 * b2 + 6 * b3 * t
        return float((dx * ddy - dy * ddx) / speed**3)

    def reversed(self) -> Cubic:
        """The same curve run the other way."""
        return Cubic(self.p1, self.c2, self.c1, self.p0)

    def mirrored(self) -> Cubic:
        """The mirror image in v = 0, run the same way."""
        return Cubic(_flip(self.p0), _flip(self.c1), _flip(self.c2), _flip(self.p1))

    def part(self, t0: float, t1: float) -> Cubic:
        """The stretch from t0 to t1 (de Casteljau's subdivision)."""
        right = self if t0 == 0 else _split(self, t0)[1]
        if t1 == 1:
            return right
        return _split(right, (t1 - t0) / (1 - t0))[0]

    def turning_points(self, axis: int) -> tuple[float, ...]:
        """Parameters strictly inside (0, 1) at which the coordinate `axis` turns round."""
        _, a1, a2, a3 = self.power()[axis]
        a, b, c = 3 * a3, 2 * a2, a1
        scale = max(abs(a), abs(b), abs(c))
        if scale == 0:
            return ()
        roots: list[float]
        if abs(a) < 1e-12 * scale:
            roots = [] if abs(b) < 1e-12 * scale else [-c / b]
        else:
            disc = b * b - 4 * a * c
            if disc <= 0:
                # A double root only touches zero: the coordinate does not turn round there.
                return ()
            q = -0.5 * (b + math.copysign(math.sqrt(disc), b))
            roots = [q / a] + ([c / q] if q != 0 else [])
        return tuple(sorted(t for t in roots if 1e-9 < t < 1 - 1e-9))

    def steps(self, chord_mm: float) -> int:
        """How many equal steps in t keep every chord within `chord_mm` of the curve.

        Bound: a chord over a step h strays at most h^2/8 max|B''|, and |B''| <= 6 max second difference.
        """
        d1 = math.hypot(self.p0[0] - 2 * self.c1[0] + self.c2[0], self.p0[1] - 2 * self.c1[1] + self.c2[1])
        d2 = math.hypot(self.c1[0] - 2 * self.c2[0] + self.p1[0], self.c1[1] - 2 * self.c2[1] + self.p1[1])
        return max(1, math.ceil(math.sqrt(6 * max(d1, d2) / (8 * chord_mm))))

    @property
    def length(self) -> float:
        """Arc length, mm (Gauss-Legendre, 24 points)."""
        t, w = _gauss()
        (_, a1, a2, a3), (_, b1, b2, b3) = self.power()
        du = (3 * a3 * t + 2 * a2) * t + a1
        dv = (3 * b3 * t + 2 * b2) * t + b1
        return float(0.5 * np.sum(w * np.hypot(du, dv)))

    def _derivative(self, t: float) -> Point:
        (_, a1, a2, a3), (_, b1, b2, b3) = self.power()
        return ((3 * a3 * t + 2 * a2) * t + a1, (3 * b3 * t + 2 * b2) * t + b1)


Curve = Line | Arc | Cubic


def arc_through(p0: Point, through: Point, p1: Point) -> Arc | None:
    """The arc from p0 to p1 through a third point; None when the three lie on one line."""
    if min(dist(p0, through), dist(through, p1), dist(p0, p1)) < SAME_POINT_MM:
        return None
    ax, ay = through[0] - p0[0], through[1] - p0[1]
    bx, by = p1[0] - p0[0], p1[1] - p0[1]
    cross = ax * by - ay * bx
    if abs(cross) < 1e-9 * (1 + math.hypot(ax, ay) * math.hypot(bx, by)):
        return None
    a2, b2 = ax * ax + ay * ay, bx * bx + by * by
    centre = (p0[0] + (by * a2 - ay * b2) / (2 * cross), p0[1] + (ax * b2 - bx * a2) / (2 * cross))
    if dist(centre, p0) > STRAIGHT_RADIUS_MM:
        return None
    # The third point to the right of the chord means the arc turns left round the centre.
    return _arc(centre, p0, p1, left=cross > 0)


def arc_with_radius(p0: Point, p1: Point, radius: float, *, left: bool, long: bool = False) -> Arc | None:
    """The arc of a radius from p0 to p1, turning left or right; None when the points are too far apart.

    `long` takes the way round of more than half a turn.
    """
    chord = dist(p0, p1)
    half = chord / 2
    if chord < SAME_POINT_MM or radius < half * (1 - 1e-12):
        return None
    rise = math.sqrt(max(0.0, radius * radius - half * half))
    nx, ny = -(p1[1] - p0[1]) / chord, (p1[0] - p0[0]) / chord  # left of the chord
    side = (1.0 if left else -1.0) * (-1.0 if long else 1.0)
    mid = ((p0[0] + p1[0]) / 2, (p0[1] + p1[1]) / 2)
    return _arc((mid[0] + side * rise * nx, mid[1] + side * rise * ny), p0, p1, left=left)


def _arc(centre: Point, p0: Point, p1: Point, *, left: bool) -> Arc:
    start = math.atan2(p0[1] - centre[1], p0[0] - centre[0])
    end = math.atan2(p1[1] - centre[1], p1[0] - centre[0])
    sweep = (end - start) % (2 * math.pi)
    if not left:
        sweep -= 2 * math.pi
    return Arc(centre, dist(centre, p0), start, sweep, p0, p1)


@cache
def _gauss() -> tuple[Array, Array]:
    """Nodes in (0, 1) and weights of the 24-point Gauss-Legendre rule."""
    t, w = np.polynomial.legendre.leggauss(24)
    return 0.5 * (t + 1), w


def _columns(u: Array, v: Array) -> Array:
    out = np.empty((u.size, 2))
    out[:, 0] = u
    out[:, 1] = v
    return out


def _unit(v: Point) -> Point:
    size = math.hypot(*v)
    return (v[0] / size, v[1] / size) if size > 0 else (1.0, 0.0)


def _flip(p: Point) -> Point:
    return (p[0], -p[1])


def _mix(a: Point, b: Point, t: float) -> Point:
    return (a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]))


def _power(q0: float, q1: float, q2: float, q3: float) -> tuple[float, float, float, float]:
    return (q0, 3 * (q1 - q0), 3 * (q0 - 2 * q1 + q2), q3 - q0 + 3 * (q1 - q2))


def _split(curve: Cubic, t: float) -> tuple[Cubic, Cubic]:
    ab, bc, cd = _mix(curve.p0, curve.c1, t), _mix(curve.c1, curve.c2, t), _mix(curve.c2, curve.p1, t)
    abc, bcd = _mix(ab, bc, t), _mix(bc, cd, t)
    mid = _mix(abc, bcd, t)
    return Cubic(curve.p0, ab, abc, mid), Cubic(mid, bcd, cd, curve.p1)


Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class CurveTable:
    """A column a curve: for an arc its centre, radius, start and sweep; for a line or a cubic the power-basis
    coefficients of u and of v, four each.
    """

    arc: NDArray[np.bool_]
    rows: Array

    @classmethod
    def of(cls, curves: Sequence[Curve]) -> CurveTable:
        """The curves of a chain, in order."""
        rows: list[tuple[float, ...]] = []
        for curve in curves:
            match curve:
                case Line((u0, v0), (u1, v1)):
                    rows.append((u0, u1 - u0, 0.0, 0.0, v0, v1 - v0, 0.0, 0.0))
                case Arc(centre=(u, v), radius=radius, start=start, sweep=sweep):
                    rows.append((u, v, radius, start, sweep, 0.0, 0.0, 0.0))
                case _:
                    a, b = curve.power()
                    rows.append((*a, *b))
        return cls(np.array([isinstance(curve, Arc) for curve in curves]), np.array(rows).T)

    @classmethod
    def joined(cls, tables: Sequence[CurveTable]) -> CurveTable:
        """Several tables one after the other."""
        if len(tables) == 1:
            return tables[0]
        return cls(np.concatenate([t.arc for t in tables]), np.concatenate([t.rows for t in tables], axis=1))

    def at(self, curve: Ints, t: Array) -> tuple[Array, Array]:
        """(u, v) of curves at parameters; `curve` and `t` of one flat shape."""
        u, v = np.empty(t.size), np.empty(t.size)
        some, rest = self._kinds(curve)
        if some.size:
            x, y, radius, start, sweep, *_ = self.rows[:, curve[some]]
            angle = start + t[some] * sweep
            u[some], v[some] = x + radius * np.cos(angle), y + radius * np.sin(angle)
        if rest.size:
            a0, a1, a2, a3, b0, b1, b2, b3 = self.rows[:, curve[rest]]
            s = t[rest]
            u[rest], v[rest] = ((a3 * s + a2) * s + a1) * s + a0, ((b3 * s + b2) * s + b1) * s + b0
        return u, v

    def way(self, curve: Ints, t: Array) -> tuple[Array, Array]:
        """Unit tangents of curves at parameters, as (du, dv)."""
        u, v = np.empty(t.size), np.empty(t.size)
        some, rest = self._kinds(curve)
        if some.size:
            _, _, _, start, sweep, *_ = self.rows[:, curve[some]]
            angle, side = start + t[some] * sweep, np.sign(sweep)
            u[some], v[some] = -side * np.sin(angle), side * np.cos(angle)
        if rest.size:
            _, a1, a2, a3, _, b1, b2, b3 = self.rows[:, curve[rest]]
            # At a doubled end point the tangent is the limit from inside.
            s = np.minimum(np.maximum(t[rest], 1e-6), 1 - 1e-6)
            du, dv = (3 * a3 * s + 2 * a2) * s + a1, (3 * b3 * s + 2 * b2) * s + b1
            size = np.maximum(np.hypot(du, dv), 1e-300)
            u[rest], v[rest] = du / size, dv / size
        return u, v

    def at_and_way(self, curve: Ints, t: Array) -> tuple[Array, Array, Array, Array]:
        """(u, v, du, dv): what `at` and `way` give, in one go."""
        out = np.empty((4, t.size))
        some, rest = self._kinds(curve)
        if some.size:
            x, y, radius, start, sweep, *_ = self.rows[:, curve[some]]
            angle, side = start + t[some] * sweep, np.sign(sweep)
            cosine, sine = np.cos(angle), np.sin(angle)
            out[:, some] = (x + radius * cosine, y + radius * sine, -side * sine, side * cosine)
        if rest.size:
            a0, a1, a2, a3, b0, b1, b2, b3 = self.rows[:, curve[rest]]
            r = t[rest]
            s = np.minimum(np.maximum(r, 1e-6), 1 - 1e-6)
            du, dv = (3 * a3 * s + 2 * a2) * s + a1, (3 * b3 * s + 2 * b2) * s + b1
            size = np.maximum(np.hypot(du, dv), 1e-300)
            out[:, rest] = (
                ((a3 * r + a2) * r + a1) * r + a0,
                ((b3 * r + b2) * r + b1) * r + b0,
                du / size,
                dv / size,
            )
        return out[0], out[1], out[2], out[3]

    def _kinds(self, curve: Ints) -> tuple[Ints, Ints]:
        """Which of some curves are arcs, and which are not."""
        arc = self.arc[curve]
        return arc.nonzero()[0], (~arc).nonzero()[0]

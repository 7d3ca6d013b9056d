"""Many curves as arrays, evaluated all at once: a call for each curve would cost more than its points."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodyshop.outline.curves import Arc, Array, Curve, Line

__all__ = ["CurveTable"]

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

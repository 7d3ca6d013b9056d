"""Pieces of cross-sections: rectangles of wood, less what sanding took off the edges before they were cut.

The long edges are rounded while the body is whole; windows are cut afterwards. So a piece is a box less what
lies beyond the four quarter circles of the outer rectangle that it was cut from. Beside a window nothing of
that grows back: where the window reaches into a rounded edge the quarter circle simply ends at its wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bodyshop.car.body.x_profile import Ints
from bodyshop.geometry.outlines import Array

__all__ = ["CORNERS", "QUARTER", "STARTS", "Contour", "Rectangles", "Sides"]

CORNERS: tuple[tuple[int, int], ...] = ((-1, -1), (1, -1), (1, 1), (-1, 1))
"""The four corners of a rectangle as (side in y, side in z)."""

QUARTER = 0.5 * math.pi
STARTS = np.array([math.pi, 1.5 * math.pi, 0.0, 0.5 * math.pi])
"""The angle from y towards z at which the quarter circle of each of CORNERS starts, anticlockwise."""

Sides = tuple[Array, Array, Array, Array]
"""y0, y1, z0, z1."""

Picks = slice | int | Ints | NDArray[np.bool_]
Index = Picks | tuple[Picks, ...]
"""What picks entries out of arrays."""


@dataclass(frozen=True, slots=True)
class Contour:
    """The edge of each piece, anticlockwise in (y, z), as eight points and four arcs.

    `y`, `z` of the points, shape (8, ...): where the arc of corner 0 starts and ends, then corner 1's, and
    so on; straight between corners. `sweep`, shape (4, ...): how far each arc turns, from `start` on, about
    (`centre_y`, `centre_z`); 0 where a corner is square or none of its arc is left. A piece of which
    nothing is left has all its points in one.
    """

    y: Array
    z: Array
    start: Array
    sweep: Array
    centre_y: Array
    centre_z: Array

    @property
    def reach(self) -> tuple[Array, Array]:
        """Where each arc starts and ends, as angles out from its centre: 0 along y, a right angle along z."""
        turned = self.start - STARTS.reshape(4, *[1] * (self.start.ndim - 1))
        falls = np.array([sy * sz < 0 for sy, sz in CORNERS]).reshape(4, *[1] * (self.start.ndim - 1))
        first = np.where(falls, QUARTER - turned - self.sweep, turned)
        return first, first + self.sweep


@dataclass(frozen=True, slots=True)
class Rectangles:
    """Sections as arrays of one shape: one entry a piece and station, mm.

    `x` station; `y0 < y1`, `z0 < z1` the sides of the box; `outer` those of the rounded rectangle that it
    was cut from, or None where no piece is cut: then every box is its own; `radius` of the outer corners.
    """

    x: Array
    y0: Array
    y1: Array
    z0: Array
    z1: Array
    radius: Array
    outer: Sides | None = None

    @property
    def sides(self) -> Sides:
        """The four sides of the box."""
        return self.y0, self.y1, self.z0, self.z1

    @property
    def whole(self) -> Sides:
        """The four sides of the rounded rectangle."""
        return self.sides if self.outer is None else self.outer

    def only(self, pick: Index) -> Rectangles:
        """Some of the entries, by an index of arrays."""

        def of(side: Array) -> Array:
            return np.asarray(side[pick])

        def four(sides: Sides) -> Sides:
            y0, y1, z0, z1 = sides
            return of(y0), of(y1), of(z0), of(z1)

        outer = None if self.outer is None else four(self.outer)
        return Rectangles(of(self.x), *four(self.sides), of(self.radius), outer)

    def centres(self) -> tuple[Array, Array]:
        """Centres of the quarter circles of CORNERS, y and z, each of shape (4, ...)."""
        y0, y1, z0, z1 = self.whole
        left, right, low, high = y0 + self.radius, y1 - self.radius, z0 + self.radius, z1 - self.radius
        return np.stack((left, right, right, left)), np.stack((low, low, high, high))

    @property
    def rounded(self) -> NDArray[np.bool_]:
        """Which of CORNERS of the outer rectangle have their rounding reach into the piece, (4, ...)."""
        y0, y1, z0, z1 = self.whole
        left, right = self.y0 - y0 < self.radius, y1 - self.y1 < self.radius
        low, high = self.z0 - z0 < self.radius, z1 - self.z1 < self.radius
        return np.stack((left & low, right & low, right & high, left & high))

    def span(self, at: Array | float, *, across: bool) -> tuple[Array, Array]:
        """Where wood starts and ends along y at height `at` (`across`), or along z at offset `at`.

        Where there is none it ends before it starts, or both are 0.
        """
        lo, hi, end0, end1 = (
            (self.y0, self.y1, self.z0, self.z1) if across else (self.z0, self.z1, self.y0, self.y1)
        )
        inside = (at >= end0) & (at <= end1)
        rho = self.radius
        if np.any(rho):
            y0, y1, z0, z1 = self.whole
            first, last, low, high = (y0, y1, z0, z1) if across else (z0, z1, y0, y1)
            into = np.clip(np.maximum(low + rho - at, at - (high - rho)), 0.0, rho)
            gone = rho - np.sqrt(rho**2 - into**2)
            lo, hi = np.maximum(lo, first + gone), np.minimum(hi, last - gone)
        return np.where(inside, lo, 0.0), np.where(inside, hi, 0.0)

    def holds(self, y: Array | float, z: Array | float) -> NDArray[np.bool_]:
        """Which pieces have the point (y, z) inside them."""
        lo, hi = self.span(z, across=True)
        inside: NDArray[np.bool_] = (self.z0 < z) & (z < self.z1) & (lo < y) & (y < hi)
        return inside

    def local(self) -> tuple[Array, Array, Array, Array]:
        """The box from each corner's centre, in radii: out along y from and to, along z from and to.

        Shape (4, ...); out is away from the piece's middle, and 1 lies on the outer rectangle.
        """
        size = np.where(self.radius > 0, self.radius, np.inf)
        left, right, low, high = self.whole
        y0, y1, z0, z1 = self.sides
        # From the outer sides, so that what was never cut comes to 1 and not to nearly 1.
        from_left, to_left = (1 - (y - left) / size for y in (y1, y0))
        from_right, to_right = (1 - (right - y) / size for y in (y0, y1))
        from_low, to_low = (1 - (z - low) / size for z in (z1, z0))
        from_high, to_high = (1 - (high - z) / size for z in (z0, z1))
        return (
            np.stack((from_left, from_right, from_right, from_left)),
            np.stack((to_left, to_right, to_right, to_left)),
            np.stack((from_low, from_low, from_high, from_high)),
            np.stack((to_low, to_low, to_high, to_high)),
        )

    def contour(self) -> Contour:
        """The edge of each piece."""
        shape = (4, *self.y0.shape)
        starts = np.broadcast_to(STARTS.reshape(4, *[1] * self.y0.ndim), shape)
        cy, cz = self.centres()
        y0, y1, z0, z1 = self.sides
        if self.outer is None:
            y = np.stack((y0, cy[0], cy[1], y1, y1, cy[2], cy[3], y0))
            z = np.stack((cz[0], z0, z0, cz[1], cz[2], z1, z1, cz[3]))
            return Contour(y, z, starts, np.broadcast_to(QUARTER * (self.radius > 0), shape), cy, cz)
        p0, p1, q0, q1 = self.local()
        a0, a1, b0, b1 = (np.clip(v, 0.0, 1.0) for v in (p0, p1, q0, q1))
        # Angles from the y axis at which each arc comes into the box and goes out of it.
        first = np.maximum(np.arccos(a1), np.arcsin(b0))
        last = np.minimum(np.arcsin(b1), np.arccos(a0))
        round_ = (last > first) & (self.radius > 0)
        # The arc's end at the side of y, then at the side of z; a square corner has both in one.
        side_y = np.array([side for side, _ in CORNERS]).reshape(4, *[1] * self.y0.ndim)
        side_z = np.array([side for _, side in CORNERS]).reshape(4, *[1] * self.y0.ndim)
        square_y, square_z = np.stack((y0, y1, y1, y0)), np.stack((z0, z0, z1, z1))
        ends_y = [np.where(round_, cy + side_y * self.radius * np.cos(t), square_y) for t in (first, last)]
        ends_z = [np.where(round_, cz + side_z * self.radius * np.sin(t), square_z) for t in (first, last)]
        # What an arc cuts off may take the next corner with it: then that corner is the arc's own end.
        for c, (other, end) in enumerate(_NEXT):
            gone = round_[c] & (b0[c] > 0) & (a1[c] ** 2 + b0[c] ** 2 > 1)
            beside = round_[c] & (a0[c] > 0) & (a0[c] ** 2 + b1[c] ** 2 > 1)
            for neighbour, which, t in ((other, gone, 0), (end, beside, 1)):
                for k in (0, 1):
                    ends_y[k][neighbour] = np.where(which, ends_y[t][c], ends_y[k][neighbour])
                    ends_z[k][neighbour] = np.where(which, ends_z[t][c], ends_z[k][neighbour])
        y, z = np.empty((8, *self.y0.shape)), np.empty((8, *self.y0.shape))
        for c, (sy, sz) in enumerate(CORNERS):
            order = (0, 1) if sy * sz > 0 else (1, 0)
            for k in (0, 1):
                y[2 * c + k] = ends_y[order[k]][c]
                z[2 * c + k] = ends_z[order[k]][c]
        # A piece that is gone went last where it is nearest to the middle of the corner's circle.
        gone = (p0 > 0) & (q0 > 0) & (p0**2 + q0**2 >= 1)
        for c in range(4):
            y, z = np.where(gone[c], square_y[c - 2], y), np.where(gone[c], square_z[c - 2], z)
        empty = np.any(gone, axis=0)
        forward = np.array([sy * sz > 0 for sy, sz in CORNERS]).reshape(4, *[1] * self.y0.ndim)
        sweep = np.where(round_ & ~empty, last - first, 0.0)
        start = starts + np.where(forward, first, QUARTER - last)
        return Contour(y, z, start, sweep, cy, cz)

    @property
    def empty(self) -> NDArray[np.bool_]:
        """Pieces of which the rounding left nothing."""
        gone: NDArray[np.bool_] = (self.y1 <= self.y0) | (self.z1 <= self.z0)
        if self.outer is not None:
            p0, _, q0, _ = self.local()
            gone |= np.any((p0 > 0) & (q0 > 0) & (p0**2 + q0**2 >= 1), axis=0)
        return gone

    def ring(self, steps: int) -> Array:
        """Points round each piece, anticlockwise, `steps` along each arc: shape (..., 4 (steps + 1), 2)."""
        contour = self.contour()
        turn = np.linspace(0.0, 1.0, steps + 1).reshape(steps + 1, *[1] * self.y0.ndim)
        parts = []
        for c in range(4):
            angle = contour.start[c] + contour.sweep[c] * turn
            on = contour.sweep[c] > 0
            y = np.where(on, contour.centre_y[c] + self.radius * np.cos(angle), contour.y[2 * c])
            z = np.where(on, contour.centre_z[c] + self.radius * np.sin(angle), contour.z[2 * c])
            parts.append(np.stack((y, z), axis=-1))
        return np.moveaxis(np.concatenate(parts), 0, -2)


# For each corner the one across in z and the one across in y. Where the end of its arc at the side of y, or
# at that of z, cuts far into the box, it takes that corner with it.
_NEXT = ((3, 1), (2, 0), (1, 3), (0, 2))

"""Volume, centre and inertia by exact cross-sections, and in closed form what rounding takes off them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from bodyshop.car.body.rectangles import CORNERS, Rectangles
from bodyshop.car.body.section import Sections
from bodyshop.geometry.outlines import Array

__all__ = [
    "Moments",
    "Spandrel",
    "cylinder_moments",
    "section_area",
    "spandrel_area",
    "spandrels",
    "undrilled_moments",
]


# A square of side r less its quarter disc, from the disc's centre: area, first and second moments and the
# product of inertia over r^2, r^3, r^4, r^4. Closed forms from those of a quarter disc.
AREA, FIRST, SECOND, PRODUCT = 1 - math.pi / 4, 1 / 6, 1 / 3 - math.pi / 16, 1 / 8
QUARTER_LOSS = (AREA, FIRST, FIRST, SECOND, SECOND, PRODUCT)


@dataclass(frozen=True, slots=True)
class Spandrel:
    """Integrals of 1, y, z, y^2, z^2 and y z over what one corner of each piece has lost, mm^2 to mm^4."""

    area: Array
    y: Array
    z: Array
    yy: Array
    zz: Array
    yz: Array


def spandrels(r: Rectangles) -> Iterator[Spandrel]:
    """One for each corner; none where no corner is rounded."""
    if not np.any(r.radius):
        return
    rho = r.radius
    for (side_y, side_z), cy, cz, parts in zip(CORNERS, *r.centres(), _parts(r), strict=True):
        area, p, q, pp, qq, pq = parts
        area = area * rho**2
        p, q = side_y * p * rho**3, side_z * q * rho**3
        pp, qq, pq = pp * rho**4, qq * rho**4, side_y * side_z * pq * rho**4
        yield Spandrel(
            area,
            cy * area + p,
            cz * area + q,
            cy * (cy * area + 2 * p) + pp,
            cz * (cz * area + 2 * q) + qq,
            cy * cz * area + cy * q + cz * p + pq,
        )


def spandrel_area(r: Rectangles) -> Array:
    """Area that all corners of each piece have lost, mm^2."""
    share = 4 * AREA if r.outer is None else np.sum(_parts(r, 1)[:, 0], axis=0)
    return np.asarray(share * r.radius**2)


def _parts(r: Rectangles, count: int = 6) -> Array:
    """The first `count` moments of each corner's loss about its centre, at radius 1: (4, count, ...)."""
    if r.outer is None:
        return np.tile(np.array(QUARTER_LOSS[:count]), (4, 1))
    p0, p1, q0, q1 = np.clip(np.stack(r.local()), 0.0, 1.0)
    uncut = (p0 == 0) & (p1 == 1) & (q0 == 0) & (q1 == 1)
    found = np.zeros((count, *p0.shape))
    found[:, uncut] = np.array(QUARTER_LOSS[:count])[:, None]
    pick = ~uncut & (p1 > p0) & (q1 > q0) & (p1**2 + q1**2 > 1)
    if np.any(pick):
        p0, p1, q0, q1 = p0[pick], p1[pick], q0[pick], q1[pick]
        inside = _in_disc(p1, q1) - _in_disc(p0, q1) - _in_disc(p1, q0) + _in_disc(p0, q0)
        p = [p1**n - p0**n for n in (1, 2, 3)]
        q = [q1**n - q0**n for n in (1, 2, 3)]
        full = np.stack(
            (p[0] * q[0], p[1] * q[0] / 2, p[0] * q[1] / 2, p[2] * q[0] / 3, p[0] * q[2] / 3, p[1] * q[1] / 4)
        )
        found[:, pick] = (full - inside)[:count]
    return found.swapaxes(0, 1)


def _in_disc(p: Array, q: Array) -> Array:
    """Moments of the unit disc's part in [0, p] x [0, q]: of 1, p, q, p^2, q^2, p q. Integrated along p: the
    height is q as far as `a`, from there that of the circle.
    """
    a = np.minimum(p, np.sqrt(1 - q * q))

    def between(of: tuple[Array, ...], to: tuple[Array, ...]) -> list[Array]:
        return [end - start for start, end in zip(of, to, strict=True)]

    h0, h1, h2, h3, s0, s1 = between(_primitives(a), _primitives(p))
    return np.stack(
        (
            q * a + h0,
            q * a**2 / 2 + h1,
            (q**2 * a + s0) / 2,
            q * a**3 / 3 + h2,
            (q**3 * a + h3) / 3,
            (q**2 * a**2 / 2 + s1) / 2,
        )
    )


def _primitives(t: Array) -> tuple[Array, ...]:
    """Antiderivatives of h, t h, t^2 h, h^3, h^2 and t h^2, where h = sqrt(1 - t^2)."""
    h = np.sqrt(np.maximum(1 - t * t, 0.0))
    turn = np.arcsin(np.minimum(t, 1.0))
    area = 0.5 * (t * h + turn)
    return (
        area,
        -(h**3) / 3,
        (turn - t * h * (1 - 2 * t * t)) / 8,
        t * h**3 / 4 + 0.75 * area,
        t - t**3 / 3,
        t**2 / 2 - t**4 / 4,
    )


@dataclass(frozen=True, slots=True)
class Moments:
    """Integrals over a region of unit density: volume (mm^3), first (3,) mm^4, second (3, 3) mm^5."""

    volume: float
    first: Array
    second: Array

    def __add__(self, other: Moments) -> Moments:
        return Moments(self.volume + other.volume, self.first + other.first, self.second + other.second)

    def __sub__(self, other: Moments) -> Moments:
        return Moments(self.volume - other.volume, self.first - other.first, self.second - other.second)

    def scaled(self, density: float) -> Moments:
        """The same region with another density; with g/mm^3 the volume becomes a mass in g."""
        return Moments(self.volume * density, self.first * density, self.second * density)

    @property
    def centre(self) -> Array:
        """Centre of the region, (x, y, z) mm."""
        centre: Array = self.first / self.volume
        return centre

    @property
    def inertia(self) -> Array:
        """Inertia tensor about the centre, (3, 3), mm^5 at unit density (g mm^2 when scaled)."""
        about = self.second - np.outer(self.first, self.first) / self.volume
        tensor: Array = np.trace(about) * np.eye(3) - about
        return tensor


def section_area(r: Rectangles) -> Array:
    """Area of each rectangle, mm^2."""
    area: Array = (r.y1 - r.y0) * (r.z1 - r.z0) - spandrel_area(r)
    return area


def undrilled_moments(sections: Sections) -> Moments:
    """Moments of the body before drilling."""
    r, weight = sections.grid.r, sections.grid.weight
    w, h = r.y1 - r.y0, r.z1 - r.z0
    yc, zc = 0.5 * (r.y0 + r.y1), 0.5 * (r.z0 + r.z1)
    area = w * h
    sy, sz = area * yc, area * zc
    syy, szz, syz = area * (yc * yc + w * w / 12), area * (zc * zc + h * h / 12), area * yc * zc
    for gone in spandrels(r):
        area, sy, sz = area - gone.area, sy - gone.y, sz - gone.z
        syy, szz, syz = syy - gone.yy, szz - gone.zz, syz - gone.yz
    x = r.x
    terms = np.stack((area, x * area, sy, sz, x * x * area, syy, szz, x * sy, x * sz, syz))
    v, fx, fy, fz, xx, yy, zz, xy, xz, yz = np.sum(terms * weight, axis=(1, 2))
    second = np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
    return Moments(float(v), np.array([fx, fy, fz]), second)


def cylinder_moments(centre: Array, axis: Array, radius_mm: float, length_mm: float) -> Moments:
    """Moments of a solid cylinder: about its centre L^2/12 along the axis and R^2/4 across it."""
    volume = math.pi * radius_mm**2 * length_mm
    along = np.outer(axis, axis)
    second = volume * (
        length_mm**2 / 12 * along + radius_mm**2 / 4 * (np.eye(3) - along) + np.outer(centre, centre)
    )
    return Moments(volume, volume * centre, second)

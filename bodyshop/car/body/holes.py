"""The holes: bore, axle holes and screw-eye pilots as cylinders, and what they take out of the body.

Conventions: the bore runs from its mouth at the tail towards the nose, tilted in the x-z plane; an axle
hole runs straight across the body along y; a pilot hole stands upright from the underside. Each is a plain
cylinder with a flat end.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from bodyshop.car.body.moments import Moments, cylinder_moments
from bodyshop.car.body.rectangles import Rectangles
from bodyshop.car.body.section import Sections
from bodyshop.car.body.x_profile import Ints
from bodyshop.geometry.outlines import Array

__all__ = ["AxleHole", "BoreHole", "Hole", "PilotHole", "Cylinder", "removed_by_holes"]


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A solid cylinder in space: `start` and unit `axis` as (x, y, z) mm, radius and length mm."""

    start: Array
    axis: Array
    radius: float
    length: float


@dataclass(frozen=True, slots=True)
class BoreHole:
    """The cartridge hole: the centre of its mouth, radius, depth along the axis, tilt (rad).

    A positive tilt raises the blind end above the mouth.
    """

    x: float
    y: float
    z: float
    radius: float
    depth: float
    tilt: float = 0.0

    @property
    def axis(self) -> Array:
        """Unit vector from the mouth to the blind end."""
        return np.array([-math.cos(self.tilt), 0.0, math.sin(self.tilt)])

    @property
    def rod(self) -> Cylinder:
        """The bore as a cylinder."""
        return Cylinder(np.array([self.x, self.y, self.z]), self.axis, self.radius, self.depth)

    def point(self, along: float, up: float = 0.0) -> tuple[float, float]:
        """(x, z) of a point `along` the axis from the mouth and `up` square to it."""
        c, s = math.cos(self.tilt), math.sin(self.tilt)
        return (self.x - along * c + up * s, self.z + along * s + up * c)

    def along_and_up(self, x: Array, z: Array) -> tuple[Array, Array]:
        """The inverse of `point`, for arrays."""
        c, s = math.cos(self.tilt), math.sin(self.tilt)
        dx, dz = x - self.x, z - self.z
        return -dx * c + dz * s, dx * s + dz * c


@dataclass(frozen=True, slots=True)
class AxleHole:
    """A hole right across the body at (x, z)."""

    x: float
    z: float
    radius: float


@dataclass(frozen=True, slots=True)
class PilotHole:
    """An upright hole from the underside at (x, y), where the underside is `z`, going up by `depth`."""

    x: float
    y: float
    z: float
    radius: float
    depth: float


Hole = BoreHole | AxleHole | PilotHole

RADIAL, ANGULAR = 4, 8
ALONG, NEAR_MOUTH, UP = 200, 48, 48


def removed_by_holes(
    sections: Sections,
    bore: BoreHole | None,
    axle_holes: Sequence[AxleHole],
    pilots: Sequence[PilotHole],
    *,
    bore_enclosed: bool,
) -> Moments:
    """Moments of the wood that the holes take out of the undrilled body.

    A bore that is `bore_enclosed` (wood all round it, mouth in a flat upright tail) takes out its whole
    cylinder. Otherwise, and for every other hole, thin sticks of the hole are clipped to the body; wood
    that the bore or an axle hole took is not taken again. Two axle holes, or two pilots, that run into
    each other are counted apart.
    """
    total = Moments(0.0, np.zeros(3), np.zeros((3, 3)))
    if bore is not None:
        rod = bore.rod
        if bore_enclosed:
            centre = rod.start + 0.5 * rod.length * rod.axis
            total = total + cylinder_moments(centre, rod.axis, rod.radius, rod.length)
        else:
            total = total + _bore_sticks(sections, bore)
    across = _discs([h.x for h in axle_holes], [h.z for h in axle_holes], [h.radius for h in axle_holes])
    upright = _discs([p.x for p in pilots], [p.y for p in pilots], [p.radius for p in pilots])
    # One cut of the sections serves both, since a cut costs more than its stations.
    station, r = stacked(sections, np.concatenate((across[0], upright[0])))
    split = int(np.searchsorted(station, across[0].size))
    total = total + _axle_sticks(across, station[:split], r.only(slice(0, split)), bore)
    at = station[split:] - across[0].size
    return total + _pilot_sticks(upright, at, r.only(slice(split, None)), pilots, bore, axle_holes)


@lru_cache(maxsize=4)
def _unit_disc(radial: int, angular: int) -> tuple[Array, Array, Array]:
    """Nodes (a, b) and weights over a disc of radius 1: Gauss in r^2, even steps in angle."""
    t, w = np.polynomial.legendre.leggauss(radial)
    r = np.sqrt(0.5 * (t + 1))
    angle = 2 * math.pi * (np.arange(angular) + 0.5) / angular
    a, b = np.outer(r, np.cos(angle)).ravel(), np.outer(r, np.sin(angle)).ravel()
    return a, b, np.repeat(0.5 * w * math.pi / angular, angular)


Sticks = tuple[Array, Array, Array]
"""Where thin sticks stand, in the two coordinates square to them, and the area each stands for."""


def _discs(first: Sequence[float], second: Sequence[float], radius: Sequence[float]) -> Sticks:
    """Nodes and weights over several discs, one after the other."""
    a, b, w = _unit_disc(RADIAL, ANGULAR)
    r = np.array(radius)[:, None]
    return (
        (np.array(first)[:, None] + r * a).ravel(),
        (np.array(second)[:, None] + r * b).ravel(),
        (r * r * w).ravel(),
    )


def stacked(sections: Sections, x: Array) -> tuple[Ints, Rectangles]:
    """Every rectangle of the sections at stations `x`: which station each belongs to, and the rectangles.

    Stations off the body have none.
    """
    slab = sections.slab_of(x)
    first = sections.first_rectangle
    counts = (first[slab + 1] - first[slab]) * ((x >= sections.x_min) & (x <= sections.x_max))
    station = np.repeat(np.arange(x.size), counts)
    within = np.arange(station.size) - np.repeat(np.cumsum(counts) - counts, counts)
    return station, sections.rectangles(first[slab[station]] + within, x[station])


def _line_moments(
    fixed1: tuple[int, Array], fixed2: tuple[int, Array], along: int, lo: Array, hi: Array, weight: Array
) -> Moments:
    """Moments of sticks parallel to coordinate `along` from lo to hi, at two fixed coordinates."""
    length = np.maximum(hi - lo, 0.0) * weight
    middle = 0.5 * (lo + hi)
    r = np.zeros((3, lo.size))
    r[fixed1[0]], r[fixed2[0]], r[along] = fixed1[1], fixed2[1], middle
    second = (r * length) @ r.T
    second[along, along] += float(np.sum(length * (hi - lo) ** 2 / 12))
    return Moments(float(length.sum()), r @ length, second)


def _axle_sticks(sticks: Sticks, station: Ints, r: Rectangles, bore: BoreHole | None) -> Moments:
    x, z, weight = (column[station] for column in sticks)
    lo, hi = r.span(z, across=True)
    parts = _line_moments((0, x), (2, z), 1, lo, hi, weight)
    if bore is not None:
        half = _half_chord(bore, x, z)
        if np.any(half):
            lo, hi = np.maximum(lo, bore.y - half), np.minimum(hi, bore.y + half)
            parts = parts - _line_moments((0, x), (2, z), 1, lo, hi, weight)
    return parts


def _pilot_sticks(
    sticks: Sticks,
    station: Ints,
    r: Rectangles,
    pilots: Sequence[PilotHole],
    bore: BoreHole | None,
    axle_holes: Sequence[AxleHole],
) -> Moments:
    x, y, weight = (column[station] for column in sticks)
    pilot = station // (RADIAL * ANGULAR)
    floor = np.array([p.z for p in pilots])[pilot]
    top = np.array([p.z + p.depth for p in pilots])[pilot]
    lo, hi = r.span(y, across=False)
    # The drill starts where the underside is lowest within its width, never a hole's depth below.
    lo, hi = np.maximum(lo, floor - (top - floor)), np.minimum(hi, top)
    parts = _line_moments((0, x), (1, y), 2, lo, hi, weight)
    chords = [_upright_chord(bore, x, y)] if bore is not None else []
    for hole in axle_holes:
        half = np.sqrt(np.maximum(hole.radius**2 - (x - hole.x) ** 2, 0.0))
        chords.append((hole.z - half, hole.z + half))
    for low, high in chords:
        a, b = np.maximum(lo, low), np.minimum(hi, high)
        if np.any(b > a):
            parts = parts - _line_moments((0, x), (1, y), 2, a, b, weight)
    return parts


def _half_chord(bore: BoreHole, x: Array, z: Array) -> Array:
    """Half the bore's width in y at (x, z); 0 outside it."""
    along, up = bore.along_and_up(x, z)
    inside = (along >= 0) & (along <= bore.depth)
    return np.where(inside, np.sqrt(np.maximum(bore.radius**2 - up**2, 0.0)), 0.0)


def _upright_chord(bore: BoreHole, x: Array, y: Array) -> tuple[Array, Array]:
    """The stretch of z inside the bore at (x, y), its ends taken as upright; empty outside it."""
    half = np.sqrt(np.maximum(bore.radius**2 - (y - bore.y) ** 2, 0.0)) / math.cos(bore.tilt)
    along = (bore.x - x) / math.cos(bore.tilt)
    centre = bore.z + (bore.x - x) * math.tan(bore.tilt)
    half = np.where((along >= 0) & (along <= bore.depth), half, 0.0)
    return centre - half, centre + half


def _bore_sticks(sections: Sections, bore: BoreHole) -> Moments:
    """The bore clipped to the body: sticks across it, exact in y, by midpoints along it and up.

    They run on past the mouth, for a tail that slopes or bulges beyond the mouth's centre, and are closer
    where a flat tail cuts a tilted bore.
    """
    c, s = math.cos(bore.tilt), math.sin(bore.tilt)
    slant = bore.radius * abs(s) / c + 1e-6
    behind = min(3 * bore.radius, max(sections.x_max - bore.x, 0.0) / c + slant)
    ends = np.concatenate(
        (np.linspace(-behind, slant, NEAR_MOUTH + 1), np.linspace(slant, bore.depth, ALONG + 1)[1:])
    )
    along, step = 0.5 * (ends[1:] + ends[:-1]), np.diff(ends)
    # Even steps of an angle: the chord is then smooth in it, and the rule as good as exact.
    angle = math.pi * (np.arange(UP) + 0.5) / UP
    up, weight = bore.radius * np.cos(angle), bore.radius * np.sin(angle) * math.pi / UP
    x = (bore.x - along * c + up[:, None] * s).ravel()
    z = (bore.z + along * s + up[:, None] * c).ravel()
    half = np.repeat(bore.radius * np.sin(angle), along.size)
    station, r = stacked(sections, x)
    x, z, half, piece = x[station], z[station], half[station], np.outer(weight, step).ravel()[station]
    lo, hi = r.span(z, across=True)
    lo, hi = np.maximum(lo, bore.y - half), np.minimum(hi, bore.y + half)
    return _line_moments((0, x), (2, z), 1, lo, hi, piece)

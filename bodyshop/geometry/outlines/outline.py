"""Closed outlines: an outer ring of exact curves and the windows cut through it.

Terms: a ring is a closed chain of curves; the wood lies inside the outer ring and outside the windows.
The outer ring runs anticlockwise, windows clockwise, so the wood is always on the left.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.geometry.outlines.curves import Arc, Array, Cubic, Curve, CurveTable, Line, Point

__all__ = ["FINE_MM", "Outline", "OutlineFault", "Ring", "outline_faults"]

Ints = NDArray[np.int64]

FINE_MM = 0.001
"""Chord tolerance for distances: ten times finer than the 0.01 mm promised for walls."""

# Less than this is a line run to and fro. Halves of a figure of eight cancel out too, but not their hull.
NO_AREA_MM2 = 1e-6


@dataclass(frozen=True)
class Ring:
    """A closed chain of curves, each ending where the next starts.

    `owners[i]` is the vertex (counted from 0, as written in the file) whose edge or rounded corner
    `curves[i]` is.
    """

    curves: tuple[Curve, ...]
    owners: tuple[int, ...]

    @cached_property
    def area(self) -> float:
        """Signed area, mm^2, positive when anticlockwise: Green's theorem, exact for each kind of curve."""
        return sum(_area_under(curve) for curve in self.curves)

    def turned(self, *, left: bool) -> Ring:
        """The ring run anticlockwise (`left`) or clockwise."""
        if (self.area > 0) == left:
            return self
        return Ring(tuple(c.reversed() for c in reversed(self.curves)), tuple(reversed(self.owners)))

    def mirrored(self) -> Ring:
        """The mirror image in v = 0, with the wood still on the left."""
        return Ring(
            tuple(c.mirrored().reversed() for c in reversed(self.curves)), tuple(reversed(self.owners))
        )

    @cached_property
    def _cache(self) -> dict[float, tuple[Array, Ints]]:
        return {}

    def flattened(self, chord_mm: float) -> tuple[Array, Ints]:
        """The ring as points, shape (n, 2), the last joining the first, each chord within `chord_mm` of
        the curve; and for each point the index of the curve that leaves it.
        """
        found = self._cache.get(chord_mm)
        if found is None:
            found = self._cache[chord_mm] = self._flatten(chord_mm)
        return found

    def _flatten(self, chord_mm: float) -> tuple[Array, Ints]:
        counts = np.array([curve.steps(chord_mm) for curve in self.curves])
        index = np.repeat(np.arange(counts.size), counts)
        first = np.cumsum(counts) - counts
        t = (np.arange(index.size) - first[index]) / counts[index]
        points = np.empty((index.size, 2))
        points[:, 0], points[:, 1] = self.table.at(index, t)
        points[first] = [curve.p0 for curve in self.curves]
        return points, index

    @cached_property
    def table(self) -> CurveTable:
        """The curves as arrays."""
        return CurveTable.of(self.curves)


@dataclass(frozen=True)
class Outline:
    """An outer ring and the windows through it."""

    outer: Ring
    windows: tuple[Ring, ...] = ()

    @property
    def rings(self) -> tuple[Ring, ...]:
        """The outer ring, then the windows."""
        return (self.outer, *self.windows)

    @cached_property
    def area(self) -> float:
        """Area of wood, mm^2, exact."""
        return self.outer.area + sum(w.area for w in self.windows)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """(u min, v min, u max, v max), mm, exact."""
        places = [p for curve in self.outer.curves for p in _extremes(curve)]
        us, vs = [p[0] for p in places], [p[1] for p in places]
        return (min(us), min(vs), max(us), max(vs))

    def turns_between(self, u0: float, u1: float) -> list[float]:
        """Exact v at the ends and turning points of the outer ring's curves that have u0 <= u <= u1."""
        return [p[1] for curve in self.outer.curves for p in _extremes(curve) if u0 <= p[0] <= u1]

    def polygon(self, chord_mm: float = FINE_MM) -> shapely.Polygon:
        """The outline as a shapely polygon, within `chord_mm` of the curves."""
        return shapely.Polygon(
            self.outer.flattened(chord_mm)[0], [w.flattened(chord_mm)[0] for w in self.windows]
        )

    @cached_property
    def outer_line(self) -> shapely.LinearRing:
        """The outer ring as a line, within FINE_MM."""
        return shapely.LinearRing(self.outer.flattened(FINE_MM)[0])

    @cached_property
    def outer_block(self) -> shapely.Polygon:
        """All inside the outer ring, windows filled, within FINE_MM."""
        return shapely.Polygon(self.outer_line)

    @cached_property
    def block(self) -> shapely.Polygon:
        """The wood of the outline, windows left out, within FINE_MM."""
        return self.polygon() if self.windows else self.outer_block

    @cached_property
    def window_lines(self) -> tuple[shapely.LinearRing, ...]:
        """Each window's ring as a line, within FINE_MM."""
        return tuple(shapely.LinearRing(w.flattened(FINE_MM)[0]) for w in self.windows)


@dataclass(frozen=True, slots=True)
class OutlineFault:
    """An outline that cannot be cut: `ring` 0 is the outer one, windows count from 1; `vertex` is the one
    nearest the trouble; `spot` is the trouble itself.
    """

    code: str
    ring: int
    vertex: int
    message: str
    spot: Point
    expected: str = ""


def outline_faults(outline: Outline) -> list[OutlineFault]:
    """Crossings, windows outside the wood, windows that touch. Rings that cross hide later faults of
    the same ring.
    """
    faults: list[OutlineFault] = []
    good: list[tuple[int, shapely.Polygon]] = []
    for number, ring in enumerate(outline.rings):
        # As fine as everything is measured: what does not cross there is no polygon to stumble over later.
        points = ring.flattened(FINE_MM)[0]
        # Two points that a line runs to and back are no polygon.
        polygon = shapely.Polygon(points) if len(points) > 2 else shapely.Polygon()
        if abs(ring.area) < NO_AREA_MM2 and polygon.convex_hull.area < NO_AREA_MM2:
            faults.append(
                OutlineFault(
                    "no-area", number, 0, f"{_ring_name(number)} encloses no area", ring.curves[0].p0
                )
            )
        elif not polygon.is_valid:
            faults.append(_crossing(number, ring, polygon))
        else:
            good.append((number, polygon))
    outer = next((polygon for number, polygon in good if number == 0), None)
    windows = [(number, polygon) for number, polygon in good if number > 0]
    for i, (number, polygon) in enumerate(windows):
        ring = outline.rings[number]
        if outer is not None and not outer.contains_properly(polygon):
            rest = polygon.difference(outer) if not outer.contains(polygon) else polygon
            spot = _first_point(rest)
            faults.append(
                OutlineFault(
                    "window-outside",
                    number,
                    _owner_near(ring, spot),
                    f"{_ring_name(number)} reaches out of the wood",
                    spot,
                    "a window with wood all round it",
                )
            )
        for other, second in windows[:i]:
            if polygon.intersects(second):
                spot = _first_point(polygon.intersection(second))
                faults.append(
                    OutlineFault(
                        "windows-meet",
                        number,
                        _owner_near(ring, spot),
                        f"{_ring_name(number)} runs into window {other}",
                        spot,
                        "wood between two windows",
                    )
                )
    return faults


def _ring_name(number: int) -> str:
    return "the outline" if number == 0 else f"window {number}"


def _crossing(number: int, ring: Ring, polygon: shapely.Polygon) -> OutlineFault:
    words = shapely.is_valid_reason(polygon)
    spot = ring.curves[0].p0
    if "[" in words:
        numbers = words[words.index("[") + 1 : words.index("]")].split()
        spot = (float(numbers[0]), float(numbers[1]))
    return OutlineFault(
        "outline-crosses",
        number,
        _owner_near(ring, spot),
        f"{_ring_name(number)} crosses or touches itself near ({spot[0]:.1f}, {spot[1]:.1f}) mm",
        spot,
        "one closed line that never meets itself",
    )


def _owner_near(ring: Ring, spot: Point) -> int:
    points, index = ring.flattened(FINE_MM)
    ends = np.roll(points, -1, axis=0)
    lines = shapely.linestrings(np.stack((points, ends), axis=1))
    nearest = int(np.argmin(shapely.distance(lines, shapely.Point(spot))))
    return ring.owners[int(index[nearest])]


def _first_point(geometry: shapely.Geometry) -> Point:
    x, y = shapely.get_coordinates(geometry)[0]
    return (float(x), float(y))


def _extremes(curve: Curve) -> Sequence[Point]:
    places = [curve.p0, curve.p1]
    turns = [*curve.turning_points(0), *curve.turning_points(1)]
    if turns:
        places.extend((float(u), float(v)) for u, v in curve.at(np.array(turns)))
    return places


def _area_under(curve: Curve) -> float:
    """1/2 the integral of u dv - v du along the curve."""
    match curve:
        case Line((u0, v0), (u1, v1)):
            return 0.5 * (u0 * v1 - u1 * v0)
        case Arc(p0=(u0, v0), p1=(u1, v1), radius=r, sweep=s):
            # The chord, then the segment between chord and arc: s - sin s, by its series where s is small.
            over = s**3 / 6 * (1 - s * s / 20 * (1 - s * s / 42)) if abs(s) < 0.02 else s - math.sin(s)
            return 0.5 * (u0 * v1 - u1 * v0 + r * r * over)
        case Cubic():
            return _cubic_area(curve)


def _cubic_area(curve: Cubic) -> float:
    a, b = curve.power()
    total = 0.0
    for i in range(4):
        for j in range(1, 4):
            # u_i t^i * j v_j t^(j-1) - v_i t^i * j u_j t^(j-1), integrated over [0, 1].
            total += j * (a[i] * b[j] - b[i] * a[j]) / (i + j)
    return 0.5 * total

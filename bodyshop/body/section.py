"""What the two cuts leave in each cross-section: rectangles with rounded corners.

At a station x the profile leaves stretches of z and the plan stretches of y; the section is their
product, one rectangle for each pair. Where both edges that meet belong to the outer rings, the corner is
rounded by sanding: a quarter circle of the edge radius in the plane of the section, or half the
rectangle's shorter side where that is less. Edges of windows stay square.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from bodyshop.body.graph import SAME_X_MM, Bound, Graph, Intervals, Ints, slab_intervals
from bodyshop.outline import Array, Outline

__all__ = ["CORNERS", "BoundSections", "Grid", "Rectangles", "Sections"]

STATIONS = 14
"""Quadrature stations in a slab: 1e-10 relative on volumes of arcs and cubics (tests)."""

KINK_MM = 2.5
"""Edge radii up to this are spared the search for stations where a thin section limits them: such a kink
costs less than 1e-4 (tests)."""

APART_MM = 1e-6

CORNERS: tuple[tuple[int, int], ...] = ((-1, -1), (1, -1), (1, 1), (-1, 1))
"""The four corners of a rectangle as (side in y, side in z)."""


@dataclass(frozen=True, slots=True)
class Rectangles:
    """Sections as arrays of one shape: one entry a rectangle and station.

    `x` station; `y0 < y1`, `z0 < z1` its sides; `radius` of its corners; `rounded` shape (4, ...): which
    of CORNERS are rounded (1.0) or square (0.0). All mm.
    """

    x: Array
    y0: Array
    y1: Array
    z0: Array
    z1: Array
    radius: Array
    rounded: Array

    def part(self, pick: slice) -> Rectangles:
        """A stretch of one-dimensional entries."""
        return Rectangles(
            self.x[pick],
            self.y0[pick],
            self.y1[pick],
            self.z0[pick],
            self.z1[pick],
            self.radius[pick],
            self.rounded[:, pick],
        )


@dataclass(frozen=True, slots=True)
class Grid:
    """Rectangles at a fixed set of stations, shape (rectangles, stations): the first and last columns are
    the ends of each slab, with weight 0; the others carry the quadrature weights (mm). `which` is the
    rectangle's index; the slopes are those of its four sides against x.
    """

    r: Rectangles
    weight: Array
    which: Ints
    dy0: Array
    dy1: Array
    dz0: Array
    dz1: Array


@lru_cache(maxsize=1)
def grid_rule() -> tuple[Array, Array]:
    """Shares of a slab in [0, 1], both ends included, and weights that sum to nearly 1.

    With x = m - h cos(theta) and theta by Gauss-Legendre, the square roots of arcs and of rounded ends at
    both ends of a slab become smooth functions, so that the rule converges for all curves alike.
    """
    t, w = np.polynomial.legendre.leggauss(STATIONS)
    theta = 0.5 * math.pi * (t + 1)
    share = np.concatenate(([0.0], 0.5 * (1 - np.cos(theta)), [1.0]))
    weight = np.concatenate(([0.0], 0.25 * math.pi * w * np.sin(theta), [0.0]))
    return share, weight


class Sections:
    """All cross-sections of a body that is not yet drilled."""

    def __init__(self, profile: Outline, plan: Outline, edge_round_mm: float) -> None:
        self.profile = profile
        self.plan = plan
        self.edge_round_mm = edge_round_mm
        self.side = Graph(profile)
        self.top = Graph(plan)
        p, q = profile.bounds, plan.bounds
        self.x_min, self.x_max = max(p[0], q[0]), min(p[2], q[2])
        self._lay(self._breaks())
        if edge_round_mm > KINK_MM:
            kinks = self._kinks()
            if kinks.size:
                self._lay(np.sort(np.concatenate((self.breaks, kinks))))
                del self.__dict__["grid"]

    def _lay(self, breaks: Array) -> None:
        """Slabs between the breaks, and the rectangles of each."""
        self.breaks = breaks
        self.side_intervals = slab_intervals(self.side, self.breaks)
        self.top_intervals = slab_intervals(self.top, self.breaks)
        self.slab, self.of_side, self.of_top = _pairs(
            self.side_intervals, self.top_intervals, self.breaks.size - 1
        )
        s, t = self.side_intervals, self.top_intervals
        self.z_lower, self.z_upper = s.lower[self.of_side], s.upper[self.of_side]
        self.y_lower, self.y_upper = t.lower[self.of_top], t.upper[self.of_top]
        self.z_pieces = np.stack((self.z_lower, self.z_upper))
        self.y_pieces = np.stack((self.y_lower, self.y_upper))
        bottom, above = self.side.ring[self.z_lower] == 0, self.side.ring[self.z_upper] == 0
        left, right = self.top.ring[self.y_lower] == 0, self.top.ring[self.y_upper] == 0
        self.rounded = np.stack(
            [(right if sy > 0 else left) & (above if sz > 0 else bottom) for sy, sz in CORNERS]
        ).astype(np.float64)

    def _breaks(self) -> Array:
        ends = np.concatenate(
            [g.x0 for g in (self.side, self.top)]
            + [g.x1 for g in (self.side, self.top)]
            + [np.array([u.x for g in (self.side, self.top) for u in g.uprights])]
        )
        ends = np.sort(ends[(ends > self.x_min) & (ends < self.x_max)])
        ends = np.concatenate(([self.x_min], ends, [self.x_max]))
        keep = np.concatenate(([True], np.diff(ends) > SAME_X_MM))
        if not keep[-1]:  # keep the tail end itself
            keep[-1], keep[np.flatnonzero(keep)[-1]] = True, False
        return ends[keep]

    def _kinks(self) -> Array:
        """Where, inside slabs, the rounding starts to be limited by a thin section, or by its other side:
        quadrature wants no kink inside a slab.
        """
        r = self.grid.r
        row, column = np.nonzero(np.any(_limit_changes(r, self.edge_round_mm), axis=0))
        if not row.size:
            return np.empty(0)
        low, high = r.x[row, column], r.x[row, column + 1]
        bound = self.bind(row)
        start = _limits(bound.at(low), self.edge_round_mm)
        found = []
        for k in range(len(start)):
            a, b = low, high
            for _ in range(40):
                middle = 0.5 * (a + b)
                same = (_limits(bound.at(middle), self.edge_round_mm)[k] > 0) == (start[k] > 0)
                a, b = np.where(same, middle, a), np.where(same, b, middle)
            found.append(b[(b > low + SAME_X_MM) & (b < high - SAME_X_MM)])
        return _apart(np.concatenate(found), self.breaks)

    def bind(self, which: Ints) -> BoundSections:
        """Rectangles `which` (indices into `slab`), ready to be cut at stations of the same shape."""
        return BoundSections(self, which)

    def rectangles(self, which: Ints, x: Array) -> Rectangles:
        """Rectangles `which` at stations `x`; both of one shape."""
        return BoundSections(self, which).at(x)

    @cached_property
    def grid(self) -> Grid:
        """Every rectangle at the quadrature stations of its slab and at the slab's two ends."""
        share, weight = grid_rule()
        start = self.breaks[self.slab][:, None]
        width = np.diff(self.breaks)[self.slab][:, None]
        x = start + width * share
        # The ends themselves, not start + width, which can miss the piece by a rounding error.
        x[:, -1] = self.breaks[self.slab + 1]
        which = np.broadcast_to(np.arange(self.slab.size)[:, None], x.shape)
        bound = BoundSections(self, which)
        (z0, z1), (dz0, dz1) = bound.side.value_and_slope(x)
        (y0, y1), (dy0, dy1) = bound.top.value_and_slope(x)
        r = bound.rectangles(x, (y0, y1, z0, z1))
        return Grid(r, width * weight, which, dy0, dy1, dz0, dz1)

    def slab_of(self, x: Array) -> Ints:
        """The slab in which each station lies; a station on a break belongs to the slab tailward of it,
        the tail end to the last.
        """
        return np.clip(np.searchsorted(self.breaks, x, side="right") - 1, 0, self.breaks.size - 2)

    @cached_property
    def first_rectangle(self) -> Ints:
        """Where each slab's rectangles start in `slab`, with one more entry for the end."""
        return np.searchsorted(self.slab, np.arange(self.breaks.size))

    def at(self, x: float, *, ahead: bool = False) -> Rectangles:
        """The section at one station, one entry a rectangle. `ahead` takes the side towards the nose of a
        station where the section jumps.
        """
        found = self._cuts.get((x, ahead))
        if found is None:
            found = self._cuts[x, ahead] = self._cut(x, ahead=ahead)
        return found

    def _cut(self, x: float, *, ahead: bool) -> Rectangles:
        breaks = self._break_list
        slab = max(min(bisect_right(breaks, x) - 1, len(breaks) - 2), 0)
        column = 0 if x == breaks[slab] else -1 if x == breaks[slab + 1] else None
        if ahead and slab > 0 and column == 0:
            slab, column = slab - 1, -1
        start, stop = (int(i) for i in self.first_rectangle[slab : slab + 2])
        if column is not None:
            # The grid has the ends of every slab already.
            g = self.grid.r
            x_, y0, y1, z0, z1, radius = (
                side[start:stop, column] for side in (g.x, g.y0, g.y1, g.z0, g.z1, g.radius)
            )
            return Rectangles(x_, y0, y1, z0, z1, radius, g.rounded[:, start:stop, column])
        return self._cut_one(start, stop, x)

    def _cut_one(self, start: int, stop: int, x: float) -> Rectangles:
        """A few rectangles at one station, in plain floats: quicker than arrays of one."""
        z_pieces, y_pieces = self._piece_lists
        sides = [
            (
                self.top.value_at(y_pieces[0][i], x),
                self.top.value_at(y_pieces[1][i], x),
                self.side.value_at(z_pieces[0][i], x),
                self.side.value_at(z_pieces[1][i], x),
            )
            for i in range(start, stop)
        ]
        radius = [max(min(self.edge_round_mm, (y1 - y0) / 2, (z1 - z0) / 2), 0.0) for y0, y1, z0, z1 in sides]
        y0, y1, z0, z1 = np.array(sides).reshape(-1, 4).T
        return Rectangles(
            np.full(stop - start, x), y0, y1, z0, z1, np.array(radius), self.rounded[:, start:stop]
        )

    @cached_property
    def _piece_lists(self) -> tuple[list[list[int]], list[list[int]]]:
        return self.z_pieces.tolist(), self.y_pieces.tolist()

    @cached_property
    def _cuts(self) -> dict[tuple[float, bool], Rectangles]:
        return {}

    @cached_property
    def _break_list(self) -> list[float]:
        return [float(x) for x in self.breaks]


class BoundSections:
    """Some rectangles picked once and cut at many stations."""

    def __init__(self, sections: Sections, which: Ints) -> None:
        self.edge_round_mm = sections.edge_round_mm
        self.side: Bound = sections.side.bind(sections.z_pieces[:, which])
        self.top: Bound = sections.top.bind(sections.y_pieces[:, which])
        self.rounded = sections.rounded[:, which]

    def at(self, x: Array) -> Rectangles:
        """The rectangles at stations `x`."""
        z0, z1 = self.side.value(x)
        y0, y1 = self.top.value(x)
        return self.rectangles(x, (y0, y1, z0, z1))

    def slopes(self, x: Array) -> tuple[Array, Array, Array, Array]:
        """The slopes of y0, y1, z0 and z1 against x at stations `x`."""
        _, (dz0, dz1) = self.side.value_and_slope(x)
        _, (dy0, dy1) = self.top.value_and_slope(x)
        return dy0, dy1, dz0, dz1

    def rectangles(self, x: Array, sides: tuple[Array, Array, Array, Array]) -> Rectangles:
        """Rectangles from their sides (y0, y1, z0, z1)."""
        y0, y1, z0, z1 = sides
        radius = np.maximum(np.minimum(self.edge_round_mm, 0.5 * np.minimum(z1 - z0, y1 - y0)), 0.0)
        return Rectangles(x, y0, y1, z0, z1, radius, self.rounded)


def _limits(r: Rectangles, edge_round_mm: float) -> Array:
    """Three figures that change sign where the rounding changes its rule: width and height against twice
    the edge radius, and against each other where both are less. Shape (3, ...).
    """
    w, h = r.y1 - r.y0, r.z1 - r.z0
    both = np.maximum(w, h) < 2 * edge_round_mm
    return np.stack((w - 2 * edge_round_mm, h - 2 * edge_round_mm, np.where(both, w - h, 1.0)))


def _limit_changes(r: Rectangles, edge_round_mm: float) -> NDArray[np.bool_]:
    """Between which neighbouring columns of a grid one of `_limits` changes sign."""
    positive = _limits(r, edge_round_mm) > 0
    changed: NDArray[np.bool_] = positive[..., 1:] != positive[..., :-1]
    changed &= np.any(r.rounded[:, :, 1:] > 0, axis=0)
    return changed


def _apart(found: Array, breaks: Array) -> Array:
    """Those stations that are neither near a break nor near each other."""
    found = np.sort(found)
    near = np.searchsorted(breaks, found)
    gap = np.minimum(found - breaks[near - 1], breaks[np.minimum(near, breaks.size - 1)] - found)
    found = found[gap > APART_MM]
    return found[np.concatenate(([True], np.diff(found) > APART_MM))] if found.size else found


def _pairs(side: Intervals, top: Intervals, slabs: int) -> tuple[Ints, Ints, Ints]:
    """Every pair of a z stretch and a y stretch in the same slab, sorted by slab."""
    every = np.arange(slabs + 1)
    starts = np.searchsorted(top.slab, every)
    counts = np.diff(starts)[side.slab]
    of_side = np.repeat(np.arange(side.slab.size), counts)
    within = np.arange(of_side.size) - np.repeat(np.cumsum(counts) - counts, counts)
    of_top = starts[side.slab[of_side]] + within
    return side.slab[of_side], of_side, of_top

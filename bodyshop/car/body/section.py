"""What the two cuts leave in each cross-section: rectangles with rounded corners, and windows cut through.

At a station x the outer ring of the profile leaves stretches of z and that of the plan stretches of y: one
rectangle for each pair. Its four corners are rounded by sanding: a quarter circle of the edge radius in the
plane of the section, or half the rectangle's shorter side where that is less. Windows are cut afterwards, as
hands do it, so they part a rectangle into pieces and change no rounding; their own edges stay square. A slot
that is open at an end is part of the outer ring: each prong of a fork is rounded by itself.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from bodyshop.car.body.rectangles import Rectangles, Sides
from bodyshop.car.body.x_profile import SAME_X_MM, BoundPieces, Intervals, Ints, XProfile, slab_intervals
from bodyshop.geometry.outlines import Array, Outline

__all__ = ["BoundSections", "Grid", "Sections"]

STATIONS = 14
"""Quadrature stations in a slab: 1e-10 relative on volumes of arcs and cubics (tests)."""

KINK_MM = 2.5
"""Edge radii up to this are spared the search for stations where a thin section limits them: such a kink
costs less than 1e-4 (tests)."""

APART_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Grid:
    """Rectangles at a fixed set of stations, shape (rectangles, stations): the first and last columns are
    the ends of each slab, with weight 0; the others carry the quadrature weights (mm). `which` is the
    rectangle's index; the slopes are those of its four sides against x, `outer` those of `r.outer`.
    """

    r: Rectangles
    weight: Array
    which: Ints
    dy0: Array
    dy1: Array
    dz0: Array
    dz1: Array
    outer: Sides | None


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
        # Windows are cut out of rounded rectangles.
        self.cut_after = edge_round_mm > 0 and bool(profile.windows or plan.windows)
        self.side = XProfile(profile)
        self.top = XProfile(plan)
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
        if self.cut_after:
            self.z_pieces = np.stack(
                (*self.z_pieces, s.outer_lower[self.of_side], s.outer_upper[self.of_side])
            )
            self.y_pieces = np.stack((*self.y_pieces, t.outer_lower[self.of_top], t.outer_upper[self.of_top]))

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

    @property
    def forked(self) -> bool:
        """Some slab has more than one outer rectangle, windows apart."""
        pieces = set(
            zip(self.slab.tolist(), self.z_pieces[-2].tolist(), self.y_pieces[-2].tolist(), strict=True)
        )
        return len(pieces) > len(set(self.slab.tolist()))

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
        (z0, z1, *z), (dz0, dz1, *dz) = bound.side.value_and_slope(x)
        (y0, y1, *y), (dy0, dy1, *dy) = bound.top.value_and_slope(x)
        r = _rounded(x, (y0, y1, z0, z1), _four(y, z), self.edge_round_mm)
        return Grid(r, width * weight, which, dy0, dy1, dz0, dz1, _four(dy, dz))

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
            return self.grid.r.only((slice(start, stop), column))
        return self._cut_one(start, stop, x)

    def _cut_one(self, start: int, stop: int, x: float) -> Rectangles:
        """A few rectangles at one station, in plain floats: quicker than arrays of one."""
        z_pieces, y_pieces = self._piece_lists
        sides = [
            [self.top.value_at(pieces[i], x) for pieces in y_pieces]
            + [self.side.value_at(pieces[i], x) for pieces in z_pieces]
            for i in range(start, stop)
        ]
        n = len(y_pieces)
        columns = np.array(sides).reshape(stop - start, 2 * n).T
        box = columns[0], columns[1], columns[n], columns[n + 1]
        outer = (columns[2], columns[3], columns[6], columns[7]) if n == 4 else None
        return _rounded(np.full(stop - start, x), box, outer, self.edge_round_mm)

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
        self.side: BoundPieces = sections.side.bind(sections.z_pieces[:, which])
        self.top: BoundPieces = sections.top.bind(sections.y_pieces[:, which])

    def at(self, x: Array) -> Rectangles:
        """The rectangles at stations `x`."""
        z0, z1, *z = self.side.value(x)
        y0, y1, *y = self.top.value(x)
        return _rounded(x, (y0, y1, z0, z1), _four(y, z), self.edge_round_mm)

    def slopes(self, x: Array) -> tuple[Array, Array, Array, Array]:
        """The slopes of y0, y1, z0 and z1 against x at stations `x`."""
        _, (dz0, dz1, *_) = self.side.value_and_slope(x)
        _, (dy0, dy1, *_) = self.top.value_and_slope(x)
        return dy0, dy1, dz0, dz1


def _four(y: Sequence[Array], z: Sequence[Array]) -> Sides | None:
    """The sides of outer rectangles from what is left of a list, if anything is."""
    return (y[0], y[1], z[0], z[1]) if y else None


def _rounded(x: Array, box: Sides, outer: Sides | None, edge_round_mm: float) -> Rectangles:
    """Boxes cut from rounded rectangles: radius as wide as it goes on these."""
    y0, y1, z0, z1 = outer or box
    radius = np.maximum(np.minimum(edge_round_mm, 0.5 * np.minimum(z1 - z0, y1 - y0)), 0.0)
    return Rectangles(x, *box, radius, outer)


def _limits(r: Rectangles, edge_round_mm: float) -> Array:
    """Three figures that change sign where the rounding changes its rule: width and height against twice
    the edge radius, and against each other where both are less. Shape (3, ...).
    """
    y0, y1, z0, z1 = r.whole
    w, h = y1 - y0, z1 - z0
    both = np.maximum(w, h) < 2 * edge_round_mm
    return np.stack((w - 2 * edge_round_mm, h - 2 * edge_round_mm, np.where(both, w - h, 1.0)))


def _limit_changes(r: Rectangles, edge_round_mm: float) -> NDArray[np.bool_]:
    """Between which neighbouring columns of a grid one of `_limits` changes sign."""
    positive = _limits(r, edge_round_mm) > 0
    changed: NDArray[np.bool_] = positive[..., 1:] != positive[..., :-1]
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

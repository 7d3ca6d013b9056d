"""What the two cuts leave in each cross-section: rectangles with rounded corners.

At a station x the profile leaves stretches of z and the plan stretches of y; the section is their
product, one rectangle for each pair. Where both edges that meet belong to the outer rings, the corner is
rounded by sanding: a quarter circle of the edge radius in the plane of the section, or half the
rectangle's shorter side where that is less. Edges of windows stay square.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bodyshop.body.graph import SAME_X_MM, Graph, Intervals, Ints, slab_intervals
from bodyshop.outline import Array, Outline

__all__ = ["CORNERS", "Rectangles", "Sections"]

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
        self.breaks = self._breaks()
        self.side_intervals = slab_intervals(self.side, self.breaks)
        self.top_intervals = slab_intervals(self.top, self.breaks)
        self.slab, self.of_side, self.of_top = _pairs(
            self.side_intervals, self.top_intervals, self.breaks.size - 1
        )
        s, t = self.side_intervals, self.top_intervals
        self.z_lower, self.z_upper = s.lower[self.of_side], s.upper[self.of_side]
        self.y_lower, self.y_upper = t.lower[self.of_top], t.upper[self.of_top]
        bottom, above = self.side.ring[self.z_lower] == 0, self.side.ring[self.z_upper] == 0
        right, left = self.top.ring[self.y_lower] == 0, self.top.ring[self.y_upper] == 0
        self.rounded = np.stack(
            [(left if sy > 0 else right) & (above if sz > 0 else bottom) for sy, sz in CORNERS]
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

    def rectangles(self, which: Ints, x: Array) -> Rectangles:
        """Rectangle `which` (an index into `slab`) at stations `x`; both broadcast to one shape."""
        z0 = self.side.value(self.z_lower[which], x)
        z1 = self.side.value(self.z_upper[which], x)
        y0 = self.top.value(self.y_lower[which], x)
        y1 = self.top.value(self.y_upper[which], x)
        radius = np.minimum(self.edge_round_mm, 0.5 * np.minimum(z1 - z0, y1 - y0))
        rounded = self.rounded[:, which]
        shape = (4, *np.shape(z0))
        return Rectangles(
            np.broadcast_to(x, np.shape(z0)), y0, y1, z0, z1, np.maximum(radius, 0.0),
            np.broadcast_to(rounded, shape),
        )

    def slab_of(self, x: Array) -> Ints:
        """The slab in which each station lies; a station on a break belongs to the slab tailward of it,
        the tail end to the last."""
        return np.clip(np.searchsorted(self.breaks, x, side="right") - 1, 0, self.breaks.size - 2)

    @cached_property
    def first_rectangle(self) -> Ints:
        """Where each slab's rectangles start in `slab`, with one more entry for the end."""
        return np.searchsorted(self.slab, np.arange(self.breaks.size))

    def at(self, x: float, *, ahead: bool = False) -> Rectangles:
        """The section at one station, one entry a rectangle. `ahead` takes the side towards the nose of a
        station where the section jumps."""
        slab = int(self.slab_of(np.array([x]))[0])
        if ahead and slab > 0 and x <= self.breaks[slab]:
            slab -= 1
        start, stop = self.first_rectangle[slab], self.first_rectangle[slab + 1]
        return self.rectangles(np.arange(start, stop), np.full(stop - start, x))


def _pairs(side: Intervals, top: Intervals, slabs: int) -> tuple[Ints, Ints, Ints]:
    """Every pair of a z stretch and a y stretch in the same slab, sorted by slab."""
    every = np.arange(slabs + 1)
    starts = np.searchsorted(top.slab, every)
    counts = np.diff(starts)[side.slab]
    of_side = np.repeat(np.arange(side.slab.size), counts)
    within = np.arange(of_side.size) - np.repeat(np.cumsum(counts) - counts, counts)
    of_top = starts[side.slab[of_side]] + within
    return side.slab[of_side], of_side, of_top

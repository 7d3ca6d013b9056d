"""The body cut into stretches: lengths over which its cross-section is one rectangle that changes smoothly.

Terms: a run is a row of slabs through which one rectangle keeps its four pieces of curve; a stretch is a
part of a run over which the corner radius is smooth too. Each stretch carries its six functions of
length (x, the four sides, the radius) as B-splines on shared knots.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from bodyshop.car.body.section import Sections
from bodyshop.car.body.x_profile import SAME_X_MM as SAME_X
from bodyshop.car.body.x_profile import XProfile
from bodyshop.geometry.outlines import Array, Outline
from bodyshop.solids.errors import SolidError
from bodyshop.solids.splines import Fit, fit

__all__ = ["FIT_MM", "NEAR_MM", "RHO", "X", "Y0", "Y1", "Z0", "Z1", "BodySegment", "stretches"]

FIT_MM = 1e-6
"""How near the splines come to the true sides, mm."""

WORST_MM = 1e-4
NEAR_MM = 1e-6
"""Points and widths nearer than this (mm) count as one, or as none."""

# Breaks nearer than this (mm) become one plane: the kernel cannot carry thinner faces.
THIN_MM = 1e-5
SAMPLES = 129
X, Y0, Y1, Z0, Z1, RHO = range(6)


@dataclass(frozen=True, slots=True)
class BodySegment:
    """One stretch between two planes square to the length (indices into the list of planes).

    `fit` has the rows x, y0, y1, z0, z1, radius; `rounded` tells which of section.CORNERS are round;
    `ends` are the rows' values at the two planes; `flat` tells whether the bottom, left, top and right
    sides (in this order) have a flat of any width; `straight` whether they lie in planes.
    """

    start: int
    end: int
    fit: Fit
    rounded: tuple[bool, bool, bool, bool]
    ends: Array
    flat: tuple[bool, bool, bool, bool]
    straight: tuple[bool, bool, bool, bool]


def stretches(
    sections: Sections, moved: Mapping[int, float] | None = None
) -> tuple[Array, list[BodySegment]]:
    """The planes' x, ascending, and the stretches between them.

    `moved` shifts planes that stand at breaks of the sections, by the number of the break; the stretches
    on both sides are followed as far as the plane's new place.

    Raises:
        SolidError: the body is too short for any, or a curve is too wild to follow.
    """
    side_ends = _end_values(sections.side, sections.profile)
    top_ends = _end_values(sections.top, sections.plan)
    at_break = _planes(sections.breaks)
    for number, shift in (moved or {}).items():
        at_break = np.where(at_break == at_break[number], at_break[number] + shift, at_break)
    parts: list[tuple[float, float, _Sides]] = []
    for first, last, rectangle in _runs(sections):
        start, end = float(at_break[first]), float(at_break[last])
        if end - start <= THIN_MM:
            continue
        sides = _Sides(sections, rectangle, side_ends, top_ends)
        cuts = [start, *sides.kinks(start, end), end]
        parts.extend((a, b, sides) for a, b in pairwise(cuts))
    if not parts:
        raise SolidError("the profile and the plan leave no wood between them")
    every = np.unique(np.array([x for a, b, _ in parts for x in (a, b)]))
    number_of = {float(x): i for i, x in enumerate(every)}
    return every, [_stretch(number_of[a], number_of[b], a, b, sides) for a, b, sides in parts]


def _planes(breaks: Array) -> Array:
    """For each break the x of the plane it belongs to."""
    new = np.concatenate(([True], np.diff(breaks) > THIN_MM))
    return np.asarray(breaks[new][np.cumsum(new) - 1])


def _runs(sections: Sections) -> Iterator[tuple[int, int, int]]:
    """(first break, last break, a rectangle of it) of every run."""
    open_runs: dict[tuple[int, ...], list[int]] = {}
    for i, slab in enumerate(sections.slab):
        key = (*map(int, sections.z_pieces[:, i]), *map(int, sections.y_pieces[:, i]))
        run = open_runs.get(key)
        if run is not None and run[1] == slab:
            run[1] = int(slab) + 1
            continue
        if run is not None:
            yield run[0], run[1], run[2]
        open_runs[key] = [int(slab), int(slab) + 1, i]
    for start, stop, i in open_runs.values():
        yield start, stop, i


class _Sides:
    """The four sides and the radius of one run as functions of x."""

    def __init__(
        self,
        sections: Sections,
        rectangle: int,
        side_ends: Array,
        top_ends: Array,
    ) -> None:
        side, top = sections.side, sections.top
        self.pieces = (
            (top, int(sections.y_lower[rectangle]), top_ends),
            (top, int(sections.y_upper[rectangle]), top_ends),
            (side, int(sections.z_lower[rectangle]), side_ends),
            (side, int(sections.z_upper[rectangle]), side_ends),
        )
        left, right, low, high = (graph.ring[number] == 0 for graph, number, _ in self.pieces)
        round_any = sections.edge_round_mm > NEAR_MM
        self.rounded = tuple(
            round_any and bool(pair) for pair in (left & low, right & low, right & high, left & high)
        )
        self.edge_round = sections.edge_round_mm if any(self.rounded) else 0.0
        # The outer rectangle that the corners were rounded on.
        self.whole = (
            (top, int(sections.y_pieces[-2, rectangle]), top_ends),
            (top, int(sections.y_pieces[-1, rectangle]), top_ends),
            (side, int(sections.z_pieces[-2, rectangle]), side_ends),
            (side, int(sections.z_pieces[-1, rectangle]), side_ends),
        )
        # As far as all four pieces go.
        self.span = (
            max(float(graph.x0[number]) for graph, number, _ in (*self.pieces, *self.whole)),
            min(float(graph.x1[number]) for graph, number, _ in (*self.pieces, *self.whole)),
        )

    def values(self, x: Array) -> Array:
        """y0, y1, z0, z1, radius at `x`, shape (5, x.size)."""
        x = np.clip(x, *self.span)
        (y0, y1), (z0, z1) = (_pair(self.pieces[:2], x), _pair(self.pieces[2:], x))
        radius = np.min(self._limits(x), axis=0)
        return np.stack((y0, y1, z0, z1, np.maximum(radius, 0.0)))

    def kinks(self, lo: float, hi: float) -> list[float]:
        """Stations between lo and hi where another of the three lengths becomes the least."""
        if self.edge_round == 0:
            return []
        x = lo + (hi - lo) * _smoothstep(np.linspace(0.0, 1.0, SAMPLES))
        limits = self._limits(x)
        found: list[float] = []
        now = int(np.argmin(limits[:, SAMPLES // 64]))
        for i in range(SAMPLES):
            least = int(np.argmin(limits[:, i]))
            # Equal lengths (half of a square, say) are told apart by noise alone: keep to one.
            if least == now or limits[now, i] - limits[least, i] <= NEAR_MM:
                continue
            if i > 0:
                found.append(self._crossing(now, least, float(x[i - 1]), float(x[i])))
            now = least
        near = 10 * THIN_MM
        return [x for before, x in pairwise([lo, *found]) if x - before > near and hi - x > near]

    def _limits(self, x: Array) -> Array:
        x = np.clip(x, *self.span)
        (y0, y1), (z0, z1) = _pair(self.whole[:2], x), _pair(self.whole[2:], x)
        return np.stack((np.full(x.shape, self.edge_round), 0.5 * (y1 - y0), 0.5 * (z1 - z0)))

    def _crossing(self, one: int, other: int, a: float, b: float) -> float:
        for _ in range(60):
            middle = 0.5 * (a + b)
            limits = self._limits(np.array([middle]))
            a, b = (middle, b) if limits[one, 0] <= limits[other, 0] else (a, middle)
        return 0.5 * (a + b)


def _pair(pieces: Sequence[tuple[XProfile, int, Array]], x: Array) -> Array:
    """V of two pieces of one outline, their very ends taken from the curve: there an arc's formula loses
    half its digits.
    """
    (graph, one, ends), (_, other, _) = pieces
    number = np.repeat([one, other], x.size)
    at = np.concatenate((x, x))
    value = graph.value(number, at)
    value = np.where(np.abs(at - graph.x0[number]) <= 2 * SAME_X, ends[number, 0], value)
    value = np.where(np.abs(at - graph.x1[number]) <= 2 * SAME_X, ends[number, 1], value)
    return np.asarray(value.reshape(2, -1))


def _end_values(graph: XProfile, outline: Outline) -> Array:
    """V at the nose end and at the tail end of every piece, shape (pieces, 2): where the piece ends with
    its curve or where that turns round, the curve's own point.
    """
    number = np.arange(graph.x0.size)
    values = np.stack((graph.value(number, graph.x0), graph.value(number, graph.x1)), axis=1)
    for i in number:
        curve = outline.rings[graph.ring[i]].curves[graph.curve[i]]
        points = [curve.p0, curve.p1, *curve.at(np.array(curve.turning_points(0))).tolist()]
        for side, x in enumerate((graph.x0[i], graph.x1[i])):
            here = [v for u, v in points if abs(u - x) <= 2 * SAME_X]
            if here:
                values[i, side] = min(here, key=lambda v: abs(v - values[i, side]))
    return values


def _smoothstep(s: Array) -> Array:
    return np.asarray(s * s * (3 - 2 * s))


# Ways to run along a stretch. At an end where a side stands upright v goes with the square root of x; with x
# going with the square of the parameter v becomes smooth. All are polynomials, so x itself is exact.
_PACES: tuple[Callable[[Array], Array], ...] = (
    lambda s: s,
    lambda s: s * s,
    lambda s: s * (2 - s),
    _smoothstep,
)


def _stretch(start: int, end: int, a: float, b: float, sides: _Sides) -> BodySegment:
    inner = sides.values(np.array([a, b]))
    at_ends = np.vstack(([a, b], inner))

    def paced(pace: Callable[[Array], Array]) -> Callable[[Array], Array]:
        def functions(s: Array) -> Array:
            x = a + (b - a) * pace(s)
            return np.vstack((x, sides.values(x)))

        return functions

    best = fit([paced(pace) for pace in _PACES], FIT_MM)
    if best.error > WORST_MM:
        raise SolidError(f"a curve between {a:.1f} and {b:.1f} mm from the nose bends too sharply to follow")
    poles = best.poles.copy()
    # The planes' own values, so that neighbouring stretches meet.
    poles[:, 0], poles[:, -1] = at_ends[:, 0], at_ends[:, 1]
    best = Fit(best.degree, best.breaks, poles, best.error)
    s = np.linspace(0.0, 1.0, SAMPLES)
    _, y0, y1, z0, z1, rho = best.at(s)
    on = sides.rounded
    width, height = y1 - y0, z1 - z0
    cut = [rho * c for c in on]
    spare = (
        width - cut[0] - cut[1],
        height - cut[1] - cut[2],
        width - cut[2] - cut[3],
        height - cut[3] - cut[0],
    )
    straight = [best.degree == 1 or graph.kind[n] == 0 for graph, n, _ in sides.pieces]
    right, left, bottom, top = straight
    return BodySegment(
        start,
        end,
        best,
        (on[0], on[1], on[2], on[3]),
        at_ends,
        tuple(bool(w.max() > NEAR_MM) for w in spare),  # type: ignore[arg-type]
        (bottom, left, top, right),
    )

"""An outline read as functions of x: the pieces of curve between which wood lies.

Terms: a piece is a stretch of curve along which x only grows or only shrinks; an upright is a straight
stretch at one x; a slab is the space between two neighbouring breaks, inside which the pieces neither
start, end nor change order.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bodyshop.geometry.outlines import Arc, Array, Cubic, Curve, Line, Outline

__all__ = ["BoundPieces", "XProfile", "Intervals", "UprightEdge", "slab_intervals"]

Ints = NDArray[np.int64]

# Two breaks nearer than this (mm) are one.
SAME_X_MM = 1e-9
LINE, ARC, CUBIC = 0, 1, 2
SLOW = 0.75


@dataclass(frozen=True, slots=True)
class UprightEdge:
    """A straight edge at one x, between v0 < v1. `ring` 0 is the outer ring; `curve` its index there."""

    x: float
    v0: float
    v1: float
    ring: int
    curve: int


@dataclass(frozen=True, slots=True)
class Intervals:
    """For each stretch of wood in each slab: the slab and the pieces below and above; sorted by slab.

    `outer_lower`, `outer_upper` are the pieces of the outer ring that it lay between before windows were cut.
    """

    slab: Ints
    lower: Ints
    upper: Ints
    outer_lower: Ints
    outer_upper: Ints


class XProfile:
    """The pieces of an outline as arrays, evaluated many at a time."""

    def __init__(self, outline: Outline) -> None:
        kinds: list[int] = []
        rows: list[tuple[float, ...]] = []
        spans: list[tuple[float, float]] = []
        homes: list[tuple[int, int]] = []
        uprights: list[UprightEdge] = []
        for ring_number, ring in enumerate(outline.rings):
            for number, curve in enumerate(ring.curves):
                for part in _monotone(curve):
                    if abs(part.p1[0] - part.p0[0]) < SAME_X_MM:
                        v0, v1 = sorted((part.p0[1], part.p1[1]))
                        if v1 - v0 > SAME_X_MM:
                            uprights.append(UprightEdge(part.p0[0], v0, v1, ring_number, number))
                        continue
                    forward = part if part.p1[0] > part.p0[0] else part.reversed()
                    kind, row = _row(forward)
                    kinds.append(kind)
                    rows.append(row)
                    spans.append((forward.p0[0], forward.p1[0]))
                    homes.append((ring_number, number))
        self.kind: Ints = np.array(kinds, dtype=np.int64)
        self.row: Array = np.array(rows).T.copy()
        self.x0: Array = np.array([s[0] for s in spans])
        self.x1: Array = np.array([s[1] for s in spans])
        self.ring: Ints = np.array([h[0] for h in homes], dtype=np.int64)
        self.curve: Ints = np.array([h[1] for h in homes], dtype=np.int64)
        self.uprights: tuple[UprightEdge, ...] = tuple(uprights)
        self.has = tuple(bool(np.any(self.kind == k)) for k in (LINE, ARC, CUBIC))

    def bind(self, piece: Ints) -> BoundPieces:
        """The pieces at fixed indices, ready to be evaluated at stations of the same shape."""
        return BoundPieces(self, piece)

    def value(self, piece: Ints, x: Array) -> Array:
        """V of each piece at x; `piece` and `x` of one shape."""
        return BoundPieces(self, piece).value(x)

    def value_at(self, piece: int, x: float) -> float:
        """V of one piece at one x, in plain floats."""
        kind, row = self._plain[piece]
        if kind == LINE:
            return row[1] + row[2] * (x - row[0])
        if kind == ARC:
            return row[1] + row[3] * math.sqrt(max(row[2] ** 2 - (x - row[0]) ** 2, 0.0))
        return float(_cubic(self.row[:, piece : piece + 1], np.array([x]), False)[0][0])

    @cached_property
    def _plain(self) -> list[tuple[int, list[float]]]:
        return list(zip(self.kind.tolist(), self.row.T.tolist(), strict=True))


class BoundPieces:
    """Pieces picked once and evaluated many times: which kind stands where does not change."""

    def __init__(self, graph: XProfile, piece: Ints) -> None:
        self.shape = piece.shape
        flat = piece.ravel()
        kind = graph.kind[flat]
        self.parts: list[tuple[_Form, Array, Ints | None]] = []
        for form in (LINE, ARC, CUBIC):
            if not graph.has[form]:
                continue
            pick = np.flatnonzero(kind == form)
            if pick.size:
                whole = pick.size == flat.size
                rows = graph.row[:, flat if whole else flat[pick]]
                self.parts.append((_FORMS[form], rows, None if whole else pick))

    def value(self, x: Array) -> Array:
        """V of each piece at x; x has the shape of the pieces, or of their last axes."""
        return self._evaluate(x, slope=False)[0]

    def value_and_slope(self, x: Array) -> tuple[Array, Array]:
        """V and dv/dx; slopes at an upright tangent are very large, not infinite."""
        value, slope = self._evaluate(x, slope=True)
        return value, np.zeros_like(value) if slope is None else slope

    def _evaluate(self, x: Array, *, slope: bool) -> tuple[Array, Array | None]:
        if x.shape != self.shape:
            x = np.broadcast_to(x, self.shape)
        flat = x.ravel()
        value = np.empty(flat.size)
        rate = np.empty(flat.size) if slope else None
        for form, rows, pick in self.parts:
            if pick is None:
                v, s = form(rows, flat, slope)
                return v.reshape(self.shape), None if s is None else s.reshape(self.shape)
            value[pick], s = form(rows, flat[pick], slope)
            if rate is not None:
                rate[pick] = s
        return value.reshape(self.shape), None if rate is None else rate.reshape(self.shape)


def slab_intervals(graph: XProfile, breaks: Array) -> Intervals:
    """Where wood lies in each slab between neighbouring `breaks`, by the even-odd rule."""
    middle = 0.5 * (breaks[:-1] + breaks[1:])
    slab, piece = np.nonzero((graph.x0 < middle[:, None]) & (graph.x1 > middle[:, None]))
    value = graph.value(piece, middle[slab])
    order = np.lexsort((value, slab))
    slab, piece = slab[order], piece[order]
    lower, upper = piece[::2], piece[1::2]
    is_outer = graph.ring[piece] == 0
    if np.all(is_outer):
        return Intervals(slab[::2], lower, upper, lower, upper)
    # Every slab has an even number of the outer ring's pieces, so pairs of them count on through all slabs.
    outer = piece[is_outer]
    pair = (np.cumsum(is_outer)[::2] - 1) // 2
    return Intervals(slab[::2], lower, upper, outer[2 * pair], outer[2 * pair + 1])


def _monotone(curve: Curve) -> list[Curve]:
    turns = curve.turning_points(0)
    if isinstance(curve, Cubic):
        slow = _slow_point(curve)
        if slow is not None:
            turns = tuple(sorted((*turns, slow)))
    if not turns:
        return [curve]
    ends = [0.0, *turns, 1.0]
    return [curve.part(a, b) for a, b in pairwise(ends)]


def _slow_point(curve: Cubic) -> float | None:
    """Where inside an S-shaped cubic x all but stands still without turning.

    There v(x) is steep and bends at once, which no quadrature likes in the middle of a slab; at the end of
    one it does no harm. Between 1 and SLOW of the speed at the ends 14 stations do without (tests).
    """
    _, a1, a2, a3 = curve.power()[0]
    if a3 == 0 or a1 * (a1 + 2 * a2 + 3 * a3) <= 0:
        return None
    t = -a2 / (3 * a3)
    if not 0.01 < t < 0.99:
        return None
    share = (a1 + a2 * t) / max(a1, a1 + 2 * a2 + 3 * a3, key=abs)
    return t if 0 <= share < SLOW else None


def _row(part: Curve) -> tuple[int, tuple[float, ...]]:
    match part:
        case Line(p0, p1):
            return LINE, (p0[0], p0[1], (p1[1] - p0[1]) / (p1[0] - p0[0]), 0, 0, 0, 0, 0)
        case Arc():
            middle = part.start + 0.5 * part.sweep
            upper = 1.0 if np.sin(middle) > 0 else -1.0
            return ARC, (part.centre[0], part.centre[1], part.radius, upper, 0, 0, 0, 0)
        case Cubic():
            a, b = part.power()
            return CUBIC, (*a, *b)


def _line(row: Array, x: Array, slope: bool) -> tuple[Array, Array | None]:
    return row[1] + row[2] * (x - row[0]), row[2] if slope else None


def _arc(row: Array, x: Array, slope: bool) -> tuple[Array, Array | None]:
    across = x - row[0]
    rise = np.sqrt(np.maximum(row[2] ** 2 - across**2, 0.0))
    value = row[1] + row[3] * rise
    if not slope:
        return value, None
    return value, -row[3] * across / np.maximum(rise, 1e-9 * row[2])


def _cubic(row: Array, x: Array, slope: bool) -> tuple[Array, Array | None]:
    a0, a1, a2, a3, b0, b1, b2, b3 = row
    width = a1 + a2 + a3
    target = np.minimum(np.maximum((x - a0) / width, 0.0), 1.0)
    t = _parameter(a1 / width, a2 / width, a3 / width, target)
    value = ((b3 * t + b2) * t + b1) * t + b0
    if not slope:
        return value, None
    dx = (3 * a3 * t + 2 * a2) * t + a1
    dv = (3 * b3 * t + 2 * b2) * t + b1
    return value, dv / np.maximum(dx, 1e-9 * width)


def _parameter(c1: Array, c2: Array, c3: Array, target: Array) -> Array:
    """Solve c3 t^3 + c2 t^2 + c1 t = target on [0, 1], where the left side only grows from 0 to 1."""
    t = target
    with np.errstate(divide="ignore", invalid="ignore"):
        for _ in range(6):
            error = ((c3 * t + c2) * t + c1) * t - target
            if float(np.abs(error).max()) < 1e-13:
                return t
            t = t - error / ((3 * c3 * t + 2 * c2) * t + c1)
            t = np.minimum(np.maximum(t, 0.0), 1.0)
        # Some start badly (an upright tangent, an inflection): Newton kept inside a shrinking bracket.
        t = np.where(np.isfinite(t), t, target)
        low, high = np.zeros_like(t), np.ones_like(t)
        for _ in range(60):
            error = ((c3 * t + c2) * t + c1) * t - target
            if float(np.abs(error).max()) < 1e-14:
                break
            high = np.where(error > 0, t, high)
            low = np.where(error > 0, low, t)
            step = t - error / ((3 * c3 * t + 2 * c2) * t + c1)
            t = np.where((step > low) & (step < high), step, 0.5 * (low + high))
    return t


_Form = Callable[[Array, Array, bool], tuple[Array, Array | None]]
_FORMS: tuple[_Form, ...] = (_line, _arc, _cubic)

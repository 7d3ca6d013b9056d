"""What of a path lies inside a convex window, or outside it: lines, arcs and cubics are cut exactly.

For formats that cannot hide what they hold: a piece of an arc stays an arc, a piece of a cubic a cubic.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Segment

__all__ = ["Window", "stretches"]

_ON_MM = 1e-9
# Pieces shorter than this share of a segment are rounding.
_SHARE = 1e-12


def stretches(segments: Sequence[Segment], *, closed: bool) -> Iterator[list[Segment]]:
    """The stretches of a path, each begun by its move; a closed one ends with a line home if it needs one."""
    run: list[Segment] = []
    for segment in segments:
        if isinstance(segment, MoveTo) and run:
            yield _home(run, closed=closed)
            run = []
        run.append(segment)
    if run:
        yield _home(run, closed=closed)


def _home(run: list[Segment], *, closed: bool) -> list[Segment]:
    away = math.dist(run[0].end, run[-1].end)
    return [*run, LineTo(run[0].end)] if closed and away > _ON_MM else run


@dataclass(frozen=True, slots=True)
class _Side:
    """The half-plane of points with nx x + ny y + c >= 0; (nx, ny) is a unit vector."""

    nx: float
    ny: float
    c: float

    def height(self, p: Point) -> float:
        return self.nx * p[0] + self.ny * p[1] + self.c

    def lean(self, v: Point) -> float:
        return self.nx * v[0] + self.ny * v[1]


class Window:
    """A convex window given by its corners in order, either way round."""

    def __init__(self, corners: Sequence[Point]) -> None:
        middle = (sum(x for x, _ in corners) / len(corners), sum(y for _, y in corners) / len(corners))
        sides: list[_Side] = []
        for (x0, y0), (x1, y1) in zip(corners, (*corners[1:], corners[0]), strict=True):
            size = math.hypot(x1 - x0, y1 - y0)
            if size <= _ON_MM:
                continue
            nx, ny = (y0 - y1) / size, (x1 - x0) / size
            side = _Side(nx, ny, -(nx * x0 + ny * y0))
            sides.append(side if side.height(middle) >= 0 else _Side(-nx, -ny, -side.c))
        self._sides = tuple(sides)

    def holds(self, p: Point) -> bool:
        """Whether a point lies inside or on the edge."""
        return all(side.height(p) >= -_ON_MM for side in self._sides)

    def cut(self, segments: Sequence[Segment], *, closed: bool, inside: bool = True) -> list[list[Segment]]:
        """What of a path lies inside, or outside, as open stretches, each begun by its move.

        A stretch that is kept whole comes back as it was, its closing line included.
        """
        kept: list[list[Segment]] = []
        for run in stretches(segments, closed=closed):
            kept += self._run(run, inside=inside)
        return kept

    def _run(self, run: list[Segment], *, inside: bool) -> list[list[Segment]]:
        out: list[list[Segment]] = []
        here = run[0].end
        whole = True
        open_run: list[Segment] = []
        for segment in run[1:]:
            shares = self._kept(here, segment, inside=inside)
            if shares != [(0.0, 1.0)]:
                whole = False
            for start, end in shares:
                begin, piece = _piece(here, segment, start, end)
                if not open_run or start > 0.0:
                    if open_run:
                        out.append(open_run)
                    open_run = [MoveTo(begin)]
                open_run.append(piece)
            if (not shares or shares[-1][1] < 1.0) and open_run:
                out.append(open_run)
                open_run = []
            here = segment.end
        if open_run:
            out.append(open_run)
        return [run] if whole and len(run) > 1 else out

    def _kept(self, here: Point, segment: Segment, *, inside: bool) -> list[tuple[float, float]]:
        """The shares of a segment, from 0 to 1, that are kept, in order."""
        box = _hull(here, segment)
        heights = [[side.height(p) for p in box] for side in self._sides]
        if all(min(column) >= -_ON_MM for column in heights):
            return [(0.0, 1.0)] if inside else []
        if any(max(column) < -_ON_MM for column in heights):
            return [] if inside else [(0.0, 1.0)]
        marks = sorted({0.0, 1.0, *(t for side in self._sides for t in _crossings(here, segment, side))})
        kept: list[tuple[float, float]] = []
        for start, end in itertools.pairwise(marks):
            if end - start <= _SHARE or self.holds(_at(here, segment, (start + end) / 2)) != inside:
                continue
            if kept and start - kept[-1][1] <= _SHARE:
                kept[-1] = (kept[-1][0], end)
            else:
                kept.append((start, end))
        return kept


def _hull(here: Point, segment: Segment) -> list[Point]:
    """Points whose convex hull holds the segment."""
    if isinstance(segment, CubicTo):
        return [here, segment.control_1, segment.control_2, segment.end]
    if isinstance(segment, ArcTo):
        (x, y), (ax, ay), (bx, by) = segment.centre, segment.half_a, segment.half_b
        return [(x + s * ax + t * bx, y + s * ay + t * by) for s in (-1, 1) for t in (-1, 1)]
    return [here, segment.end]


def _at(here: Point, segment: Segment, t: float) -> Point:
    if isinstance(segment, ArcTo):
        return segment.at(segment.start_rad + t * segment.sweep_rad)
    if isinstance(segment, CubicTo):
        return _divided(here, segment, 0.0, t)[1].end
    end = segment.end
    return (here[0] + t * (end[0] - here[0]), here[1] + t * (end[1] - here[1]))


def _crossings(here: Point, segment: Segment, side: _Side) -> Iterator[float]:
    """Shares of a segment, between 0 and 1, at which it meets the edge of a half-plane."""
    if isinstance(segment, ArcTo):
        a, b, c = side.lean(segment.half_a), side.lean(segment.half_b), side.height(segment.centre)
        size = math.hypot(a, b)
        if size < abs(c) or size == 0.0:
            return
        low, high = sorted((segment.start_rad, segment.start_rad + segment.sweep_rad))
        base, reach = math.atan2(b, a), math.acos(max(-1.0, min(1.0, -c / size)))
        for angle in (base + reach, base - reach):
            turns = math.ceil((low - angle) / (2 * math.pi))
            while angle + 2 * math.pi * turns < high:
                yield (angle + 2 * math.pi * turns - segment.start_rad) / segment.sweep_rad
                turns += 1
    elif isinstance(segment, CubicTo):
        p, q, r, s = (side.height(x) for x in (here, segment.control_1, segment.control_2, segment.end))
        roots = np.roots([s - p + 3 * (q - r), 3 * (p - 2 * q + r), 3 * (q - p), p])
        for root in roots:
            if abs(root.imag) < 1e-9 and 0.0 < root.real < 1.0:
                yield float(root.real)
    else:
        start, end = side.height(here), side.height(segment.end)
        if (start < 0) != (end < 0):
            yield start / (start - end)


def _piece(here: Point, segment: Segment, start: float, end: float) -> tuple[Point, Segment]:
    """Where the piece of a segment between two shares begins, and the piece."""
    if (start, end) == (0.0, 1.0):
        return here, segment
    if isinstance(segment, ArcTo):
        piece = replace(
            segment,
            start_rad=segment.start_rad + start * segment.sweep_rad,
            sweep_rad=(end - start) * segment.sweep_rad,
        )
        return piece.begin, piece
    if isinstance(segment, CubicTo):
        return _divided(here, segment, start, end)
    return _at(here, segment, start), LineTo(_at(here, segment, end))


def _divided(here: Point, cubic: CubicTo, start: float, end: float) -> tuple[Point, CubicTo]:
    """The stretch of a cubic between two shares, by its polar form (de Casteljau)."""
    points = (here, cubic.control_1, cubic.control_2, cubic.end)

    def polar(*shares: float) -> Point:
        row = list(points)
        for t in shares:
            row = [(p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])) for p, q in itertools.pairwise(row)]
        return row[0]

    return polar(start, start, start), CubicTo(
        polar(start, start, end), polar(start, end, end), polar(end, end, end)
    )

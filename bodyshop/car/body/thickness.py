"""How thin the wood gets: across a view, from face to opposite face, its ends included.

The least thickness is the shortest line through the wood from one face to another, square to one of them or
straight along or across the car, where faces count that look at each other, and where the ends round off it
counts as longer by as much as they do.

In figures: each face may lean 30 degrees from square to the line, and 45 where that runs straight across the
car, as a calliper does: so a flat end counts as it is, and a straight taper down to its edge. Faces that lean
more count less and less, by adding the smaller side of the view in proportion, and not at all from 15 degrees
more. A line between faces that have drawn together by a radians
within half its length counts as 1 + 2.5 a times as long: a round nose as thick as the body behind it, a small
round tip on a taper as the taper's end. All of it moves without a jump as the outline moves. Inside corners
look more than one way: see `notches`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bodyshop.car.body.notches import thinnest_at_corner
from bodyshop.car.body.rings import Chords, ExitPoints, RingChain, shoot
from bodyshop.car.body.x_profile import Ints
from bodyshop.geometry.outlines import FINE_MM, Array, Outline, Point, Ring
from bodyshop.geometry.outlines.curves import CurveTable

__all__ = ["ThinnestPlace", "least_thickness"]

# How far a face may lean and count in full: from square to a line straight across the car; and from square to
# any other line. Over the next FADE it counts less and less.
LEAN_ACROSS, LEAN_OTHER, FADE = (math.radians(a) for a in (45, 30, 15))
LEAST_ACROSS, LEAST_ALONG = (math.cos(lean + FADE) for lean in (LEAN_ACROSS, LEAN_OTHER))
# A round nose counts as wide as the body behind it from 2.34 on, also where only one side of it is round.
ROUNDING = 2.5
COARSE_MM = 0.05
SPACING_MM = 5.0
# Each closing-in against finer chords than the one before.
CLOSE_MM, FAN = (0.01, FINE_MM), 25
SPREAD = np.linspace(-1, 1, FAN)
# How many lines are looked at first for how far the faces draw together.
FEW = 64
# The first search may be off by this much (mm): what is longer by more cannot be the thinnest place.
SLACK_MM, OF_A_KIND, MOST = 3.0, 2, 9
# The ends of a curve belong to it, as far as a parameter can say.
INSIDE = 1e-7


@dataclass(frozen=True, slots=True)
class ThinnestPlace:
    """The thinnest place: its thickness, mm, and its two ends in the view's plane, so far apart. Where it
    counts as longer than the wood, both ends lie as far outside it.
    """

    value_mm: float
    end0: Point
    end1: Point


@dataclass(frozen=True, slots=True)
class _Lines:
    """Lines to shoot across the wood: the curve and parameter each starts from; its way if that is straight
    along or across the car, (0, 0) if it goes in square to the curve; how far in the parameter to either side
    its neighbours start; and whether it starts where a shortest line often does.
    """

    curve: Ints
    t: Array
    way: Array
    reach: Array
    marked: NDArray[np.bool_]

    def of(self, pick: Array | Ints) -> _Lines:
        """Some of them."""
        return _Lines(self.curve[pick], self.t[pick], self.way[:, pick], self.reach[pick], self.marked[pick])

    def fanned(self) -> _Lines:
        """Each with FAN - 1 neighbours round it, one after the other."""
        t = np.clip(self.t[:, None] + self.reach[:, None] * SPREAD, INSIDE, 1 - INSIDE)
        near = self.of(np.repeat(np.arange(self.t.size), FAN))
        return replace(near, t=t.ravel())


@dataclass(frozen=True, slots=True)
class _Shots:
    """What lines came to: start and unit way, as (u, v), where they came out, and what each counts, mm."""

    start: Array
    way: Array
    met: ExitPoints
    counts: Array


def least_thickness(outline: Outline, *, windows: bool = True) -> ThinnestPlace | None:
    """The least thickness of an outline, with or without its windows; within about 0.01 mm.

    None where no two faces stand opposite each other.
    """
    rings = outline.rings if windows else (outline.outer,)
    table = CurveTable.joined([ring.table for ring in rings])
    coarse = RingChain(rings, table, COARSE_MM)
    u0, v0, u1, v1 = outline.bounds
    whole = min(u1 - u0, v1 - v0)
    lines = _lines(coarse)
    before, after = _neighbours(rings)
    shots = _shots(lines, coarse, coarse.chords, whole)
    neck = None
    if math.isfinite(shots.counts.min()):
        ends = coarse.chords.curve[shots.met.hit]
        some = _promising(lines, ends, shots.counts)
        beside = np.stack((before, after))
        neck = _close_in(lines.of(some), ends[some], rings, table, beside, whole)
    limit = neck.value_mm if neck else math.inf
    notch = thinnest_at_corner(outline, coarse.chords, table, before, limit, whole, windows=windows)
    return ThinnestPlace(*notch) if notch else neck


def _lines(chain: RingChain) -> _Lines:
    """Square in from points along every face; and straight along or across the car from the same points, from
    both ends of every curve and from where one comes to lean too much to count in full.
    """
    chords = chain.chords
    pieces = np.maximum(1, np.ceil(chords.size / SPACING_MM)).astype(np.int64)
    row = np.repeat(np.arange(pieces.size), pieces)
    share = (np.arange(row.size) - np.repeat(np.cumsum(pieces) - pieces, pieces) + 0.5) / pieces[row]
    every = np.arange(chain.counts.size)
    bent, bent_t = _where_too_steep(chain)
    curve = np.concatenate((chords.curve[row], every, every, chords.curve[bent]))
    inside = np.full(every.size, INSIDE)
    t = np.concatenate((chords.t[row] + share * chords.dt[row], inside, 1 - inside, bent_t))
    ends = np.tile(0.5 / chain.counts, 2)
    reach = np.concatenate((chords.dt[row] / pieces[row], ends, 0.5 * chords.dt[bent]))
    du, dv = chain.table.way(curve, t)
    # From within a curve one way is enough: what faces the other way is met. From its ends, both.
    within = np.arange(t.size) < row.size
    up = np.flatnonzero(np.where(within, du, np.abs(du)) > LEAST_ACROSS)
    along = np.flatnonzero(np.where(within, -dv, np.abs(dv)) > LEAST_ALONG)
    way = np.zeros((2, row.size + up.size + along.size))
    way[1, row.size : row.size + up.size] = np.sign(du[up])
    way[0, row.size + up.size :] = -np.sign(dv[along])
    pick = np.concatenate((np.arange(row.size), up, along))
    return _Lines(curve[pick], t[pick], way, reach[pick], ~within[pick])


def _where_too_steep(chain: RingChain) -> tuple[Ints, Array]:
    """The chords on which a curve comes to lean more than counts in full, and at which parameter: an end that
    closes in a curve is thinnest there.
    """
    chords = chain.chords
    curved = np.flatnonzero(chain.counts[chords.curve] > 1)
    which, t0 = chords.curve[curved], chords.t[curved]
    t1 = np.minimum(t0 + chords.dt[curved], 1.0)

    def lean(curve: Ints, t: Array) -> Array:
        du, dv = chain.table.way(curve, t)
        angle: Array = np.arctan2(np.abs(dv), np.abs(du))
        return angle

    low, high = lean(np.tile(which, 2), np.concatenate((t0, t1))).reshape(2, -1)
    limits = np.array((LEAN_ACROSS, 0.5 * math.pi - LEAN_OTHER))[:, None]
    nth, some = np.nonzero((low - limits) * (high - limits) < 0)
    limit, a, b = limits[nth, 0], t0[some], t1[some]
    at = 0.5 * (a + b)
    for _ in range(3):
        # Between the two by their leans; then a small way to either side of that.
        past = np.stack((lean(which[some], a), lean(which[some], b))) - limit
        at = a + (b - a) * past[0] / np.where(past[0] == past[1], 1.0, past[0] - past[1])
        a, b = at - 0.05 * (b - a), at + 0.05 * (b - a)
    return curved[some], np.clip(at, INSIDE, 1 - INSIDE)


def _shots(lines: _Lines, chain: RingChain, chords: Chords, whole: float) -> _Shots:
    """Shoot lines at some of a chain's chords."""
    ox, oy, du, dv = chain.table.at_and_way(lines.curve, lines.t)
    wx, wy = lines.way
    square = (wx == 0) & (wy == 0)
    nx, ny = np.where(square, -dv, wx), np.where(square, du, wy)
    met = shoot(ox, oy, nx, ny, chords, chain.table)
    facing = np.minimum(met.facing, np.where(square, 1.0, du * ny - dv * nx))
    lean = np.arccos(np.clip(facing, -1.0, 1.0)) - np.where(wy == 0, LEAN_OTHER, LEAN_ACROSS)
    counts = met.length + whole * np.maximum(lean / FADE, 0.0)
    counts[lean >= FADE] = np.inf
    shots = _Shots(np.stack((ox, oy)), np.stack((nx, ny)), met, counts)
    # The drawing together only adds: what is longer than the shortest with it need not be looked at.
    most = math.inf
    order = np.argsort(counts, kind="stable")[: np.count_nonzero(np.isfinite(counts))]
    for some in (order[:FEW], order[FEW:]):
        pick = some[counts[some] <= most + SLACK_MM]
        if pick.size:
            ends = _Ends.of(chain, lines, np.stack((du, dv)), chords.curve[met.hit], shots, pick)
            counts[pick] += ROUNDING * _drawn_together(chain, ends, met.length[pick]) * met.length[pick]
            most = float(counts[pick].min())
    return shots


@dataclass(frozen=True, slots=True)
class _Ends:
    """The two ends of lines, first all starts and then where they come out: the curve, how far along its
    ring, the spot and the way of the curve there.
    """

    curve: Ints
    run: Array
    spot: Array
    way: Array

    @classmethod
    def of(
        cls, chain: RingChain, lines: _Lines, tangent: Array, met_curve: Ints, shots: _Shots, pick: Ints
    ) -> _Ends:
        """The ends of some lines that were shot."""
        met = shots.met
        start = shots.start[:, pick]
        return cls(
            np.concatenate((lines.curve[pick], met_curve[pick])),
            np.concatenate((chain.run_at(lines.curve[pick], lines.t[pick]), met.run[pick])),
            np.concatenate((start, start + met.length[pick] * shots.way[:, pick]), axis=1),
            np.concatenate((tangent[:, pick], met.way[:, pick]), axis=1),
        )


def _drawn_together(chain: RingChain, ends: _Ends, length: Array) -> Array:
    """By how much two faces have drawn together within half the length of the line between them, rad: how
    far their tangents at the line lean from the straight line back along each. Of the two sides of the line
    the one that says less.
    """
    back = 0.5 * np.tile(length, 2)
    u, v = chain.walked(np.tile(ends.curve, 2), np.concatenate((ends.run + back, ends.run - back)))
    x, y = u - np.tile(ends.spot[0], 2), v - np.tile(ends.spot[1], 2)
    a, b = np.concatenate((ends.way, -ends.way), axis=1)
    # Wood on the left: a face that draws in turns left as its curve runs on, right as it runs back.
    on, met_on, off, met_off = np.arctan2(a * y - b * x, a * x + b * y).reshape(4, -1)
    least: Array = np.maximum(np.minimum(on - met_off, met_on - off), 0.0)
    return least


def _promising(lines: _Lines, meets: Ints, counts: Array) -> Ints:
    """The shortest lines from each curve to each other, of those that could be the shortest of all."""
    near = np.flatnonzero(counts <= counts.min() + SLACK_MM)
    near = near[np.argsort(counts[near], kind="stable")]
    taken: dict[tuple[int, int, float, float], int] = {}
    found = []
    columns = (lines.curve[near], meets[near], *lines.way[:, near])
    for i, *key in zip(near.tolist(), *(c.tolist() for c in columns), strict=True):
        kind = (key[0], key[1], key[2], key[3])
        taken[kind] = taken.get(kind, 0) + 1
        if lines.marked[i] or taken[kind] <= OF_A_KIND:
            found.append(i)
    return np.array(found[:MOST])


def _close_in(
    lines: _Lines, ends: Ints, rings: tuple[Ring, ...], table: CurveTable, beside: Ints, whole: float
) -> ThinnestPlace | None:
    """Search curves round their starts, ever closer, against the curves that they end on and those beside."""
    neck: ThinnestPlace | None = None
    slack = SLACK_MM
    for chord_mm in CLOSE_MM:
        chain = RingChain(rings, table, chord_mm)
        near = np.zeros(chain.counts.size, dtype=bool)
        near[ends] = near[beside[:, ends]] = True
        chords = chain.chords.of(near[chain.chords.curve])
        fan = lines.fanned()
        shots = _shots(fan, chain, chords, whole)
        counts = shots.counts.reshape(-1, FAN)
        at = np.arange(lines.t.size) * FAN + np.argmin(counts, axis=1)
        shortest = shots.counts[at]
        best = int(at[np.argmin(shortest)])
        value = float(shots.counts[best])
        if not math.isfinite(value):
            break
        over = 0.5 * (value - float(shots.met.length[best]))
        (u, v), (nu, nv) = shots.start[:, best].tolist(), shots.way[:, best].tolist()
        end0 = (u - over * nu, v - over * nv)
        neck = ThinnestPlace(value, end0, (end0[0] + value * nu, end0[1] + value * nv))
        # So many times nearer, each search is off by far less: leave out what cannot win any more.
        slack /= FAN // 2
        keep = at[shortest <= value + slack]
        lines, ends = fan.of(keep), chords.curve[shots.met.hit[keep]]
        lines = replace(lines, reach=lines.reach / (FAN // 2))
    return neck


def _neighbours(rings: tuple[Ring, ...]) -> tuple[Ints, Ints]:
    """For each curve the one before it and the one after it on its ring."""
    before, after, offset = [], [], 0
    for ring in rings:
        own = np.arange(len(ring.curves))
        before.append(offset + np.concatenate((own[-1:], own[:-1])))
        after.append(offset + np.concatenate((own[1:], own[:1])))
        offset += own.size
    return np.concatenate(before), np.concatenate(after)

"""The rings of an outline as chains of short chords: lines shot across the wood, and walks along an edge."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from bodyshop.car.body.x_profile import Ints
from bodyshop.geometry.outlines import Array, Ring
from bodyshop.geometry.outlines.curves import CurveTable

__all__ = ["Chords", "ExitPoints", "RingChain", "shoot"]

# Faces that lean more than this from square to a line do not count: their sagitta is not followed closely.
LEAST_FACING = 0.3
# What lies so near the start of a line is the face that it starts from.
START_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Chords:
    """Straight chords with the wood on their left: start, way and length; the curve each is a piece of, from
    which parameter on by how much; and how far along its ring it starts.
    """

    start: Array
    way: Array
    size: Array
    curve: Ints
    t: Array
    dt: Array
    run: Array

    def of(self, pick: Array) -> Chords:
        """Some of them."""
        return Chords(
            self.start[pick],
            self.way[pick],
            self.size[pick],
            self.curve[pick],
            self.t[pick],
            self.dt[pick],
            self.run[pick],
        )


@dataclass(frozen=True, slots=True)
class ExitPoints:
    """Where lines come out of the wood: how far on (infinite where they do not), through which chord, how
    far along its ring; the way of the curve there, and how squarely it faces the line (1 square, 0 along it).
    """

    length: Array
    hit: Ints
    run: Array
    way: Array
    facing: Array


class RingChain:
    """Rings, each flattened to chords within `chord_mm`."""

    def __init__(self, rings: tuple[Ring, ...], table: CurveTable, chord_mm: float) -> None:
        self.table = table
        curves, starts, ways, runs, spans, offset, begin = [], [], [], [], [], 0, 0.0
        for ring in rings:
            points, index = ring.flattened(chord_mm)
            closed = np.concatenate((points, points[:1]))
            way = closed[1:] - points
            run = np.cumsum(np.hypot(way[:, 0], way[:, 1]))
            curves.append(index + offset)
            starts.append(points)
            ways.append(way)
            runs.append(begin + np.concatenate(([0.0], run[:-1])))
            spans.append((begin, float(run[-1])))
            offset, begin = offset + len(ring.curves), begin + float(run[-1])
        curve, way = np.concatenate(curves), np.concatenate(ways)
        counts = np.bincount(curve)
        self.first: Ints = np.cumsum(counts) - counts
        self.counts: Ints = counts
        dt = 1.0 / counts[curve]
        t = (np.arange(curve.size) - self.first[curve]) * dt
        size = np.hypot(way[:, 0], way[:, 1])
        self.chords = Chords(np.concatenate(starts), way, size, curve, t, dt, np.concatenate(runs))
        # For each curve where the run of its ring starts, and how long that is.
        self._ring = np.repeat(np.array(spans).T, [len(ring.curves) for ring in rings], axis=1)

    def run_at(self, curve: Ints, t: Array) -> Array:
        """How far along its ring a point of a curve lies, mm."""
        place = t * self.counts[curve]
        nth = np.minimum(place.astype(np.int64), self.counts[curve] - 1)
        row = self.first[curve] + nth
        found: Array = self.chords.run[row] + (place - nth) * self.chords.size[row]
        return found

    def walked(self, curve: Ints, run: Array) -> tuple[Array, Array]:
        """The points of the curves themselves a run along the ring of each curve, round and round."""
        low, length = self._ring[:, curve]
        on = low + np.mod(run - low, length)
        chords = self.chords
        row = np.searchsorted(chords.run, on, side="right") - 1
        share = np.minimum((on - chords.run[row]) / np.maximum(chords.size[row], 1e-300), 1.0)
        return self.table.at(chords.curve[row], np.minimum(chords.t[row] + share * chords.dt[row], 1.0))


def shoot(ox: Array, oy: Array, nx: Array, ny: Array, chords: Chords, table: CurveTable) -> ExitPoints:
    """Lines from (ox, oy), on a face, along the unit (nx, ny) to where they first come out."""
    ex, ey = chords.way[:, 0], chords.way[:, 1]
    sx, sy = chords.start[:, 0], chords.start[:, 1]
    # origin + s inward = start + u edge, by Cramer's rule, for every line and edge: three small products.
    across, way = np.array((ny, -nx)).T, np.array((ex, ey))
    det = across @ way
    # Only out of the wood: where its own curve bulges, a line starts outside its chord and comes in by it.
    det[det >= 0] = np.inf
    np.divide(1.0, det, out=det)
    u = across @ np.array((-sx, -sy))
    u += (ny * ox - nx * oy)[:, None]
    u *= det
    s = np.array((-oy, ox)).T @ way
    s += sy * ex - sx * ey
    s *= det
    s[(u < 0) | (u > 1) | (s < START_MM)] = np.inf
    hit = s.argmin(axis=1)
    rows = np.arange(hit.size)
    length = s[rows, hit]
    share, curve, t0, dt = u[rows, hit], chords.curve[hit], chords.t[hit], chords.dt[hit]
    ends = np.minimum(np.concatenate((t0 + share * dt, t0, t0 + dt)), 1.0)
    du, dv = (w.reshape(3, -1) for w in table.way(np.tile(curve, 3), np.maximum(ends, 0.0)))
    # The outward normal of the face is on the right of its curve.
    facing = nx * dv[0] - ny * du[0]
    # Over a chord L that turns by a the curve stands off by L a u (1 - u) / 2.
    turn = du[1] * dv[2] - dv[1] * du[2]
    length += 0.5 * chords.size[hit] * turn * share * (1 - share) / np.maximum(facing, LEAST_FACING)
    run = chords.run[hit] + share * chords.size[hit]
    return ExitPoints(length, hit, run, np.stack((du[0], dv[0])), facing)

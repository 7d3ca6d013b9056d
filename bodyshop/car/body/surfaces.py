"""Areas the air sees: frontal silhouette, wetted area, base area at the tail."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.car.body.moments import section_area
from bodyshop.car.body.rectangles import QUARTER, STARTS, Rectangles, Sides
from bodyshop.car.body.section import Sections
from bodyshop.car.body.x_profile import Ints
from bodyshop.geometry.outlines import Array

__all__ = ["base_area", "frontal_silhouette", "piece_shapes", "section_shape", "wetted_area"]

AROUND, LEAST_STEPS = 8, 6
# What the chords of rounded edges may cost a shadow, over its area.
CHORD_LOSS = 5e-5
# What sticks out of the shadow by less than this (mm) is rounding error.
SLIVER_MM = 0.005
# Sides of two rectangles that are nearer than this (mm) are one.
SAME_MM = 1e-9


def frontal_silhouette(sections: Sections, *, short_mm: float = 0.0) -> shapely.Geometry:
    """The body's shadow on a plane square to its length, as a polygon in (y, z), mm.

    Between neighbouring stations each rectangle sweeps about the hull of its two ends, so the error falls
    with the square of the spacing. Rectangles with full edge rounding are shrunk by it, joined, and grown
    again, which gives the rounded shadow; thinner ones, and pieces beside a window, are taken one by one.

    Stretches between breaks of up to `short_mm` are swept from end to end at once: for drawings of outlines
    with very many points.
    """
    r, swept = _ends_of_short(sections.grid.r, short_mm)
    inset = sections.edge_round_mm
    box = np.stack((r.y0 + inset, r.z0 + inset, r.y1 - inset, r.z1 - inset))
    whole = (box[2] > box[0]) & (box[3] > box[1])
    if r.outer is not None:
        whole &= np.all([one == other for one, other in zip(r.sides, r.outer, strict=True)], axis=0)
    steps = _quarter_steps(r)
    shadows: list[shapely.Geometry] = []
    both = whole[:, :-1] & whole[:, 1:] & swept
    if np.any(both):
        ends = np.stack((box[:, :, :-1][:, both], box[:, :, 1:][:, both]))
        ends = ends[:, :, _not_covered(ends)]
        # Corners of both boxes: (end, corner) pairs of y and z.
        y, z = ends[:, [0, 2, 2, 0]], ends[:, [1, 1, 3, 3]]
        points = np.stack((y, z), axis=-1).reshape(8, -1, 2).swapaxes(0, 1)
        shadow = shapely.union_all(shapely.convex_hull(shapely.multipoints(points)))
        shadows.append(shadow.buffer(inset, quad_segs=steps) if inset > 0 else shadow)
    if inset > 0 and not np.all(both == swept):
        shadows.append(_rounded_sweeps(r, swept & ~both, shadows, steps))
    return shapely.union_all(shadows)


def _ends_of_short(r: Rectangles, short_mm: float) -> tuple[Rectangles, NDArray[np.bool_]]:
    """The rectangles with both ends of each short stretch side by side; and which sweeps are to be taken."""
    swept = np.ones((r.x.shape[0], r.x.shape[1] - 1), dtype=bool)
    short = r.x[:, -1] - r.x[:, 0] <= short_mm
    if not np.any(short):
        return r, swept
    swept[short, 1:] = False
    columns = np.tile(np.arange(r.x.shape[1]), (r.x.shape[0], 1))
    columns[short, 1] = r.x.shape[1] - 1
    return r.only((np.arange(r.x.shape[0])[:, None], columns)), swept


def _not_covered(ends: Array) -> Array:
    """Which sweeps (two boxes each, shape (2, 4, n)) stick out of every other sweep's larger box: most do
    not, and a union of few is quick. Of equal ones the first is kept.
    """
    low, high = ends[:, :2].min(axis=0), ends[:, 2:].max(axis=0)
    size = (ends[:, 2] - ends[:, 0]) * (ends[:, 3] - ends[:, 1])
    rows = np.arange(size.shape[1])
    large = ends[np.argmax(size, axis=0), :, rows]
    biggest = np.argsort(-size.max(axis=0), kind="stable")[:24]
    covers = (
        (large[biggest, 0, None] <= low[0])
        & (large[biggest, 1, None] <= low[1])
        & (large[biggest, 2, None] >= high[0])
        & (large[biggest, 3, None] >= high[1])
    )
    keep = np.ones(rows.size, dtype=bool)
    for rank, big in enumerate(biggest):
        if keep[big]:
            gone = covers[rank].copy()
            gone[big] = False
            keep &= ~gone
    return keep


def _quarter_steps(r: Rectangles) -> int:
    """Chords to a quarter circle. Four quarters of n chords each lack pi^3 r^2 / (24 n^2) of their area."""
    y0, y1, z0, z1 = r.whole
    area = float(np.max((y1 - y0) * (z1 - z0)))
    lack = math.pi**3 * float(r.radius.max()) ** 2 / (24 * CHORD_LOSS * area) if area > 0 else 0.0
    return max(math.ceil(math.sqrt(lack)), LEAST_STEPS)


def _rounded_sweeps(
    r: Rectangles, pick: NDArray[np.bool_], over: list[shapely.Geometry], steps: int
) -> shapely.Geometry:
    """The shadow of rectangles between neighbouring stations, each corner with its own rounding.

    `pick`, shape (rectangles, stations - 1), says which.
    """
    near, far = (r.only((slice(None), end)).only(pick) for end in (slice(None, -1), slice(1, None)))
    here = ~(near.empty & far.empty)
    near, far = near.only(here), far.only(here)
    if over:
        # Leave out what the rest already hides: most of it even as square boxes.
        hull = _around(near, far)
        shapely.prepare(over[0])
        seen = np.flatnonzero(~shapely.contains(over[0], shapely.box(hull.y0, hull.z0, hull.y1, hull.z1)))
        if seen.size:
            cover = over[0].buffer(SLIVER_MM, quad_segs=1)
            shapely.prepare(cover)
            seen = seen[~shapely.contains(cover, shapely.polygons(hull.only(seen).ring(2)))]
        near, far = near.only(seen), far.only(seen)
    if not near.y0.size:
        return shapely.Polygon()
    kept = _not_behind(near, far)
    points = np.concatenate((near.only(kept).ring(steps), far.only(kept).ring(steps)), axis=1)
    return shapely.union_all(shapely.convex_hull(shapely.linestrings(points)))


def _around(near: Rectangles, far: Rectangles) -> Rectangles:
    """Pieces that hold both ends of each sweep."""

    def both(one: Sides, other: Sides) -> Sides:
        (a0, a1, b0, b1), (c0, c1, d0, d1) = one, other
        return np.minimum(a0, c0), np.maximum(a1, c1), np.minimum(b0, d0), np.maximum(b1, d1)

    outer = None if near.outer is None else both(near.whole, far.whole)
    return Rectangles(near.x, *both(near.sides, far.sides), np.minimum(near.radius, far.radius), outer)


def _not_behind(near: Rectangles, far: Rectangles) -> Ints:
    """Which sweeps stick out of every piece of another sweep. One piece hides another where its box and its
    outer rectangle hold the other's and it is not the rounder. Of equal ones the first is kept.
    """
    n = near.y0.size
    small = _around(near, far)
    hidden = np.zeros((n, n), dtype=bool)
    for big in (near, far):
        behind = big.radius[:, None] <= small.radius
        for own, other in ((big.sides, small.sides), (big.whole, small.whole)):
            behind &= (own[0][:, None] <= other[0]) & (own[1][:, None] >= other[1])
            behind &= (own[2][:, None] <= other[2]) & (own[3][:, None] >= other[3])
        hidden |= behind
    # Of two that hide each other the first stays; hiding is transitive, so something always does.
    hidden &= ~hidden.T | np.tri(n, k=-1, dtype=bool).T
    np.fill_diagonal(hidden, val=False)
    return np.flatnonzero(~np.any(hidden, axis=0))


def wetted_area(sections: Sections) -> float:
    """Area of the whole outer skin before drilling, mm^2: flats, rounded corners, upright faces, windows.

    Flats: their width times dx sqrt(1 + slope^2). A corner swept along the edge, S = (x, c_y + r cos a,
    c_z + r sin a), has the element r sqrt(1 + (c_y' cos a + c_z' sin a + r')^2) da dx.
    """
    grid = sections.grid
    r, weight = grid.r, grid.weight
    slopes = (grid.dy0, grid.dy1, grid.dz0, grid.dz1)
    contour = r.contour()
    sides = (
        (contour.y[2] - contour.y[1], grid.dz0),
        (contour.z[4] - contour.z[3], grid.dy1),
        (contour.y[5] - contour.y[6], grid.dz1),
        (contour.z[7] - contour.z[0], grid.dy0),
    )
    area = sum(float(np.sum(width * np.sqrt(1 + slope**2) * weight)) for width, slope in sides)
    if sections.edge_round_mm > 0:
        y0, y1, z0, z1 = r.whole
        dy0, dy1, dz0, dz1 = grid.outer or slopes
        half_rate = np.where(y1 - y0 < z1 - z0, 0.5 * (dy1 - dy0), 0.5 * (dz1 - dz0))
        rate = np.where(r.radius < sections.edge_round_mm, half_rate, 0.0)
        # How fast the centres move.
        left, right, low, high = dy0 + rate, dy1 - rate, dz0 + rate, dz1 - rate
        for c, (cy, cz) in enumerate(((left, low), (right, low), (right, high), (left, high))):
            cosine, sine, share = _quarter(c)
            swing = cy[..., None] * cosine + cz[..., None] * sine + rate[..., None]
            band = np.sqrt(1 + swing**2) @ share
            pick = contour.sweep[c] < QUARTER
            if np.any(pick):
                start, sweep = contour.start[c][pick][:, None], contour.sweep[c][pick]
                share, part = _shares()
                angle = start + sweep[:, None] * share
                swing = cy[pick][:, None] * np.cos(angle) + cz[pick][:, None] * np.sin(angle)
                band[pick] = sweep * (np.sqrt(1 + (swing + rate[pick][:, None]) ** 2) @ part)
            area += float(np.sum(r.radius * band * weight))
    return area + _upright_area(sections)


@cache
def _shares() -> tuple[Array, Array]:
    """Places along an arc, 0 to 1, and their weights, by Gauss-Legendre."""
    t, weight = np.polynomial.legendre.leggauss(AROUND)
    return 0.5 * (t + 1), 0.5 * weight


@cache
def _quarter(corner: int) -> tuple[Array, Array, Array]:
    """Cosines, sines and weights round a corner's quarter circle."""
    share, weight = _shares()
    angle = STARTS[corner] + QUARTER * share
    return np.cos(angle), np.sin(angle), QUARTER * weight


def _upright_area(sections: Sections) -> float:
    """Faces square to the length: at each break, what one side's section shows beyond the other's."""
    first, last = sections.at(sections.x_min), sections.at(sections.x_max)
    area = float(np.sum(section_area(first)) + np.sum(section_area(last)))
    jumps = {u.x for g in (sections.side, sections.top) for u in g.uprights}
    if sections.edge_round_mm > 0 and sections.forked:
        # Where a fork parts the section, its prongs may be too thin for the full rounding.
        thin = np.any(sections.grid.r.radius < sections.edge_round_mm, axis=1)
        slabs = sections.slab[thin]
        jumps.update(sections.breaks[slabs].tolist(), sections.breaks[slabs + 1].tolist())
        # Thick ones end in a face as well, what the rounding of their inner edges took.
        counts = np.diff(sections.first_rectangle)
        jumps.update(sections.breaks[1:-1][counts[1:] != counts[:-1]].tolist())
    for x in jumps:
        if sections.x_min < x < sections.x_max:
            area += _shown(sections.at(x), sections.at(x, ahead=True))
    return area


def _shown(here: Rectangles, before: Rectangles) -> float:
    """Area of what two sections do not have in common."""
    shared = 0.0
    areas = section_area(here).tolist(), section_area(before).tolist()
    others = list(zip(_corner_lists(before), areas[1], strict=True))
    for one, its_area in zip(_corner_lists(here), areas[0], strict=True):
        for other, other_area in others:
            if min(one[1], other[1]) <= max(one[0], other[0]) or min(one[3], other[3]) <= max(
                one[2], other[2]
            ):
                continue
            if _holds(other, one):
                shared += its_area
            elif _holds(one, other):
                shared += other_area
            else:
                return float(section_shape(here).symmetric_difference(section_shape(before)).area)
    # The rectangles of one section have nothing in common.
    return math.fsum((*areas[0], *areas[1], -2 * shared))


def _corner_lists(r: Rectangles) -> list[list[float]]:
    """Each piece as the sides of its box, those of its outer rectangle, and the radius."""
    columns: list[list[float]] = np.vstack((*r.sides, *r.whole, r.radius)).T.tolist()
    return columns


def _holds(outer: list[float], inner: list[float]) -> bool:
    """Whether one piece lies inside another for certain: its box in the other's, sides on the other's
    allowed, and its rounded rectangle in the other's.
    """
    gaps = [
        (
            inner[k] - outer[k],
            outer[k + 1] - inner[k + 1],
            inner[k + 2] - outer[k + 2],
            outer[k + 3] - inner[k + 3],
        )
        for k in (0, 4)
    ]
    if min(*gaps[0], *gaps[1]) < -SAME_MM:
        return False
    across, up = gaps[1][:2], gaps[1][2:]
    wide, tight = outer[8], inner[8]
    for gap in across:
        for rise in up:
            # The tighter arc has to lie inside the wider one where both bound the corner.
            dy, dz = wide - tight - gap, wide - tight - rise
            if math.hypot(max(dy, 0.0), max(dz, 0.0)) + tight > wide + SAME_MM and dy > 0 and dz > 0:
                return False
    return True


def section_shape(r: Rectangles) -> shapely.Geometry:
    """One section, as a polygon in (y, z)."""
    if not np.any(r.radius):
        return shapely.union_all(shapely.box(r.y0, r.z0, r.y1, r.z1))
    return shapely.union_all(piece_shapes(r, 64))


def piece_shapes(r: Rectangles, steps: int) -> list[shapely.Geometry]:
    """Pieces of one section as polygons in (y, z), `steps` to a quarter circle. All are convex."""
    return list(shapely.convex_hull(shapely.linestrings(r.only(~r.empty).ring(steps))))


def base_area(sections: Sections) -> float:
    """Area of the flat face at the very tail, bore mouth included, mm^2; 0 for a tail that closes."""
    r = sections.at(sections.x_max)
    return float(np.sum(np.maximum(section_area(r), 0.0)))

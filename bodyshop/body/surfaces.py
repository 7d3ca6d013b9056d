"""Areas the air sees: frontal silhouette, wetted area, base area at the tail."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely

from bodyshop.body.graph import Ints
from bodyshop.body.moments import section_area
from bodyshop.body.section import CORNERS, Rectangles, Sections
from bodyshop.outline import Array

__all__ = ["base_area", "frontal_silhouette", "wetted_area"]

AROUND = 8
QUARTER_STEPS, SWEEP_STEPS = 16, 6
# What sticks out of the shadow by less than this (mm) is rounding error.
SLIVER_MM = 0.005
# Sides of two rectangles that are nearer than this (mm) are one.
SAME_MM = 1e-9


def frontal_silhouette(sections: Sections, *, short_mm: float = 0.0) -> shapely.Geometry:
    """The body's shadow on a plane square to its length, as a polygon in (y, z), mm.

    Between neighbouring stations each rectangle sweeps about the hull of its two ends, so the error falls
    with the square of the spacing. Rectangles with full edge rounding are shrunk by it, joined, and grown
    again, which gives the rounded shadow; thinner ones, and those at a window, are rounded one by one.

    Stretches between breaks of up to `short_mm` are swept from end to end at once: for drawings of outlines
    with very many points.
    """
    r, swept = _ends_of_short(sections.grid.r, short_mm)
    inset = sections.edge_round_mm
    box = np.stack((r.y0 + inset, r.z0 + inset, r.y1 - inset, r.z1 - inset))
    whole = (box[2] > box[0]) & (box[3] > box[1])
    if inset > 0:
        whole &= np.all(r.rounded > 0, axis=0)
    shadows: list[shapely.Geometry] = []
    both = whole[:, :-1] & whole[:, 1:] & swept
    if np.any(both):
        ends = np.stack((box[:, :, :-1][:, both], box[:, :, 1:][:, both]))
        ends = ends[:, :, _not_covered(ends)]
        # Corners of both boxes: (end, corner) pairs of y and z.
        y, z = ends[:, [0, 2, 2, 0]], ends[:, [1, 1, 3, 3]]
        points = np.stack((y, z), axis=-1).reshape(8, -1, 2).swapaxes(0, 1)
        shadow = shapely.union_all(shapely.convex_hull(shapely.multipoints(points)))
        shadows.append(shadow.buffer(inset, quad_segs=QUARTER_STEPS) if inset > 0 else shadow)
    if inset > 0 and not np.all(both == swept):
        shadows.append(_rounded_sweeps(r, swept & ~both, shadows))
    return shapely.union_all(shadows)


def _ends_of_short(r: Rectangles, short_mm: float) -> tuple[Rectangles, Array]:
    """The rectangles with both ends of each short stretch side by side; and which sweeps are to be taken."""
    swept = np.ones((r.x.shape[0], r.x.shape[1] - 1), dtype=bool)
    short = r.x[:, -1] - r.x[:, 0] <= short_mm
    if not np.any(short):
        return r, swept
    swept[short, 1:] = False
    moved = {}
    for name in ("x", "y0", "y1", "z0", "z1", "radius", "rounded"):
        values = getattr(r, name).copy()
        values[..., short, 1] = values[..., short, -1]
        moved[name] = values
    return Rectangles(**moved), swept


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


def _rounded_sweeps(r: Rectangles, pick: Array, over: list[shapely.Geometry]) -> shapely.Geometry:
    """The shadow of rectangles between neighbouring stations, each corner with its own rounding.

    `pick`, shape (rectangles, stations - 1), says which.
    """
    near, far = (_picked(r, end, pick) for end in (slice(None, -1), slice(1, None)))
    if over:
        # Leave out what the rest already hides: most of it even as square boxes.
        low_y, low_z = np.minimum(near.y0, far.y0), np.minimum(near.z0, far.z0)
        high_y, high_z = np.maximum(near.y1, far.y1), np.maximum(near.z1, far.z1)
        shapely.prepare(over[0])
        seen = np.flatnonzero(~shapely.contains(over[0], shapely.box(low_y, low_z, high_y, high_z)))
        if seen.size:
            hull = _Corners(low_y, high_y, low_z, high_z, np.minimum(near.radius, far.radius)).only(seen)
            cover = over[0].buffer(SLIVER_MM, quad_segs=1)
            shapely.prepare(cover)
            seen = seen[~shapely.contains(cover, shapely.polygons(hull.ring(2)))]
        near, far = near.only(seen), far.only(seen)
    if not near.y0.size:
        return shapely.Polygon()
    kept = _not_behind(near, far)
    points = np.concatenate((near.only(kept).ring(SWEEP_STEPS), far.only(kept).ring(SWEEP_STEPS)), axis=1)
    return shapely.union_all(shapely.convex_hull(shapely.linestrings(points)))


def _not_behind(near: _Corners, far: _Corners) -> Ints:
    """Which sweeps stick out of every rectangle of another sweep. One rectangle hides another where it
    holds it and is not the rounder at any corner. Of equal ones the first is kept.
    """
    n = near.y0.size
    low_y, low_z = np.minimum(near.y0, far.y0), np.minimum(near.z0, far.z0)
    high_y, high_z = np.maximum(near.y1, far.y1), np.maximum(near.z1, far.z1)
    radius = np.minimum(near.radius, far.radius)
    hidden = np.zeros((n, n), dtype=bool)
    for big in (near, far):
        hidden |= (
            (big.y0[:, None] <= low_y)
            & (big.y1[:, None] >= high_y)
            & (big.z0[:, None] <= low_z)
            & (big.z1[:, None] >= high_z)
            & np.all(big.radius[:, :, None] <= radius[:, None, :], axis=0)
        )
    # Of two that hide each other the first stays; hiding is transitive, so something always does.
    hidden &= ~hidden.T | np.tri(n, k=-1, dtype=bool).T
    np.fill_diagonal(hidden, val=False)
    return np.flatnonzero(~np.any(hidden, axis=0))


@dataclass(frozen=True, slots=True)
class _Corners:
    """Rectangles with a radius for each corner, shape (4, n)."""

    y0: Array
    y1: Array
    z0: Array
    z1: Array
    radius: Array

    def only(self, which: Ints) -> _Corners:
        return _Corners(self.y0[which], self.y1[which], self.z0[which], self.z1[which], self.radius[:, which])

    def ring(self, steps: int) -> Array:
        """Points round each, `steps` to a corner, shape (n, points, 2)."""
        angle = np.linspace(0.0, math.pi / 2, steps + 1)
        parts = []
        for quarter, (side_y, side_z) in enumerate(CORNERS):
            turn, rho = angle + math.pi + quarter * math.pi / 2, self.radius[quarter]
            y = (self.y1 if side_y > 0 else self.y0) - side_y * rho
            z = (self.z1 if side_z > 0 else self.z0) - side_z * rho
            parts.append(
                np.stack(
                    (y[:, None] + rho[:, None] * np.cos(turn), z[:, None] + rho[:, None] * np.sin(turn)),
                    axis=-1,
                )
            )
        return np.concatenate(parts, axis=1)


def _picked(r: Rectangles, end: slice, pick: Array) -> _Corners:
    y0, y1, z0, z1, radius = (side[:, end][pick] for side in (r.y0, r.y1, r.z0, r.z1, r.radius))
    return _Corners(y0, y1, z0, z1, radius * r.rounded[:, :, end][:, pick])


def wetted_area(sections: Sections) -> float:
    """Area of the whole outer skin before drilling, mm^2: flats, rounded corners, upright faces, windows.

    Flats: their width times dx sqrt(1 + slope^2). A corner swept along the edge, S = (x, c_y + r cos a,
    c_z + r sin a), has the element r sqrt(1 + (c_y' cos a + c_z' sin a + r')^2) da dx.
    """
    grid = sections.grid
    r, weight = grid.r, grid.weight
    y0, y1, z0, z1 = r.y0, r.y1, r.z0, r.z1
    dy0, dy1, dz0, dz1 = grid.dy0, grid.dy1, grid.dz0, grid.dz1
    rl, ll, lh, rh = (r.radius * on for on in r.rounded)
    total = (y1 - y0 - rh - lh) * np.sqrt(1 + dz1**2) + (y1 - y0 - rl - ll) * np.sqrt(1 + dz0**2)
    total = total + (z1 - z0 - ll - lh) * np.sqrt(1 + dy1**2) + (z1 - z0 - rl - rh) * np.sqrt(1 + dy0**2)
    area = float(np.sum(total * weight))
    if sections.edge_round_mm > 0:
        w, h = y1 - y0, z1 - z0
        half_rate = np.where(w < h, 0.5 * (dy1 - dy0), 0.5 * (dz1 - dz0))
        rate = np.where(r.radius < sections.edge_round_mm, half_rate, 0.0)
        cosine, sine, share = _around()
        for (side_y, side_z), on in zip(CORNERS, r.rounded, strict=True):
            cy = (dy1 if side_y > 0 else dy0) - side_y * rate
            cz = (dz1 if side_z > 0 else dz0) - side_z * rate
            swing = cy[..., None] * side_y * cosine + cz[..., None] * side_z * sine + rate[..., None]
            band = np.sum(np.sqrt(1 + swing**2) * share, axis=-1)
            area += float(np.sum(on * r.radius * band * weight))
    return area + _upright_area(sections)


@cache
def _around() -> tuple[Array, Array, Array]:
    """Cosines, sines and weights round a quarter circle, by Gauss-Legendre."""
    t, weight = np.polynomial.legendre.leggauss(AROUND)
    angle = 0.25 * math.pi * (t + 1)
    return np.cos(angle), np.sin(angle), 0.25 * math.pi * weight


def _upright_area(sections: Sections) -> float:
    """Faces square to the length: at each break, what one side's section shows beyond the other's."""
    first, last = sections.at(sections.x_min), sections.at(sections.x_max)
    area = float(np.sum(section_area(first)) + np.sum(section_area(last)))
    jumps = {u.x for g in (sections.side, sections.top) for u in g.uprights}
    if sections.edge_round_mm > 0 and sections.slab.size > sections.breaks.size - 1:
        # Where a window or a fork parts the section, its parts may be too thin for the full rounding.
        thin = np.any(sections.grid.r.radius < sections.edge_round_mm, axis=1)
        slabs = sections.slab[thin]
        jumps.update(sections.breaks[slabs].tolist(), sections.breaks[slabs + 1].tolist())
    for x in jumps:
        if sections.x_min < x < sections.x_max:
            area += _shown(sections.at(x), sections.at(x, ahead=True))
    return area


def _shown(here: Rectangles, before: Rectangles) -> float:
    """Area of what two sections do not have in common."""
    shared = 0.0
    for one, its_area in zip(_corner_lists(here), section_area(here), strict=True):
        for other, other_area in zip(_corner_lists(before), section_area(before), strict=True):
            if min(one[1], other[1]) <= max(one[0], other[0]) or min(one[3], other[3]) <= max(
                one[2], other[2]
            ):
                continue
            if _holds(other, one):
                shared += float(its_area)
            elif _holds(one, other):
                shared += float(other_area)
            else:
                return float(section_shape(here).symmetric_difference(section_shape(before)).area)
    # The rectangles of one section have nothing in common.
    return float(section_area(here).sum() + section_area(before).sum()) - 2 * shared


def _corner_lists(r: Rectangles) -> list[list[float]]:
    """Each rectangle as y0, y1, z0, z1 and the radii of CORNERS."""
    columns: list[list[float]] = np.vstack((r.y0, r.y1, r.z0, r.z1, r.radius * r.rounded)).T.tolist()
    return columns


def _holds(outer: list[float], inner: list[float]) -> bool:
    """Whether one rectangle with rounded corners lies inside another, its sides on the other's allowed."""
    gaps = (inner[0] - outer[0], outer[1] - inner[1], inner[2] - outer[2], outer[3] - inner[3])
    if min(gaps) < -SAME_MM:
        return False
    for (side_y, side_z), wide, tight in zip(CORNERS, outer[4:], inner[4:], strict=True):
        # The tighter arc has to lie inside the wider one where both bound the corner.
        dy, dz = wide - tight - gaps[side_y > 0], wide - tight - gaps[2 + (side_z > 0)]
        if math.hypot(max(dy, 0.0), max(dz, 0.0)) + tight > wide + SAME_MM and dy > 0 and dz > 0:
            return False
    return True


def section_shape(r: Rectangles) -> shapely.Geometry:
    """One section, as a polygon in (y, z)."""
    if not np.any(r.radius * r.rounded):
        return shapely.union_all(shapely.box(r.y0, r.z0, r.y1, r.z1))
    angle = np.linspace(0.0, math.pi / 2, 65)
    shapes = []
    for i in range(r.y0.size):
        ring = []
        for quarter, (side_y, side_z) in enumerate(CORNERS):
            rho = float(r.radius[i] * r.rounded[quarter, i])
            y = float(r.y1[i] if side_y > 0 else r.y0[i]) - side_y * rho
            z = float(r.z1[i] if side_z > 0 else r.z0[i]) - side_z * rho
            turn = angle + math.pi + quarter * math.pi / 2
            ring.append(np.stack((y + rho * np.cos(turn), z + rho * np.sin(turn)), axis=-1))
        shapes.append(shapely.Polygon(np.concatenate(ring)).buffer(0))
    return shapely.union_all(shapes)


def base_area(sections: Sections) -> float:
    """Area of the flat face at the very tail, bore mouth included, mm^2; 0 for a tail that closes."""
    r = sections.at(sections.x_max)
    return float(np.sum(np.maximum(section_area(r), 0.0)))

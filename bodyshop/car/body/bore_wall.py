"""The wall round the bore: least distances from the bore to every surface of the body, with their place.

Every point of the body's skin lies in some cross-section (or on an upright face), so the search runs over
stations: at one station the nearest point of each flat, corner and window edge is known in closed form, and
the best station is then closed in on. The distance itself is that of a point from a finite cylinder.

Where the bore's surface nearest to a point of the skin would lie behind the mouth, there is no bore: from
there the rim of the mouth is searched instead (`Rim`).

Which wall a point of the skin counts for: that of its own side, over, under, beside or at a rounded corner.
Ahead of the blind end counts what lies straight ahead of it, in the line of the bore, and every face past it
that looks more to the nose than up, down or sideways (`STEEP`), which then counts for no other side.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from bodyshop.car.body.holes import BoreHole
from bodyshop.car.body.rectangles import CORNERS, Contour, Rectangles
from bodyshop.car.body.rim import (
    BLIND_END,
    BOTTOM,
    CORNER,
    LEFT,
    OWN_SIDE,
    RIGHT,
    SIDES,
    TOP,
    WINDOW,
    Face,
    Rim,
    Wall,
    WallSide,
    rim_walls,
)
from bodyshop.car.body.section import Sections
from bodyshop.car.body.x_profile import Ints
from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import Array

__all__ = ["bore_walls"]


@dataclass(frozen=True, slots=True)
class _Skin:
    """The nearest skin points at each station, shape (16, ...): four flats, then CORNERS, as walls of their
    own side; then the same eight as walls ahead of the blind end.

    `side` is -1 for the mouth, and where a point is no wall of that kind. `behind` holds, for those of the
    first eight whose nearest point of the bore would lie behind its rim, the distance of that point, which
    is less than any from the rim; elsewhere infinity. None where there can be none.
    """

    distance: Array
    y: Array
    z: Array
    side: Ints
    behind: Array | None


@dataclass(frozen=True, slots=True)
class _Found:
    """A wall on the way to being closed in on: its side, the rectangle, stations on both sides of it."""

    side: int
    rectangle: int
    low: float
    high: float


ZOOMS, FAN = 3, 33
STEEP = 1.0
"""A face whose outline rises or falls by more than this, mm for mm (45 degrees), looks more to the nose than
up, down or sideways."""
# A side that falls short of its place by more than this (mm) is gone.
SAME_MM = 1e-9
# Just as steep is not steeper.
SAME_SLOPE = 1e-9


def bore_walls(sections: Sections, rim: Rim, mouth: Collection[Face]) -> dict[WallSide, Wall]:
    """The least wall on each side. A side with nothing on it (no window, say) is left out.

    The faces of the `mouth` are no walls.
    """
    bore, grid = rim.bore, sections.grid
    flats = _Flats(sections, mouth)
    own = flats.side[:, grid.which]
    steep = _steep((grid.dy0, grid.dy1, grid.dz0, grid.dz1))
    skin = _skin(rim, grid.r, own, steep, roughly=True)
    stations = grid.r.x.shape[1]
    best: list[_Found] = []
    for side in range(len(SIDES)):
        distance = np.where(skin.side == side, skin.distance, np.inf)
        _, row, column = np.unravel_index(int(np.argmin(distance)), distance.shape)
        if not math.isfinite(distance.min()):
            continue
        x = grid.r.x[row]
        low, high = float(x[max(column - 1, 0)]), float(x[min(column + 1, stations - 1)])
        best.append(_Found(side, int(row), low, high))
    found = _close_in(sections, rim, flats, best, any_steep=steep is not None) if best else {}
    for side_name, wall in _upright_walls(sections, bore, mouth):
        _keep_less(found, side_name, wall)
    if skin.behind is not None:
        own = _of_what_is_left(own, grid.r, grid.r.contour())
        for side_name, wall in rim_walls(rim, sections, own, skin.behind, found):
            _keep_less(found, side_name, wall)
    return found


def _keep_less(found: dict[WallSide, Wall], side: WallSide, wall: Wall) -> None:
    if side not in found or wall.value_mm < found[side].value_mm:
        found[side] = wall


class _Flats:
    """For each rectangle and each of its eight features, the side it counts for; -1 for the mouth."""

    def __init__(self, sections: Sections, mouth: Collection[Face]) -> None:
        count = sections.slab.size
        self.side: Ints = np.repeat(OWN_SIDE[:, None], count, axis=1)
        for feature, graph, piece, of_profile in (
            (TOP, sections.side, sections.z_upper, True),
            (BOTTOM, sections.side, sections.z_lower, True),
            (RIGHT, sections.top, sections.y_upper, False),
            (LEFT, sections.top, sections.y_lower, False),
        ):
            ring = graph.ring[piece]
            self.side[feature, ring > 0] = WINDOW
            # An edge of a window is no long edge of the body.
            sign = 1 if feature in (TOP, RIGHT) else -1
            touching = [4 + i for i, corner in enumerate(CORNERS) if corner[1 if of_profile else 0] == sign]
            for edge in touching:
                self.side[edge, ring > 0] = WINDOW
            for in_profile, number in mouth:
                if of_profile is in_profile:
                    self.side[feature, (ring == 0) & (graph.curve[piece] == number)] = -1


def _steep(slopes: tuple[Array, Array, Array, Array]) -> Array | None:
    """How steeply each flat looks to the nose, shape (4, ...) in the order of the skin's flats, from the
    slopes of y0, y1, z0, z1; None where no face can look more to the nose than outwards.
    """
    dy0, dy1, dz0, dz1 = slopes
    across, up = np.maximum(dy1, -dy0), np.maximum(dz1, -dz0)
    if float(np.hypot(np.maximum(across, 0.0), np.maximum(up, 0.0)).max()) <= STEEP:
        return None
    return np.stack((dz1, -dz0, dy1, -dy0))


def _close_in(
    sections: Sections, rim: Rim, flats: _Flats, best: list[_Found], *, any_steep: bool
) -> dict[WallSide, Wall]:
    rows = np.arange(len(best))
    side = np.array([b.side for b in best])
    which = np.repeat(np.array([b.rectangle for b in best])[:, None], FAN, axis=1)
    own, bound = flats.side[:, which], sections.bind(which)
    lo, hi = np.array([b.low for b in best]), np.array([b.high for b in best])
    fan = np.linspace(0.0, 1.0, FAN)

    def look() -> tuple[Array, _Skin, Array, Ints]:
        x = lo[:, None] + (hi - lo)[:, None] * fan
        skin = _skin(rim, bound.at(x), own, _steep(bound.slopes(x)) if any_steep else None)
        distance = np.where(skin.side == side[:, None], skin.distance, np.inf)
        return x, skin, distance, np.argmin(distance.min(axis=0), axis=1)

    x, skin, distance, at = look()
    for _ in range(ZOOMS - 1):
        lo, hi = x[rows, np.maximum(at - 1, 0)], x[rows, np.minimum(at + 1, FAN - 1)]
        x, skin, distance, at = look()
    feature = np.argmin(distance[:, rows, at], axis=0)
    found: dict[WallSide, Wall] = {}
    for row, (f, a) in enumerate(zip(feature, at, strict=True)):
        point = (float(x[row, a]), float(skin.y[f, row, a]), float(skin.z[f, row, a]))
        found[SIDES[int(side[row])]] = Wall(float(distance[f, row, a]), _on_bore(rim.bore, point), point)
    return found


def _skin(rim: Rim, r: Rectangles, own: Ints, steep: Array | None, *, roughly: bool = False) -> _Skin:
    """The nearest point of each flat and corner at each station; `own` says which side it counts for."""
    bore = rim.bore
    axis_z = bore.z + (bore.x - r.x) * math.tan(bore.tilt)
    contour = r.contour()
    own = _of_what_is_left(own, r, contour)
    y = np.empty((16, *r.x.shape))
    z = np.empty_like(y)
    # Rounded corners shorten the flats.
    y[TOP], z[TOP] = _within(bore.y, contour.y[6], contour.y[5]), contour.z[5]
    y[BOTTOM], z[BOTTOM] = _within(bore.y, contour.y[1], contour.y[2]), contour.z[1]
    sides = (
        (RIGHT, contour.y[3], contour.z[3], contour.z[4]),
        (LEFT, contour.y[0], contour.z[0], contour.z[7]),
    )
    for feature, at, low, high in sides:
        y[feature], z[feature] = at, _nearest_z(bore, r.x, at, axis_z, low, high, roughly=roughly)
    signs = np.array(CORNERS, dtype=np.float64)
    side_y, side_z = (signs[:, k].reshape(4, *[1] * r.x.ndim) for k in (0, 1))
    is_round = contour.sweep > 0
    cut = r.radius * is_round
    cy = np.where(is_round, contour.centre_y, contour.y[::2])
    cz = np.where(is_round, contour.centre_z, contour.z[::2])
    turn_y, turn_z = _turns(bore, r.x, (cy, cz), (side_y * cut, side_z * cut), (side_y, side_z), axis_z)
    if r.outer is not None:
        # Where a window cuts into an arc, no further than its wall.
        first, last = contour.reach
        turn_y = np.where(is_round, np.clip(turn_y, np.cos(last), np.cos(first)), turn_y)
        turn_z = np.where(is_round, np.clip(turn_z, np.sin(first), np.sin(last)), turn_z)
    y[4:8], z[4:8] = cy + side_y * cut * turn_y, cz + side_z * cut * turn_z
    y[8:], z[8:] = y[:8], z[:8]
    if bore.tilt:
        for feature, at, low, high in sides:
            z[8 + feature] = _straight_ahead_z(bore, r.x, at, z[feature], low, high)
        arcs = (cy, cz, side_y * cut, side_z * cut, turn_y, turn_z)
        y[12:], z[12:] = _straight_ahead_on_arc(bore, r.x, (y[12:], z[12:]), arcs)
    distance, past, outside = _distance(bore, r.x, y, z)
    looks = np.zeros(own.shape, dtype=bool)
    if steep is not None:
        top, bottom, right, left = steep
        looks[:4] = steep > STEEP + SAME_SLOPE
        gain_y, gain_z = np.where(side_y > 0, right, left), np.where(side_z > 0, top, bottom)
        gain = np.where(cut > 0, turn_y * gain_y + turn_z * gain_z, np.maximum(gain_y, gain_z))
        looks[4:] = gain > STEEP + SAME_SLOPE
    body = (own >= 0) & (own != WINDOW)
    looks &= body & (past[:8] > 0)
    ahead = looks | (body & (outside[8:] <= 0) & (past[8:] > 0))
    side = np.concatenate((np.where(looks, -1, own), np.where(ahead, BLIND_END, -1)))
    behind = None
    if not rim.square:
        lost = rim.behind(r.x, y[:8], z[:8])
        behind = np.where(lost & (own >= 0), distance[:8], np.inf)
        distance[:8] = np.where(lost, np.inf, distance[:8])
    return _Skin(distance, y, z, side, behind)


def _of_what_is_left(own: Ints, r: Rectangles, contour: Contour) -> Ints:
    """Which side each flat and corner counts for, where windows have cut into the rounding: an arc is the
    body's own edge also where a window ends it; what the rounding took counts for none.
    """
    if r.outer is None:
        return own
    own = own.copy()
    own[4:][(contour.sweep > 0) & (own[4:] == WINDOW)] = CORNER
    y0, y1, z0, z1 = r.sides
    own[TOP][contour.z[5] < z1 - SAME_MM] = -1
    own[BOTTOM][contour.z[1] > z0 + SAME_MM] = -1
    own[RIGHT][contour.y[3] < y1 - SAME_MM] = -1
    own[LEFT][contour.y[0] > y0 + SAME_MM] = -1
    own[:, r.empty] = -1
    return own


def _turns(
    bore: BoreHole,
    x: Array,
    centre: tuple[Array, Array],
    arm: tuple[Array, Array],
    sign: tuple[Array, Array],
    axis_z: Array,
) -> tuple[Array, Array]:
    """Which way, outwards and from 0 to 1 each, the nearest point of each quarter circle lies from its
    centre: towards the bore, or an end of it.
    """
    dy, dz = sign[0] * (bore.y - centre[0]), sign[1] * (axis_z - centre[1])
    size = np.hypot(dy, dz)
    inside = (dy > 0) & (dz > 0)
    if bore.tilt:
        level = (
            _distance(bore, x, centre[0] + arm[0], centre[1])[0]
            <= _distance(bore, x, centre[0], centre[1] + arm[1])[0]
        )
    else:
        level = dy >= dz
    size[size == 0] = 1.0
    return np.where(inside, dy / size, level), np.where(inside, dz / size, ~level)


def _within(value: float | Array, low: Array, high: Array) -> Array:
    return np.minimum(np.maximum(value, low), np.maximum(low, high))


def _nearest_z(
    bore: BoreHole, x: Array, y: Array, axis_z: Array, low: Array, high: Array, *, roughly: bool = False
) -> Array:
    """Height on an upright edge nearest to the bore: level with the axis, or, for a tilted bore whose
    blind end is behind, by ternary search of the convex distance; `roughly` to within 0.2 mm.
    """
    z = _within(axis_z, low, high)
    if bore.tilt == 0:
        return z
    ahead = _distance(bore, x, y, z)[1] > 0
    if not np.any(ahead):
        return z
    x, y = np.broadcast_to(x, z.shape)[ahead], np.broadcast_to(y, z.shape)[ahead]
    a, b = low[ahead], np.maximum(low, high)[ahead]
    for _ in range(12 if roughly else 40):
        c, d = a + (b - a) / 3, b - (b - a) / 3
        left = _distance(bore, x, y, c)[0] < _distance(bore, x, y, d)[0]
        a, b = np.where(left, a, c), np.where(left, d, b)
    z[ahead] = 0.5 * (a + b)
    return z


def _straight_ahead_z(bore: BoreHole, x: Array, y: Array, z: Array, low: Array, high: Array) -> Array:
    """Height on an upright edge that is least far past the blind end within the line of the bore; `z` where
    the edge does not cross that line.
    """
    c, s = math.cos(bore.tilt), math.sin(bore.tilt)
    half = np.sqrt(np.maximum(bore.radius**2 - (y - bore.y) ** 2, 0.0)) / c
    middle = bore.z - (x - bore.x) * s / c
    below, above = np.maximum(low, middle - half), np.minimum(high, middle + half)
    return np.where((half > 0) & (below <= above), below if s > 0 else above, z)


def _straight_ahead_on_arc(
    bore: BoreHole, x: Array, nearest: tuple[Array, Array], arcs: tuple[Array, ...]
) -> tuple[Array, Array]:
    """The point of each quarter circle that is least far past the blind end within the line of the bore;
    the nearest point where that does not lie in it.
    """
    y, z = nearest
    cy, cz, arm_y, arm_z, turn_y, turn_z = arcs
    # Of the nearest point and both ends the one least far out from that line.
    ways = ((turn_y, turn_z), (np.ones_like(y), np.zeros_like(y)), (np.zeros_like(y), np.ones_like(y)))
    found = [_distance(bore, x, cy + arm_y * way_y, cz + arm_z * way_z) for way_y, way_z in ways]
    least = np.argmin([outside for _, _, outside in found], axis=0)
    past, outside = (np.choose(least, [f[i] for f in found]) for i in (1, 2))
    pick = (past > 0) & (outside <= 0)
    if not np.any(pick):
        return nearest
    turn_y, turn_z = (np.choose(least, [way[i] for way in ways]) for i in (0, 1))
    cy, cz, arm_y, arm_z, turn_y, turn_z = (
        np.broadcast_to(a, y.shape)[pick] for a in (cy, cz, arm_y, arm_z, turn_y, turn_z)
    )
    at = np.broadcast_to(x, y.shape)[pick]
    # The lower a point lies, the less far past the end of a bore that rises it is.
    start = np.arctan2(turn_z, turn_y)
    end = np.where((arm_z > 0) == (bore.tilt > 0), 0.0, 0.5 * math.pi)
    low, high = np.zeros_like(start), np.ones_like(start)

    def at_point(share: Array) -> tuple[Array, Array]:
        turn = start + (end - start) * share
        return cy + arm_y * np.cos(turn), cz + arm_z * np.sin(turn)

    low = np.where(_distance(bore, at, *at_point(high))[2] <= 0, high, low)
    for _ in range(30):
        middle = 0.5 * (low + high)
        inside = _distance(bore, at, *at_point(middle))[2] <= 0
        low, high = np.where(inside, middle, low), np.where(inside, high, middle)
    y, z = y.copy(), z.copy()
    y[pick], z[pick] = at_point(low)
    return y, z


def _distance(bore: BoreHole, x: Array, y: Array, z: Array) -> tuple[Array, Array, Array]:
    """Signed distance of points from the bore (run on past its mouth), how far past the blind end they lie,
    and how far out from the line of the bore.
    """
    along, up = bore.along_and_up(x, z)
    outside = np.hypot(y - bore.y, up) - bore.radius
    past = along - bore.depth
    out = np.hypot(np.maximum(past, 0.0), np.maximum(outside, 0.0))
    return out + np.minimum(np.maximum(past, outside), 0.0), past, outside


def _on_bore(bore: BoreHole, point: Point3) -> Point3:
    """The point of the bore's surface nearest to `point`."""
    along, up = bore.along_and_up(np.array(point[0]), np.array(point[2]))
    a, u, y = min(float(along), bore.depth), float(up), point[1] - bore.y
    size = math.hypot(u, y)
    if size > bore.radius or float(along) <= bore.depth:
        scale = bore.radius / size if size > 0 else 0.0
        u, y = u * scale, y * scale
    px, pz = bore.point(a, u)
    return (px, bore.y + y, pz)


def _upright_walls(
    sections: Sections, bore: BoreHole, mouth: Collection[Face]
) -> list[tuple[WallSide, Wall]]:
    """Walls to upright faces square to the length: the nose, steps, ends of windows.

    Of the outside only those that look to the nose ahead of the blind end count; beside the bore such a face
    only joins two flats, which are searched already.
    """
    walls = []
    x_blind = bore.point(bore.depth)[0] + bore.radius * abs(math.sin(bore.tilt))
    for is_side, graph in ((True, sections.side), (False, sections.top)):
        for upright in graph.uprights:
            if upright.ring == 0 and ((is_side, upright.curve) in mouth or upright.x > x_blind):
                continue
            if not sections.x_min <= upright.x <= sections.x_max:
                continue
            level = bore.z + (bore.x - upright.x) * math.tan(bore.tilt)
            # The wood of a face that looks to the nose lies tailward of it.
            for noseward in (False, True) if upright.ring > 0 else (False,):
                r = sections.at(upright.x, ahead=noseward)
                x = np.full(r.y0.shape, upright.x)
                if is_side:
                    y = np.clip(bore.y, r.y0, r.y1)
                    low, high = np.maximum(r.z0, upright.v0), np.minimum(r.z1, upright.v1)
                    backed = high > low
                else:
                    left, right = np.maximum(r.y0, upright.v0), np.minimum(r.y1, upright.v1)
                    y, backed = _within(bore.y, left, right), right > left
                    low, high = r.z0, r.z1
                z = _nearest_z(bore, x, y, np.full(y.shape, level), low, high)
                distance, past, _ = _distance(bore, x, y, z)
                side = WallSide.WINDOW if upright.ring > 0 else WallSide.BLIND_END
                for i in range(y.size):
                    if backed[i] and (upright.ring > 0 or past[i] > 0):
                        point = (upright.x, float(y[i]), float(z[i]))
                        walls.append((side, Wall(float(distance[i]), _on_bore(bore, point), point)))
    return walls

"""The car in space for looking at: a mesh of the body from its own sections, without the 3D kernel.

Each stretch between two breaks of the sections is one tube round each of its rectangles, closed at its ends
where the next stretch does not go on in the same way. Corners that sanding rounds are rounded; the bore is a
real hole where its mouth lies in a flat tail. Good enough to look at, and no more is asked of it.
"""

from __future__ import annotations

import base64
import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.body import BoreHole, Rectangles
from bodyshop.car.body.rectangles import QUARTER, STARTS
from bodyshop.car.body.surfaces import piece_shapes
from bodyshop.geometry.outlines import Array
from bodyshop.output.json.plain_data import Data

__all__ = ["BodyMesh", "body_mesh", "section_data", "section_shapes", "solid_data"]

Ints = NDArray[np.int64]

_APART_MM: Final = 3.0
"""Stations lie no further apart than this."""

_MOST_STATIONS: Final = 20
_ROUND: Final = 5
"""Points on a corner, sharp ones too: there all of them are one point with two normals."""

_ROUND_BORE: Final = 40
_SAME_MM: Final = 1e-6
_FINE: Final = 24
"""Points on a corner of a section that is shown flat."""

Mesh = tuple[Array, Array, Ints]
"""Points, their normals, and triangles as rows of three indices, anticlockwise from outside."""


class BodyMesh:
    """A mesh in the making, and then as three arrays."""

    def __init__(self) -> None:
        self._points: list[Array] = []
        self._normals: list[Array] = []
        self._faces: list[Ints] = []
        self._count = 0

    def add(self, points: Array, normals: Array, faces: Ints) -> None:
        """One more patch; its faces count from its own first point."""
        self._points.append(points)
        self._normals.append(normals)
        self._faces.append(faces + self._count)
        self._count += len(points)

    @property
    def arrays(self) -> Mesh:
        """Points (n, 3) and normals (n, 3), mm; triangles (m, 3)."""
        if not self._points:
            return np.empty((0, 3)), np.empty((0, 3)), np.empty((0, 3), dtype=np.int64)
        return np.concatenate(self._points), np.concatenate(self._normals), np.concatenate(self._faces)


def body_mesh(car: Car) -> BodyMesh:
    """The body's skin, its windows, and its bore."""
    sections = car.body.sections
    mesh = BodyMesh()
    breaks = sections.breaks
    first = sections.first_rectangle
    bore = _open_bore(car)
    for slab in range(breaks.size - 1):
        x0, x1 = float(breaks[slab]), float(breaks[slab + 1])
        count = int(min(max(math.ceil((x1 - x0) / _APART_MM), 1) + (x1 - x0 > 1.0), _MOST_STATIONS))
        share = 0.5 * (1 - np.cos(np.pi * np.arange(count + 1) / count))
        x = x0 + (x1 - x0) * share
        x[-1] = x1
        which = np.arange(first[slab], first[slab + 1])
        if not which.size:
            continue
        grid = np.repeat(which[:, None], x.size, axis=1)
        r = sections.rectangles(grid, np.broadcast_to(x, grid.shape))
        every, normals = _loops(r)
        for row, loops in enumerate(every):
            if np.all(r.empty[row]):
                continue
            _tube(mesh, loops, normals[row])
            if not _goes_on(car, slab, r, row, ahead=True):
                _cap(mesh, loops[0], -1.0)
            if not _goes_on(car, slab, r, row, ahead=False):
                at_tail = slab == breaks.size - 2
                if bore is not None and at_tail and _holds(r, row, bore):
                    _drilled_cap(mesh, loops[-1], bore)
                else:
                    _cap(mesh, loops[-1], 1.0)
    return mesh


def solid_data(car: Car) -> dict[str, Data]:
    """The mesh as little-endian numbers in base64, and all that turns and stands round it, mm."""
    points, normals, faces = body_mesh(car).arrays
    design, track = car.design, car.track
    bore = car.body.bore
    return {
        "points": _packed(points.astype("<f4")),
        "normals": _packed(normals.astype("<f4")),
        "faces": _packed(faces.astype("<u4")),
        "box": [round(each, 3) for each in car.body.bounds],
        "wheels": [wheel for stack in car.stacks for wheel in _wheels(stack)],
        "eyes": [
            {
                "at": [eye.x_mm, eye.offset_mm, pilot.z - eye.eye.ring_outer_mm / 2],
                "radius": (eye.eye.ring_outer_mm - eye.eye.wire_mm) / 2,
                "wire": eye.eye.wire_mm / 2,
            }
            for eye, pilot in zip(design.eyes, car.body.eye_pilots, strict=True)
            if pilot is not None
        ],
        "bore": None if bore is None else _bore_data(car, bore),
        "track": None if track is None else [track.nx, track.nz, track.offset],
    }


def section_data(car: Car, x: float) -> dict[str, Data]:
    """The wood at a station: polygons in (y, z) with their holes, its area, and the box of the body."""
    body = car.body
    x = min(max(x, body.x_nose), body.x_tail)
    wood = shapely.union_all(section_shapes(car, x))
    wood = shapely.difference(wood, shapely.union_all(list(_holes_at(car, x))))
    parts = [part for part in getattr(wood, "geoms", (wood,)) if isinstance(part, shapely.Polygon)]
    return {
        "x": round(x, 3),
        "area": round(float(wood.area), 2),
        "polygons": [_rings(part) for part in parts if not part.is_empty],
        "box": [round(body.bounds[k], 3) for k in (1, 2, 4, 5)],
    }


def section_shapes(car: Car, x: float) -> list[shapely.Polygon]:
    """The undrilled section at a station: a polygon in (y, z) for each of its rectangles."""
    r = car.body.sections.at(x, ahead=x >= car.body.x_tail)
    return [shape for shape in piece_shapes(r, _FINE) if shape.area > 0]


def _rings(part: shapely.Polygon) -> Data:
    """The outside of a polygon and its holes, each point by point."""
    return [
        [[round(y, 3), round(z, 3)] for y, z in ring.coords[:-1]] for ring in (part.exterior, *part.interiors)
    ]


# ---------------------------------------------------------------- tubes


def _loops(r: Rectangles) -> tuple[Array, Array]:
    """Loops round each piece, (pieces, stations, points, 3), anticlockwise seen from the tail; and normals
    of their points in the plane of the section, (pieces, stations, points, 2).

    Each corner starts and ends with the normals of the flats beside it: where a window cuts into its arc
    they are not those of the arc's ends.
    """
    yz = r.ring(_ROUND - 1)
    contour = r.contour()
    corners, normals = [], []
    for c in range(4):
        arc = yz[..., c * _ROUND : (c + 1) * _ROUND, :]
        start, sweep = contour.start[c], contour.sweep[c]
        square = sweep == 0
        start, sweep = np.where(square, STARTS[c], start), np.where(square, QUARTER, sweep)
        turn = np.linspace(0.0, 1.0, _ROUND)
        angle = start[..., None] + sweep[..., None] * turn
        if r.outer is not None:
            arc = np.concatenate((arc[..., :1, :], arc, arc[..., -1:, :]), axis=-2)
            ends = np.broadcast_to(STARTS[c] + np.array([0.0, QUARTER]), (*square.shape, 2))
            angle = np.concatenate((ends[..., :1], angle, ends[..., 1:]), axis=-1)
        corners.append(arc)
        normals.append(np.stack((np.cos(angle), np.sin(angle)), axis=-1))
    ring = np.concatenate(corners, axis=-2)
    x = np.broadcast_to(r.x[..., None, None], (*ring.shape[:-1], 1))
    return np.concatenate((x, ring), axis=-1), np.concatenate(normals, axis=-2)


def _tube(mesh: BodyMesh, loops: Array, flat: Array) -> None:
    stations, around = loops.shape[:2]
    along = np.gradient(loops, axis=0) if stations > 1 else np.broadcast_to([1.0, 0.0, 0.0], loops.shape)
    tangent, outward = np.zeros(loops.shape), np.zeros(loops.shape)
    tangent[..., 1], tangent[..., 2] = -flat[..., 1], flat[..., 0]
    outward[..., 1:] = flat
    normals = np.cross(tangent, along)
    size = np.linalg.norm(normals, axis=2, keepdims=True)
    normals = np.where(size > 1e-9, normals / np.maximum(size, 1e-12), outward)
    # The cross product of the two ways looks out or in, the same for all: out is what is wanted.
    normals *= np.where(np.sum(normals * outward, axis=2, keepdims=True) < 0, -1.0, 1.0)
    here = np.arange(stations - 1)[:, None] * around + np.arange(around)
    beside = np.arange(stations - 1)[:, None] * around + (np.arange(around) + 1) % around
    a, b, c, d = here, beside, here + around, beside + around
    faces = np.concatenate([np.stack((a, b, c), axis=-1), np.stack((b, d, c), axis=-1)]).reshape(-1, 3)
    mesh.add(loops.reshape(-1, 3), normals.reshape(-1, 3), faces)


def _turned(faces: Ints) -> Ints:
    """Triangles run the other way round."""
    return faces[:, ::-1]


def _cap(mesh: BodyMesh, loop: Array, side: float) -> None:
    """A flat end: a fan about its middle. `side` -1 looks to the nose."""
    points = np.concatenate((loop, loop.mean(axis=0, keepdims=True)))
    around = len(loop)
    i = np.arange(around)
    faces = np.stack((i, (i + 1) % around, np.full(around, around)), axis=1)
    normals = np.tile([side, 0.0, 0.0], (around + 1, 1))
    mesh.add(points, normals, faces if side > 0 else _turned(faces))


def _drilled_cap(mesh: BodyMesh, loop: Array, bore: BoreHole) -> None:
    """The flat tail round the bore's mouth, the bore's wall, and its blind end."""
    middle = np.array([bore.y, bore.z])
    yz = loop[:, 1:] - middle
    outer_angle = np.arctan2(yz[:, 1], yz[:, 0])
    even = np.linspace(-math.pi, math.pi, _ROUND_BORE, endpoint=False)
    angle = np.unique(np.concatenate((outer_angle, even)))
    ring = np.stack((np.cos(angle), np.sin(angle)), axis=1)
    edge = ring * _reach(yz, ring)[:, None]
    x = float(loop[0, 0])
    n = angle.size
    points = np.empty((2 * n, 3))
    points[:, 0] = x
    points[:n, 1:] = edge + middle
    # A tilted bore opens in the flat tail as an ellipse, higher than wide; its end is square to its axis.
    c, s = math.cos(bore.tilt), math.sin(bore.tilt)
    points[n:, 1:] = ring * bore.radius * np.array([1.0, 1.0 / c]) + middle
    i = np.arange(n)
    j = (i + 1) % n
    faces = np.concatenate([np.stack((i, j, i + n), axis=1), np.stack((j, j + n, i + n), axis=1)])
    mesh.add(points, np.tile([1.0, 0.0, 0.0], (2 * n, 1)), faces)
    # The wall looks to the axis.
    mouth = points[n:].copy()
    along = bore.depth - bore.radius * ring[:, 1] * s / c
    end = mouth + along[:, None] * np.array([-c, 0.0, s])
    inward = np.zeros((n, 3))
    inward[:, 1:] = -ring
    wall = np.concatenate([np.stack((i, j, i + n), axis=1), np.stack((j, j + n, i + n), axis=1)])
    mesh.add(np.concatenate((mouth, end)), np.concatenate((inward, inward)), wall)
    disc = np.concatenate((end, end.mean(axis=0, keepdims=True)))
    fan = np.stack((i, j, np.full(n, n)), axis=1)
    mesh.add(disc, np.tile([c, 0.0, -s], (n + 1, 1)), fan)


def _reach(loop: Array, ring: Array) -> Array:
    """How far a convex loop about the origin reaches in unit directions."""
    edge = np.roll(loop, -1, axis=0) - loop
    # The line of each side: normal . p = offset. The least distance along a direction is the side it meets.
    normal = np.stack((edge[:, 1], -edge[:, 0]), axis=1)
    offset = np.sum(normal * loop, axis=1)
    rate = ring @ normal.T
    with np.errstate(divide="ignore", invalid="ignore"):
        far = np.where(rate > 1e-9, offset / rate, np.inf)
    reach: Array = far.min(axis=1)
    return reach


def _goes_on(car: Car, slab: int, r: Rectangles, row: int, *, ahead: bool) -> bool:
    """Whether the neighbouring stretch begins with the very rectangle that this one ends with."""
    sections = car.body.sections
    other = slab - 1 if ahead else slab + 1
    column = 0 if ahead else -1
    if not 0 <= other < sections.breaks.size - 1:
        wide = r.y1[row, column] - r.y0[row, column]
        high = r.z1[row, column] - r.z0[row, column]
        return bool(min(wide, high) < _SAME_MM)
    first = sections.first_rectangle
    grid = sections.grid.r
    there = slice(int(first[other]), int(first[other + 1]))
    edge = -1 if ahead else 0
    same = np.ones(there.stop - there.start, dtype=bool)
    for name in ("y0", "y1", "z0", "z1"):
        same &= np.abs(getattr(grid, name)[there, edge] - getattr(r, name)[row, column]) < _SAME_MM
    return bool(np.any(same))


def _open_bore(car: Car) -> BoreHole | None:
    """The bore, where its mouth lies at the tail's flat end."""
    bore = car.body.bore
    return bore if bore is not None and abs(bore.x - car.body.x_tail) < _SAME_MM else None


def _holds(r: Rectangles, row: int, bore: BoreHole) -> bool:
    """Whether a tail's end has the whole mouth inside it."""
    side_y = min(bore.y - float(r.y0[row, -1]), float(r.y1[row, -1]) - bore.y)
    side_z = min(bore.z - float(r.z0[row, -1]), float(r.z1[row, -1]) - bore.z)
    # A tilted bore opens as an ellipse, higher than wide.
    return min(side_y, side_z * math.cos(bore.tilt)) > bore.radius + _SAME_MM


# ---------------------------------------------------------------- flat sections


def _holes_at(car: Car, x: float) -> Iterator[shapely.Geometry]:
    """What the drills have taken at a station."""
    body = car.body
    bore = body.bore
    if bore is not None:
        c, s = math.cos(bore.tilt), math.sin(bore.tilt)
        along = (bore.x - x) / c
        if 0 <= along <= bore.depth:
            # A tilted cylinder cut square across: a little higher than it is wide.
            angle = np.linspace(0.0, 2 * math.pi, 128, endpoint=False)
            ring = np.stack((np.cos(angle), np.sin(angle) / c), axis=1) * bore.radius
            yield shapely.Polygon(ring + np.array([bore.y, bore.z + along * s]))
    for hole in body.axle_holes:
        half = math.sqrt(max(hole.radius**2 - (x - hole.x) ** 2, 0.0))
        if half > 0:
            yield shapely.box(-1e3, hole.z - half, 1e3, hole.z + half)
    for pilot in body.pilots:
        half = math.sqrt(max(pilot.radius**2 - (x - pilot.x) ** 2, 0.0))
        if half > 0:
            yield shapely.box(pilot.y - half, -1e3, pilot.y + half, pilot.z + pilot.depth)


# ---------------------------------------------------------------- what is round it


def _wheels(stack: AxleStack) -> list[Data]:
    x, z = stack.axle.x_mm, stack.axle.height_mm
    wheel = stack.axle.wheel
    half = stack.axle_length_mm / 2
    rod = stack.axle.axle.diameter_mm / 2
    found: list[Data] = [
        _rod("rod", x, z, stack.middle - half, stack.middle + half, rod),
    ]
    for side in (-1.0, 1.0):
        tread = _across(stack, side, stack.tread_inner_mm, stack.tread_outer_mm)
        hub = _across(stack, side, stack.hub_inner_mm, stack.hub_outer_mm)
        found.append(_rod("tread", x, z, tread[0], tread[1], wheel.radius_mm))
        found.append(_rod("hub", x, z, hub[0], hub[1], max(wheel.radius_mm * 0.32, wheel.bore_mm)))
        face = stack.faces[1] if side > 0 else stack.faces[0]
        found.append(_rod("hole", x, z, face - 0.1, face + 0.1, stack.axle.hole_mm / 2))
    return found


def _across(stack: AxleStack, side: float, inner: float, outer: float) -> tuple[float, float]:
    """A stretch across the car on the right side, or its mirror image, in rising y."""
    ends = [stack.middle + side * (y - stack.middle) for y in (inner, outer)]
    return min(ends), max(ends)


def _rod(kind: str, x: float, z: float, y0: float, y1: float, radius: float) -> Data:
    return {"kind": kind, "x": x, "z": z, "y0": round(y0, 3), "y1": round(y1, 3), "radius": round(radius, 3)}


def _bore_data(car: Car, bore: BoreHole) -> Data:
    return {
        "at": [bore.x, bore.y, bore.z],
        "radius": bore.radius,
        "depth": bore.depth,
        "tilt": bore.tilt,
        "open": _open_bore(car) is not None,
    }


def _packed(array: NDArray[np.generic]) -> str:
    return base64.b64encode(array.tobytes()).decode("ascii")

"""The car in space for looking at: the body's mesh, sections through it, and what stands round it."""

from __future__ import annotations

import base64
import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from bodyshop.app.bench.messages import Data
from bodyshop.car.assembly import AxleStack, Car
from bodyshop.car.body.surfaces import piece_shapes
from bodyshop.solids import SolidError, body_mesh, shaded

__all__ = ["section_data", "section_shapes", "solid_data"]

_CHORD_MM: Final = 0.2
"""Fine enough to look smooth on a screen."""

_CREASE_RAD: Final = math.radians(30)
"""Faces that turn by less look like one smooth skin."""

_FINE: Final = 24
"""Points on a corner of a section that is shown flat."""


def solid_data(car: Car) -> dict[str, Data]:
    """The mesh as little-endian numbers in base64, and all that turns and stands round it, mm.

    A body that cannot be made has no mesh.
    """
    try:
        points, normals, faces = shaded(body_mesh(car.body, _CHORD_MM), _CREASE_RAD)
    except SolidError:
        points, normals, faces = np.empty((0, 3)), np.empty((0, 3)), np.empty((0, 3), dtype=np.int64)
    design, track = car.design, car.track
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
    return found


def _across(stack: AxleStack, side: float, inner: float, outer: float) -> tuple[float, float]:
    """A stretch across the car on the right side, or its mirror image, in rising y."""
    ends = [stack.middle + side * (y - stack.middle) for y in (inner, outer)]
    return min(ends), max(ends)


def _rod(kind: str, x: float, z: float, y0: float, y1: float, radius: float) -> Data:
    return {"kind": kind, "x": x, "z": z, "y0": round(y0, 3), "y1": round(y1, 3), "radius": round(radius, 3)}


def _packed(array: NDArray[np.generic]) -> str:
    return base64.b64encode(array.tobytes()).decode("ascii")

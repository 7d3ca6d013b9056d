"""Plain forms for meshes: boxes, rods, prisms, turned parts and tubes, within a chord of the true shape. They
are forms of manifold3d, which joins and cuts them so that the result always closes.

A round hole or part becomes a prism of as many sides as the chord asks for and of the circle's own area: its
corners stand out of the circle by about as much as its sides lie inside, and it holds the true volume.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.car.body.holes import Cylinder
from bodyshop.geometry.outlines import Array, Ring
from bodyshop.solids.errors import SolidError
from bodyshop.solids.mesh import ANGLE_RAD, Ints

if TYPE_CHECKING:
    from manifold3d import Manifold

__all__ = ["box", "cut", "joined", "moved", "quarter_steps", "rod", "tube", "turned", "window_tool"]

Profile = Sequence[tuple[float, float]]
"""Corners (along the axis, radius), mm, anticlockwise with the radius upward."""

SAME_MM = 1e-6
"""Points nearer than this are one."""

_FEWEST_SIDES = 8


def box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Manifold:
    """A box between two corners."""
    from manifold3d import Manifold

    return Manifold.cube(tuple(b - a for a, b in zip(low, high, strict=True))).translate(low)


def quarter_steps(radius: float, chord_mm: float) -> int:
    """Flat faces to a quarter circle whose middles lie within a chord of it; 0 where nothing is round."""
    if radius <= 0:
        return 0
    turn = 2 * math.acos(max(1 - chord_mm / radius, 0.0))
    return math.ceil(math.pi / 2 / min(turn, ANGLE_RAD))


def _circle(radius: float, chord_mm: float) -> tuple[int, float]:
    """Sides of a prism with a circle's area, and the radius of its corners."""
    # Of the chord's rise a third lies inside the circle and two thirds outside it, so half as much again
    # would do; a little less is taken.
    turn = 2 * math.acos(max(1 - 1.4 * chord_mm / radius, 0.0))
    sides = max(_FEWEST_SIDES, math.ceil(2 * math.pi / min(turn, ANGLE_RAD)))
    part = 2 * math.pi / sides
    return sides, radius * math.sqrt(part / math.sin(part))


def rod(cylinder: Cylinder, chord_mm: float, wider_mm: float = 0.0) -> Manifold:
    """A cylinder, its radius `wider_mm` more."""
    from manifold3d import Manifold

    sides, radius = _circle(cylinder.radius + wider_mm, chord_mm)
    made = Manifold.cylinder(cylinder.length, radius, radius, sides)
    along = cylinder.axis
    up = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.9 else np.array([1.0, 0.0, 0.0])
    across = np.cross(up, along)
    across /= np.linalg.norm(across)
    return moved(made, np.column_stack((across, np.cross(along, across), along, cylinder.start)))


def turned(profile: Profile, chord_mm: float) -> Manifold:
    """A closed profile turned about the x axis."""
    from manifold3d import CrossSection, Manifold

    widest = max(radius for _, radius in profile)
    sides, radius = _circle(widest, chord_mm)
    stretch = radius / widest
    section = CrossSection([np.array([(r * stretch, along) for along, r in profile][::-1])])
    # It turns about the second axis of the section, which becomes z; z becomes x.
    made = Manifold.revolve(section, sides)
    return moved(made, np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]]))


def moved(form: Manifold, move: Array) -> Manifold:
    """A form put elsewhere by a matrix (3, 4) that turns and shifts."""
    return form.transform(np.ascontiguousarray(move))


def window_tool(ring: Ring, low: float, high: float, chord_mm: float, *, upright: bool) -> Manifold:
    """What a window takes out between two offsets: a window of the plan goes `upright` through z, one of the
    profile across through y.
    """
    from manifold3d import CrossSection

    made = CrossSection([ring.turned(left=True).flattened(chord_mm)[0]]).extrude(high - low)
    if upright:
        return made.translate((0.0, 0.0, low))
    return moved(made, np.array([[1.0, 0.0, 0.0, 0.0], [0.0, 0.0, -1.0, high], [0.0, 1.0, 0.0, 0.0]]))


def tube(x: Array, rings: Array) -> Manifold | None:
    """The skin over rings (stations, points, 2) of (y, z), anticlockwise seen from the tail, closed flat at
    both ends; None where nothing is left of it. Rings may shrink to a line or a point at the ends.
    """
    from manifold3d import Manifold, Mesh64

    stations, around = rings.shape[:2]
    along = np.broadcast_to(x[:, None, None], (stations, around, 1))
    points = np.concatenate((along, rings), axis=2).reshape(-1, 3)
    _, index, number = np.unique(
        np.round(points / SAME_MM).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    triangles = number.reshape(-1)[_tube_triangles(points, stations, around)]
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    if not triangles.size:
        return None
    return _sound(Manifold(Mesh64(points[index], triangles.astype(np.uint64))))


def _tube_triangles(points: Array, stations: int, around: int) -> Ints:
    start = np.arange(stations - 1)[:, None] * around
    step = np.arange(around)
    a, b = (start + step).ravel(), (start + (step + 1) % around).ravel()
    c, d = a + around, b + around
    # The shorter diagonal bends least away from the surface.
    short = np.linalg.norm(points[b] - points[c], axis=1) <= np.linalg.norm(points[a] - points[d], axis=1)
    one = np.where(short[:, None], np.stack((a, b, c), axis=1), np.stack((a, d, c), axis=1))
    two = np.where(short[:, None], np.stack((b, d, c), axis=1), np.stack((a, b, d), axis=1))
    k = np.arange(1, around - 1)
    tail = np.stack((np.zeros_like(k), k, k + 1), axis=1) + (stations - 1) * around
    nose = np.stack((np.zeros_like(k), k + 1, k), axis=1)
    return np.concatenate((one, two, nose, tail))


def joined(forms: Sequence[Manifold]) -> Manifold:
    """All of them as one; where two touch face to face nothing is left between them."""
    from manifold3d import Manifold, OpType

    return forms[0] if len(forms) == 1 else _sound(Manifold.batch_boolean(list(forms), OpType.Add))


def cut(form: Manifold, tools: Sequence[Manifold]) -> Manifold:
    """A form less all the tools."""
    from manifold3d import Manifold, OpType

    return _sound(Manifold.batch_boolean([form, *tools], OpType.Subtract)) if tools else form


def _sound(form: Manifold) -> Manifold:
    """The form itself.

    Raises:
        SolidError: it has no inside and outside.
    """
    from manifold3d import Error

    if form.status() != Error.NoError:
        raise SolidError("the mesh of the body does not close")
    return form

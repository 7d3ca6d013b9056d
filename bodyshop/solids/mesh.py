"""The skin as triangles: shared corners, every edge between two triangles, none without area.

Points are rounded to the STL's single precision first, so that what is checked is what is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bodyshop.solids.errors import SolidError
from bodyshop.solids.face_mesh import shape_triangles
from bodyshop.solids.face_triangles import Floats, Ints, cleaned, heights, in_order, without_needles

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Shape

__all__ = ["ANGLE_RAD", "CHORD_MM", "Mesh", "closed_mesh", "mesh_faults", "points_inside"]

CHORD_MM = 0.05
"""How far a chord may stray from the surface, mm."""

ANGLE_RAD = 0.35
"""How far the surface may turn over one edge, rad."""

# The mesh's volume may differ from the solid's by this share. Chords run inside a bulge, so it falls short.
SHORT = 9e-4
TRIES = 5


@dataclass(frozen=True, slots=True)
class Mesh:
    """`points` (n, 3) mm in single precision; `triangles` (m, 3) indices, anticlockwise from outside;
    `chord_mm` as asked for.
    """

    points: Floats
    triangles: Ints
    chord_mm: float
    angle_rad: float = ANGLE_RAD

    @property
    def volume(self) -> float:
        """Enclosed volume, mm^3."""
        a, b, c = np.moveaxis(self.points.astype(np.float64)[self.triangles], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def closed_mesh(
    shape: TopoDS_Shape, volume: float, chord_mm: float, angle_rad: float, *, short: float = SHORT
) -> Mesh:
    """A closed mesh within `chord_mm` of a shape that holds `volume` mm^3.

    Its volume may fall short by a share of `short`, more where the whole thing is hardly thicker than a few
    chords.

    Raises:
        SolidError: no mesh closes, even a finer one, or none has the volume.
        ValueError: a tolerance is not positive.
    """
    if not (chord_mm > 0 and angle_rad > 0):
        raise ValueError("the chord and angle tolerances must be positive")
    chord, faults, steered = chord_mm, "", False
    for _ in range(TRIES):
        points, triangles = cleaned(*shape_triangles(shape, chord, angle_rad, steered=steered))
        mesh = Mesh(points, in_order(without_needles(points, triangles)), chord_mm, angle_rad)
        faults = mesh_faults(mesh)
        off = abs(mesh.volume / volume - 1)
        if not faults and off <= short:
            return mesh
        if faults and not steered:
            # The kernel's own way with the inside of faces needs more triangles, and seldom fails.
            steered = True
            continue
        # What is missing goes with the chord.
        chord *= 0.7 if faults else min(0.7, 0.8 * short / off)
    raise SolidError(faults or "the mesh of the body falls short of its volume")


def mesh_faults(mesh: Mesh) -> str:
    """What keeps a mesh from being a closed skin, or nothing."""
    t = mesh.triangles
    if t.shape[0] < 4:
        return "the mesh of the body is empty"
    if np.any(heights(mesh.points, t) <= 0):
        return "the mesh of the body holds triangles without area"
    count = np.int64(mesh.points.shape[0])
    start, end = t, np.roll(t, -1, axis=1)
    along, back = np.sort((start * count + end).ravel()), np.sort((end * count + start).ravel())
    # Each edge run once each way: two triangles share it, and they agree on what is outside.
    if np.any(along[1:] == along[:-1]) or not np.array_equal(along, back):
        return "the mesh of the body does not close"
    if mesh.volume <= 0:
        return "the mesh of the body is inside out"
    return ""


def points_inside(mesh: Mesh, points: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which of the points (n, 3) a closed mesh holds, by the solid angle that it fills as seen from each.

    Van Oosterom and Strackee's formula for a triangle's solid angle (1983), from memory.
    """
    corners = mesh.points.astype(np.float64)[mesh.triangles]
    inside = np.zeros(len(points), dtype=bool)
    for i, point in enumerate(points):
        a, b, c = np.moveaxis(corners - point, 1, 0)
        na, nb, nc = (np.sqrt(np.einsum("ij,ij->i", v, v)) for v in (a, b, c))
        top = np.einsum("ij,ij->i", a, np.cross(b, c))
        ab, bc, ca = (np.einsum("ij,ij->i", p, q) for p, q in ((a, b), (b, c), (c, a)))
        angle = 2 * np.arctan2(top, na * nb * nc + ab * nc + bc * na + ca * nb).sum()
        inside[i] = angle > 2 * np.pi
    return inside

"""A closed skin of triangles, checked as it will be written: in single precision, points that fall together
taken as one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bodyshop.geometry.outlines import Array
from bodyshop.solids.errors import SolidError

if TYPE_CHECKING:
    from manifold3d import Manifold

__all__ = ["ANGLE_RAD", "CHORD_MM", "Floats", "Ints", "Mesh", "closed_mesh", "mesh_faults", "shaded"]

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]

CHORD_MM = 0.05
"""How far a flat face may lie from the true surface, mm."""

ANGLE_RAD = 0.35
"""How far a round surface may turn over one flat face, rad."""

# Details smaller than this share of the chord are left out: they would only make slivers.
_DETAIL = 0.02


@dataclass(frozen=True, slots=True)
class Mesh:
    """`points` (n, 3) mm in single precision; `triangles` (m, 3) indices, anticlockwise from outside;
    `chord_mm` as asked for.
    """

    points: Floats
    triangles: Ints
    chord_mm: float

    @property
    def corners(self) -> Array:
        """The corners of every triangle, (m, 3, 3), mm."""
        return self.points.astype(np.float64)[self.triangles]

    @property
    def volume(self) -> float:
        """Enclosed volume, mm^3."""
        a, b, c = np.moveaxis(self.corners, 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def closed_mesh(form: Manifold, chord_mm: float) -> Mesh:
    """The skin of a form, slivers left out, its triangles in an order of their own.

    Raises:
        SolidError: the form is empty, or two parts of its skin touch without joining.
    """
    found = form.simplify(_DETAIL * chord_mm).to_mesh64()
    points = np.asarray(found.vert_properties)[:, :3].astype(np.float32) + np.float32(0.0)
    triangles = np.asarray(found.tri_verts).astype(np.int64)
    points, number = np.unique(points, axis=0, return_inverse=True)
    mesh = Mesh(points, _in_order(number.reshape(-1)[triangles]), chord_mm)
    faults = mesh_faults(mesh)
    if faults:
        raise SolidError(faults)
    return mesh


def mesh_faults(mesh: Mesh) -> str:
    """What keeps a mesh from being a closed skin, or nothing."""
    t = mesh.triangles
    if t.shape[0] < 4:
        return "the mesh of the body is empty"
    corners = mesh.corners
    if not np.all(np.any(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1)):
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


def shaded(mesh: Mesh, crease_rad: float) -> tuple[Array, Array, Ints]:
    """Points (n, 3), their normals (n, 3) and triangles for a picture: a point for each way that the skin
    faces there. Triangles at one point count as one smooth skin where they turn by less than `crease_rad`.
    """
    corners = mesh.corners
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    unit = across / np.linalg.norm(across, axis=1, keepdims=True)
    # Every pair of triangles that share a point.
    point = mesh.triangles.ravel()
    order = np.argsort(point, kind="stable")
    first = np.searchsorted(point[order], np.arange(mesh.points.shape[0] + 1))
    there = np.diff(first)[point]
    one = np.repeat(np.arange(point.size), there)
    step = np.arange(one.size) - np.repeat(np.cumsum(there) - there, there)
    other = order[np.repeat(first[point], there) + step]
    smooth = np.einsum("ij,ij->i", unit[one // 3], unit[other // 3]) > np.cos(crease_rad)
    weight = np.where(smooth, 1.0, 0.0)[:, None] * across[other // 3]
    starts = np.cumsum(there) - there
    normal = np.add.reduceat(weight, starts, axis=0)
    normal /= np.linalg.norm(normal, axis=1, keepdims=True)
    rows = np.column_stack((point, np.round(normal * 1e4)))
    _, index, number = np.unique(rows, axis=0, return_index=True, return_inverse=True)
    return mesh.points.astype(np.float64)[point[index]], normal[index], number.reshape(-1, 3)


def _in_order(t: Ints) -> Ints:
    """Each triangle from its lowest corner on, and all of them sorted."""
    turned = np.take_along_axis(t, (np.argmin(t, axis=1)[:, None] + np.arange(3)) % 3, axis=1)
    return turned[np.lexsort(turned.T[::-1])]

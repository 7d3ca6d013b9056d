"""The skin as triangles: shared corners, every edge between two triangles, none without area.

Points are rounded to the STL's single precision first, so that what is checked is what is written.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bodyshop.place import Point3
from bodyshop.solid.errors import SolidError
from bodyshop.solid.kernel import BodySolid

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Shape

__all__ = ["ANGLE_RAD", "CHORD_MM", "Mesh", "mesh_faults", "mesh_of", "shape_meshes"]

CHORD_MM = 0.05
"""How far a chord may stray from the surface, mm."""

ANGLE_RAD = 0.35
"""How far the surface may turn over one edge, rad."""

# The mesh's volume may differ from the solid's by this share. Chords run inside a bulge, so it falls short.
SHORT = 9e-4
TRIES = 5
ROUGH_MM, ROUGH_RAD = 0.3, 0.8
# The kernel need not divide sides shorter than this, mm: on the tightest hole a chord of it strays 0.001 mm.
LEAST_SIDE_MM = 0.05

# Triangles lower than this (mm) are turned where that helps; the surface moves by less.
NEEDLE_MM = 2e-4

Floats = NDArray[np.float32]
Ints = NDArray[np.int64]
Row = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Mesh:
    """`points` (n, 3) mm in single precision; `triangles` (m, 3) indices, anticlockwise from outside;
    `chord_mm` as reached.
    """

    points: Floats
    triangles: Ints
    chord_mm: float

    @property
    def volume(self) -> float:
        """Enclosed volume, mm^3."""
        a, b, c = np.moveaxis(self.points.astype(np.float64)[self.triangles], 1, 0)
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)


def mesh_of(solid: BodySolid, chord_mm: float = CHORD_MM, angle_rad: float = ANGLE_RAD) -> Mesh:
    """A closed mesh within `chord_mm` of the solid.

    Raises:
        SolidError: no mesh closes, even a finer one.
        ValueError: a tolerance is not positive.
    """
    if not (chord_mm > 0 and angle_rad > 0):
        raise ValueError("the chord and angle tolerances must be positive")
    chord, faults = chord_mm, ""
    for _ in range(TRIES):
        points, triangles = _cleaned(*_triangulated(solid.shape, chord, angle_rad))
        mesh = Mesh(points, _in_order(_without_needles(points, triangles)), chord_mm)
        faults = mesh_faults(mesh)
        off = abs(mesh.volume / solid.volume - 1)
        if not faults and off <= SHORT:
            return mesh
        # What is missing goes with the chord.
        chord *= 0.7 if faults else min(0.7, 0.8 * SHORT / off)
    raise SolidError(faults or "the mesh of the body falls short of its volume")


def shape_meshes(shape: TopoDS_Shape) -> bool:
    """A rough mesh of the shape closes: a skin that meets itself along a line does not."""
    points, triangles = _cleaned(*_triangulated(shape, ROUGH_MM, ROUGH_RAD))
    return not mesh_faults(Mesh(points, _without_needles(points, triangles), ROUGH_MM))


def mesh_faults(mesh: Mesh) -> str:
    """What keeps a mesh from being a closed skin, or nothing."""
    t = mesh.triangles
    if t.shape[0] < 4:
        return "the mesh of the body is empty"
    if np.any(_height(mesh.points, t) <= 0):
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


def _triangulated(shape: TopoDS_Shape, chord_mm: float, angle_rad: float) -> tuple[NDArray[np.float64], Ints]:
    """Every face's triangles, corners not yet shared between faces."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.BRepTools import BRepTools
    from OCP.IMeshTools import IMeshTools_Parameters
    from OCP.TopAbs import TopAbs_FACE, TopAbs_REVERSED
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    # A mesh left from before would be kept if it were finer: the answer must not depend on history.
    BRepTools.Clean_s(shape)
    wanted = IMeshTools_Parameters()
    wanted.Deflection, wanted.Angle = chord_mm, angle_rad
    wanted.MinSize = max(chord_mm, LEAST_SIDE_MM)
    # Between edges the chord alone counts: asked for angles too, the kernel halves thin triangles endlessly.
    wanted.AngleInterior = 3.0
    wanted.InParallel, wanted.Relative = False, False
    BRepMesh_IncrementalMesh(shape, wanted)
    points, triangles, before = [], [], 0
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        face = TopoDS.Face_s(explorer.Current())
        explorer.Next()
        patch = BRep_Tool.Triangulation_s(face, TopLoc_Location())
        if patch is None:
            raise SolidError("the 3D kernel cannot mesh a face of this body")
        nodes = [patch.Node(i) for i in range(1, patch.NbNodes() + 1)]
        corners = np.array(
            [patch.Triangle(i).Get() for i in range(1, patch.NbTriangles() + 1)], dtype=np.int64
        )
        if face.Orientation() == TopAbs_REVERSED:
            corners = corners[:, ::-1]
        points.append(np.array([(p.X(), p.Y(), p.Z()) for p in nodes]))
        triangles.append(corners - 1 + before)
        before += len(nodes)
    return np.concatenate(points), np.concatenate(triangles)


def _cleaned(points: NDArray[np.float64], triangles: Ints) -> tuple[Floats, Ints]:
    """Equal points made one; triangles folded flat taken out: those with a repeated corner, and pairs
    that lie on each other back to back.
    """
    single = points.astype(np.float32) + np.float32(0.0)  # no minus zero
    shared, number = np.unique(single, axis=0, return_inverse=True)
    t = number.reshape(-1)[triangles]
    t = t[(t[:, 0] != t[:, 1]) & (t[:, 1] != t[:, 2]) & (t[:, 2] != t[:, 0])]
    # The least corner first; then the order of the other two tells the side.
    t = np.take_along_axis(t, (np.argmin(t, axis=1)[:, None] + np.arange(3)) % 3, axis=1)
    turned = np.stack((t[:, 0], t[:, 2], t[:, 1]), axis=1)
    fronts = {tuple(row) for row in t.tolist()}
    both = np.array([tuple(row) in fronts for row in turned.tolist()])
    t = t[~both]
    used, t_number = np.unique(t, return_inverse=True)
    t = t_number.reshape(t.shape)
    return shared[used], t


def _without_needles(points: Floats, triangles: Ints) -> Ints:
    """Triangles so flat that their middle corner lies on their longest edge are turned: that edge gives
    way to the other diagonal of the two triangles on it, where that makes both less flat.
    """
    waiting = [int(i) for i in np.flatnonzero(_height(points, triangles) < NEEDLE_MM)]
    if not waiting:
        return triangles
    spots: list[Point3] = [(float(x), float(y), float(z)) for x, y, z in points]
    rows: list[Row] = [(int(a), int(b), int(c)) for a, b, c in triangles]
    home = {edge: i for i, row in enumerate(rows) for edge in _edges(row)}
    for _ in range(50 * len(waiting)):
        if not waiting:
            break
        i = waiting.pop()
        turned = _turned(i, rows, home, spots)
        if turned is None:
            continue
        j, new = turned
        for old in (i, j):
            for edge in _edges(rows[old]):
                home.pop(edge, None)
        for number, row in zip((i, j), new, strict=True):
            rows[number] = row
            home.update(dict.fromkeys(_edges(row), number))
        waiting.extend(n for n in (i, j) if _low(rows[n], spots) < NEEDLE_MM)
    return np.array(rows, dtype=np.int64)


def _turned(
    i: int, rows: list[Row], home: dict[tuple[int, int], int], spots: list[Point3]
) -> tuple[int, tuple[Row, Row]] | None:
    """The neighbour over triangle i's longest edge, and the two triangles with the other diagonal; None
    where that is no better.
    """
    a, b = max(_edges(rows[i]), key=lambda edge: math.dist(spots[edge[0]], spots[edge[1]]))
    c = next(v for v in rows[i] if v not in (a, b))
    j = home.get((b, a))
    if j is None:
        return None
    d = next(v for v in rows[j] if v not in (a, b))
    if c == d or (c, d) in home or (d, c) in home:
        return None
    new = ((a, d, c), (d, b, c))
    before, after = (min(_low(row, spots) for row in pair) for pair in ((rows[i], rows[j]), new))
    if _low(rows[j], spots) < NEEDLE_MM:
        # Two needles on one line: the shorter diagonal, so that this ends.
        better = math.dist(spots[c], spots[d]) < math.dist(spots[a], spots[b])
    else:
        facing = min(_dot(_normal(row, spots), _normal(rows[j], spots)) for row in new)
        better = after > 2 * before and facing >= 0
    return (j, new) if better else None


def _normal(row: Row, spots: list[Point3]) -> Point3:
    (ax, ay, az), (bx, by, bz), (cx, cy, cz) = (spots[v] for v in row)
    ux, uy, uz, vx, vy, vz = bx - ax, by - ay, bz - az, cx - ax, cy - ay, cz - az
    return (uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx)


def _dot(p: Point3, q: Point3) -> float:
    return p[0] * q[0] + p[1] * q[1] + p[2] * q[2]


def _low(row: Row, spots: list[Point3]) -> float:
    """A triangle's least height, mm."""
    return math.hypot(*_normal(row, spots)) / max(math.dist(spots[p], spots[q]) for p, q in _edges(row))


def _edges(row: Row) -> tuple[tuple[int, int], ...]:
    return ((row[0], row[1]), (row[1], row[2]), (row[2], row[0]))


def _in_order(t: Ints) -> Ints:
    """Least corner first, then sorted: the kernel's own order of faces may change."""
    t = np.take_along_axis(t, (np.argmin(t, axis=1)[:, None] + np.arange(3)) % 3, axis=1)
    return t[np.lexsort((t[:, 2], t[:, 1], t[:, 0]))]


def _height(points: Floats, triangles: Ints) -> NDArray[np.float64]:
    """Each triangle's least height, mm."""
    p = points.astype(np.float64)[triangles]
    sides = np.roll(p, -1, axis=1) - p
    longest = np.sqrt((sides**2).sum(axis=2)).max(axis=1)
    return np.asarray(np.linalg.norm(np.cross(sides[:, 0], sides[:, 1]), axis=1) / longest)

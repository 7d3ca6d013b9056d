"""The faces of a solid as triangles, as few as the chord allows.

The kernel cuts the edges up and meshes planes and cylinders well. Inside long curved faces it is either
careless (no point inside, chords many times too long) or wasteful (it halves thin triangles over and over);
so a spline face is laid out here between the kernel's border points: as a grid while the border is still
its own four sides, else by turning and halving what the kernel laid.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.geometry.outlines import Array
from bodyshop.solids.errors import SolidError
from bodyshop.solids.face_triangles import Border, Ints, Surface, grid, laid_along, strays
from bodyshop.solids.splines import basis

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

__all__ = ["faces_of", "shape_triangles"]

# The kernel need not divide sides shorter than this, mm: on the tightest hole a chord of it strays 0.001 mm.
LEAST_SIDE_MM = 0.05
ON_SIDE = 1e-7
FINER = 1.4
FINEST = 12
SMALL = 24


@dataclass(frozen=True, slots=True)
class _Patch:
    """One face's triangles, anticlockwise in its own (u, v)."""

    points: Array
    uv: Array
    triangles: Ints
    reversed: bool

    def outward(self) -> Ints:
        return self.triangles[:, ::-1] if self.reversed else self.triangles


class _Spline:
    """A B-spline face in numbers: clamped, its inner knots single, as they are all made here."""

    def __init__(self, face: TopoDS_Face) -> None:
        from OCP.BRep import BRep_Tool
        from OCP.Geom import Geom_BSplineSurface

        surface = BRep_Tool.Surface_s(face)
        if not isinstance(surface, Geom_BSplineSurface):
            raise TypeError("not a spline face")
        rows, columns = surface.NbUPoles(), surface.NbVPoles()
        self.u_degree, self.v_degree = surface.UDegree(), surface.VDegree()
        poles = [surface.Pole(i, j) for i in range(1, rows + 1) for j in range(1, columns + 1)]
        self.poles = np.array([(p.X(), p.Y(), p.Z()) for p in poles]).reshape(rows, columns, 3)
        self.weights = np.array([surface.Weight(1, j) for j in range(1, columns + 1)])
        self.breaks = np.array([surface.UKnot(i) for i in range(1, surface.NbUKnots() + 1)])
        self.bezier = surface.NbVKnots() == 2
        self.simple = self.bezier and rows == self.breaks.size + self.u_degree - 1

    def at(self, uv: Array) -> Array:
        """Points of the face, (n, 3)."""
        along = basis(self.u_degree, self.breaks, np.ascontiguousarray(uv[:, 0]))
        v = uv[:, 1]
        across = np.stack((1 - v, v), axis=1)
        if self.v_degree == 2:
            across = np.stack(((1 - v) ** 2, 2 * v * (1 - v), v * v), axis=1)
        across = across * self.weights
        across /= across.sum(axis=1, keepdims=True)
        return np.asarray(np.einsum("ni,nj,ijk->nk", along, across, self.poles, optimize=True))


class _Other:
    """Any other curved face, asked point by point."""

    def __init__(self, face: TopoDS_Face) -> None:
        from OCP.BRep import BRep_Tool

        self.surface = BRep_Tool.Surface_s(face)

    def at(self, uv: Array) -> Array:
        """Points of the face, (n, 3)."""
        points = [self.surface.Value(u, v) for u, v in uv.tolist()]
        return np.array([(p.X(), p.Y(), p.Z()) for p in points])


def shape_triangles(
    shape: TopoDS_Shape, chord_mm: float, angle_rad: float, *, steered: bool = False
) -> tuple[Array, Ints]:
    """Every face's triangles, corners not yet shared between faces; all by the kernel if `steered`.

    Raises:
        SolidError: a face cannot be meshed.
    """
    from OCP.BRepTools import BRepTools

    # A mesh left from before would be kept if it were finer: the answer must not depend on history.
    BRepTools.Clean_s(shape)
    _kernel_mesh(shape, chord_mm, angle_rad, steered=steered)
    faces = faces_of(shape)
    patches = [_patch(face) for face in faces]
    if not steered:
        left = []
        for i, face in enumerate(faces):
            better = _laid_out(face, patches[i], chord_mm, angle_rad)
            if better is None:
                left.append(i)
            else:
                patches[i] = better
        if left:
            _steer([faces[i] for i in left], chord_mm, angle_rad)
            for i in left:
                patches[i] = _patch(faces[i])
    before = np.cumsum([0, *(len(p.points) for p in patches)])
    return (
        np.concatenate([p.points for p in patches]),
        np.concatenate([p.outward() + n for p, n in zip(patches, before, strict=False)]),
    )


def _kernel_mesh(shape: TopoDS_Shape, chord_mm: float, angle_rad: float, *, steered: bool) -> None:
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.IMeshTools import IMeshTools_Parameters

    wanted = IMeshTools_Parameters()
    wanted.Deflection, wanted.Angle = chord_mm, angle_rad
    wanted.MinSize = max(chord_mm, LEAST_SIDE_MM)
    # Between edges the chord alone counts: asked for angles too, the kernel halves thin triangles endlessly.
    wanted.AngleInterior = 3.0
    wanted.ControlSurfaceDeflection = steered
    wanted.InParallel, wanted.Relative = False, False
    BRepMesh_IncrementalMesh(shape, wanted)


def _steer(faces: Sequence[TopoDS_Face], chord_mm: float, angle_rad: float) -> None:
    """Some faces meshed anew, the chord watched inside them too; their edges are cut up as before."""
    from OCP.BRep import BRep_Builder
    from OCP.BRepTools import BRepTools
    from OCP.TopoDS import TopoDS_Compound

    some, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(some)
    for face in faces:
        builder.Add(some, face)
    BRepTools.Clean_s(some)
    _kernel_mesh(some, chord_mm, angle_rad, steered=True)


def faces_of(shape: TopoDS_Shape) -> list[TopoDS_Face]:
    """Every face of a shape."""
    from OCP.TopAbs import TopAbs_FACE
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    found = []
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        found.append(TopoDS.Face_s(explorer.Current()))
        explorer.Next()
    return found


def _patch(face: TopoDS_Face) -> _Patch:
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_Cylinder, GeomAbs_Plane
    from OCP.TopAbs import TopAbs_REVERSED
    from OCP.TopLoc import TopLoc_Location

    place = TopLoc_Location()
    mesh = BRep_Tool.Triangulation_s(face, place)
    if mesh is None:
        raise SolidError("the 3D kernel cannot mesh a face of this body")
    nodes = [mesh.Node(i) for i in range(1, mesh.NbNodes() + 1)]
    if not place.IsIdentity():
        move = place.Transformation()
        nodes = [node.Transformed(move) for node in nodes]
    plain = BRepAdaptor_Surface(face, False).GetType() in (GeomAbs_Plane, GeomAbs_Cylinder)
    places = [] if plain else [mesh.UVNode(i) for i in range(1, mesh.NbNodes() + 1)]
    return _Patch(
        np.array([(p.X(), p.Y(), p.Z()) for p in nodes]),
        np.array([(p.X(), p.Y()) for p in places]),
        np.array([mesh.Triangle(i).Get() for i in range(1, mesh.NbTriangles() + 1)], dtype=np.int64) - 1,
        face.Orientation() == TopAbs_REVERSED,
    )


def _laid_out(face: TopoDS_Face, patch: _Patch, chord_mm: float, angle_rad: float) -> _Patch | None:
    """The face with its chords short enough: as it is, or as a grid; None where neither will do."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import (
        GeomAbs_BSplineSurface,
        GeomAbs_Cylinder,
        GeomAbs_Plane,
        GeomAbs_SurfaceOfExtrusion,
    )

    kind = BRepAdaptor_Surface(face, False).GetType()
    if kind in (GeomAbs_Plane, GeomAbs_Cylinder):
        return patch
    if kind == GeomAbs_SurfaceOfExtrusion and len(patch.triangles) <= SMALL:
        return patch  # the side of a letter: straight one way, its edges fine enough the other
    if kind != GeomAbs_BSplineSurface:
        return _as_laid(_Other(face).at, patch, chord_mm)
    spline = _Spline(face)
    if not spline.simple:
        return None
    if strays(spline.at, patch.points, patch.uv, patch.triangles).max() <= chord_mm:
        return patch
    return _as_grid(spline, patch, chord_mm, angle_rad) or _as_laid(spline.at, patch, chord_mm)


def _as_laid(at: Surface, patch: _Patch, chord_mm: float) -> _Patch | None:
    """What the kernel laid, turned and halved until it is fine enough."""
    found = laid_along(at, patch.points, patch.uv, patch.triangles, chord_mm)
    return None if found is None else _Patch(*found, patch.reversed)


def _as_grid(spline: _Spline, patch: _Patch, chord_mm: float, angle_rad: float) -> _Patch | None:
    """A grid that is fine enough, if one of reasonable size is, and the face has kept its four sides."""
    border = _border(patch)
    if border is None:
        return None
    # A round corner turns by a right angle. Its ends, rational curves, are cut finer than they need be.
    turns = math.ceil(math.pi / 2 / angle_rad) if spline.v_degree == 2 else 1
    along, across = border.along, min(border.across, turns)
    for _ in range(FINEST):
        uv, triangles = grid(border, along, across)
        points = np.concatenate((patch.points[border.nodes], spline.at(uv[len(border.nodes) :])))
        found = _Patch(points, uv, triangles, patch.reversed)
        if strays(spline.at, points, uv, triangles).max() <= chord_mm:
            return found
        off_along, off_across = _directions(spline, found)
        if off_along >= off_across:
            along = math.ceil(FINER * along)
        else:
            across = math.ceil(FINER * across)
    return None


def _directions(spline: _Spline, patch: _Patch) -> tuple[float, float]:
    """How far sides that run along the face stray, and those that run across it, mm."""
    ends = patch.triangles[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    a, b = patch.points[ends[:, 0]], patch.points[ends[:, 1]]
    uv0, uv1 = patch.uv[ends[:, 0]], patch.uv[ends[:, 1]]
    off = spline.at(0.5 * (uv0 + uv1)) - 0.5 * (a + b)
    length = np.linalg.norm(b - a, axis=1, keepdims=True)
    way = np.divide(b - a, length, out=np.zeros_like(a), where=length > 1e-12)
    far = np.linalg.norm(off - way * np.einsum("ij,ij->i", off, way)[:, None], axis=1)
    step = np.abs(uv1 - uv0)
    return (
        float(far[step[:, 1] < ON_SIDE].max(initial=0.0)),
        float(far[step[:, 0] < ON_SIDE].max(initial=0.0)),
    )


def _border(patch: _Patch) -> Border | None:
    """The border of a face that still has its own four sides; None for one that was cut."""
    t = patch.triangles
    start, end = t.ravel(), np.roll(t, -1, axis=1).ravel()
    count = len(patch.points)
    single = ~np.isin(start * count + end, end * count + start)
    rim = np.unique(np.concatenate((start[single], end[single])))
    u, v = patch.uv[rim, 0], patch.uv[rim, 1]
    sides = [np.abs(c - at) <= ON_SIDE for c, at in ((v, 0.0), (u, 1.0), (v, 1.0), (u, 0.0))]
    if not np.all(np.any(sides, axis=0)):
        return None
    chains = [rim[on][np.argsort(c[on])] for on, c in zip(sides, (u, v, u, v), strict=True)]
    low, right, high, left = chains
    if min(len(low), len(high), len(left), len(right)) < 2:
        return None
    if (low[0], low[-1], high[0], high[-1]) != (left[0], right[0], left[-1], right[-1]):
        return None
    return Border.of(patch.uv, low, right, high, left)

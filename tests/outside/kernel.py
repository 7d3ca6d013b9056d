"""Bare calls of the 3D kernel (Open CASCADE) for tests: prisms of outlines, cylinders, distances, integrals.

Nothing here uses the program's own way to a solid, unless a test hands one in.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np
from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder, BRepPrimAPI_MakePrism
from OCP.GC import GC_MakeArcOfCircle
from OCP.Geom import Geom_BezierCurve
from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt, gp_Vec
from OCP.GProp import GProp_GProps
from OCP.TColgp import TColgp_Array1OfPnt
from OCP.TopAbs import TopAbs_FACE
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Shape

from bodyshop.car.body import Moments
from bodyshop.geometry.outlines import Arc, Curve, Line, Outline, Ring

__all__ = [
    "area",
    "common",
    "curve_face",
    "cylinder",
    "difference",
    "distance",
    "faces",
    "integrals",
    "nearest_face",
    "plan_prism",
    "profile_prism",
]

Place = Callable[[float, float], tuple[float, float, float]]


def _edge(curve: Curve, place: Place) -> TopoDS_Shape:
    def at(p: Sequence[float]) -> gp_Pnt:
        return gp_Pnt(*place(p[0], p[1]))

    match curve:
        case Line():
            return BRepBuilderAPI_MakeEdge(at(curve.p0), at(curve.p1)).Edge()
        case Arc():
            middle = curve.at(np.array([0.5]))[0]
            arc = GC_MakeArcOfCircle(at(curve.p0), at((float(middle[0]), float(middle[1]))), at(curve.p1))
            return BRepBuilderAPI_MakeEdge(arc.Value()).Edge()
        case _:
            poles = TColgp_Array1OfPnt(1, 4)
            for i, p in enumerate((curve.p0, curve.c1, curve.c2, curve.p1), start=1):
                poles.SetValue(i, at(p))
            return BRepBuilderAPI_MakeEdge(Geom_BezierCurve(poles)).Edge()


def _wire(ring: Ring, place: Place) -> TopoDS_Shape:
    wire = BRepBuilderAPI_MakeWire()
    for curve in ring.curves:
        wire.Add(_edge(curve, place))
    assert wire.IsDone()
    return wire.Wire()


def _prism(outline: Outline, place: Place, way: tuple[float, float, float]) -> TopoDS_Shape:
    face = BRepBuilderAPI_MakeFace(_wire(outline.outer, place), True)
    for window in outline.windows:
        face.Add(_wire(window, place))
    return BRepPrimAPI_MakePrism(face.Face(), gp_Vec(*way)).Shape()


def profile_prism(profile: Outline, y0: float, y1: float) -> TopoDS_Shape:
    """The profile right across the car."""
    return _prism(profile, lambda u, v: (u, y0, v), (0.0, y1 - y0, 0.0))


def curve_face(curve: Curve, *, side: bool, reach: float) -> TopoDS_Shape:
    """One curve of the side view run right across the car, or one of the top view run straight up."""
    if side:
        edge = _edge(curve, lambda u, v: (u, -reach, v))
        return BRepPrimAPI_MakePrism(edge, gp_Vec(0.0, 2 * reach, 0.0)).Shape()
    edge = _edge(curve, lambda u, v: (u, v, -reach))
    return BRepPrimAPI_MakePrism(edge, gp_Vec(0.0, 0.0, 2 * reach)).Shape()


def plan_prism(plan: Outline, z0: float, z1: float) -> TopoDS_Shape:
    """The plan straight up."""
    return _prism(plan, lambda u, v: (u, v, z0), (0.0, 0.0, z1 - z0))


def common(profile: Outline, plan: Outline) -> TopoDS_Shape:
    """What both prisms hold."""
    _, y0, _, y1 = plan.bounds
    _, z0, _, z1 = profile.bounds
    return BRepAlgoAPI_Common(
        profile_prism(profile, y0 - 1, y1 + 1), plan_prism(plan, z0 - 1, z1 + 1)
    ).Shape()


def cylinder(start: Iterable[float], axis: Iterable[float], radius: float, length: float) -> TopoDS_Shape:
    """A solid cylinder.

    Its seam is turned to nowhere in particular: with seams that face each other the kernel finds a distance
    of 0 between cylinders 100 mm apart.
    """
    place = gp_Ax2(gp_Pnt(*(float(v) for v in start)), gp_Dir(*(float(v) for v in axis)))
    place.Rotate(gp_Ax1(place.Location(), place.Direction()), 0.7391)
    return BRepPrimAPI_MakeCylinder(place, radius, length).Shape()


def integrals(shape: TopoDS_Shape) -> Moments:
    """Volume, centre and inertia by the kernel, to 1e-10 of its own sum."""
    found = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, found, 1e-10, True)
    centre, matrix = found.CentreOfMass(), found.MatrixOfInertia()
    volume = float(found.Mass())
    at = np.array([centre.X(), centre.Y(), centre.Z()])
    inertia = np.array([[matrix.Value(i, j) for j in (1, 2, 3)] for i in (1, 2, 3)])
    about = 0.5 * np.trace(inertia) * np.eye(3) - inertia
    return Moments(volume, volume * at, about + volume * np.outer(at, at))


def area(shape: TopoDS_Shape) -> float:
    """Area of all faces."""
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(shape, found, 1e-7)
    return float(found.Mass())


def difference(ours: Moments, kernel: Moments) -> float:
    """The largest relative difference of volume, centre (over the body's length) and inertia."""
    length = float(np.sqrt(12 * kernel.inertia.max() / kernel.volume))
    return max(
        abs(ours.volume / kernel.volume - 1),
        float(np.abs(ours.centre - kernel.centre).max()) / length,
        float(np.abs(ours.inertia - kernel.inertia).max() / kernel.inertia.max()),
    )


def distance(a: TopoDS_Shape, b: TopoDS_Shape) -> float:
    """Least distance between two shapes; 0 where they meet."""
    found = BRepExtrema_DistShapeShape(a, b)
    assert found.IsDone()
    return float(found.Value())


def faces(shape: TopoDS_Shape) -> list[TopoDS_Shape]:
    """Every face of a shape."""
    found = []
    explorer = TopExp_Explorer(shape, TopAbs_FACE)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def nearest_face(tool: TopoDS_Shape, among: Sequence[TopoDS_Shape], *, but: float = 1e-6) -> float:
    """Least distance from a tool to those faces that it does not pass through (nearer than `but`)."""
    around = _box(tool)
    by_box = sorted(((around.Distance(_box(face)), i) for i, face in enumerate(among)))
    best = float("inf")
    for reach, i in by_box:
        if reach >= best:
            break
        found = distance(tool, among[i])
        if found > but:
            best = min(best, found)
    return best


def _box(shape: TopoDS_Shape) -> Bnd_Box:
    box = Bnd_Box()
    BRepBndLib.Add_s(shape, box)
    return box

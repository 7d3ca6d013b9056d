"""Windows cut right through a rounded body: one prism of the kernel for each."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from bodyshop.body import Sections
from bodyshop.outline import Arc, Curve, Line, Outline, Point, Ring

if TYPE_CHECKING:
    from OCP.gp import gp_Pnt
    from OCP.TopoDS import TopoDS_Edge, TopoDS_Shape

__all__ = ["reach_rounding", "uncut", "window_prisms"]

# How far a prism stands out of the body on both sides, mm.
BEYOND_MM = 1.0
# A window nearer to a rounding than this (mm, and share of the radius) counts as reaching it: between the
# stations that are looked at it may come nearer.
NEAR_MM, NEAR_SHARE = 0.25, 0.05

_Place = Callable[[Point], "gp_Pnt"]


def reach_rounding(sections: Sections) -> bool:
    """A window comes so near to a long edge that it cuts into its rounding."""
    r = sections.grid.r
    if r.outer is None:
        return False
    reach = r.radius * (1 + NEAR_SHARE) + NEAR_MM
    y0, y1, z0, z1 = r.outer
    gaps = (r.y0 - y0, y1 - r.y0, y1 - r.y1, r.y1 - y0, r.z0 - z0, z1 - r.z0, z1 - r.z1, r.z1 - z0)
    return any(bool(((gap > 0) & (gap < reach)).any()) for gap in gaps)


def uncut(sections: Sections) -> Sections:
    """The same body before any window is cut."""
    return Sections(Outline(sections.profile.outer), Outline(sections.plan.outer), sections.edge_round_mm)


def window_prisms(sections: Sections) -> list[TopoDS_Shape]:
    """What is to be taken out of `uncut`."""
    from OCP.gp import gp_Pnt, gp_Vec

    _, y0, _, y1 = sections.plan.bounds
    _, z0, _, z1 = sections.profile.bounds
    low_y, low_z = y0 - BEYOND_MM, z0 - BEYOND_MM
    across = gp_Vec(0.0, y1 - y0 + 2 * BEYOND_MM, 0.0)
    up = gp_Vec(0.0, 0.0, z1 - z0 + 2 * BEYOND_MM)
    prisms = [_prism(w, lambda p: gp_Pnt(p[0], low_y, p[1]), across) for w in sections.profile.windows]
    return prisms + [_prism(w, lambda p: gp_Pnt(p[0], p[1], low_z), up) for w in sections.plan.windows]


def _prism(ring: Ring, place: _Place, way: object) -> TopoDS_Shape:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakeWire
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism

    wire = BRepBuilderAPI_MakeWire()
    for curve in ring.curves:
        wire.Add(_edge(curve, place))
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(wire.Wire(), True).Face(), way).Shape()


def _edge(curve: Curve, place: _Place) -> TopoDS_Edge:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
    from OCP.GC import GC_MakeArcOfCircle
    from OCP.Geom import Geom_BezierCurve
    from OCP.TColgp import TColgp_Array1OfPnt

    match curve:
        case Line():
            return BRepBuilderAPI_MakeEdge(place(curve.p0), place(curve.p1)).Edge()
        case Arc():
            middle = curve.part(0.0, 0.5).p1
            arc = GC_MakeArcOfCircle(place(curve.p0), place(middle), place(curve.p1))
            return BRepBuilderAPI_MakeEdge(arc.Value()).Edge()
        case _:
            poles = TColgp_Array1OfPnt(1, 4)
            for i, p in enumerate((curve.p0, curve.c1, curve.c2, curve.p1), start=1):
                poles.SetValue(i, place(p))
            return BRepBuilderAPI_MakeEdge(Geom_BezierCurve(poles)).Edge()

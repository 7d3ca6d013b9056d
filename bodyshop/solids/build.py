"""The body as a solid of the 3D kernel: skin built, holes drilled, checked against the quadrature.

The kernel is the one CadQuery stands on, called through the bindings that CadQuery brings, because
importing the rest of CadQuery takes longer than the whole job; `BodySolid.as_cadquery` hands the solid
over to it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.car.body import AxleHole, Body, BoreHole, Moments, PilotHole, Sections
from bodyshop.car.body.holes import Cylinder, stacked
from bodyshop.car.body.moments import undrilled_moments
from bodyshop.geometry.outlines import Array
from bodyshop.solids.brep import skin
from bodyshop.solids.errors import SolidError
from bodyshop.solids.kernel import BodySolid, kernel_volume
from bodyshop.solids.mesh import ANGLE_RAD, CHORD_MM, Mesh, closed_mesh, points_inside
from bodyshop.solids.shapes import reach_rounding, uncut, window_prisms

if TYPE_CHECKING:
    from OCP.TopoDS import TopoDS_Shape

__all__ = ["Progress", "body_solid", "cut", "drilled", "rod_shape", "undrilled"]

Progress = Callable[[str, float], None]
"""Told what is being done and the share of the work behind it, 0 to 1."""

AGREE = 1e-3
"""Largest relative difference of volume, kernel against quadrature, that is let through."""

# Ways to cut, the first that works being taken: how near things count as one to the kernel (mm), how much
# wider every hole is made (mm), all holes at once or in turn. A hole that only grazes a face leaves a wall of
# no thickness, which no solid can hold: made wider it opens, made narrower it keeps a skin.
_WAYS = (
    (0.0, 0.0, True),
    (0.0, 0.0, False),
    (1e-5, 0.0, True),
    (0.0, 0.01, True),
    (0.0, -0.002, True),
    (0.0, 0.01, False),
    (1e-4, -0.01, False),
)
# The same for windows, which are as drawn.
_WINDOW_WAYS = ((0.0, True), (0.0, False), (1e-5, True), (1e-5, False), (1e-4, True))
SPOTS = 41
# The seam of a hole's cylinder is turned out of every plane that a body is likely to have an edge in.
SEAM_RAD = 0.6123


def undrilled(sections: Sections) -> BodySolid:
    """The body before drilling.

    Raises:
        SolidError: the kernel builds nothing valid, or its volume is not that of the sections.
    """
    return _checked(sections, _whole(sections))


def _whole(sections: Sections) -> TopoDS_Shape:
    """The body with its windows. Those that cut into the rounding of an edge are taken out of the rounded
    body; others leave a skin that can be built at once.

    Raises:
        SolidError: the kernel cannot cut a window.
    """
    if not reach_rounding(sections):
        return skin(sections)
    solid, prisms = skin(uncut(sections)), window_prisms(sections)
    expected = undrilled_moments(sections).volume
    for fuzzy, together in _WINDOW_WAYS:
        shape = cut(solid, prisms, fuzzy, together=together)
        if shape is not None and not _skin_fault(shape) and not _volume_fault(kernel_volume(shape), expected):
            return shape
    raise SolidError(
        "the 3D kernel cannot cut this body's windows",
        "windows that cut the rounded edges squarely",
    )


def _checked(sections: Sections, shape: TopoDS_Shape) -> BodySolid:
    expected = undrilled_moments(sections).volume
    fault = _volume_fault(kernel_volume(shape), expected) or _skin_fault(shape)
    if fault:
        raise SolidError(fault)
    return BodySolid(shape)


def drilled(
    sections: Sections,
    bore: BoreHole | None,
    axle_holes: Sequence[AxleHole],
    pilots: Sequence[PilotHole],
    expected: Moments,
    progress: Progress | None = None,
    *,
    chord_mm: float = CHORD_MM,
    angle_rad: float = ANGLE_RAD,
) -> BodySolid:
    """The body with its holes, checked by a mesh of this chord. `expected` are its moments by quadrature.

    Raises:
        SolidError: as for `undrilled`; nothing that fails the check is returned.
    """
    tell = progress or (lambda _what, _share: None)
    tell("building the body", 0.0)
    whole = _whole(sections)
    holes = _rods(sections, bore, axle_holes, pilots)
    if not holes:
        return _checked(sections, whole)
    tell("drilling", 0.4)
    spots = np.array(_points_in_wood(sections, holes)).reshape(-1, 3)
    second: BodySolid | None = None
    for fuzzy, wider, together in _WAYS:
        shape = cut(whole, [rod_shape(rod, wider) for rod in holes], fuzzy, together=together)
        if shape is None or _skin_fault(shape):
            continue
        mesh = _mesh_if_closed(shape, expected.volume, chord_mm, angle_rad)
        if mesh is not None:
            # The mesh tells what is wood and what is not, many times faster than the kernel does.
            if not np.any(points_inside(mesh, spots)):
                return BodySolid(shape, mesh)
        elif second is None and not _volume_fault(kernel_volume(shape), expected.volume):
            second = None if _holds_any(shape, spots) else BodySolid(shape)
    if second is not None:
        return second
    _checked(sections, whole)
    raise SolidError(
        "the 3D kernel cannot drill this body: no cut gives a closed solid of the right volume",
        "holes that meet the outside and each other squarely",
    )


def _mesh_if_closed(shape: TopoDS_Shape, volume: float, chord_mm: float, angle_rad: float) -> Mesh | None:
    try:
        return closed_mesh(shape, volume, chord_mm, angle_rad)
    except SolidError:
        return None


def body_solid(
    body: Body,
    progress: Progress | None = None,
    *,
    chord_mm: float = CHORD_MM,
    angle_rad: float = ANGLE_RAD,
) -> BodySolid:
    """The drilled body of a design, checked by a mesh of this chord.

    Raises:
        SolidError: placed in the design's file.
    """
    try:
        return drilled(
            body.sections,
            body.bore,
            body.axle_holes,
            body.pilots,
            body.moments,
            progress,
            chord_mm=chord_mm,
            angle_rad=angle_rad,
        )
    except SolidError as fault:
        raise fault.named(body.design.source.name) from fault


def _rods(
    sections: Sections,
    bore: BoreHole | None,
    axle_holes: Sequence[AxleHole],
    pilots: Sequence[PilotHole],
) -> list[Cylinder]:
    """A cylinder for each hole, long enough to leave the body: the bore beyond its mouth, axle holes at
    both sides, pilots below the underside.
    """
    _, y0, _, y1 = sections.plan.bounds
    rods = []
    if bore is not None:
        beyond = 3 * bore.radius
        rods.append(
            Cylinder(bore.rod.start - beyond * bore.axis, bore.axis, bore.radius, bore.depth + beyond)
        )
    across, up = np.array([0.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    rods.extend(Cylinder(np.array([h.x, y0 - 1.0, h.z]), across, h.radius, y1 - y0 + 2.0) for h in axle_holes)
    rods.extend(Cylinder(np.array([p.x, p.y, p.z - p.depth]), up, p.radius, 2 * p.depth) for p in pilots)
    return rods


def rod_shape(rod: Cylinder, wider_mm: float = 0.0) -> TopoDS_Shape:
    """A cylinder as a solid of the kernel, its radius `wider_mm` more."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax1, gp_Ax2, gp_Dir, gp_Pnt

    place = gp_Ax2(gp_Pnt(*map(float, rod.start)), gp_Dir(*map(float, rod.axis)))
    place.Rotate(gp_Ax1(place.Location(), place.Direction()), SEAM_RAD)
    return BRepPrimAPI_MakeCylinder(place, rod.radius + wider_mm, rod.length).Shape()


def _points_in_wood(sections: Sections, rods: Sequence[Cylinder]) -> list[Array]:
    """For each hole a point on its axis that was wood before it was drilled, if there is one."""
    spots = []
    for rod in rods:
        points = rod.start + np.outer((np.arange(SPOTS) + 0.5) / SPOTS * rod.length, rod.axis)
        station, r = stacked(sections, points[:, 0])
        y, z = points[station, 1], points[station, 2]
        wood = np.unique(station[r.holds(y, z)])
        if wood.size:
            spots.append(points[wood[wood.size // 2]])
    return spots


def _holds_any(shape: TopoDS_Shape, spots: Array) -> bool:
    """Any of the points lies in the solid."""
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier
    from OCP.gp import gp_Pnt
    from OCP.TopAbs import TopAbs_IN

    for solid in _solids_in(shape):
        classifier = BRepClass3d_SolidClassifier(solid)
        for point in spots:
            classifier.Perform(gp_Pnt(*map(float, point)), 1e-6)
            if classifier.State() == TopAbs_IN:
                return True
    return False


def cut(
    body: TopoDS_Shape, tools: Sequence[TopoDS_Shape], fuzzy_mm: float, *, together: bool
) -> TopoDS_Shape | None:
    """A body less all tools; None where the kernel cannot, or nothing is left."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.TopTools import TopTools_ListOfShape

    for batch in [tools] if together else [[tool] for tool in tools]:
        work = BRepAlgoAPI_Cut()
        arguments, takers = TopTools_ListOfShape(), TopTools_ListOfShape()
        arguments.Append(body)
        for tool in batch:
            takers.Append(tool)
        work.SetArguments(arguments)
        work.SetTools(takers)
        work.SetNonDestructive(True)
        if fuzzy_mm > 0:
            work.SetFuzzyValue(fuzzy_mm)
        work.Build()
        if not work.IsDone():
            return None
        body = work.Shape()
    return _solids_of(body)


def _solids_in(shape: TopoDS_Shape) -> list[TopoDS_Shape]:
    from OCP.TopAbs import TopAbs_SOLID
    from OCP.TopExp import TopExp_Explorer

    found = []
    explorer = TopExp_Explorer(shape, TopAbs_SOLID)
    while explorer.More():
        found.append(explorer.Current())
        explorer.Next()
    return found


def _solids_of(shape: TopoDS_Shape) -> TopoDS_Shape | None:
    """The one solid in a shape, or a compound of its solids; None when there is none."""
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    found = _solids_in(shape)
    if len(found) <= 1:
        return found[0] if found else None
    compound, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(compound)
    for solid in found:
        builder.Add(compound, solid)
    return compound


def _volume_fault(volume: float, expected: float) -> str:
    """What is wrong with a solid's volume, or nothing."""
    if abs(volume / expected - 1) <= AGREE:
        return ""
    return f"the solid would hold {volume / 1000:.2f} cm3 where the sections hold {expected / 1000:.2f} cm3"


def _skin_fault(shape: TopoDS_Shape) -> str:
    """What is wrong with a solid's skin, or nothing."""
    from OCP.BRepCheck import BRepCheck_Analyzer

    if not _closed(shape):
        return "the solid's skin does not close"
    if not BRepCheck_Analyzer(shape, True).IsValid():
        return "the 3D kernel finds the solid faulty"
    return ""


def _closed(shape: TopoDS_Shape) -> bool:
    """Every edge that has a length borders two faces (or one face twice, along a seam)."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_EDGE, TopAbs_FACE
    from OCP.TopExp import TopExp
    from OCP.TopoDS import TopoDS
    from OCP.TopTools import TopTools_IndexedDataMapOfShapeListOfShape

    borders = TopTools_IndexedDataMapOfShapeListOfShape()
    TopExp.MapShapesAndAncestors_s(shape, TopAbs_EDGE, TopAbs_FACE, borders)
    return borders.Extent() > 0 and all(
        borders.FindFromIndex(i).Extent() == 2 or BRep_Tool.Degenerated_s(TopoDS.Edge_s(borders.FindKey(i)))
        for i in range(1, borders.Extent() + 1)
    )

"""The body as a solid of the 3D kernel, for STEP: skin built, holes drilled, checked against the quadrature.

The skin is built of the kernel's own faces (`brep`), since CadQuery has no way to say how edges run along a
face; everything after that goes through CadQuery.
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
from bodyshop.solids.meshing import hole_rods
from bodyshop.solids.shapes import reach_rounding, uncut, window_prisms

if TYPE_CHECKING:
    import cadquery
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
SEAM_DEGREES = 35.0


def undrilled(sections: Sections) -> cadquery.Shape:
    """The body before drilling.

    Raises:
        SolidError: the kernel builds nothing valid, or its volume is not that of the sections.
    """
    return _checked(sections, _whole(sections))


def _whole(sections: Sections) -> cadquery.Shape:
    """The body with its windows. Those that cut into the rounding of an edge are taken out of the rounded
    body; others leave a skin that can be built at once.

    Raises:
        SolidError: the kernel cannot cut a window.
    """
    if not reach_rounding(sections):
        return _cast(skin(sections))
    solid, prisms = _cast(skin(uncut(sections))), window_prisms(sections)
    expected = undrilled_moments(sections).volume
    for fuzzy, together in _WINDOW_WAYS:
        shape = cut(solid, prisms, fuzzy, together=together)
        if shape is not None and not _skin_fault(shape) and not _volume_fault(shape.Volume(), expected):
            return shape
    raise SolidError(
        "the 3D kernel cannot cut this body's windows",
        "windows that cut the rounded edges squarely",
    )


def _cast(shape: TopoDS_Shape) -> cadquery.Shape:
    import cadquery

    return cadquery.Shape.cast(shape)


def _checked(sections: Sections, shape: cadquery.Shape) -> cadquery.Shape:
    expected = undrilled_moments(sections).volume
    fault = _volume_fault(shape.Volume(), expected) or _skin_fault(shape)
    if fault:
        raise SolidError(fault)
    return shape


def drilled(
    sections: Sections,
    bore: BoreHole | None,
    axle_holes: Sequence[AxleHole],
    pilots: Sequence[PilotHole],
    expected: Moments,
    progress: Progress | None = None,
) -> cadquery.Shape:
    """The body with its holes. `expected` are its moments by quadrature.

    Raises:
        SolidError: as for `undrilled`; nothing that fails the check is returned.
    """
    tell = progress or (lambda _what, _share: None)
    tell("building the body", 0.0)
    whole = _whole(sections)
    holes = hole_rods(sections, bore, axle_holes, pilots)
    if not holes:
        return _checked(sections, whole)
    tell("drilling", 0.4)
    spots = _points_in_wood(sections, holes)
    for fuzzy, wider, together in _WAYS:
        shape = cut(whole, [rod_shape(rod, wider) for rod in holes], fuzzy, together=together)
        if shape is None or _skin_fault(shape) or _volume_fault(shape.Volume(), expected.volume):
            continue
        # A hole too small for the volume to tell is looked for where it was drilled.
        if not any(solid.isInside(tuple(map(float, spot))) for solid in shape.Solids() for spot in spots):
            return shape
    _checked(sections, whole)
    raise SolidError(
        "the 3D kernel cannot drill this body: no cut gives a closed solid of the right volume",
        "holes that meet the outside and each other squarely",
    )


def body_solid(body: Body, progress: Progress | None = None) -> cadquery.Shape:
    """The drilled body of a design.

    Raises:
        SolidError: placed in the design's file.
    """
    try:
        return drilled(body.sections, body.bore, body.axle_holes, body.pilots, body.moments, progress)
    except SolidError as fault:
        raise fault.named(body.design.source.name) from fault


def rod_shape(rod: Cylinder, wider_mm: float = 0.0) -> cadquery.Shape:
    """A cylinder as a solid of the kernel, its radius `wider_mm` more."""
    from cadquery import Solid, Vector

    start, way = Vector(*map(float, rod.start)), Vector(*map(float, rod.axis))
    made = Solid.makeCylinder(rod.radius + wider_mm, rod.length, start, way)
    return made.rotate(start, start + way, SEAM_DEGREES)


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


def cut(
    body: cadquery.Shape, tools: Sequence[cadquery.Shape], fuzzy_mm: float, *, together: bool
) -> cadquery.Shape | None:
    """A body less all tools; None where the kernel cannot, or nothing is left."""
    import cadquery

    # The kernel may widen the tolerances of what it cuts: a copy is cut, so that the next way starts afresh.
    left: cadquery.Shape = body.copy()
    try:
        for batch in [tools] if together else [[tool] for tool in tools]:
            left = left.cut(*batch, tol=fuzzy_mm or None)
    except ValueError:
        return None
    solids = left.Solids()
    if len(solids) <= 1:
        return solids[0] if solids else None
    return cadquery.Compound.makeCompound(solids)


def _volume_fault(volume: float, expected: float) -> str:
    """What is wrong with a solid's volume, or nothing."""
    if abs(volume / expected - 1) <= AGREE:
        return ""
    return f"the solid would hold {volume / 1000:.2f} cm3 where the sections hold {expected / 1000:.2f} cm3"


def _skin_fault(shape: cadquery.Shape) -> str:
    """What is wrong with a solid's skin, or nothing."""
    if not _closed(shape.wrapped):
        return "the solid's skin does not close"
    return "" if shape.isValid() else "the 3D kernel finds the solid faulty"


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

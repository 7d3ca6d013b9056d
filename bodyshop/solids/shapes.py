"""The kernel's curves and surfaces for one stretch of the skin, and a prism for each window."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.car.body import Sections
from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import Arc, Array, Curve, Line, Outline, Point, Ring
from bodyshop.solids.ends import PlaneEdge
from bodyshop.solids.segments import RHO, Y0, Y1, Z0, Z1, BodySegment, X

__all__ = [
    "flat_plane",
    "long_curve",
    "long_row",
    "quarter_curve",
    "quarter_parameter",
    "reach_rounding",
    "side_surface",
    "uncut",
    "window_prisms",
]


if TYPE_CHECKING:
    import cadquery
    from OCP.Geom import Geom_Surface


# The middle pole's weight of a quarter circle as a rational curve.
MIDDLE_WEIGHT = math.sqrt(0.5)


def long_row(part: BodySegment, k: int) -> Array:
    """Poles (n, 3) of the long edge through point k of the section, in caps.End's order."""
    p = part.fit.poles
    corner = k // 2
    y = p[Y1] if corner in (1, 2) else p[Y0]
    z = p[Z1] if corner in (2, 3) else p[Z0]
    if part.rounded[corner]:
        # Even corners start on a side (left, right) and end on a level face; odd ones the other way.
        on_side = (k % 2 == 0) == (corner % 2 == 0)
        if on_side:
            z = z - p[RHO] if corner in (2, 3) else z + p[RHO]
        else:
            y = y - p[RHO] if corner in (1, 2) else y + p[RHO]
    return np.stack((p[X], y, z), axis=1)


def flat_plane(k: int, rows: list[Array]) -> Geom_Surface:
    """The plane of a flat side, its normal pointing into the wood."""
    from OCP.Geom import Geom_Plane
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pnt

    level = k in (1, 5)
    start, end = rows[k][0], rows[k][-1]
    along = end - start
    along[1 if level else 2] = 0.0
    across = np.zeros(3)
    across[1 if level else 2] = 1.0 if k in (1, 3) else -1.0
    normal = np.cross(along, across)
    return Geom_Plane(
        gp_Ax3(gp_Pnt(*map(float, start)), gp_Dir(*map(float, normal)), gp_Dir(*map(float, along)))
    )


def side_surface(part: BodySegment, k: int, rows: list[Array]) -> Geom_Surface:
    """Side k as a B-spline surface: ruled across a flat, a rational quarter circle round a corner."""
    from OCP.Geom import Geom_BSplineSurface
    from OCP.gp import gp_Pnt
    from OCP.TColgp import TColgp_Array2OfPnt
    from OCP.TColStd import TColStd_Array2OfReal

    first, last = rows[k], rows[(k + 1) % 8]
    columns = [first, last]
    if k % 2 == 0:
        # The middle pole of a quarter circle: the square corner over the arc.
        corner = k // 2
        square = first.copy()
        square[:, 1 if corner % 2 else 2] = last[:, 1 if corner % 2 else 2]
        columns = [first, square, last]
    count, across = first.shape[0], len(columns)
    poles, weights = TColgp_Array2OfPnt(1, count, 1, across), TColStd_Array2OfReal(1, count, 1, across)
    for j, column in enumerate(columns, 1):
        for i in range(count):
            poles.SetValue(i + 1, j, gp_Pnt(*map(float, column[i])))
            weights.SetValue(i + 1, j, MIDDLE_WEIGHT if across == 3 and j == 2 else 1.0)
    knots, mults = _knots(part)
    v_knots, v_mults = _knot_arrays(np.array([0.0, 1.0]), across)
    args = (knots, v_knots, mults, v_mults, part.fit.degree, across - 1)
    return Geom_BSplineSurface(poles, weights, *args) if across == 3 else Geom_BSplineSurface(poles, *args)


def long_curve(part: BodySegment, row: Array) -> tuple[object, float]:
    """The curve of a long edge, from parameter 0 to the one returned: a line where it is straight."""
    from OCP.Geom import Geom_BSplineCurve, Geom_Line
    from OCP.gp import gp_Dir, gp_Pnt
    from OCP.TColgp import TColgp_Array1OfPnt

    if part.fit.degree == 1:
        along = row[1] - row[0]
        line = Geom_Line(gp_Pnt(*map(float, row[0])), gp_Dir(*map(float, along)))
        return line, float(np.linalg.norm(along))
    poles = TColgp_Array1OfPnt(1, row.shape[0])
    for i, p in enumerate(row, 1):
        poles.SetValue(i, gp_Pnt(*map(float, p)))
    return Geom_BSplineCurve(poles, *_knots(part), part.fit.degree), 1.0


def _knots(part: BodySegment) -> tuple[object, object]:
    return _knot_arrays(part.fit.breaks, part.fit.degree + 1)


def _knot_arrays(breaks: Array, end_multiplicity: int) -> tuple[object, object]:
    from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal

    count = breaks.size
    knots, mults = TColStd_Array1OfReal(1, count), TColStd_Array1OfInteger(1, count)
    for i in range(count):
        knots.SetValue(i + 1, float(breaks[i]))
        mults.SetValue(i + 1, end_multiplicity if i in (0, count - 1) else 1)
    return knots, mults


def quarter_curve(edge: PlaneEdge, x: float) -> object:
    """The whole quarter circle that an arc belongs to, in the plane at x, from parameter 0 to 1."""
    return _bezier(np.stack((np.full(3, x), *_quarter(edge)), axis=1))


def _quarter(edge: PlaneEdge) -> tuple[Array, Array]:
    """Y and z of the three poles of the whole quarter circle an arc belongs to."""
    a = edge.first_angle
    unit = np.array([[math.cos(a), math.sin(a)], [math.cos(a) - math.sin(a), math.sin(a) + math.cos(a)],
                     [-math.sin(a), math.cos(a)]])  # fmt: skip
    points = np.array(edge.centre) + edge.radius * unit
    return points[:, 0], points[:, 1]


def _bezier(poles: Array) -> object:
    from OCP.Geom import Geom_BezierCurve
    from OCP.gp import gp_Pnt
    from OCP.TColgp import TColgp_Array1OfPnt
    from OCP.TColStd import TColStd_Array1OfReal

    points, weights = TColgp_Array1OfPnt(1, 3), TColStd_Array1OfReal(1, 3)
    for i, p in enumerate(poles, 1):
        points.SetValue(i, gp_Pnt(*map(float, p)))
        weights.SetValue(i, MIDDLE_WEIGHT if i == 2 else 1.0)
    return Geom_BezierCurve(points, weights)


def quarter_parameter(turn: float) -> float:
    """The parameter at which a rational quarter circle has turned by `turn`.

    Its half-angle tangent is t / (t + sqrt(2) (1 - t)): 0 at the start, tan 22.5 degrees in the middle.
    """
    half = math.tan(0.5 * min(max(turn, 0.0), math.pi / 2))
    return math.sqrt(2) * half / (1 - half + math.sqrt(2) * half)


# How far a prism stands out of the body on both sides, mm.
BEYOND_MM = 1.0
# A window nearer to a rounding than this (mm, and share of the radius) counts as reaching it: between the
# stations that are looked at it may come nearer.
NEAR_MM, NEAR_SHARE = 0.25, 0.05

_Place = Callable[[Point], Point3]


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


def window_prisms(sections: Sections) -> list[cadquery.Shape]:
    """What is to be taken out of `uncut`."""
    _, y0, _, y1 = sections.plan.bounds
    _, z0, _, z1 = sections.profile.bounds
    low_y, low_z = y0 - BEYOND_MM, z0 - BEYOND_MM
    across, up = (0.0, y1 - y0 + 2 * BEYOND_MM, 0.0), (0.0, 0.0, z1 - z0 + 2 * BEYOND_MM)
    prisms = [_prism(w, lambda p: (p[0], low_y, p[1]), across) for w in sections.profile.windows]
    return prisms + [_prism(w, lambda p: (p[0], p[1], low_z), up) for w in sections.plan.windows]


def _prism(ring: Ring, place: _Place, way: Point3) -> cadquery.Shape:
    from cadquery import Solid, Vector, Wire

    wire = Wire.assembleEdges([_edge(curve, place) for curve in ring.curves])
    return Solid.extrudeLinear(wire, [], Vector(*way))


def _edge(curve: Curve, place: _Place) -> cadquery.Edge:
    from cadquery import Edge, Vector

    def at(point: Point) -> Vector:
        return Vector(*place(point))

    match curve:
        case Line():
            return Edge.makeLine(at(curve.p0), at(curve.p1))
        case Arc():
            return Edge.makeThreePointArc(at(curve.p0), at(curve.part(0.0, 0.5).p1), at(curve.p1))
        case _:
            return Edge.makeBezier([at(p) for p in (curve.p0, curve.c1, curve.c2, curve.p1)])

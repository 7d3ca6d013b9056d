"""The skin built face by face, each edge made once and shared: closed by construction, no sewing.

Every face but the flat ones is a B-spline surface whose border curves are rows of its own poles, so an
edge lies on both its faces to the last bit. Along a face u runs from nose to tail and v anticlockwise
round the section, so its natural normal points into the wood.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.car.body.section import Sections
from bodyshop.geometry.outlines import Array
from bodyshop.solids.end_faces import Cap, ContactError, PlaneMap, meet
from bodyshop.solids.ends import End, PlaneEdge
from bodyshop.solids.errors import SolidError
from bodyshop.solids.segments import NEAR_MM, BodySegment, stretches
from bodyshop.solids.shapes import (
    flat_plane,
    long_curve,
    long_row,
    quarter_curve,
    quarter_parameter,
    side_surface,
)

if TYPE_CHECKING:
    from OCP.Geom import Geom_Surface
    from OCP.TopoDS import TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Vertex, TopoDS_Wire

    # Each with the last value of its parameter; the first is 0.
    _LongEdges = dict[int, tuple[TopoDS_Edge, float]]

__all__ = ["skin"]

# The kernel's own least tolerance, mm.
LEAST_MM = 1e-7
# How far a plane is moved out of a line of contact, mm.
OPEN_MM = 0.002


def skin(sections: Sections) -> TopoDS_Shape:
    """The undrilled body as one solid, or a compound of them.

    Where pieces only touch along a line (the tip of a window under an edge rounded wider than the wood
    beside it) the plane is moved by OPEN_MM to where they join or part.

    Raises:
        SolidError: pieces touch without joining all the same, or a curve cannot be followed.
    """
    moved: dict[int, float] = {}
    while True:
        planes, parts = stretches(sections, moved)
        try:
            return _Builder(planes, parts).build()
        except ContactError as contact:
            near = int(np.argmin(np.abs(sections.breaks - contact.x)))
            if contact.tailward is None or near in moved or abs(sections.breaks[near] - contact.x) > NEAR_MM:
                raise
            moved[near] = OPEN_MM if contact.tailward else -OPEN_MM


class _Builder:
    """Vertices, edges and faces of one body."""

    def __init__(self, planes: Array, parts: Sequence[BodySegment]) -> None:
        from OCP.BRep import BRep_Builder

        self.make = BRep_Builder()
        self.planes = planes
        self.parts = parts
        at_plane: list[list[tuple[int, int]]] = [[] for _ in planes]
        for number, part in enumerate(parts):
            at_plane[part.start].append((number, 0))
            at_plane[part.end].append((number, 1))
        self.maps: list[PlaneMap] = []
        self.place: dict[tuple[int, int], int] = {}
        for plane, members in enumerate(at_plane):
            self.maps.append(meet([_end(parts[n], side) for n, side in members], float(planes[plane])))
            self.place.update({member: i for i, member in enumerate(members)})
        self.vertices = [self._vertices(plane) for plane in range(len(planes))]
        self.edges = [
            [self._plane_edge(plane, edge) for edge in self.maps[plane].edges] for plane in range(len(planes))
        ]
        self.faces: list[TopoDS_Face] = []
        # For every face the numbers of its edges: plane edges as (plane, edge), long ones as (-1 - part, k).
        self.borders: list[list[tuple[int, int]]] = []

    def build(self) -> TopoDS_Shape:
        for number in range(len(self.parts)):
            self._around(number)
        for plane, found in enumerate(self.maps):
            for cap in found.caps:
                self._cap(plane, cap)
        return self._solids()

    # ---- vertices and edges

    def _vertices(self, plane: int) -> list[TopoDS_Vertex]:
        from OCP.gp import gp_Pnt
        from OCP.TopoDS import TopoDS_Vertex

        found = []
        tolerance = max(LEAST_MM, 2 * self.maps[plane].spread)
        for y, z in self.maps[plane].vertices:
            vertex = TopoDS_Vertex()
            self.make.MakeVertex(vertex, gp_Pnt(float(self.planes[plane]), y, z), tolerance)
            found.append(vertex)
        return found

    def _plane_edge(self, plane: int, edge: PlaneEdge) -> TopoDS_Edge:
        from OCP.Geom import Geom_Line
        from OCP.gp import gp_Dir, gp_Pnt

        x = float(self.planes[plane])
        points = self.maps[plane].vertices
        a, b = points[edge.start], points[edge.end]
        if edge.axis is None:
            curve = quarter_curve(edge, x)
            lo, hi = (quarter_parameter(angle - edge.first_angle) for angle in edge.angles)
        else:
            # The parameter is the coordinate itself.
            origin = gp_Pnt(x, 0.0, a[1]) if edge.axis == 0 else gp_Pnt(x, a[0], 0.0)
            curve = Geom_Line(origin, gp_Dir(0.0, 1.0 - edge.axis, float(edge.axis)))
            lo, hi = a[edge.axis], b[edge.axis]
        vertices = self.vertices[plane]
        return self._edge(
            curve, vertices[edge.start], vertices[edge.end], lo, hi, 2 * self.maps[plane].spread
        )

    def _edge(
        self, curve: object, start: TopoDS_Vertex, end: TopoDS_Vertex, lo: float, hi: float, spread: float
    ) -> TopoDS_Edge:
        from OCP.TopAbs import TopAbs_FORWARD, TopAbs_REVERSED
        from OCP.TopoDS import TopoDS_Edge

        edge = TopoDS_Edge()
        self.make.MakeEdge(edge, curve, max(LEAST_MM, spread))
        self.make.Add(edge, start.Oriented(TopAbs_FORWARD))
        self.make.Add(edge, end.Oriented(TopAbs_REVERSED))
        self.make.Range(edge, lo, hi)
        return edge

    def _spread(self, part: BodySegment) -> float:
        return 2 * max(self.maps[part.start].spread, self.maps[part.end].spread)

    # ---- faces along a stretch

    def _around(self, number: int) -> None:
        part = self.parts[number]
        rows = [long_row(part, k) for k in range(8)]
        group = _groups(part)
        near, far = self._corners(number, 0), self._corners(number, 1)
        long_edges: _LongEdges = {}
        for k in range(8):
            if group[k] not in long_edges:
                curve, last = long_curve(part, rows[k])
                start = self.vertices[part.start][near[k]]
                end = self.vertices[part.end][far[k]]
                long_edges[group[k]] = self._edge(curve, start, end, 0.0, last, self._spread(part)), last
        for k in range(8):
            if group[k] != group[(k + 1) % 8]:
                self._side(number, k, rows, group, long_edges)

    def _corners(self, number: int, side: int) -> tuple[int, ...]:
        part = self.parts[number]
        plane = part.end if side else part.start
        return self.maps[plane].corners[self.place[number, side]]

    def _side(self, number: int, k: int, rows: list[Array], group: list[int], long_edges: _LongEdges) -> None:
        from OCP.TopoDS import TopoDS_Wire

        part = self.parts[number]
        after = (k + 1) % 8
        flat = k % 2 == 1
        plane_face = flat and part.straight[k // 2]
        surface = flat_plane(k, rows) if plane_face else side_surface(part, k, rows)
        tolerance = max(LEAST_MM, self._spread(part))
        (low, low_last), (high, high_last) = long_edges[group[k]], long_edges[group[after]]
        if not plane_face:
            self._pcurve(low, (0.0, 0.0), (1.0, 0.0), 0.0, low_last, surface, tolerance)
            self._pcurve(high, (0.0, 1.0), (1.0, 1.0), 0.0, high_last, surface, tolerance)
        wire = TopoDS_Wire()
        self.make.MakeWire(wire)
        border = [(-1 - number, group[k]), (-1 - number, group[after])]
        self.make.Add(wire, low)
        for side in (1, 0):
            plane = part.end if side else part.start
            steps = self.maps[plane].sides[self.place[number, side]][k]
            for edge_number, forward in steps:
                edge = self.edges[plane][edge_number]
                border.append((plane, edge_number))
                if not plane_face:
                    self._cross_pcurve(
                        part, k, side, rows, edge, self.maps[plane].edges[edge_number], plane, surface
                    )
                self.make.Add(wire, edge if forward is bool(side) else edge.Reversed())
            if not steps and not plane_face:
                corner = self._corners(number, side)[k]
                point = self._closed_end(self.vertices[plane][corner], float(side), surface, tolerance)
                self.make.Add(wire, point if side else point.Reversed())
            if side:
                self.make.Add(wire, high.Reversed())
        self._face(surface, [wire], reverse=True, border=border, tolerance=tolerance)

    def _cross_pcurve(
        self,
        part: BodySegment,
        k: int,
        side: int,
        rows: list[Array],
        edge: TopoDS_Edge,
        kept: PlaneEdge,
        plane: int,
        surface: Geom_Surface,
    ) -> None:
        u = float(side)
        tolerance = max(LEAST_MM, self._spread(part))
        if kept.axis is None:
            lo, hi = (quarter_parameter(angle - kept.first_angle) for angle in kept.angles)
            self._pcurve(edge, (u, lo), (u, hi), lo, hi, surface, tolerance)
            return
        points = self.maps[plane].vertices
        lo, hi = points[kept.start][kept.axis], points[kept.end][kept.axis]
        first, last = (float(rows[j][-side, 1 + kept.axis]) for j in (k, (k + 1) % 8))
        v0, v1 = ((c - first) / (last - first) for c in (lo, hi))
        self._pcurve(
            edge, (u, min(max(v0, 0.0), 1.0)), (u, min(max(v1, 0.0), 1.0)), lo, hi, surface, tolerance
        )

    def _pcurve(
        self,
        edge: TopoDS_Edge,
        start: tuple[float, float],
        end: tuple[float, float],
        lo: float,
        hi: float,
        surface: Geom_Surface,
        tolerance: float,
    ) -> None:
        """A straight curve in the surface's own plane, run from lo to hi."""
        from OCP.Geom2d import Geom2d_BSplineCurve
        from OCP.gp import gp_Pnt2d
        from OCP.TColgp import TColgp_Array1OfPnt2d
        from OCP.TColStd import TColStd_Array1OfInteger, TColStd_Array1OfReal
        from OCP.TopLoc import TopLoc_Location

        poles = TColgp_Array1OfPnt2d(1, 2)
        knots, mults = TColStd_Array1OfReal(1, 2), TColStd_Array1OfInteger(1, 2)
        for i, (p, t) in enumerate(((start, lo), (end, hi)), 1):
            poles.SetValue(i, gp_Pnt2d(*p))
            knots.SetValue(i, t)
            mults.SetValue(i, 2)
        curve = Geom2d_BSplineCurve(poles, knots, mults, 1)
        self.make.UpdateEdge(edge, curve, surface, TopLoc_Location(), tolerance)
        self.make.Range(edge, surface, TopLoc_Location(), lo, hi)

    def _closed_end(
        self, vertex: TopoDS_Vertex, u: float, surface: Geom_Surface, tolerance: float
    ) -> TopoDS_Edge:
        """An edge of no length, where a face runs out in a point."""
        from OCP.TopAbs import TopAbs_FORWARD, TopAbs_REVERSED
        from OCP.TopoDS import TopoDS_Edge

        edge = TopoDS_Edge()
        self.make.MakeEdge(edge)
        self.make.Add(edge, vertex.Oriented(TopAbs_FORWARD))
        self.make.Add(edge, vertex.Oriented(TopAbs_REVERSED))
        self._pcurve(edge, (u, 0.0), (u, 1.0), 0.0, 1.0, surface, tolerance)
        self.make.Degenerated(edge, True)
        return edge

    # ---- flat faces, and the whole

    def _cap(self, plane: int, cap: Cap) -> None:
        from OCP.Geom import Geom_Plane
        from OCP.gp import gp_Dir, gp_Pnt
        from OCP.TopoDS import TopoDS_Wire

        surface = Geom_Plane(gp_Pnt(float(self.planes[plane]), 0.0, 0.0), gp_Dir(1.0, 0.0, 0.0))
        wires: list[TopoDS_Wire] = []
        border = []
        for loop in cap.loops:
            wire = TopoDS_Wire()
            self.make.MakeWire(wire)
            for number, forward in loop:
                edge = self.edges[plane][number]
                self.make.Add(wire, edge if forward else edge.Reversed())
                border.append((plane, number))
            wires.append(wire)
        tolerance = max(LEAST_MM, 2 * self.maps[plane].spread)
        self._face(surface, wires, reverse=not cap.tailward, border=border, tolerance=tolerance)

    def _face(
        self,
        surface: Geom_Surface,
        wires: Sequence[TopoDS_Wire],
        *,
        reverse: bool,
        border: list[tuple[int, int]],
        tolerance: float,
    ) -> None:
        from OCP.TopLoc import TopLoc_Location
        from OCP.TopoDS import TopoDS_Face

        face = TopoDS_Face()
        self.make.MakeFace(face, surface, TopLoc_Location(), tolerance)
        for wire in wires:
            wire.Closed(True)
            self.make.Add(face, wire)
        self.faces.append(face.Reversed() if reverse else face)
        self.borders.append(border)

    def _solids(self) -> TopoDS_Shape:
        from OCP.TopoDS import TopoDS_Compound, TopoDS_Shell, TopoDS_Solid

        solids = []
        for members in _joined(self.borders):
            shell, solid = TopoDS_Shell(), TopoDS_Solid()
            self.make.MakeShell(shell)
            for i in members:
                self.make.Add(shell, self.faces[i])
            shell.Closed(True)
            self.make.MakeSolid(solid)
            self.make.Add(solid, shell)
            solids.append(solid)
        if len(solids) == 1:
            return solids[0]
        compound = TopoDS_Compound()
        self.make.MakeCompound(compound)
        for solid in solids:
            self.make.Add(compound, solid)
        return compound


def _joined(borders: Sequence[Sequence[tuple[int, int]]]) -> list[list[int]]:
    """Faces that hang together over shared edges; every edge must join exactly two."""
    by_edge: dict[tuple[int, int], list[int]] = {}
    for face, border in enumerate(borders):
        for edge in border:
            by_edge.setdefault(edge, []).append(face)
    if any(len(faces) != 2 for faces in by_edge.values()):
        raise SolidError("the body's skin does not close")
    parent = list(range(len(borders)))

    def root(i: int) -> int:
        while parent[i] != i:
            parent[i] = parent[parent[i]]
            i = parent[i]
        return i

    for a, b in by_edge.values():
        parent[root(a)] = root(b)
    groups: dict[int, list[int]] = {}
    for face in range(len(borders)):
        groups.setdefault(root(face), []).append(face)
    return list(groups.values())


def _end(part: BodySegment, side: int) -> End:
    _, y0, y1, z0, z1, radius = (float(v) for v in part.ends[:, side])
    return End(side == 1, y0, y1, z0, z1, radius, part.rounded)


def _groups(part: BodySegment) -> list[int]:
    """For each of the eight long edges the first of those that are one edge with it."""
    merged = [
        not (part.rounded[k // 2] if k % 2 == 0 else part.flat[k // 2]) for k in range(8)
    ]  # k with k + 1
    group = list(range(8))
    for _ in range(8):
        for k in range(8):
            if merged[k]:
                group[k] = group[(k + 1) % 8] = min(group[k], group[(k + 1) % 8])
    return group

"""A random car as solids of the 3D kernel, from its corner points alone, through no section of the program.

As hands make it: the side view and the top view are cut out, the long edges are rounded, then windows and
holes are cut. Between two stations at which no outline bends, what both cuts leave is a ruled solid between
two rectangles with rounded corners, so it is lofted.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from OCP.Bnd import Bnd_Box
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common, BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepBuilderAPI import (
    BRepBuilderAPI_MakeEdge,
    BRepBuilderAPI_MakeFace,
    BRepBuilderAPI_MakePolygon,
    BRepBuilderAPI_MakeWire,
)
from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections
from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec
from OCP.TopoDS import TopoDS_Shape
from OCP.TopTools import TopTools_ListOfShape

from bodyshop.car.stock.hardware import hardware
from tests.outside.kernel import cylinder, faces
from tests.outside.random_cars import EYE, CarNumbers, Points

__all__ = ["Bar", "Reference", "box_distance"]

# A tail that runs out to a sharp edge is cut off this far (mm) ahead of it.
SHARP_MM = 0.02
# Corners are rounded by a little less than half a thin section, so that its flats keep a length.
LESS = 1 - 2e-5
FAR = 300.0


@dataclass(frozen=True)
class _Edge:
    """A straight edge of an outline read as v over x; `number` is that of its first point."""

    x0: float
    v0: float
    x1: float
    v1: float
    number: int

    def at(self, x: float) -> float:
        return self.v0 + (self.v1 - self.v0) * (x - self.x0) / (self.x1 - self.x0)

    @property
    def slope(self) -> float:
        return (self.v1 - self.v0) / (self.x1 - self.x0)


def _edges(points: Points) -> list[_Edge]:
    found = []
    for i, (p, q) in enumerate(zip(points, (*points[1:], points[0]), strict=True)):
        if p[0] != q[0]:
            (x0, v0), (x1, v1) = sorted((p, q))
            found.append(_Edge(x0, v0, x1, v1, i))
    return found


@dataclass(frozen=True)
class Bar:
    """One stretch of wood between two stations: what bounds it right, left, above, below."""

    a: float
    b: float
    y0: _Edge
    y1: _Edge
    z0: _Edge
    z1: _Edge

    def box(self, x: float) -> tuple[float, float, float, float]:
        """(y0, y1, z0, z1) at a station."""
        return self.y0.at(x), self.y1.at(x), self.z0.at(x), self.z1.at(x)


@dataclass
class Skin:
    """Faces (and square long edges) by what they are."""

    shapes: dict[str, list[TopoDS_Shape]] = field(default_factory=dict)

    def add(self, kind: str, shape: TopoDS_Shape) -> None:
        self.shapes.setdefault(kind, []).append(shape)

    def of(self, *kinds: str) -> list[TopoDS_Shape]:
        return [shape for kind in kinds for shape in self.shapes.get(kind, ())]


class Reference:
    """The solids and faces of one car."""

    def __init__(self, car: CarNumbers) -> None:
        self.car = car
        self.tail_edge = 3  # of the profile, by the generator
        side, top = _edges(car.profile), _edges(car.plan)
        self.x0 = max(min(e.x0 for e in side), min(e.x0 for e in top))
        self.x1 = min(max(e.x1 for e in side), max(e.x1 for e in top))
        if car.profile[4][0] != car.profile[3][0]:
            self.x1 -= SHARP_MM
        self.bars = [bar for first in self._bars(side, top) for bar in self._unkinked(first)]

    # ---- sections

    def _bars(self, side: Sequence[_Edge], top: Sequence[_Edge]) -> Iterator[Bar]:
        ends = {self.x0, self.x1}
        for e in (*side, *top):
            ends |= {x for x in (e.x0, e.x1) if self.x0 < x < self.x1}
        for a, b in pairwise(sorted(ends)):
            z, y = (_stretches(edges, a, b) for edges in (side, top))
            for y0, y1 in y:
                for z0, z1 in z:
                    yield Bar(a, b, y0, y1, z0, z1)

    def _unkinked(self, bar: Bar) -> Iterator[Bar]:
        """Cut where a thin section starts to limit the rounding."""
        rho, cuts = self.car.edge_round, {bar.a, bar.b}
        start, end = ((b[1] - b[0], b[3] - b[2]) for b in (bar.box(bar.a), bar.box(bar.b)))
        for p, q in (
            (start[0] - 2 * rho, end[0] - 2 * rho),
            (start[1] - 2 * rho, end[1] - 2 * rho),
            (start[0] - start[1], end[0] - end[1]),
        ):
            if p * q < 0:
                x = bar.a + (bar.b - bar.a) * p / (p - q)
                if bar.a + 1e-4 < x < bar.b - 1e-4:
                    cuts.add(x)
        for a, b in pairwise(sorted(cuts)):
            yield Bar(a, b, bar.y0, bar.y1, bar.z0, bar.z1)

    def radius(self, box: tuple[float, float, float, float]) -> float:
        """What the long edges of a section are rounded by."""
        y0, y1, z0, z1 = box
        return min(self.car.edge_round, LESS * (y1 - y0) / 2, LESS * (z1 - z0) / 2)

    # ---- solids

    @cached_property
    def lofts(self) -> list[tuple[Bar, BRepOffsetAPI_ThruSections, list[TopoDS_Shape]]]:
        made = []
        for bar in self.bars:
            first, wire = self._section(bar, bar.a)
            _, last = self._section(bar, bar.b)
            loft = BRepOffsetAPI_ThruSections(True, True, 1e-6)
            loft.CheckCompatibility(False)
            loft.AddWire(wire)
            loft.AddWire(last)
            loft.Build()
            made.append((bar, loft, first))
        return made

    def _section(self, bar: Bar, x: float) -> tuple[list[TopoDS_Shape], TopoDS_Shape]:
        """A rounded rectangle: its edges (bottom, right, top, left, and after each both halves of its corner)
        and the wire.
        """
        y0, y1, z0, z1 = box = bar.box(x)
        r = self.radius(box)
        maker, edges = BRepBuilderAPI_MakeWire(), []
        corners = ((y0, z0, 1, 0), (y1, z0, 0, 1), (y1, z1, -1, 0), (y0, z1, 0, -1))
        for k, (y, z, dy, dz) in enumerate(corners):
            far_y, far_z = corners[(k + 1) % 4][:2]
            p = gp_Pnt(x, y + r * dy, z + r * dz)
            q = gp_Pnt(x, far_y - r * dy, far_z - r * dz)
            edges.append(BRepBuilderAPI_MakeEdge(p, q).Edge())
            if r > 0:
                # Round the corner: from along (dy, dz) into the next side's way, a left turn.
                n_y, n_z = -dz, dy
                end = gp_Pnt(x, far_y + r * n_y, far_z + r * n_z)
                c = (far_y - r * dy + r * n_y, far_z - r * dz + r * n_z)
                arm = (x, c, r, (dy, dz), (n_y, n_z))
                half = _on_arc(math.pi / 4, *arm)
                for start, turn, stop in ((q, math.pi / 8, half), (half, 3 * math.pi / 8, end)):
                    arc = GC_MakeArcOfCircle(start, _on_arc(turn, *arm), stop).Value()
                    edges.append(BRepBuilderAPI_MakeEdge(arc).Edge())
        held = []
        for edge in edges:
            maker.Add(edge)
            # The wire holds a copy that shares its ends with its neighbours.
            held.append(maker.Edge())
        return held, maker.Wire()

    @cached_property
    def outer(self) -> TopoDS_Shape:
        """The body before windows and holes."""
        return _fused([loft.Shape() for _, loft, _ in self.lofts])

    @cached_property
    def window_prisms(self) -> list[TopoDS_Shape]:
        """What the windows cut out, right through."""
        side = [_prism([(x, -FAR, z) for x, z in w], (0, 2 * FAR, 0)) for w in self.car.side_windows]
        return side + [_prism([(x, y, -FAR) for x, y in w], (0, 0, 2 * FAR)) for w in self.car.top_windows]

    @cached_property
    def undrilled(self) -> TopoDS_Shape:
        """The body with its windows."""
        return _cut(self.outer, self.window_prisms) if self.window_prisms else self.outer

    @cached_property
    def drilled(self) -> TopoDS_Shape:
        """The body with windows and holes."""
        pilots = [cylinder((x, y, z - 5.0), (0, 0, 1), r, d + 5.0) for x, y, z, r, d in self.pilots]
        return _cut(self.undrilled, [self.drill, *self.axles, *pilots])

    # ---- holes

    @cached_property
    def mouth(self) -> tuple[float, float, float]:
        """Where the bore's axis comes out of the tail."""
        (xa, za), (xb, zb) = self.car.profile[3], self.car.profile[4]
        return xa + (xb - xa) * (self.car.height - za) / (zb - za), self.car.offset, self.car.height

    @cached_property
    def axis(self) -> tuple[float, float, float]:
        """Unit vector from the mouth to the blind end."""
        return -math.cos(self.car.tilt), 0.0, math.sin(self.car.tilt)

    def _along(self, distance: float) -> list[float]:
        return [m + distance * a for m, a in zip(self.mouth, self.axis, strict=True)]

    @cached_property
    def drill(self) -> TopoDS_Shape:
        """The bore's drill, from far behind the tail to the blind end."""
        car = self.car
        return cylinder(self._along(-80.0), self.axis, car.diameter / 2, car.depth + 80.0)

    @cached_property
    def bore(self) -> TopoDS_Shape:
        """The bore as far as it is in the side view."""
        return BRepAlgoAPI_Common(self.drill, self.side_prism).Shape()

    @cached_property
    def side_prism(self) -> TopoDS_Shape:
        """The side view without windows, right across."""
        return _prism([(x, -FAR, z) for x, z in self.car.profile], (0, 2 * FAR, 0))

    @cached_property
    def top_prism(self) -> TopoDS_Shape:
        """The top view without windows, straight up."""
        return _prism([(x, y, -FAR) for x, y in self.car.plan], (0, 0, 2 * FAR))

    @cached_property
    def ahead(self) -> TopoDS_Shape:
        """The line of the bore, from its blind end on."""
        return cylinder(self._along(self.car.depth), self.axis, self.car.diameter / 2, FAR)

    @cached_property
    def blind_end(self) -> TopoDS_Shape:
        """A thin disc at the blind end."""
        return cylinder(self._along(self.car.depth - 1e-3), self.axis, self.car.diameter / 2, 1e-3)

    @cached_property
    def axles(self) -> list[TopoDS_Shape]:
        """The axle holes, right across."""
        ends = (self.car.front, self.car.rear)
        return [cylinder((n.x, -FAR, n.z), (0, 1, 0), n.hole / 2, 2 * FAR) for n in ends]

    @cached_property
    def pilots(self) -> list[tuple[float, float, float, float, float]]:
        """The screw eyes' pilot holes: x, y, underside, radius, depth."""
        kind = hardware().screw_eyes[EYE]
        found = []
        for x, y in self.car.eyes:
            low = next(b for b in self.bars if b.a <= x <= b.b and b.y0.at(x) <= y <= b.y1.at(x)).z0.at(x)
            found.append((x, y, low, kind.pilot_diameter_mm / 2, kind.pilot_depth_mm))
        return found

    # ---- skin

    @cached_property
    def skin(self) -> Skin:
        """What the walls are measured to, by side: top, bottom, left, right, corner; `ahead` for what looks
        to the nose; tail for the mouth; window. Of a rounded corner the half that looks down by itself.
        """
        skin = Skin()
        sharp = self.car.edge_round == 0
        for bar, loft, edges in self.lofts:
            flats = ("bottom", "right", "top", "left")
            sides = (bar.z0, bar.y1, bar.z1, bar.y0)
            steep = [
                (1 if flat in ("top", "right") else -1) * edge.slope > 1 + 1e-9
                for flat, edge in zip(flats, sides, strict=True)
            ]
            for k, edge in enumerate(edges):
                side, part = (k, 0) if sharp else divmod(k, 3)
                if part:
                    # The half next to the underside looks down.
                    kind = "under corner" if (side, part) in ((0, 1), (3, 2)) else "corner"
                elif side in (0, 2) and sides[side].number == self.tail_edge:
                    kind = "tail"
                else:
                    kind = "ahead" if steep[side] else flats[side]
                skin.add(kind, self._windowed(loft.GeneratedFace(edge)))
            if sharp:
                a, b = bar.box(bar.a), bar.box(bar.b)
                for k, (i, j) in enumerate(((0, 2), (1, 2), (1, 3), (0, 3))):
                    line = BRepBuilderAPI_MakeEdge(gp_Pnt(bar.a, a[i], a[j]), gp_Pnt(bar.b, b[i], b[j]))
                    near = (steep[(k + 3) % 4], steep[k])
                    skin.add("ahead" if any(near) else "corner", line.Edge())
            if bar.a == self.x0:
                skin.add("ahead", loft.FirstShape())
        for i, prism in enumerate(self.window_prisms):
            across = i < len(self.car.side_windows)
            for face in faces(prism):
                part = BRepAlgoAPI_Common(face, self.top_prism if across else self.side_prism).Shape()
                if faces(part):
                    skin.add("window", part)
        return skin

    def _windowed(self, face: TopoDS_Shape) -> TopoDS_Shape:
        reach = [p for p in self.window_prisms if box_distance(face, p) <= 0]
        return _cut(face, reach) if reach else face

    def plane(self, nx: float, nz: float, offset: float) -> TopoDS_Shape:
        """A large face square to (nx, 0, nz)."""
        at = gp_Pnt(nx * offset, 0.0, nz * offset)
        return BRepBuilderAPI_MakeFace(gp_Pln(at, gp_Dir(nx, 0, nz)), -900.0, 900.0, -900.0, 900.0).Face()


def box_distance(a: TopoDS_Shape, b: TopoDS_Shape) -> float:
    """How far the boxes round two shapes are apart."""
    boxes = []
    for shape in (a, b):
        box = Bnd_Box()
        BRepBndLib.Add_s(shape, box)
        boxes.append(box)
    if boxes[0].IsVoid() or boxes[1].IsVoid():
        return math.inf
    return float(boxes[0].Distance(boxes[1]))


def _on_arc(
    turn: float,
    x: float,
    centre: tuple[float, float],
    radius: float,
    way: tuple[int, int],
    inward: tuple[int, int],
) -> gp_Pnt:
    """A point of a quarter circle, `turn` on from where it leaves the side that runs `way`."""
    sine, cosine = radius * math.sin(turn), radius * math.cos(turn)
    y, z = (c + sine * w - cosine * n for c, w, n in zip(centre, way, inward, strict=True))
    return gp_Pnt(x, y, z)


def _stretches(edges: Sequence[_Edge], a: float, b: float) -> list[tuple[_Edge, _Edge]]:
    """Where wood lies between two stations, by the even-odd rule."""
    middle = 0.5 * (a + b)
    over = sorted((e for e in edges if e.x0 < middle < e.x1), key=lambda e: e.at(middle))
    return list(zip(over[::2], over[1::2], strict=True))


def _prism(points: Sequence[tuple[float, float, float]], way: tuple[float, float, float]) -> TopoDS_Shape:
    maker = BRepBuilderAPI_MakePolygon()
    for p in points:
        maker.Add(gp_Pnt(*p))
    maker.Close()
    return BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(maker.Wire()).Face(), gp_Vec(*way)).Shape()


def _fused(parts: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    if len(parts) == 1:
        return parts[0]
    fuse = BRepAlgoAPI_Fuse()
    first, rest = TopTools_ListOfShape(), TopTools_ListOfShape()
    first.Append(parts[0])
    for part in parts[1:]:
        rest.Append(part)
    fuse.SetArguments(first)
    fuse.SetTools(rest)
    fuse.Build()
    return fuse.Shape()


def _cut(shape: TopoDS_Shape, tools: Sequence[TopoDS_Shape]) -> TopoDS_Shape:
    cut = BRepAlgoAPI_Cut()
    first, rest = TopTools_ListOfShape(), TopTools_ListOfShape()
    first.Append(shape)
    for tool in tools:
        rest.Append(tool)
    cut.SetArguments(first)
    cut.SetTools(rest)
    cut.Build()
    return cut.Shape()

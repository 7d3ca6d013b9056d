"""Long edges are rounded first and windows cut afterwards: against the 3D kernel (Open CASCADE), called bare.

The rounded body is built by the kernel alone: a bar whose edges it fillets, or end sections of lines and
quarter circles joined by ruled surfaces, which between straight outlines is the same as rounding every
cross-section. Prisms of the windows are cut out of it. Windows come within one radius of an edge.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
import trimesh
from OCP.BRep import BRep_Tool
from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut, BRepAlgoAPI_Fuse
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
from OCP.BRepGProp import BRepGProp
from OCP.BRepOffsetAPI import BRepOffsetAPI_ThruSections
from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
from OCP.GC import GC_MakeArcOfCircle
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.TopAbs import TopAbs_EDGE
from OCP.TopExp import TopExp, TopExp_Explorer
from OCP.TopoDS import TopoDS, TopoDS_Shape

from bodyshop.car.body import Sections
from bodyshop.car.body.moments import section_area, undrilled_moments
from bodyshop.car.body.surfaces import frontal_silhouette, section_shape, wetted_area
from bodyshop.car.design.model import Bore
from bodyshop.geometry.outlines import Outline, Ring, Vertex, outline_faults
from bodyshop.solids import sections_mesh, undrilled
from tests.bodies import body, disc, half, outline, rectangle, ring
from tests.outside.kernel import (
    area,
    cylinder,
    difference,
    distance,
    faces,
    integrals,
    plan_prism,
    profile_prism,
)

BAR = 1e-4
"""Relative, as promised for rounded bodies; what is found is mostly below 1e-7."""


def cut(shape: TopoDS_Shape, profile: Outline, plan: Outline) -> TopoDS_Shape:
    """A body less the prisms of all windows."""
    for windows, prism in ((profile.windows, profile_prism), (plan.windows, plan_prism)):
        for window in windows:
            tool = prism(Outline(window.turned(left=True)), -100.0, 100.0)
            shape = BRepAlgoAPI_Cut(shape, tool).Shape()
    return shape


def agree(profile: Outline, plan: Outline, r: float, kernel: TopoDS_Shape) -> None:
    """Sections, the solid and the STL's mesh against the kernel's body."""
    sections = Sections(profile, plan, r)
    wanted, skin = integrals(kernel), area(kernel)
    assert difference(undrilled_moments(sections), wanted) < BAR
    assert wetted_area(sections) == pytest.approx(skin, rel=BAR)
    made = undrilled(sections)
    assert difference(integrals(made.wrapped), wanted) < BAR
    mesh = sections_mesh(sections)
    found = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    assert found.is_watertight
    assert found.volume == pytest.approx(wanted.volume, rel=1e-3)


# ---------------------------------------------------------------- a filleted bar


def filleted_bar(length: float, width: float, height: float, r: float) -> TopoDS_Shape:
    """A bar with its four long edges rounded by the kernel's own fillet."""
    box = BRepPrimAPI_MakeBox(gp_Pnt(0, -width / 2, 0), gp_Pnt(length, width / 2, height)).Shape()
    fillet = BRepFilletAPI_MakeFillet(box)
    edges = TopExp_Explorer(box, TopAbs_EDGE)
    done = set()
    while edges.More():
        edge = TopoDS.Edge_s(edges.Current())
        a, b = (BRep_Tool.Pnt_s(v(edge)) for v in (TopExp.FirstVertex_s, TopExp.LastVertex_s))
        key = (round(a.Y()), round(a.Z()))
        if abs(a.X() - b.X()) > 1.0 and key not in done:
            done.add(key)
            fillet.Add(r, edge)
        edges.Next()
    return fillet.Shape()


WINDOWS: dict[str, tuple[list[Ring], list[Ring]]] = {
    "just under the top": ([rectangle(30, 10, 80, 28.5)], []),
    "just inside the side": ([], [rectangle(30, 2, 80, 18.5)]),
    "both near one edge": ([rectangle(30, 20, 80, 28)], [rectangle(60, 10, 110, 18)]),
    "two of each": (
        [rectangle(30, 2, 80, 8), rectangle(30, 22, 80, 29)],
        [rectangle(50, -19, 110, -14), rectangle(50, 15, 110, 18)],
    ),
    "round ones": ([disc(60, 20, 9)], [disc(75, 10, 9), disc(75, -9.5, 9)]),
    "a kite whose tip comes near": ([ring((30, 15), (55, 5), (80, 15), (55, 29.2))], []),
}


@pytest.mark.parametrize("r", [4.0, 11.0])
@pytest.mark.parametrize("name", WINDOWS)
def test_a_filleted_bar_with_windows(name: str, r: float) -> None:
    side, top = (tuple(w.turned(left=False) for w in windows) for windows in WINDOWS[name])
    profile = Outline(rectangle(0, 0, 140, 30), side)
    plan = Outline(rectangle(0, -20, 140, 20), top)
    kernel = filleted_bar(140, 40, 30, r)
    agree(profile, plan, r, cut(kernel, profile, plan))
    shadow = 1200 - (4 - math.pi) * r * r
    assert frontal_silhouette(Sections(profile, plan, r)).area == pytest.approx(shadow, rel=BAR)


def test_a_round_bar_with_a_window_just_under_its_top() -> None:
    # Rounded by half its height and width: a dowel of 30. What is left over the window is a segment 2 high.
    profile = Outline(rectangle(0, 0, 140, 30), (rectangle(40, 6, 100, 28).turned(left=False),))
    plan = Outline(rectangle(0, -15, 140, 15))
    turn = math.acos(13 / 15)
    segment = 15**2 * turn - 13 * math.sqrt(15**2 - 13**2)
    pieces = section_area(Sections(profile, plan, 40.0).at(70))
    assert pieces[1] == pytest.approx(segment, rel=1e-9)
    assert frontal_silhouette(Sections(profile, plan, 40.0)).area == pytest.approx(math.pi * 225, rel=BAR)


# ---------------------------------------------------------------- by hand


def test_what_a_window_takes_out_of_a_rounded_bar() -> None:
    # 40 wide, 30 high, rounded by 8; a window from 20 to 28, 50 long. Each side of it lacks, from 22 up, what
    # the quarter circle lacks: the integral of 8 - sqrt(64 - q^2) over q from 0 to 6.
    lack = 48 - 0.5 * (6 * math.sqrt(28) + 64 * math.asin(0.75))
    profile = Outline(rectangle(0, 0, 100, 30), (rectangle(30, 20, 80, 28).turned(left=False),))
    b = body((profile, Outline(rectangle(0, -20, 100, 20))), edge_round=8)
    section = 1200 - (4 - math.pi) * 64
    assert b.undrilled.volume == pytest.approx(100 * section - 50 * (320 - 2 * lack), rel=1e-12)
    # Over the window two quarter circles end at its top, where they are this far in from the side.
    inwards = 8 - math.sqrt(28)
    low, high = b.section(50).span(28.0 + 1e-12, across=True)
    assert (low[1], high[1]) == pytest.approx((-20 + inwards, 20 - inwards), abs=1e-6)


def test_a_window_grows_nothing_back() -> None:
    # The strip beside the window is 3 wide; a radius of 6 would not fit on it, and need not.
    plain = body((Outline(rectangle(0, 0, 200, 30)), Outline(rectangle(0, -20, 200, 20))), edge_round=6)
    plan = Outline(rectangle(0, -20, 200, 20), (rectangle(60, -17, 160, 17).turned(left=False),))
    cut_one = body((Outline(rectangle(0, 0, 200, 30)), plan), edge_round=6)
    assert cut_one.silhouette.area == pytest.approx(plain.silhouette.area, rel=1e-9)
    outside = section_shape(plain.section(100))
    left = section_shape(cut_one.section(100))
    assert left.difference(outside.buffer(1e-3)).area == 0.0
    assert left.area == pytest.approx(outside.difference(shapely.box(-17, -1, 17, 31)).area, rel=BAR)


def test_the_prongs_of_a_fork_are_rounded_one_by_one() -> None:
    # A slot open at the nose is sawn with the outline, before sanding: prongs 10 wide take 5, the rest 8.
    plan = outline((0, -20), (200, -20), (200, 20), (0, 20), (0, 10), (60, 10), (60, -10), (0, -10))
    window = rectangle(20, 13, 50, 17).turned(left=False)
    b = body((Outline(rectangle(0, 0, 200, 30)), Outline(plan.outer, (window,))), edge_round=8)
    assert b.section(10).radius.tolist() == [5.0, 5.0]
    # A window in a prong is cut out of the round prong.
    assert set(b.section(30).radius.tolist()) == {5.0}
    prong = shapely.box(15, 5, 15.000001, 25).buffer(5, quad_segs=400)
    right = section_area(b.section(30))[1:].sum()
    assert right == pytest.approx(prong.difference(shapely.box(13, -1, 17, 31)).area, rel=1e-5)


# ---------------------------------------------------------------- random bodies with straight outlines


def ruled(sections: list[tuple[float, float, float, float, float]]) -> TopoDS_Shape:
    """A body through stations (x, half width, low, high, radius), each stretch ruled between its ends."""
    whole: TopoDS_Shape | None = None
    for one, other in pairwise(sections):
        loft = BRepOffsetAPI_ThruSections(True, True, 1e-7)
        for station in (one, other):
            loft.AddWire(_wire(*station))
        loft.Build()
        whole = loft.Shape() if whole is None else BRepAlgoAPI_Fuse(whole, loft.Shape()).Shape()
    assert whole is not None
    return whole


def _wire(x: float, w: float, low: float, high: float, r: float) -> TopoDS_Shape:
    wire = BRepBuilderAPI_MakeWire()
    corners = ((-1, -1, math.pi), (1, -1, 1.5 * math.pi), (1, 1, 0.0), (-1, 1, 0.5 * math.pi))
    arcs = []
    for sy, sz, start in corners:
        cy, cz = sy * (w - r), (high - r if sz > 0 else low + r)
        angles = (start, start + math.pi / 4, start + math.pi / 2)
        arcs.append([gp_Pnt(x, cy + r * math.cos(t), cz + r * math.sin(t)) for t in angles])
    for arc, after in zip(arcs, [*arcs[1:], arcs[0]], strict=True):
        wire.Add(BRepBuilderAPI_MakeEdge(GC_MakeArcOfCircle(*arc).Value()).Edge())
        wire.Add(BRepBuilderAPI_MakeEdge(arc[2], after[0]).Edge())
    return wire.Wire()


def random_windows(draw: np.random.Generator, outer: Outline, count: int) -> Outline:
    """An outline with windows that come near its edges."""
    found: list[Ring] = []
    for _ in range(30):
        if len(found) == count:
            break
        size, x = draw.uniform(2.0, 9.0), draw.uniform(25, 175)
        _, v0, _, v1 = outer.bounds
        v = draw.uniform(v0 + 3, v1 - 3)
        kind = draw.integers(0, 3)
        if kind == 0:
            made = disc(x, v, size)
        elif kind == 1:
            made = rectangle(x - 2 * size, v - 0.6 * size, x + 2 * size, v + 0.6 * size)
        else:
            made = ring((x - 2 * size, v), (x, v - size), (x + size, v - 0.3 * size), (x, v + size))
        if not outline_faults(Outline(outer.outer, (*found, made.turned(left=False)))):
            found.append(made.turned(left=False))
    return Outline(outer.outer, tuple(found))


@pytest.mark.parametrize("seed", range(10))
def test_random_bodies_with_windows(seed: int) -> None:
    draw = np.random.default_rng(seed)
    xs = [0.0, float(draw.uniform(60, 140)), 200.0]
    r = float(draw.choice([1.5, 4.0, 7.0]))
    places = [(x, draw.uniform(9, 21), draw.uniform(-3, 3), draw.uniform(19, 42)) for x in xs]
    profile = outline(*((x, low) for x, _, low, _ in places), *((x, high) for x, _, _, high in places[::-1]))
    plan = half(*((x, w) for x, w, _, _ in places))
    profile, plan = (random_windows(draw, each, int(draw.integers(1, 4))) for each in (profile, plan))
    kernel = cut(ruled([(*point, r) for point in places]), profile, plan)
    agree(profile, plan, r, kernel)


@pytest.mark.parametrize("seed", range(4))
def test_random_thin_bodies_rounded_all_the_way(seed: int) -> None:
    # The radius is half the height everywhere: it grows with the body, and windows are in it all over.
    draw = np.random.default_rng(100 + seed)
    w, high = draw.uniform(14, 20, 2), draw.uniform(12, 24, 2)
    profile = outline((0, 0), (200, 0), (200, high[1]), (0, high[0]))
    plan = half((0, w[0]), (200, w[1]))
    profile, plan = random_windows(draw, profile, 2), random_windows(draw, plan, 2)
    ends = [(x, w[i], 0.0, high[i], high[i] / 2 - 1e-7) for i, x in enumerate((0.0, 200.0))]
    agree(profile, plan, 30.0, cut(ruled(ends), profile, plan))


def test_a_smooth_nose_with_a_window_at_its_edge() -> None:
    # Nothing straight: the kernel's cut of the body without windows against sections with them.
    side = outline(Vertex((0, 10)), Vertex((200, 0)), Vertex((200, 40)), Vertex((90, 22)), Vertex((20, 24)))
    profile = Outline(side.outer, (disc(120, 16, 7).turned(left=False), disc(60, 15, 6).turned(left=False)))
    plan = Outline(half((0, 8), (200, 20)).outer, (rectangle(140, -16, 170, 15).turned(left=False),))
    plain = undrilled(Sections(Outline(profile.outer), Outline(plan.outer), 5.0))
    agree(profile, plan, 5.0, cut(plain.wrapped, profile, plan))


# ---------------------------------------------------------------- walls


@pytest.mark.parametrize(("y", "z"), [(0.0, 15.0), (7.5, 17.0), (-9.0, 19.0), (8.0, 11.0)])
@pytest.mark.parametrize("name", ["both near one edge", "two of each"])
def test_walls_of_a_bore_beside_windows_in_the_rounding(name: str, y: float, z: float) -> None:
    # A thin bore 50 deep from the tail: the least wall against the kernel's distance to the skin.
    side, top = (tuple(w.turned(left=False) for w in windows) for windows in WINDOWS[name])
    profile = Outline(rectangle(0, 0, 140, 30), side)
    plan = Outline(rectangle(0, -20, 140, 20), top)
    b = body((profile, plan), edge_round=11.0, bore=Bore(1.5, 50.0, z, y))
    skin = [face for face in faces(cut(filleted_bar(140, 40, 30, 11.0), profile, plan)) if not at_tail(face)]
    bore = cylinder((140.0, y, z), (-1.0, 0.0, 0.0), 0.75, 50.0)
    least = min(wall.value_mm for wall in b.walls.values())
    assert least == pytest.approx(min(distance(bore, face) for face in skin), abs=0.01)


def at_tail(face: TopoDS_Shape) -> bool:
    """The flat face at the tail."""
    found = GProp_GProps()
    BRepGProp.SurfaceProperties_s(face, found)
    return found.CentreOfMass().X() > 139.999

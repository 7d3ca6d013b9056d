"""Walls and clearances against the 3D kernel's least distances between shapes (BRepExtrema_DistShapeShape).

The bar: 0.01 mm. The bore is a cylinder cut off by the body, the skin that of the undrilled body; the faces
that the bore passes through, its mouth, are left out. Axle and pilot holes are cylinders too, held against
each other and the bare prisms of the outlines.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

from bodyshop.car.body import AxleHole, Body, BoreHole, PilotHole, Rim, Sections, WallSide
from bodyshop.car.body.clearance import (
    axle_to_outline,
    axle_to_windows,
    bore_to_axle,
    bore_to_pilot,
    pilot_to_axle,
    pilot_to_skin,
)
from bodyshop.car.design import read_design
from bodyshop.car.design.model import Bore, Design
from bodyshop.foundation.files.shipped import samples_folder
from bodyshop.foundation.toml import read_source
from bodyshop.geometry.outlines import Outline, Radius, Vertex
from bodyshop.solids import undrilled
from tests.bodies import body, half, outline
from tests.car.kits import TEST_KIT, TEST_KIT_INCH
from tests.outside.kernel import (
    curve_face,
    cylinder,
    distance,
    faces,
    nearest_face,
    plan_prism,
    profile_prism,
)
from tests.outside.refusals import FIRST, passed_over
from tests.strategies_body import light_designs

BAR = 0.01
SAMPLES = sorted(file.stem for file in samples_folder().glob("*.toml"))


def bore_solid(bore: BoreHole, beyond: float = 80.0):
    return cylinder(bore.rod.start - beyond * bore.axis, bore.axis, bore.radius, bore.depth + beyond)


def axle_solid(hole: AxleHole):
    return cylinder((hole.x, -200.0, hole.z), (0, 1, 0), hole.radius, 400.0)


def pilot_solid(pilot: PilotHole):
    return cylinder((pilot.x, pilot.y, pilot.z), (0, 0, 1), pilot.radius, pilot.depth)


def check_bore(b: Body) -> None:
    """The least of all walls is the kernel's least distance from the bore to what is not its mouth."""
    assert b.bore is not None
    walls = [w.value_mm for w in b.walls.values()]
    assert walls
    assert min(walls) > 0
    whole = undrilled(b.sections).wrapped
    hole = BRepAlgoAPI_Common(bore_solid(b.bore), whole).Shape()
    assert nearest_face(hole, faces(whole)) == pytest.approx(min(walls), abs=BAR)


def check_sides(b: Body) -> None:
    """The wall over, under and on each side of the bore, each to the faces of that side alone: of a body
    without rounding, windows and faces that look to the nose.
    """
    assert b.bore is not None
    assert b.mouth is not None
    side, top = profile_prism(b.profile, -300, 300), plan_prism(b.plan, -300, 300)
    hole = BRepAlgoAPI_Common(BRepAlgoAPI_Common(bore_solid(b.bore), side).Shape(), top).Shape()
    found: dict[WallSide, float] = {}
    for in_profile, view, other in ((True, b.profile, top), (False, b.plan, side)):
        for number, curve in enumerate(view.outer.curves):
            if (in_profile, number) in b.mouth.faces or curve.p0[0] == curve.p1[0]:
                continue
            # Wood is on the left: what runs to the nose lies over it, or on its right.
            back = curve.p1[0] < curve.p0[0]
            sides = (WallSide.TOP, WallSide.BOTTOM) if in_profile else (WallSide.RIGHT, WallSide.LEFT)
            which = sides[0] if back else sides[1]
            face = BRepAlgoAPI_Common(curve_face(curve, side=in_profile, reach=300.0), other).Shape()
            found[which] = min(found.get(which, math.inf), distance(hole, face))
    assert len(found) == 4
    for which, kernel in found.items():
        assert b.walls[which].value_mm == pytest.approx(kernel, abs=BAR), which


# The kernel now and then calls two cylinders touching that lie 127 mm apart, turned alike too; no wall is
# that thick.
FAR = 60.0


def check_holes(b: Body) -> None:
    assert b.bore is not None
    assert b.rim is not None
    bore = bore_solid(b.bore)
    for hole in b.axle_holes:
        ours = bore_to_axle(b.rim, hole).value_mm
        assert max(ours, 0.0) == pytest.approx(distance(bore, axle_solid(hole)), abs=BAR)
    for pilot in b.pilots:
        solid = pilot_solid(pilot)
        ours = bore_to_pilot(b.rim, pilot).value_mm
        assert max(ours, 0.0) == pytest.approx(distance(bore_solid(b.bore, 0.0), solid), abs=BAR)
        for hole in b.axle_holes:
            if abs(hole.x - pilot.x) > FAR:
                continue
            ours = pilot_to_axle(pilot, hole).value_mm
            assert max(ours, 0.0) == pytest.approx(distance(solid, axle_solid(hole)), abs=BAR)


def sides(prism: object, axis: int) -> list:
    """The faces of a prism but its two ends."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps

    found = []
    spans = []
    for face in faces(prism):
        properties = GProp_GProps()
        BRepGProp.SurfaceProperties_s(face, properties)
        spans.append((properties.CentreOfMass().Coord()[axis], face))
    low, high = min(s for s, _ in spans), max(s for s, _ in spans)
    found = [face for at, face in spans if low + 1e-6 < at < high - 1e-6]
    assert len(found) == len(spans) - 2
    return found


def check_axles(b: Body) -> None:
    prism = sides(profile_prism(b.profile, -300.0, 300.0), 1)
    for hole in b.axle_holes:
        walls = [axle_to_outline(hole, b.profile), axle_to_windows(hole, b.profile)]
        ours = min(w.value_mm for w in walls if w is not None)
        assert ours == pytest.approx(nearest_face(axle_solid(hole), prism), abs=BAR)


def check_pilots(b: Body) -> None:
    side, top = sides(profile_prism(b.profile, -300, 300), 1), sides(plan_prism(b.plan, -300, 300), 2)
    for pilot in b.pilots:
        # Rounded edges are held against the kernel in test_rounded_kernel.
        ours = pilot_to_skin(pilot, Sections(b.profile, b.plan, 0.0)).value_mm
        # The drilled half of the pilot, so that the underside round its mouth is out of reach.
        upper = cylinder(
            (pilot.x, pilot.y, pilot.z + 0.5 * pilot.depth), (0, 0, 1), pilot.radius, 0.5 * pilot.depth
        )
        over = nearest_face(upper, [f for f in side if not _looks_down(f)])
        assert ours == pytest.approx(min(over, nearest_face(pilot_solid(pilot), top)), abs=BAR)


def _looks_down(face: object) -> bool:
    """Its outward normal in its middle is within 45 degrees of straight down."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.BRepGProp import BRepGProp_Face
    from OCP.gp import gp_Pnt, gp_Vec
    from OCP.TopoDS import TopoDS

    face = TopoDS.Face_s(face)
    surface = BRepAdaptor_Surface(face)
    u = 0.5 * (surface.FirstUParameter() + surface.LastUParameter())
    v = 0.5 * (surface.FirstVParameter() + surface.LastVParameter())
    point, normal = gp_Pnt(), gp_Vec()
    BRepGProp_Face(face).Normal(u, v, point, normal)
    return normal.Z() < -math.cos(math.radians(45)) * normal.Magnitude()


# ---------------------------------------------------------------- samples


def sample(name: str) -> Body:
    source = read_source(samples_folder() / f"{name}.toml")
    kit = TEST_KIT_INCH if "inch" in str(source.values["rulebook"]) else TEST_KIT
    return Body(read_design(source, kit))


@pytest.mark.parametrize("name", SAMPLES)
def test_every_sample(name: str) -> None:
    b = sample(name)
    if b.walls and min(w.value_mm for w in b.walls.values()) > 0:
        check_bore(b)
    check_holes(b)
    check_axles(b)


def test_most_samples_have_walls() -> None:
    sound = [n for n in SAMPLES if min((w.value_mm for w in sample(n).walls.values()), default=0) > 0]
    assert len(sound) >= len(SAMPLES) - 1


# ---------------------------------------------------------------- random designs


@settings(max_examples=12, phases=FIRST)
@given(light_designs())
def test_bores_of_random_designs(design: Design) -> None:
    b = Body(design)
    assume(b.walls and min(w.value_mm for w in b.walls.values()) > 0.02)
    with passed_over():
        check_bore(b)


@settings(max_examples=15, phases=FIRST)
@given(light_designs())
def test_holes_of_random_designs(design: Design) -> None:
    b = Body(design)
    assume(b.bore is not None)
    check_holes(b)
    assume(all(axle_to_outline(h, b.profile).value_mm > 0.02 for h in b.axle_holes))
    check_axles(b)


@settings(max_examples=15, phases=FIRST)
@given(light_designs())
def test_pilots_of_random_designs(design: Design) -> None:
    b = Body(design)
    assume(all(pilot_to_skin(p, b.sections).value_mm > 0.02 for p in b.pilots))
    check_pilots(b)


near = st.floats(-30, 30)


@settings(max_examples=80, phases=FIRST)
@given(near, near, st.floats(0, 22), st.sampled_from((0.0, 0.0, 0.1, -0.2)), st.floats(-30, 30))
def test_pilots_and_axles_anywhere_round_a_bore(
    dx: float, dy: float, z: float, tilt: float, dz: float
) -> None:
    bore = BoreHole(200, 0, 35, 9, 60, tilt)
    pilot, hole = PilotHole(150 + dx, dy / 2, z, 0.6, 10.0), AxleHole(140 + dx, 35 + dz, 2)
    ours = bore_to_pilot(Rim(bore, None, None), pilot).value_mm
    assert max(ours, 0.0) == pytest.approx(distance(bore_solid(bore, 0.0), pilot_solid(pilot)), abs=BAR)
    ours = bore_to_axle(Rim(bore, None, None), hole).value_mm
    assert max(ours, 0.0) == pytest.approx(distance(bore_solid(bore, 0.0), axle_solid(hole)), abs=BAR)


# ---------------------------------------------------------------- odd places


@pytest.mark.parametrize("edge_round", [0.0, 3.0, 9.0])
@pytest.mark.parametrize("tilt", [0.0, 0.05, -0.05, 0.13, -0.13])
@pytest.mark.parametrize("offset", [0.0, 4.0])
def test_bores_in_a_body_of_curves(edge_round: float, tilt: float, offset: float) -> None:
    profile = outline(
        (0, 4),
        Vertex((200, 0), Radius(600)),
        (200, 46),
        Vertex((150, 52), Radius(80)),
        Vertex((90, 30), Radius(120, hollow=True)),
        (0, 16),
    )
    plan = half((0, 8), Vertex((120, 24), Radius(300)), Vertex((200, 19), Radius(140)))
    b = body((profile, plan), edge_round=edge_round, bore=Bore(20, 55, 24, offset, tilt))
    check_bore(b)
    if not edge_round:
        check_sides(b)


@pytest.mark.parametrize("lean", [-0.35, 0.0, 0.25, 0.7])
@pytest.mark.parametrize("degrees", [-10, -6, -3, -1, 1, 3, 6, 10])
def test_tilted_bores_in_a_tail_that_slopes(degrees: int, lean: float) -> None:
    # A hood that falls to the tail and sides that close in on it, so that the walls are least at the mouth.
    profile = outline((0, 0), (200, 0), (200 + 46 * lean, 46), (120, 56), (0, 30))
    plan = half((0, 12), (120, 24), (260, 15))
    # Rounded, a tail that runs out below would be a mouth of several faces.
    edge_round = 4.0 if lean >= 0 else 0.0
    check_bore(body((profile, plan), edge_round=edge_round, bore=Bore(19, 55, 21, 1, math.radians(degrees))))


@pytest.mark.parametrize("tilt", [0.0, 0.06, -0.06])
def test_bores_near_windows_and_steps(tilt: float) -> None:
    from tests.bodies import disc, rectangle

    side = Outline(
        outline((0, 0), (200, 0), (200, 60), (112, 60), (112, 34), (0, 34)).outer,
        (disc(124, 47, 7).turned(left=False),),
    )
    top = Outline(rectangle(0, -25, 200, 25), (rectangle(150, 14, 185, 20).turned(left=False),))
    check_bore(body((side, top), bore=Bore(19, 62, 30, 0, tilt)))

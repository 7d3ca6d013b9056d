"""What a rounded long edge leaves at axles and screw eyes, against CadQuery's fillets."""

from __future__ import annotations

import cadquery as cq
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bodyshop.car.body import PilotHole, Sections
from bodyshop.car.body.clearance import pilot_to_skin
from bodyshop.car.design.model import AxleEnd
from bodyshop.geometry.outlines import Outline
from tests.bodies import axle, body, car, rectangle

LONG = 200.0


def filleted(wide: float, high: float, radius: float) -> cq.Workplane:
    block = cq.Workplane("XY").box(LONG, wide, high, centered=(False, True, False))
    return block.edges("|X").fillet(radius)


def shape(wide: float, high: float) -> tuple[Outline, Outline]:
    return Outline(rectangle(0, 0, LONG, high)), Outline(rectangle(0, -wide / 2, LONG, wide / 2))


def wood_across(block: cq.Workplane, z: float) -> float:
    line = cq.Edge.makeLine(cq.Vector(50, -100, z), cq.Vector(50, 100, z))
    return sum(edge.Length() for edge in line.intersect(block.val()).Edges())


@settings(max_examples=25)
@given(st.floats(20, 44), st.floats(20, 44), st.floats(0.5, 9.9), st.floats(0.02, 0.98))
def test_the_width_at_an_axle_is_the_wood_along_it(
    wide: float, high: float, radius: float, at: float
) -> None:
    z = at * high
    built = car(
        shape(wide, high), edge_round=radius, axles=(axle(AxleEnd.FRONT, 50, z), axle(AxleEnd.REAR, 150, z))
    )
    stack = built.stack(AxleEnd.FRONT)
    assert stack is not None
    block = filleted(wide, high, radius)
    assert stack.body_width_mm == pytest.approx(wood_across(block, z), abs=1e-4)
    if stack.axle.bearing:
        assert stack.bearing_length_mm == stack.body_width_mm
    # The washer, or the rim of the hole, rests on the widest place that it reaches.
    outer = stack.axle.washer.outer_mm if stack.axle.washer and stack.axle.washers else stack.axle.hole_mm
    heights = [z + outer * (i / 200 - 0.5) for i in range(201)]
    widest = max(wood_across(block, h) for h in heights if 1e-6 < h < high - 1e-6)
    between = stack.axle.play_mm
    if stack.axle.washer:
        between += stack.axle.washers * stack.axle.washer.thickness_mm
    assert stack.hub_inner_mm == pytest.approx(widest / 2 + between, abs=0.01)


@settings(max_examples=40)
@given(
    st.floats(14, 30),
    st.floats(12, 25),
    st.floats(0.5, 5.9),
    st.floats(0, 0.95),
    st.floats(3, 14),
    st.floats(0.4, 1.2),
)
def test_the_wood_round_a_screw_eye(
    wide: float, high: float, edge: float, off: float, deep: float, radius: float
) -> None:
    """Faces that look down within 45 degrees are the underside: half of each lower fillet counts."""
    assume(deep < high - 0.1)
    y = off * (wide / 2 - edge - radius)
    assume(y >= 0)
    pilot = PilotHole(100, y, 0, radius, deep)
    ours = pilot_to_skin(pilot, Sections(*shape(wide, high), edge)).value_mm
    hole = cq.Solid.makeCylinder(radius, deep, cq.Vector(100, y, 0), cq.Vector(0, 0, 1))

    block = filleted(wide, high, edge)
    outside = []
    for face in block.faces().vals():
        low = face.Center().z < high / 2
        if face.geomType() == "CYLINDER" and low:
            # Split where the fillet looks down at 45 degrees.
            rise = edge * (1 - 0.5**0.5)
            over = cq.Solid.makeBox(3 * LONG, 200, 100, cq.Vector(-LONG, -100, rise))
            outside.extend(face.intersect(over).Faces())
        elif face.normalAt().z > -0.7:
            outside.append(face)
    assert ours == pytest.approx(min(hole.distance(face) for face in outside), abs=0.01)


def test_a_hole_in_the_rounding() -> None:
    # 34 wide, rounded by 10; the axle 2.6 above the bottom: 10 - sqrt(100 - 7.4^2) = 3.274 gone on each side.
    b = body(shape(34, 30), edge_round=10)
    left, right = b.width_at(50, 2.6) or (0, 0)
    assert right - left == pytest.approx(34 - 2 * (10 - (100 - 7.4**2) ** 0.5))
    assert b.width_at(50, 15) == (-17, 17)

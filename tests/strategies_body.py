"""Light random bodies for hypothesis: few curves, so that the 3D kernel can be asked about hundreds of them.

`tests/strategies.py` draws richer ones: windows, forks, steps, pointed and round ends.
"""

from __future__ import annotations

from hypothesis import assume
from hypothesis import strategies as st

from bodyshop.car.design.model import AxleEnd, Bore
from bodyshop.geometry.outlines import (
    Bezier,
    Edge,
    Outline,
    Point,
    Radius,
    Ring,
    Smooth,
    Straight,
    Through,
    Vertex,
    build_chain,
    outline_faults,
)
from tests.bodies import axle, design, disc, eye, rectangle

__all__ = ["light_designs", "light_shapes"]

Shape = tuple[Outline, Outline]


def _outline(spots: list[Vertex], *, mirror: bool = False) -> Outline:
    chain, faults = build_chain(spots, mirror=mirror)
    assume(not faults)
    assert chain is not None
    made = Outline(Ring(chain.curves, chain.owners).turned(left=True))
    assume(not outline_faults(made))
    return made


@st.composite
def _edge(draw: st.DrawFn, a: Point, b: Point) -> Edge:
    off = draw(st.floats(-4, 4))
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2 + off)
    kind = draw(st.sampled_from(("line", "line", "radius", "through", "bezier", "smooth")))
    if kind == "radius":
        return Radius(draw(st.floats(150, 900)), hollow=off < 0)
    if kind == "through" and abs(off) > 0.2:
        return Through(middle)
    if kind == "bezier":
        third = ((b[0] - a[0]) / 3, (b[1] - a[1]) / 3)
        return Bezier((a[0] + third[0], a[1] + third[1] + off), (b[0] - third[0], b[1] - third[1] - off))
    return Smooth() if kind == "smooth" else Straight()


@st.composite
def light_shapes(draw: st.DrawFn) -> Shape:
    """A profile of five edges and a plan of one or two on each side."""
    low, middle, high = draw(st.floats(8, 18)), draw(st.floats(14, 40)), draw(st.floats(34, 48))
    waist = draw(st.floats(90, 170))
    top = [(280.0, high), (waist, middle), (0.0, low)]
    start, end = (0.0, 0.0), (280.0, 0.0)
    profile = _outline(
        [
            Vertex(start),
            Vertex(end, draw(_edge(start, end))),
            Vertex(top[0]),
            Vertex(top[1], draw(_edge(top[0], top[1])), draw(st.sampled_from((0.0, 0.0, 5.0)))),
            Vertex(top[2], draw(_edge(top[1], top[2]))),
        ]
    )
    nose, wide, tail = (draw(st.floats(a, b)) for a, b in ((4, 16), (13, 21), (14, 21)))
    at = draw(st.floats(80, 200))
    side = [Vertex((0.0, nose))]
    if draw(st.booleans()):
        side.append(Vertex((at, wide), draw(_edge((0.0, nose), (at, wide)))))
    side.append(Vertex((280.0, tail), draw(_edge(side[-1].at, (280.0, tail)))))
    plan = _outline(side, mirror=True)
    return profile, plan


@st.composite
def light_designs(draw: st.DrawFn, *, windows: bool = True):
    """A design with all its holes in wood, edges rounded or not, now and then a window."""
    profile, plan = draw(light_shapes())
    if windows and draw(st.booleans()):
        hole = disc(draw(st.floats(100, 140)), draw(st.floats(9, 11)), draw(st.floats(2, 4)))
        profile = Outline(profile.outer, (hole.turned(left=False),))
        assume(not outline_faults(profile))
    if windows and draw(st.booleans()):
        x, y = draw(st.floats(150, 170)), draw(st.floats(2, 5))
        plan = Outline(plan.outer, (rectangle(x, -y, x + 15, y).turned(left=False),))
        assume(not outline_faults(plan))
    high = profile.bounds[3]
    aside = draw(st.sampled_from((0.0, 3.0)))
    return design(
        (profile, plan),
        edge_round=draw(st.sampled_from((0.0, 1.0, 2.5, 6.0))),
        bore=Bore(
            draw(st.floats(15, 20)),
            draw(st.floats(30, 55)),
            0.5 * high + draw(st.floats(-1, 2)),
            draw(st.sampled_from((0.0, 0.0, 1.5))),
            draw(st.sampled_from((0.0, 0.0, 0.02, -0.02))),
        ),
        axles=(
            axle(AxleEnd.FRONT, draw(st.floats(30, 60)), draw(st.floats(4.5, 6))),
            axle(AxleEnd.REAR, draw(st.floats(200, 250)), draw(st.floats(5, 8))),
        ),
        eyes=[eye(draw(st.floats(70, 90))), eye(draw(st.floats(180, 195)), aside)],
    )

"""Shared generators of outlines and bodies for hypothesis.

What comes out is always a body that can be cut: outlines without faults, holes in wood. Dimensions are drawn
as whole numbers of quarter millimetres as often as freely, so that edges, breaks and windows fall together.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from hypothesis import assume
from hypothesis import strategies as st

from bodyshop.car.body import AxleHole, BoreHole, PilotHole, Sections
from bodyshop.car.body.holes import stacked
from bodyshop.geometry.outlines import (
    Bezier,
    Edge,
    Outline,
    Radius,
    Ring,
    Smooth,
    Straight,
    Through,
    Vertex,
    build_chain,
    outline_faults,
)

__all__ = ["BodyCase", "bodies", "lengths", "plans", "profiles", "ring_of", "undrilled_bodies"]


@dataclass(frozen=True)
class BodyCase:
    """A body to be cut: outlines, edge radius (mm), holes."""

    profile: Outline
    plan: Outline
    edge_round_mm: float
    bore: BoreHole | None = None
    axle_holes: tuple[AxleHole, ...] = ()
    pilots: tuple[PilotHole, ...] = ()

    @property
    def sections(self) -> Sections:
        """The cross-sections before drilling."""
        return Sections(self.profile, self.plan, self.edge_round_mm)


def lengths(low: float, high: float) -> st.SearchStrategy[float]:
    """Lengths in mm from low to high: quarter millimetres half of the time."""
    quarters = st.integers(int(np.ceil(low * 4)), int(np.floor(high * 4))).map(lambda n: n / 4)
    return st.one_of(quarters, st.floats(low, high, allow_subnormal=False))


def ring_of(vertices: Sequence[Vertex], *, mirror: bool = False, window: bool = False) -> Ring | None:
    """The closed ring through the vertices; None when it cannot be had."""
    chain, faults = build_chain(vertices, mirror=mirror)
    if chain is None or faults:
        return None
    return Ring(chain.curves, chain.owners).turned(left=not window)


@st.composite
def edges(draw: st.DrawFn, before: tuple[float, float], at: tuple[float, float], bulge: float) -> Edge:
    """An edge of any kind from `before` to `at`, straying at most about `bulge` mm."""
    kind = draw(st.sampled_from(("straight", "straight", "through", "radius", "bezier", "smooth")))
    (x0, v0), (x1, v1) = before, at
    if kind == "through":
        off = draw(st.floats(0.05, 1.0)) * bulge * draw(st.sampled_from((-1, 1)))
        share = draw(st.floats(0.3, 0.7))
        return Through((x0 + share * (x1 - x0), v0 + share * (v1 - v0) + off))
    if kind == "radius":
        half = 0.5 * float(np.hypot(x1 - x0, v1 - v0))
        return Radius(half * draw(st.floats(1.5, 8.0)) ** 2, hollow=draw(st.booleans()))
    if kind == "bezier":
        offs = [draw(st.floats(-1.0, 1.0)) * bulge for _ in range(2)]
        return Bezier(
            (x0 + (x1 - x0) / 3, v0 + (v1 - v0) / 3 + offs[0]),
            (x0 + 2 * (x1 - x0) / 3, v0 + 2 * (v1 - v0) / 3 + offs[1]),
        )
    return Smooth() if kind == "smooth" else Straight()


@st.composite
def _side(
    draw: st.DrawFn, x0: float, x1: float, value: st.SearchStrategy[float], bulge: float
) -> list[Vertex]:
    """Points from x0 to x1 with steps here and there; the first arrives by a straight edge."""
    inner = draw(st.integers(0, 3))
    shares = sorted(draw(st.sets(st.integers(1, 15), min_size=inner, max_size=inner)))
    vertices = [Vertex((x0, draw(value)))]
    for x in [*(x0 + (x1 - x0) * s / 16 for s in shares), x1]:
        at = (x, draw(value))
        vertices.append(
            Vertex(at, draw(edges(vertices[-1].at, at, bulge)), draw(_roundings), draw(st.booleans()))
        )
        if x < x1 and draw(st.integers(0, 4)) == 0:
            step = (x, draw(value))
            assume(abs(step[1] - at[1]) > 0.5)
            vertices.append(Vertex(step, Straight(), draw(_roundings)))
    return vertices


_roundings = st.sampled_from((0.0, 0.0, 0.0, 1.0, 2.5))


@st.composite
def windows(draw: st.DrawFn, x: float, v: float, room: float) -> Ring | None:
    """A window about (x, v) that stays within `room` mm of it: round, square or a slot with round ends."""
    size = draw(st.floats(0.4, 0.95)) * room
    kind = draw(st.sampled_from(("round", "square", "slot", "kite")))
    if kind == "round":
        points = [(x - size, v), (x, v - size), (x + size, v), (x, v + size)]
        return ring_of([Vertex(p, Radius(size)) for p in points], window=True)
    h = 0.7 * size
    if kind == "square":
        points = [(x - h, v - h), (x + h, v - h), (x + h, v + h), (x - h, v + h)]
        return ring_of([Vertex(p, Straight(), draw(_roundings) * h / 8) for p in points], window=True)
    if kind == "slot":
        half = 0.5 * h
        return ring_of(
            [
                Vertex((x - half, v - half), Radius(half)),
                Vertex((x + half, v - half)),
                Vertex((x + half, v + half), Radius(half)),
                Vertex((x - half, v + half)),
            ],
            window=True,
        )
    return ring_of([Vertex(p) for p in ((x - size, v), (x, v - h), (x + size, v), (x, v + h))], window=True)


def _with_windows(draw: st.DrawFn, outer: Ring | None) -> Outline:
    assume(outer is not None)
    assert outer is not None
    outline = Outline(outer)
    assume(not outline_faults(outline))
    found: list[Ring] = []
    polygon = outline.polygon(0.01)
    u0, v0, u1, v1 = outline.bounds
    for _ in range(draw(st.sampled_from((0, 0, 1, 1, 2)))):
        x, v = draw(st.floats(u0 + 10, u1 - 10)), draw(st.floats(v0 + 2, v1 - 2))
        point = shapely.Point(x, v)
        room = polygon.exterior.distance(point) - 1.0
        if not polygon.contains(point) or room < 1.5:
            continue
        ring = draw(windows(x, v, min(room, 12.0)))
        if ring is not None and not outline_faults(Outline(outer, (*found, ring))):
            found.append(ring)
    whole = Outline(outer, tuple(found))
    assume(not outline_faults(whole))
    return whole


@st.composite
def profiles(draw: st.DrawFn, x0: float = 0.0, x1: float = 280.0) -> Outline:
    """Side views from x0 to x1: undersides about 0 to 8 mm high, tops about 18 to 45."""
    bottom = draw(_side(x0, x1, lengths(0.0, 8.0), 3.0))
    top = draw(_side(x0, x1, lengths(18.0, 45.0), 5.0))
    nose = draw(st.sampled_from(("flat", "round", "point", "bezier")))
    (xa, za), (xb, zb) = bottom[0].at, top[0].at
    chain = [*bottom]
    tail = draw(st.sampled_from(("flat", "flat", "round")))
    last = top[-1]
    arriving = Radius(0.75 * abs(last.at[1] - bottom[-1].at[1])) if tail == "round" else Straight()
    chain.append(Vertex(last.at, arriving, draw(_roundings)))
    # The top runs back to the nose: each edge now arrives at the point before.
    chain.extend(
        Vertex(end.at, _back(start.edge), end.round_mm, end.tangent) for start, end in pairwise(reversed(top))
    )
    closing: Edge = Straight()
    if nose == "round":
        closing = Radius(draw(st.floats(0.51, 0.9)) * float(np.hypot(xb - xa, zb - za)))
    elif nose == "bezier":
        reach = draw(st.floats(2.0, 15.0))
        closing = Bezier((xb - reach, zb), (xa - reach, za))
    elif nose == "point":
        middle = (xa - draw(st.floats(1.0, 15.0)), za + draw(st.floats(0.2, 0.8)) * (zb - za))
        chain.append(Vertex(middle, Straight(), draw(_roundings)))
    chain[0] = Vertex(bottom[0].at, closing, draw(_roundings))
    return _with_windows(draw, ring_of(chain))


def _back(edge: Edge) -> Edge:
    """The same edge run the other way."""
    if isinstance(edge, Bezier):
        return Bezier(edge.handle2, edge.handle1)
    return edge


@st.composite
def plans(draw: st.DrawFn, x0: float = 0.0, x1: float = 280.0) -> Outline:
    """Top views from x0 to x1, mirrored: half widths about 6 to 21 mm, noses flat, pointed or round."""
    side = draw(_side(x0, x1, lengths(6.0, 21.0), 3.0))
    nose = draw(st.sampled_from(("flat", "flat", "point", "round", "fork")))
    first = side[0].at
    if nose == "point":
        tip = (first[0] - draw(st.floats(0.5, 12.0)), 0.0)
        side = [Vertex(tip), Vertex(first, Straight(), side[0].round_mm), *side[1:]]
    elif nose == "round":
        tip = (first[0] - first[1], 0.0)
        side = [Vertex(tip), Vertex(first, Radius(first[1])), *side[1:]]
    elif nose == "fork":
        notch = (first[0] + draw(lengths(5.0, 40.0)), 0.0)
        inner = (first[0], 0.3 * first[1])
        side = [Vertex(notch), Vertex(inner), *side]
        side[2] = Vertex(first, Straight())
    return _with_windows(draw, ring_of(side, mirror=True))


@st.composite
def undrilled_bodies(draw: st.DrawFn) -> BodyCase:
    """A profile and a plan that overlap for most of their length, and an edge radius, none included."""
    profile = draw(profiles())
    plan = draw(
        plans(draw(st.sampled_from((0.0, 0.0, 3.0, -2.5))), draw(st.sampled_from((280.0, 280.0, 276.5))))
    )
    return BodyCase(profile, plan, draw(st.one_of(st.just(0.0), lengths(0.5, 12.0))))


@st.composite
def bodies(draw: st.DrawFn) -> BodyCase:
    """A drilled body: a bore in the tail, two axle holes, up to two pilots, each with its ends in wood."""
    case = draw(undrilled_bodies())
    sections = case.sections
    inside = _wood(sections)
    radius = draw(lengths(6.0, 10.0))
    tail = sections.at(sections.x_max - 1e-6, ahead=True)
    assume(tail.z0.size > 0)
    big = int(np.argmax((tail.z1 - tail.z0) * (tail.y1 - tail.y0)))
    z = float(0.5 * (tail.z0[big] + tail.z1[big]))
    y = float(0.5 * (tail.y0[big] + tail.y1[big]))
    tilt = draw(st.sampled_from((0.0, 0.0, 0.02, -0.03)))
    depth = draw(lengths(20.0, 55.0))
    bore = BoreHole(sections.x_max, y, z, min(radius, 0.45 * float(tail.z1[big] - tail.z0[big])), depth, tilt)
    axles = []
    for share in (0.2, 0.72):
        x = sections.x_min + (sections.x_max - sections.x_min) * (share + draw(st.floats(-0.08, 0.08)))
        z0 = inside(x)
        if z0 is not None:
            axles.append(AxleHole(x, z0[0] + draw(lengths(4.0, 9.0)), draw(lengths(1.0, 2.5))))
    pilots = []
    for share in (0.3, 0.6):
        x = sections.x_min + (sections.x_max - sections.x_min) * share + draw(st.floats(-5, 5))
        z0 = inside(x)
        if z0 is not None and draw(st.booleans()):
            pilots.append(PilotHole(x, z0[1], z0[0], draw(lengths(0.5, 1.25)), draw(lengths(4.0, 12.0))))
    return BodyCase(case.profile, case.plan, case.edge_round_mm, bore, tuple(axles), tuple(pilots))


def _wood(sections: Sections) -> Callable[[float], tuple[float, float] | None]:
    """For a station: the underside of the wood nearest the centre line, and a y inside it."""

    def at(x: float) -> tuple[float, float] | None:
        _, r = stacked(sections, np.array([x]))
        if r.z0.size == 0:
            return None
        low = int(np.argmin(r.z0 + 100 * np.maximum(np.maximum(r.y0, -r.y1), 0)))
        return float(r.z0[low]), float(0.5 * (r.y0[low] + r.y1[low]))

    return at

"""How long every measure and the verdict take, against the 3D kernel on the same body.

    python tests/benchmarks/verdict.py [DESIGN]

Peer: Open CASCADE through bare CadQuery, which extrudes the two outlines, intersects them, drills the holes
and then measures volume, centre, inertia, area and the least distances from the bore to the skin and to the
axle holes. The long edges stay square there, since a rounding would only slow it down.
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import cadquery as cq

from bodyshop.car.assembly import Car
from bodyshop.car.body import Body
from bodyshop.car.design.load import peek_rulebook, read_design
from bodyshop.car.design.model import Design
from bodyshop.car.measures import catalogue, take_all
from bodyshop.foundation.toml import read_source
from bodyshop.geometry.outlines import Arc, Curve, Line, Outline, Ring
from bodyshop.rules.rulebook import find_rulebook, judge, read_rulebook

TIMES = 60
SAMPLE = Path(__file__).parents[2] / "samples" / "kestrel.toml"


def uncached(design: Design) -> Design:
    """The same design with outlines that remember nothing."""

    def again(outline: Outline) -> Outline:
        outer, *windows = (Ring(r.curves, r.owners) for r in outline.rings)
        return Outline(outer, tuple(windows))

    return replace(design, profile=again(design.profile), plan=again(design.plan))


def kernel_edge(curve: Curve, place: Callable[[float, float], cq.Vector]) -> cq.Edge:
    match curve:
        case Line(p0, p1):
            return cq.Edge.makeLine(place(*p0), place(*p1))
        case Arc():
            angle = curve.start + 0.5 * curve.sweep
            middle = (
                curve.centre[0] + curve.radius * math.cos(angle),
                curve.centre[1] + curve.radius * math.sin(angle),
            )
            return cq.Edge.makeThreePointArc(place(*curve.p0), place(*middle), place(*curve.p1))
        case _:
            return cq.Edge.makeBezier([place(*p) for p in (curve.p0, curve.c1, curve.c2, curve.p1)])


def prism(outline: Outline, *, side: bool) -> cq.Solid:
    v1 = outline.bounds[3]

    def place(u: float, v: float) -> cq.Vector:
        return cq.Vector(u, -100, v) if side else cq.Vector(u, v, -100)

    wires = [cq.Wire.assembleEdges([kernel_edge(c, place) for c in ring.curves]) for ring in outline.rings]
    way = cq.Vector(0, 200 + abs(v1), 0) if side else cq.Vector(0, 0, 300 + abs(v1))
    return cq.Solid.extrudeLinear(wires[0], wires[1:], way)


def kernel(body: Body) -> float:
    solid = prism(body.profile, side=True).intersect(prism(body.plan, side=False))
    bore = body.bore
    assert bore is not None
    x, y, z = bore.rod.start
    drill = cq.Solid.makeCylinder(
        bore.radius, bore.depth, cq.Vector(x, y, z), cq.Vector(*(float(a) for a in bore.axis))
    )
    axles = [
        cq.Solid.makeCylinder(h.radius, 200, cq.Vector(h.x, -100, h.z), cq.Vector(0, 1, 0))
        for h in body.axle_holes
    ]
    wall = min(d for d in (drill.distance(face) for face in solid.Faces()) if d > 1e-6)
    wall = min(wall, *(drill.distance(a) for a in axles))
    drilled = solid.cut(drill, *axles)
    drilled.Center()
    cq.Shape.matrixOfInertia(drilled)
    drilled.Area()
    return wall + drilled.Volume()


def timed(work: Callable[[], object], times: int) -> list[float]:
    spent = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        spent.append(time.perf_counter() - start)
    return spent


def main() -> None:
    path = Path(sys.argv[1]) if len(sys.argv) > 1 else SAMPLE
    source = read_source(path)
    rulebook = read_rulebook(find_rulebook(peek_rulebook(source), path.parent))
    design = read_design(source, rulebook.kit)
    named = {name: catalogue()[name] for name in rulebook.measures}
    fresh = iter([uncached(design) for _ in range(2 * TIMES)])

    def verdict() -> object:
        car = Car(next(fresh))
        return judge(rulebook, {name: entry.take(car) for name, entry in named.items()})

    ours = timed(verdict, TIMES)
    full = timed(lambda: judge(rulebook, take_all(Car(next(fresh)))), TIMES)
    body = Body(design)
    kernel(body)
    theirs = timed(lambda: kernel(body), 5)
    for words, spent in (
        (f"the rulebook's {len(named)} measures and the verdict", ours),
        (f"all {len(catalogue())} measures and the verdict", full),
        ("3D kernel, same body built and measured", theirs),
    ):
        print(f"{words}: median {1e3 * statistics.median(spent):.2f} ms, best {1e3 * min(spent):.2f} ms")
    for words, spent in (("the rulebook's", ours), ("all", full)):
        ratio = statistics.median(theirs) / statistics.median(spent)
        print(f"kernel over {words} measures and verdict: {ratio:.0f}")


if __name__ == "__main__":
    main()

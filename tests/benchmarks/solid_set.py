"""How long the STL takes and how many triangles it has, against the same body in bare CadQuery.

    python tests/benchmarks/solid_set.py [DESIGN...]

Peer: CadQuery extrudes the two outlines, intersects them, rounds the long edges, cuts the same holes and
exports STL with the same tolerances; Open CASCADE's own mesher does both triangulations there. Each design is
taken as it is and with square edges, because the peer's fillet refuses most of the rounded ones: then there
is nothing to compare with, and the line says so. Turns are taken in one run, ours and the peer's one by one.
"""

from __future__ import annotations

import math
import statistics
import sys
import tempfile
import time
from collections import defaultdict
from dataclasses import replace
from pathlib import Path

import cadquery as cq
from verdict import prism, uncached  # type: ignore[import-not-found, unused-ignore]  # beside this script

from bodyshop.car.body import Body
from bodyshop.car.design.load import peek_rulebook, read_design
from bodyshop.car.design.model import Design
from bodyshop.foundation.toml import read_source
from bodyshop.rules.rulebook import find_rulebook, read_rulebook
from bodyshop.solids import CHORD_MM, body_mesh, stl_bytes
from bodyshop.solids.mesh import ANGLE_RAD

TIMES = 7
SAMPLES = sorted((Path(__file__).parents[2] / "samples").glob("*.toml"))
BAR = 1.5


def rounded(solid: cq.Shape, radius: float) -> cq.Shape:
    """The edges between a face of the profile (level across) and one of the plan (upright), rounded."""
    homes = defaultdict(list)
    for face in solid.Faces():
        for edge in face.Edges():
            homes[edge.hashCode()].append((face, edge))
    edges = []
    for pair in homes.values():
        edge = pair[0][1]
        middle = edge.positionAt(0.5)
        normals = [face.normalAt(middle) for face, _ in pair]
        kinds = sorted("side" if abs(n.y) < 1e-6 else "plan" if abs(n.z) < 1e-6 else "?" for n in normals)
        if kinds == ["plan", "side"] and abs(edge.tangentAt(0.5).x) > 1e-3:
            edges.append(edge)
    return solid.fillet(radius, edges)


def peer(body: Body, file: Path) -> None:
    solid = prism(body.profile, side=True).intersect(prism(body.plan, side=False))
    if body.design.edge_round_mm:
        solid = rounded(solid, body.design.edge_round_mm)
    bore = body.bore
    assert bore is not None
    start, axis = (cq.Vector(*(float(v) for v in w)) for w in (bore.rod.start, bore.rod.axis))
    tools = [cq.Solid.makeCylinder(bore.radius, bore.depth, start, axis)]
    tools += [
        cq.Solid.makeCylinder(h.radius, 200, cq.Vector(h.x, -100, h.z), cq.Vector(0, 1, 0))
        for h in body.axle_holes
    ]
    tools += [
        cq.Solid.makeCylinder(p.radius, 2 * p.depth, cq.Vector(p.x, p.y, p.z - p.depth), cq.Vector(0, 0, 1))
        for p in body.pilots
    ]
    solid.cut(*tools).exportStl(str(file), CHORD_MM, ANGLE_RAD)


def ours(body: Body, file: Path) -> None:
    design = body.design
    file.write_bytes(stl_bytes(body_mesh(body), design.name, design.fingerprint))


def triangles(file: Path) -> int:
    data = file.read_bytes()
    if data[:5] != b"solid":
        return (len(data) - 84) // 50
    return data.count(b"endfacet")


def compared(design: Design, folder: Path) -> tuple[float, float, int, int] | None:
    """Median seconds and triangles, ours and the peer's; None where the peer cannot build the body."""
    spent: tuple[list[float], list[float]] = ([], [])
    counts = [0, 0]
    for turn in range(TIMES + 1):
        for i, make in enumerate((ours, peer)):
            body = Body(uncached(design))
            file = folder / f"{i}.stl"
            start = time.perf_counter()
            try:
                make(body, file)
            except Exception:
                if make is ours:
                    raise
                return None
            if turn:
                spent[i].append(time.perf_counter() - start)
            counts[i] = triangles(file)
    return statistics.median(spent[0]), statistics.median(spent[1]), counts[0], counts[1]


def main() -> None:
    files = [Path(word) for word in sys.argv[1:]] or SAMPLES
    ratios = []
    print(f"chord {CHORD_MM:g} mm, angle {math.degrees(ANGLE_RAD):.0f} degrees, median of {TIMES}")
    with tempfile.TemporaryDirectory() as folder:
        for file in files:
            source = read_source(file)
            rulebook = read_rulebook(find_rulebook(peek_rulebook(source), file.parent))
            design = read_design(source, rulebook.kit)
            shapes = {0.0: replace(design, edge_round_mm=0.0), design.edge_round_mm: design}
            for radius, one in shapes.items():
                found = compared(one, Path(folder))
                words = f"{file.stem:10} edges {radius:6.3f} mm"
                if found is None:
                    print(f"{words}: the peer cannot round these edges")
                    continue
                mine, theirs, count, their_count = found
                ratios.append((mine / theirs, count / their_count))
                print(
                    f"{words}: {1e3 * mine:5.0f} ms, peer {1e3 * theirs:5.0f} ms, ratio {mine / theirs:.2f};"
                    f" {count} triangles, peer {their_count}, ratio {count / their_count:.2f}"
                )
    slowest, most = (max(column) for column in zip(*ratios, strict=True))
    print(f"slowest: {slowest:.2f} times the peer (bar {BAR:g}); most triangles: {most:.2f} times")


if __name__ == "__main__":
    main()

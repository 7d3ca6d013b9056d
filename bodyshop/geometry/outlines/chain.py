"""From the points a person writes to a closed chain of exact curves.

A `Vertex` is a point with the edge that arrives at it. Three steps: edges to curves (smooth runs
together), the mirror half if asked for, then rounded corners. Faults are collected, not raised, so that
a file can be told all of them at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from bodyshop.geometry.outlines.curves import (
    SAME_POINT_MM,
    Cubic,
    Curve,
    Line,
    Point,
    arc_through,
    arc_with_radius,
    dist,
)
from bodyshop.geometry.outlines.rounding import Corner, round_corners

__all__ = [
    "Bezier",
    "Chain",
    "ChainFault",
    "Edge",
    "Radius",
    "Smooth",
    "Straight",
    "Through",
    "Vertex",
    "build_chain",
]


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight edge."""


@dataclass(frozen=True, slots=True)
class Through:
    """An arc through one more point."""

    point: Point


@dataclass(frozen=True, slots=True)
class Radius:
    """An arc of a radius; it bulges out of the wood unless `hollow`. `long`: more than half a turn."""

    radius_mm: float
    hollow: bool = False
    long: bool = False


@dataclass(frozen=True, slots=True)
class Bezier:
    """A cubic Bézier curve with two handles."""

    handle1: Point
    handle2: Point


@dataclass(frozen=True, slots=True)
class Smooth:
    """One stretch of a smooth run: neighbouring smooth edges join without a corner."""


Edge = Straight | Through | Radius | Bezier | Smooth


@dataclass(frozen=True, slots=True)
class Vertex:
    """A point, the edge arriving at it, the rounding of its corner, and whether a smooth run ending or
    starting here follows the direction of the neighbouring edge.
    """

    at: Point
    edge: Edge = Straight()
    round_mm: float = 0.0
    tangent: bool = False


@dataclass(frozen=True, slots=True)
class ChainFault:
    """What is wrong with one vertex; `field` names the part of it (at, through, radius, round...)."""

    code: str
    vertex: int
    field: str
    message: str
    expected: str = ""


@dataclass(frozen=True, slots=True)
class Chain:
    """A closed chain of curves and, for each, the vertex whose edge or corner it is."""

    curves: tuple[Curve, ...]
    owners: tuple[int, ...]


def build_chain(vertices: Sequence[Vertex], *, mirror: bool = False) -> tuple[Chain | None, list[ChainFault]]:
    """The closed chain through `vertices`.

    Without `mirror` the last vertex is joined to the first, by the first vertex's edge. With `mirror`
    the vertices run along one side from nose to tail and the other side is their mirror image in v = 0.
    Returns no chain when a fault makes one impossible.
    """
    faults = _repeated_points(vertices, closed=not mirror)
    if len(vertices) < (2 if mirror else 3):
        need = "at least 2 points" if mirror else "at least 3 points"
        faults.append(ChainFault("too-few-points", 0, "at", f"an outline of {len(vertices)} point(s)", need))
    if mirror and not isinstance(vertices[0].edge, Straight):
        faults.append(
            ChainFault("first-edge", 0, "at", "the first point of a mirrored half has no edge arriving at it")
        )
    if faults:
        return None, faults
    wood_left = not mirror and _signed_area([v.at for v in vertices]) > 0
    curves, faults = _edge_curves(vertices, closed=not mirror, wood_left=wood_left)
    if faults:
        return None, faults
    count = len(vertices)
    if mirror:
        raw, owners, corners = _mirrored(vertices, curves)
    else:
        # curves[i] arrives at vertex i, so it starts at the corner of vertex i - 1.
        raw, owners = list(curves), list(range(count))
        corners = [Corner(vertices[i - 1].round_mm, (i - 1) % count) for i in range(count)]
    rounded, owner_of, failures = round_corners(raw, owners, corners)
    for corner, largest in failures.items():
        faults.append(
            ChainFault(
                "round-too-large",
                corner.vertex,
                "round",
                f"a rounding of {corner.radius_mm:.4g} mm does not fit this corner",
                f"at most {largest:.10g} mm"
                if largest > 0
                else "edges long enough on both sides of the corner",
            )
        )
    if faults:
        return None, list(dict.fromkeys(faults))
    return Chain(tuple(rounded), tuple(owner_of)), []


def _repeated_points(vertices: Sequence[Vertex], *, closed: bool) -> list[ChainFault]:
    faults = []
    for i, vertex in enumerate(vertices):
        if i == 0 and not closed:
            continue
        before = vertices[i - 1]
        if len(vertices) > 1 and dist(before.at, vertex.at) < SAME_POINT_MM:
            which = "the last point repeats the first" if i == 0 else "this point repeats the one before it"
            # A repeated last point is the one to take out, so name it rather than the first.
            index = len(vertices) - 1 if i == 0 else i
            faults.append(
                ChainFault(
                    "zero-length-edge", index, "at", which, "each corner once; the outline closes by itself"
                )
            )
    return faults


def _signed_area(points: Sequence[Point]) -> float:
    return 0.5 * sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, [*points[1:], points[0]], strict=True))


def _edge_curves(
    vertices: Sequence[Vertex], *, closed: bool, wood_left: bool
) -> tuple[list[Curve], list[ChainFault]]:
    """curves[i] arrives at vertex i; for an open chain curves[0] is left out (the list starts at 1)."""
    first = 0 if closed else 1
    curves: dict[int, Curve] = {}
    faults: list[ChainFault] = []
    for i in range(first, len(vertices)):
        p0, vertex = vertices[i - 1].at, vertices[i]
        match vertex.edge:
            case Straight():
                curves[i] = Line(p0, vertex.at)
            case Bezier(c1, c2):
                curves[i] = Cubic(p0, c1, c2, vertex.at)
            case Through(point):
                arc = arc_through(p0, point, vertex.at)
                if arc is None:
                    faults.append(
                        ChainFault(
                            "arc-straight",
                            i,
                            "through",
                            "the arc's three points lie on one straight line",
                            "a point to one side of the line",
                        )
                    )
                else:
                    curves[i] = arc
            case Radius(radius, hollow, long):
                left = wood_left != hollow
                arc = arc_with_radius(p0, vertex.at, radius, left=left, long=long)
                if arc is None:
                    half = dist(p0, vertex.at) / 2
                    faults.append(
                        ChainFault(
                            "arc-radius",
                            i,
                            "radius",
                            f"an arc of radius {radius:.4g} mm cannot span {2 * half:.4g} mm",
                            f"a radius of at least {half:.4g} mm",
                        )
                    )
                else:
                    curves[i] = arc
            case Smooth():
                pass
    if faults:
        return [], faults
    _smooth_runs(vertices, curves, closed=closed)
    return [curves[i] for i in range(first, len(vertices))], []


def _smooth_runs(vertices: Sequence[Vertex], curves: dict[int, Curve], *, closed: bool) -> None:
    """Fill `curves` for each smooth run: a centripetal Catmull-Rom spline as cubic Béziers.

    Centripetal knots (chord length to the power 1/2) leave no cusp and no loop inside a stretch: Yuksel,
    Schaefer and Keyser, "Parameterization and applications of Catmull-Rom curves", CAD 43 (2011).
    """
    count = len(vertices)
    smooth = [isinstance(v.edge, Smooth) for v in vertices]
    if closed and all(smooth):
        order = list(range(count))
        points = [vertices[i].at for i in order]
        pieces = _spline([points[-1], *points, points[0], points[1]], None, None)[1:-1]
        curves.update(zip([*order[1:], 0], pieces, strict=True))
        return
    starts = [
        i
        for i in range(count)
        if smooth[i] and not (smooth[i - 1] and (closed or i > 1)) and (closed or i > 0)
    ]
    for start in starts:
        run = [start]
        while smooth[(run[-1] + 1) % count] and (closed or run[-1] + 1 < count):
            run.append((run[-1] + 1) % count)
        before = (start - 1) % count
        points = [vertices[before].at, *(vertices[i].at for i in run)]
        arriving = curves.get(before) if vertices[before].tangent else None
        leaving = curves.get((run[-1] + 1) % count) if vertices[run[-1]].tangent else None
        pieces = _spline(
            points,
            arriving.direction(1.0) if arriving else None,
            leaving.direction(0.0) if leaving else None,
        )
        curves.update(zip(run, pieces, strict=True))


def _spline(points: Sequence[Point], first: Point | None, last: Point | None) -> list[Cubic]:
    """Centripetal Catmull-Rom through `points`; unit directions at the ends if given."""
    d = [math.sqrt(dist(a, b)) for a, b in pairwise(points)]
    slopes = [((b[0] - a[0]) / s, (b[1] - a[1]) / s) for (a, b), s in zip(pairwise(points), d, strict=True)]
    count = len(points)
    tangents: list[Point] = []
    for i in range(count):
        if i == 0:
            tangents.append(_end_tangent(slopes, d, first))
        elif i == count - 1:
            back = _end_tangent(slopes[::-1], d[::-1], last)
            tangents.append(back)
        else:
            d1, d2 = d[i - 1], d[i]
            # The derivative at the middle knot of the parabola through three points.
            tangents.append(
                (
                    (slopes[i - 1][0] * d2 + slopes[i][0] * d1) / (d1 + d2),
                    (slopes[i - 1][1] * d2 + slopes[i][1] * d1) / (d1 + d2),
                )
            )
    pieces = []
    for i, step in enumerate(d):
        p, q, m, n = points[i], points[i + 1], tangents[i], tangents[i + 1]
        pieces.append(
            Cubic(
                p,
                (p[0] + m[0] * step / 3, p[1] + m[1] * step / 3),
                (q[0] - n[0] * step / 3, q[1] - n[1] * step / 3),
                q,
            )
        )
    return pieces


def _end_tangent(slopes: Sequence[Point], d: Sequence[float], direction: Point | None) -> Point:
    if direction is not None:
        speed = math.hypot(*slopes[0])
        return (direction[0] * speed, direction[1] * speed)
    if len(slopes) == 1:
        return slopes[0]
    # The end derivative of the parabola through the first three points.
    d1, d2 = d[0], d[1]
    a, b = (2 * d1 + d2) / (d1 + d2), d1 / (d1 + d2)
    return (a * slopes[0][0] - b * slopes[1][0], a * slopes[0][1] - b * slopes[1][1])


def _mirrored(
    vertices: Sequence[Vertex], curves: Sequence[Curve]
) -> tuple[list[Curve], list[int], list[Corner]]:
    """The half chain (nose to tail), a line across the tail, the mirror half, a line across the nose."""
    last = len(vertices) - 1
    raw: list[Curve] = list(curves)
    owners = list(range(1, last + 1))
    corners = [Corner(v.round_mm, i) for i, v in enumerate(vertices[:-1])]
    tail, nose = vertices[last], vertices[0]
    if abs(tail.at[1]) > SAME_POINT_MM:
        raw.append(Line(tail.at, (tail.at[0], -tail.at[1])))
        owners.append(last)
        corners.append(Corner(tail.round_mm, last))
    for i in range(last, 0, -1):
        raw.append(curves[i - 1].mirrored().reversed())
        owners.append(i)
        corners.append(Corner(vertices[i].round_mm, i))
    if abs(nose.at[1]) > SAME_POINT_MM:
        raw.append(Line((nose.at[0], -nose.at[1]), nose.at))
        owners.append(0)
        corners.append(Corner(nose.round_mm, 0))
    # Where the half starts or ends on the centre line the two sides meet at one corner; the curve that
    # starts there already carries its rounding.
    return raw, owners, corners

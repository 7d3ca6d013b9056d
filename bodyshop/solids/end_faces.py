"""Where stretches meet in a plane square to the length: shared edges, and the flat faces left over.

Each stretch that ends in the plane brings the outline of its end: a rectangle with rounded corners, or a
line or a point where a side has closed up. The outlines are cut at every vertex and crossing, so that
neighbours share whole edges. What is wood on one side of the plane only is capped by a flat face.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from bodyshop.geometry.outlines import Array, Point
from bodyshop.solids.ends import SIDES, STARTS, End, PlaneEdge, Step, along, crossings, middle_of, on_edge
from bodyshop.solids.errors import SolidError
from bodyshop.solids.segments import NEAR_MM

__all__ = ["Cap", "ContactError", "PlaneMap", "meet"]


class ContactError(SolidError):
    """Pieces that touch along a line without joining. `tailward`: all of them lie on the tail's side of
    the plane (True) or the nose's (False); None when they lie on both.
    """

    def __init__(self, x: float, tailward: bool | None) -> None:
        super().__init__(
            f"pieces of the body touch along a line {x:.2f} mm from the nose without joining",
            "pieces that overlap or stand apart",
        )
        self.x = x
        self.tailward = tailward


@dataclass(frozen=True, slots=True)
class Cap:
    """A flat face: its outer loop anticlockwise in (y, z), holes clockwise. `tailward`: the wood lies on
    the nose's side, so the face looks to the tail.
    """

    tailward: bool
    loops: tuple[tuple[Step, ...], ...]


@dataclass(frozen=True, slots=True)
class PlaneMap:
    """All of one plane. `corners[i]` are the vertices of end i's eight points; `sides[i][k]` the steps
    from point k to point k + 1; `spread` how far points were moved to meet, mm.
    """

    vertices: tuple[Point, ...]
    edges: tuple[PlaneEdge, ...]
    corners: tuple[tuple[int, ...], ...]
    sides: tuple[tuple[tuple[Step, ...], ...], ...]
    caps: tuple[Cap, ...]
    spread: float


@dataclass(slots=True)
class _Primitive:
    """A whole side or a whole quarter circle, with the vertices that cut it."""

    edge: PlaneEdge
    cuts: set[int] = field(default_factory=set)


def meet(ends: Sequence[End], x: float) -> PlaneMap:
    """Work out one plane.

    Raises:
        ContactError: pieces of the body touch along a line without joining.
    """
    work = _Work(ends)
    work.cross()
    edges, runs = work.split()
    uses: dict[int, list[tuple[int, bool]]] = defaultdict(list)
    sides = []
    for number in range(len(ends)):
        row = []
        for k in range(8):
            steps = tuple(work.steps(number, k, runs))
            row.append(steps)
            for edge, forward in steps:
                uses[edge].append((number, forward))
        sides.append(tuple(row))
    open_steps = [
        step
        for edge, used in sorted(uses.items())
        for step in _capped(edge, used, ends, middle_of(edges[edge], work.vertices), x)
    ]
    caps = _caps(open_steps, edges, work.vertices)
    return PlaneMap(
        tuple(work.vertices), tuple(edges), tuple(work.corners), tuple(sides), tuple(caps), work.spread
    )


class _Work:
    """Vertices and primitives of a plane while they are being cut."""

    def __init__(self, ends: Sequence[End]) -> None:
        points = np.array([p for end in ends for p in end.points])
        self.spread = 0.0
        snapped = np.stack((self._snap(points[:, 0]), self._snap(points[:, 1])), axis=1)
        self.vertices: list[Point] = []
        self.primitives: list[_Primitive] = []
        self._known: dict[object, int] = {}
        self.corners: list[tuple[int, ...]] = []
        self.which: dict[tuple[int, int], tuple[int, bool]] = {}
        for number in range(len(ends)):
            own = tuple(self._vertex((float(y), float(z))) for y, z in snapped[8 * number : 8 * number + 8])
            self.corners.append(own)
            for k in range(8):
                a, b = own[k], own[(k + 1) % 8]
                if a != b:
                    self.which[number, k] = self._arc(k // 2, a, b) if k % 2 == 0 else self._line(a, b)

    def _snap(self, values: Array) -> Array:
        """Values with near ones made equal."""
        order = np.argsort(values, kind="stable")
        out = values.copy()
        last = math.nan
        for i in order:
            if values[i] - last <= NEAR_MM:
                out[i] = last
            else:
                last = values[i]
        self.spread = max(self.spread, float(np.abs(out - values).max()))
        return out

    def _vertex(self, p: Point) -> int:
        for i, q in enumerate(self.vertices):
            if abs(p[0] - q[0]) <= NEAR_MM and abs(p[1] - q[1]) <= NEAR_MM:
                return i
        self.vertices.append(p)
        return len(self.vertices) - 1

    def _line(self, a: int, b: int) -> tuple[int, bool]:
        p, q = self.vertices[a], self.vertices[b]
        axis = 0 if abs(q[0] - p[0]) > abs(q[1] - p[1]) else 1
        forward = q[axis] > p[axis]
        start, end = (a, b) if forward else (b, a)
        return self._primitive((start, end), PlaneEdge(start, end, axis)), forward

    def _arc(self, corner: int, a: int, b: int) -> tuple[int, bool]:
        sy, sz = SIDES[corner]
        # Centre and radius from the vertices, so that arcs between the same ones are the same.
        p, q = self.vertices[a], self.vertices[b]
        centre = (q[0], p[1]) if sy * sz > 0 else (p[0], q[1])
        start = STARTS[corner]
        radius = 0.5 * (abs(p[0] - q[0]) + abs(p[1] - q[1]))
        edge = PlaneEdge(a, b, None, corner, centre, radius, (start, start + math.pi / 2))
        return self._primitive((a, b, corner), edge), True

    def _primitive(self, key: object, edge: PlaneEdge) -> int:
        if key not in self._known:
            self._known[key] = len(self.primitives)
            self.primitives.append(_Primitive(edge, {edge.start, edge.end}))
        return self._known[key]

    def cross(self) -> None:
        """Cut every primitive where another crosses it or a vertex lies on it."""
        for i, one in enumerate(self.primitives):
            for other in self.primitives[i + 1 :]:
                for p in crossings(one.edge, other.edge, self.vertices):
                    if on_edge(one.edge, p, self.vertices) and on_edge(other.edge, p, self.vertices):
                        self._vertex(p)
        for primitive in self.primitives:
            for number, p in enumerate(self.vertices):
                if on_edge(primitive.edge, p, self.vertices):
                    primitive.cuts.add(number)

    def split(self) -> tuple[list[PlaneEdge], list[list[int]]]:
        """The edges, and for each primitive its edges in order."""
        edges: list[PlaneEdge] = []
        known: dict[tuple[int, int], int] = {}
        runs: list[list[int]] = []
        for primitive in self.primitives:
            whole = primitive.edge
            run = []
            for a, b in pairwise(sorted(primitive.cuts, key=lambda v: along(whole, self.vertices[v]))):
                if whole.axis is None:
                    angles = (along(whole, self.vertices[a]), along(whole, self.vertices[b]))
                    edges.append(PlaneEdge(a, b, None, whole.corner, whole.centre, whole.radius, angles))
                    run.append(len(edges) - 1)
                else:
                    if (a, b) not in known:
                        known[a, b] = len(edges)
                        edges.append(PlaneEdge(a, b, whole.axis))
                    run.append(known[a, b])
            runs.append(run)
        return edges, runs

    def steps(self, number: int, k: int, runs: list[list[int]]) -> list[Step]:
        """The edges from point k to point k + 1 of an end."""
        if (number, k) not in self.which:
            return []
        primitive, forward = self.which[number, k]
        run = runs[primitive]
        return [(e, True) for e in run] if forward else [(e, False) for e in reversed(run)]


def _capped(
    edge: int, used: list[tuple[int, bool]], ends: Sequence[End], middle: Point, x: float
) -> list[tuple[Step, bool]]:
    """The side of an edge that is capped, as a step with the cap on its left and whether the cap looks to
    the tail; none where two skins already meet there.
    """
    # Wood ahead of the plane and behind it, on the edge's left and right.
    wood = {}
    for ahead in (True, False):
        edging = [
            (forward, number)
            for number, forward in used
            if ends[number].ahead is ahead and not ends[number].thin
        ]
        touched = {number for number, _ in used}
        around = any(
            end.holds(middle) for n, end in enumerate(ends) if end.ahead is ahead and n not in touched
        )
        for left in (True, False):
            wood[ahead, left] = around or any(forward is left for forward, _ in edging)
    found = [
        ((edge, left), wood[True, left])
        for left in (True, False)
        if wood[True, left] is not wood[False, left]
    ]
    if len(found) + len(used) != 2:
        sides = {ends[number].ahead for number, _ in used}
        raise ContactError(x, None if len(sides) == 2 else not sides.pop())
    return found


def _caps(
    open_steps: list[tuple[Step, bool]], edges: Sequence[PlaneEdge], vertices: Sequence[Point]
) -> list[Cap]:
    """Join the open steps into loops, keeping to the left at every vertex, and holes to their faces."""
    outers: list[tuple[bool, list[Step]]] = []
    holes: list[tuple[bool, list[Step]]] = []
    left = dict.fromkeys(open_steps)
    while left:
        first = next(iter(left))
        loop: list[Step] = []
        now = first
        while True:
            loop.append(now[0])
            onward = _next(now, first, left, edges)
            if now != first:
                del left[now]
            if onward is None:
                raise SolidError("a flat face of the body does not close")
            if onward == first:
                del left[first]
                break
            now = onward
        (outers if _area(loop, edges, vertices) > 0 else holes).append((first[1], loop))
    caps = []
    for tailward, loop in outers:
        ring = _flattened(loop, edges, vertices)
        own = [
            hole
            for side, hole in holes
            if side is tailward and _inside(ring, middle_of(edges[hole[0][0]], vertices))
        ]
        caps.append(Cap(tailward, (tuple(loop), *(tuple(hole) for hole in own))))
    if sum(len(cap.loops) - 1 for cap in caps) != len(holes):
        raise SolidError("a hole in a flat face of the body has no face round it")
    return caps


def _ends_of(edges: Sequence[PlaneEdge], step: Step) -> tuple[int, int]:
    edge = edges[step[0]]
    return (edge.start, edge.end) if step[1] else (edge.end, edge.start)


def _next(
    now: tuple[Step, bool],
    first: tuple[Step, bool],
    left: dict[tuple[Step, bool], None],
    edges: Sequence[PlaneEdge],
) -> tuple[Step, bool] | None:
    """The open step out of where `now` ends that turns most to the left; `first` when the loop closes."""
    here = _ends_of(edges, now[0])[1]
    choices = [
        s for s in left if s[1] is now[1] and _ends_of(edges, s[0])[0] == here and (s != now or s == first)
    ]
    if len(choices) <= 1:
        return choices[0] if choices else None
    back = _heading(edges[now[0][0]], not now[0][1])
    return min(choices, key=lambda s: _clockwise(back, _heading(edges[s[0][0]], s[0][1])))


def _heading(edge: PlaneEdge, forward: bool) -> tuple[float, float]:
    """Direction in which an edge leaves its start (or, run backwards, its end), and its bend."""
    if edge.axis is not None:
        angle = 0.0 if edge.axis == 0 else math.pi / 2
        return (angle if forward else angle + math.pi), 0.0
    if forward:
        return edge.angles[0] + math.pi / 2, 1 / edge.radius
    return edge.angles[1] - math.pi / 2, -1 / edge.radius


def _clockwise(back: tuple[float, float], out: tuple[float, float]) -> tuple[float, float]:
    """How far to turn clockwise from the way back to the way out; the bend parts equal directions."""
    turn = (back[0] - out[0]) % (2 * math.pi)
    bend = back[1] - out[1]
    if turn < 1e-9 or turn > 2 * math.pi - 1e-9:
        turn = 0.0 if bend > 0 else 2 * math.pi
    return round(turn, 9), bend


def _flattened(loop: Sequence[Step], edges: Sequence[PlaneEdge], vertices: Sequence[Point]) -> Array:
    points: list[Point] = []
    for number, forward in loop:
        edge = edges[number]
        if edge.axis is None:
            a, b = edge.angles if forward else edge.angles[::-1]
            points.extend(
                (edge.centre[0] + edge.radius * math.cos(t), edge.centre[1] + edge.radius * math.sin(t))
                for t in np.linspace(a, b, 16, endpoint=False)
            )
        else:
            points.append(vertices[edge.start if forward else edge.end])
    return np.array(points)


def _area(loop: Sequence[Step], edges: Sequence[PlaneEdge], vertices: Sequence[Point]) -> float:
    p = _flattened(loop, edges, vertices)
    q = np.roll(p, -1, axis=0)
    return float(0.5 * np.sum(p[:, 0] * q[:, 1] - q[:, 0] * p[:, 1]))


def _inside(ring: Array, p: Point) -> bool:
    a, b = ring, np.roll(ring, -1, axis=0)
    rises = (a[:, 1] > p[1]) != (b[:, 1] > p[1])
    with np.errstate(divide="ignore", invalid="ignore"):
        at = a[:, 0] + (p[1] - a[:, 1]) / (b[:, 1] - a[:, 1]) * (b[:, 0] - a[:, 0])
    return bool(np.count_nonzero(rises & (p[0] < at)) % 2)

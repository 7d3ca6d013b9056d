"""Points added to an outline, taken away, and the edges to them made lines, arcs or curves."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from bodyshop.app.bench.drawing.edits import Layout, Splice, point_text, read_again
from bodyshop.app.bench.drawing.handles import find_handle, point_path
from bodyshop.app.bench.drawing.model import DrawingView, EditResult, GridStep, Handle, HandleKind
from bodyshop.car.editing.numbers import Numbers, RefusedError
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.toml import KeyPath, Source
from bodyshop.foundation.toml.splice import scalars
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Arc, Cubic, Curve, Line, Outline, Point, Ring, arc_through, dist
from bodyshop.rules.checking import Checked

__all__ = ["EDGES", "add_point", "convert_point", "delete_handle", "insert_point", "round_point"]

EDGES: Final = ("line", "arc", "smooth", "curve")
"""What the edge to a point can be made."""

_EDGE_KEYS: Final = frozenset(("through", "radius", "hollow", "long", "handles", "smooth"))
_LEVEL_MM: Final = 1e-6
_RISE: Final = 0.1
_MOST_RISE_MM: Final = 5.0
_CHORD_MM: Final = 0.05
_ENDS: Final = (0.02, 0.98)
_ROUNDINGS_MM: Final = (3.0, 2.0, 1.0, 0.5)
_ROUNDINGS_IN: Final = (1 / 8, 1 / 16, 1 / 32, 1 / 64)


def add_point(
    source: Source,
    checked: Checked,
    sheet: DrawingView,
    at: Point,
    reach_mm: float,
    step: GridStep | None = None,
) -> EditResult:
    """The text with a new point where an edge passes nearest to `at`, if it does so within `reach_mm`."""

    def work(work: _Work) -> list[Splice]:
        if sheet is DrawingView.TAIL:
            raise RefusedError("Points are added in the side view and in the top view.")
        shape, index, spot = _nearest_edge(work, sheet, at, reach_mm)
        return shape.split(index, spot, step)

    return _worked(source, checked, work)


def insert_point(
    source: Source, checked: Checked, handle_id: str, step: GridStep | None = None
) -> EditResult:
    """The text with a new point half way along the edge that leaves a point."""

    def work(work: _Work) -> list[Splice]:
        shape, index = work.point(handle_id)
        last = len(shape.spots) - 1
        onward = index if shape.mirrored and index == last else (index + 1) % (last + 1)
        return shape.split(onward, shape.middle(onward), step)

    return _worked(source, checked, work)


def delete_handle(source: Source, checked: Checked, handle_id: str) -> EditResult:
    """The text without a point, or without the rounding of one."""

    def work(work: _Work) -> list[Splice]:
        handle = work.handle(handle_id)
        if handle.kind is HandleKind.ROUNDING:
            return work.layout.with_keys(handle.moves[0].path[:-1], ("round",), "")
        if handle.kind is not HandleKind.POINT:
            raise RefusedError("Only points of an outline and roundings are taken away here.")
        shape, index = work.point(handle_id)
        if len(shape.spots) <= (2 if shape.mirrored else 3):
            raise RefusedError("An outline needs the points that it has left.")
        return [work.layout.take_out((*shape.path, index))]

    return _worked(source, checked, work)


def convert_point(source: Source, checked: Checked, handle_id: str, to: str) -> EditResult:
    """The text with the edge to a point made one of `EDGES`. The curve stays as near as it can."""

    def work(work: _Work) -> list[Splice]:
        if to not in EDGES:
            raise ValueError(f"no edge is called {to}")
        shape, index = work.point(handle_id)
        if shape.mirrored and index == 0:
            raise RefusedError("No edge arrives at the first point of a mirrored half.")
        here: KeyPath = (*shape.path, index)
        keys = {"line": "", "smooth": "smooth = true"}.get(to)
        if keys is None:
            keys = shape.through_text(index) if to == "arc" else shape.handles_text(index)
        given = work.numbers.raw(here)
        drop = _EDGE_KEYS & set(given) if isinstance(given, dict) else frozenset[str]()
        return work.layout.with_keys(here, drop, keys)

    return _worked(source, checked, work)


def round_point(source: Source, checked: Checked, handle_id: str) -> EditResult:
    """The text with the corner at a point rounded, by as much of a usual radius as fits."""
    inches = checked.opened.design.unit is LengthUnit.IN
    result = EditResult(None, refusal="No rounding fits this corner.")
    for size in _ROUNDINGS_IN if inches else _ROUNDINGS_MM:
        mm = size * MM_PER_IN if inches else size

        def work(work: _Work, mm: float = mm) -> list[Splice]:
            shape, index = work.point(handle_id)
            here: KeyPath = (*shape.path, index)
            if work.numbers.has((*here, "round")):
                raise RefusedError("This corner is rounded already.")
            return work.layout.with_keys(here, (), f"round = {work.numbers.fresh_text(mm)}")

        result = _worked(source, checked, work)
        if result.text is not None or "rounding" not in result.refusal:
            return result
    return result


class _Work:
    """One text that points are put into."""

    def __init__(self, source: Source, checked: Checked) -> None:
        self.checked = checked
        self.numbers = Numbers(source)
        self.layout = Layout(source)

    def handle(self, handle_id: str) -> Handle:
        found = find_handle(self.checked.opened, self.numbers, handle_id)
        if found is None:
            raise RefusedError("This is no longer there.")
        return found

    def point(self, handle_id: str) -> tuple[_Shape, int]:
        """The outline or window that a point is of, and which of its points it is."""
        handle = self.handle(handle_id)
        path = handle.moves[0].path
        at = path.index("points") if "points" in path else -1
        index = path[at + 1] if at >= 0 else None
        if handle.kind is not HandleKind.POINT or not isinstance(index, int):
            raise RefusedError("This is no point of an outline.")
        return next(shape for shape in self.shapes(handle.sheet) if shape.path == path[: at + 1]), index

    def shapes(self, sheet: DrawingView) -> list[_Shape]:
        """The outline of a view, and its windows that have points."""
        view = "profile" if sheet is DrawingView.SIDE else "plan"
        design = self.checked.opened.design
        outline: Outline = design.profile if sheet is DrawingView.SIDE else design.plan
        mirrored = sheet is DrawingView.TOP and design.plan_mirrored
        found = [_Shape(self, (view, "points"), outline.outer, mirrored)]
        windows = self.numbers.raw((view, "window"))
        for index, window in enumerate(windows if isinstance(windows, list) else []):
            if isinstance(window, dict) and "points" in window:
                path: KeyPath = (view, "window", index, "points")
                found.append(_Shape(self, path, outline.windows[index], mirrored=False))
        return found


@dataclass(slots=True)
class _Shape:
    """A list of points: where it stands, and the ring that came of it."""

    work: _Work
    path: KeyPath
    ring: Ring
    mirrored: bool

    @property
    def spots(self) -> list[Point]:
        given = self.work.numbers.raw(self.path)
        count = len(given) if isinstance(given, list) else 0
        return [self._spot((*self.path, index)) for index in range(count)]

    def _spot(self, path: KeyPath) -> Point:
        where = point_path(self.work.numbers, path)
        return self._pair(where)

    def _pair(self, path: KeyPath) -> Point:
        numbers = self.work.numbers
        return numbers.mm((*path, 0)) or 0.0, numbers.mm((*path, 1)) or 0.0

    def given(self, index: int) -> dict[str, object]:
        """What is written of a point beside its place."""
        raw = self.work.numbers.raw((*self.path, index))
        return raw if isinstance(raw, dict) else {}

    def edge(self, index: int) -> Curve:
        """The edge that arrives at a point, before corners are rounded; a smooth one as it came out."""
        spots, point = self.spots, self.given(index)
        p0, p1 = spots[index - 1], spots[index]
        here: KeyPath = (*self.path, index)
        if "through" in point:
            return arc_through(p0, self._pair((*here, "through")), p1) or Line(p0, p1)
        if "handles" in point:
            return Cubic(p0, self._pair((*here, "handles", 0)), self._pair((*here, "handles", 1)), p1)
        if "radius" in point or point.get("smooth") is True:
            kind = Arc if "radius" in point else Cubic
            own = [
                curve
                for curve, owner in zip(self.ring.curves, self.ring.owners, strict=True)
                if owner == index and isinstance(curve, kind) and self._starts(curve, p0, p1)
            ]
            if own:
                curve = own[0] if dist(own[0].p0, p0) <= dist(own[0].p0, p1) else own[0].reversed()
                return _whole(curve, p0, p1) if isinstance(curve, Arc) else curve
        return Line(p0, p1)

    def _starts(self, curve: Curve, p0: Point, p1: Point) -> bool:
        """Whether a curve of the ring is the edge itself, not a rounding at its end or its mirror image."""
        gap = dist(p0, p1)
        ends = sorted((dist(curve.p0, p0), dist(curve.p1, p0)))
        return ends[0] < 0.5 * gap < dist(curve.p0, curve.p1) + 1e-9 and curve.p0[1] + curve.p1[1] >= -1e-9

    def middle(self, index: int) -> Point:
        """Half way along the edge to a point."""
        return _at(self.edge(index), 0.5)

    def outward(self, index: int) -> Point:
        """The unit normal of the chord to a point that shows out of the wood."""
        spots = self.spots
        (u0, v0), (u1, v1) = spots[index - 1], spots[index]
        size = dist((u0, v0), (u1, v1))
        area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(spots, [*spots[1:], spots[0]], strict=True))
        right = not self.mirrored and area > 0
        normal = ((v1 - v0) / size, (u0 - u1) / size)
        return normal if right else (-normal[0], -normal[1])

    # ------------------------------------------------------------ the text of edges

    def through_text(self, index: int) -> str:
        """An arc near the edge that is there; a slight one where it is straight."""
        edge = self.edge(index)
        spot = _at(edge, 0.5)
        if arc_through(edge.p0, spot, edge.p1) is None or isinstance(edge, Line):
            rise = min(_RISE * dist(edge.p0, edge.p1), _MOST_RISE_MM)
            out = self.outward(index)
            spot = (spot[0] + rise * out[0], spot[1] + rise * out[1])
        return f"through = {point_text(self.work.numbers, spot)}"

    def handles_text(self, index: int) -> str:
        """A Bézier curve near the edge that is there."""
        c1, c2 = _controls(self.edge(index))
        return f"handles = [{point_text(self.work.numbers, c1)}, {point_text(self.work.numbers, c2)}]"

    # ------------------------------------------------------------ a point more

    def split(self, index: int, near: Point, step: GridStep | None) -> list[Splice]:
        """A new point on the edge to point `index`, which is divided there."""
        if self.mirrored and index == 0:
            raise RefusedError("This edge is made by the mirror image: it has no points of its own.")
        edge, point = self.edge(index), self.given(index)
        t = _nearest_t(edge, near)
        spot = _at(edge, t)
        numbers, layout = self.work.numbers, self.work.layout
        here: KeyPath = (*self.path, index)
        if isinstance(edge, Line):
            element = point_text(numbers, _on_line(edge, spot, step))
            return [layout.put_before(here, element)]
        to = f"to = {point_text(numbers, spot, fine=True)}"
        first, second = edge.part(0, t), edge.part(t, 1)
        if "through" in point:
            element = f"{{ {to}, through = {point_text(numbers, _at(first, 0.5), fine=True)} }}"
            return [
                layout.put_before(here, element),
                *self._rewritten((*here, "through"), point_text(numbers, _at(second, 0.5), fine=True)),
            ]
        if "handles" in point and isinstance(first, Cubic) and isinstance(second, Cubic):
            pair = f"[{point_text(numbers, first.c1, fine=True)}, {point_text(numbers, first.c2, fine=True)}]"
            rest = (
                f"[{point_text(numbers, second.c1, fine=True)}, {point_text(numbers, second.c2, fine=True)}]"
            )
            element = f"{{ {to}, handles = {pair} }}"
            return [layout.put_before(here, element), *self._rewritten((*here, "handles"), rest)]
        if "radius" in point:
            if point.get("long") is True:
                raise RefusedError("An arc that goes the long way is not divided: make it a curve first.")
            where = self.work.numbers.source.value_range((*here, "radius"))
            radius = "" if where is None else self.work.numbers.source.text[slice(*where)]
            hollow = ", hollow = true" if point.get("hollow") is True else ""
            return [layout.put_before(here, f"{{ {to}, radius = {radius}{hollow} }}")]
        return [layout.put_before(here, f"{{ {to}, smooth = true }}")]

    def _rewritten(self, path: KeyPath, text: str) -> list[Splice]:
        """A list of the file put anew; refused where it holds anything but plain numbers."""
        where = self.work.numbers.source.value_range(path)
        if where is None or any(
            isinstance(leaf, str) and self.work.numbers.root(leaf_path) != leaf_path
            for leaf_path, leaf in scalars(self.work.numbers.raw(path), path)
        ):
            raise RefusedError("This curve rests on named dimensions: divide it in the text.")
        return [(*where, text)]


def _nearest_edge(work: _Work, sheet: DrawingView, at: Point, reach_mm: float) -> tuple[_Shape, int, Point]:
    """The edge of an outline or window that passes nearest, and where."""
    best: tuple[float, _Shape, int, Point] | None = None
    for shape in work.shapes(sheet):
        place = (at[0], abs(at[1])) if shape.mirrored else at
        points, index = shape.ring.flattened(_CHORD_MM)
        ends = np.roll(points, -1, axis=0)
        along = ends - points
        size = np.maximum(np.sum(along * along, axis=1), 1e-18)
        share = np.clip(np.sum((np.array(place) - points) * along, axis=1) / size, 0.0, 1.0)
        spots = points + share[:, None] * along
        off = np.hypot(spots[:, 0] - place[0], spots[:, 1] - place[1])
        k = int(np.argmin(off))
        if best is None or off[k] < best[0]:
            curve = shape.ring.curves[int(index[k])]
            owner = shape.ring.owners[int(index[k])]
            if shape.mirrored and isinstance(curve, Line) and abs(curve.p0[1] + curve.p1[1]) < _LEVEL_MM:
                owner = 0  # across the centre line
            best = (float(off[k]), shape, owner, (float(spots[k][0]), float(spots[k][1])))
    if best is None or best[0] > reach_mm:
        raise RefusedError("There is no edge here: press on the outline.")
    return best[1], best[2], best[3]


def _worked(source: Source, checked: Checked, work: Callable[[_Work], list[Splice]]) -> EditResult:
    at = _Work(source, checked)
    try:
        splices = work(at)
    except RefusedError as error:
        return EditResult(None, refusal=str(error))
    text = at.layout.spliced(splices)
    after, problem = read_again(text, checked.opened)
    if problem is not None:
        return EditResult(None, refusal=f"It cannot be so: {problem.sentence}.")
    return EditResult(text, opened=after)


def _on_line(line: Line, spot: Point, step: GridStep | None) -> Point:
    """A place on a straight edge, brought to the grid along the way that it mostly goes."""
    if step is None:
        return spot
    (u0, v0), (u1, v1) = line.p0, line.p1
    axis = 0 if abs(u1 - u0) >= abs(v1 - v0) else 1
    size = (u1 - u0, v1 - v0)[axis]
    grid = float(round(Fraction(spot[axis]) / step.mm) * step.mm)
    t = (grid - (u0, v0)[axis]) / size
    t = t if 0 < t < 1 else (spot[axis] - (u0, v0)[axis]) / size
    return u0 + t * (u1 - u0), v0 + t * (v1 - v0)


def _controls(edge: Curve) -> tuple[Point, Point]:
    """The handles of a cubic near a curve: exact for a cubic, thirds for a line, the usual fit for an arc."""
    if isinstance(edge, Cubic):
        return edge.c1, edge.c2
    if isinstance(edge, Line):
        return _at(edge, 1 / 3), _at(edge, 2 / 3)
    # The cubic that touches an arc at both ends and in its middle.
    reach = 4 / 3 * math.tan(abs(edge.sweep) / 4) * edge.radius
    (u0, v0), (u1, v1) = edge.direction(0.0), edge.direction(1.0)
    return (
        (edge.p0[0] + reach * u0, edge.p0[1] + reach * v0),
        (edge.p1[0] - reach * u1, edge.p1[1] - reach * v1),
    )


def _at(curve: Curve, t: float) -> Point:
    u, v = curve.at(np.array([t]))[0]
    return float(u), float(v)


def _whole(arc: Arc, p0: Point, p1: Point) -> Arc:
    """The arc of a circle from end to end, where roundings have cut some of it off."""
    start = math.atan2(p0[1] - arc.centre[1], p0[0] - arc.centre[0])
    end = math.atan2(p1[1] - arc.centre[1], p1[0] - arc.centre[0])
    sweep = (end - start) % (2 * math.pi)
    return Arc(arc.centre, arc.radius, start, sweep if arc.sweep > 0 else sweep - 2 * math.pi, p0, p1)


def _nearest_t(curve: Curve, spot: Point) -> float:
    """Where a curve passes nearest to a place, away from its ends."""
    low, high = _ENDS
    best = 0.5
    for _ in range(3):  # each time a hundred times finer
        t = np.linspace(low, high, 201)
        spots = curve.at(t)
        best = float(t[int(np.argmin(np.hypot(spots[:, 0] - spot[0], spots[:, 1] - spot[1])))])
        reach = (high - low) / 200
        low, high = max(best - reach, _ENDS[0]), min(best + reach, _ENDS[1])
    return best

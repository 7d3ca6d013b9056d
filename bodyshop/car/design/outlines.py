"""The profile and the plan: from the points in the file to exact outlines, every fault at its point."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from bodyshop.car.design.fields import NOTHING_MM, REACH_MM
from bodyshop.car.design.model import KeyPath
from bodyshop.car.design.reading import Reader
from bodyshop.car.design.schema import CIRCLE_KEYS, EDGE_KEYS, POINT_FIELDS
from bodyshop.car.design.table import DesignTable
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import (
    FINE_MM,
    Arc,
    Bezier,
    Chain,
    Edge,
    Outline,
    OutlineFault,
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

__all__ = ["RoundWindow", "DesignOutline", "Polyline", "read_outline"]

# Nearer than this (mm) to the centre line is on it; two sides that differ by less are the same.
CENTRE_MM = 1e-6
SAME_SIDES_MM = 0.01


@dataclass(frozen=True, slots=True)
class Polyline:
    """A shape as written: its points."""

    vertices: tuple[Vertex, ...]


@dataclass(frozen=True, slots=True)
class RoundWindow:
    """A round window as written."""

    centre: Point
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class DesignOutline:
    """An outline and what it was made from: the shapes in the file's order, the outer one first."""

    outline: Outline
    shapes: tuple[Polyline | RoundWindow, ...]
    mirrored: bool


@dataclass(frozen=True, slots=True)
class _Window:
    """A window's ring, its number in the file from 1, and its path."""

    ring: Ring
    number: int
    path: KeyPath
    shape: Polyline | RoundWindow
    copy: bool = False

    @property
    def name(self) -> str:
        return f"the mirror image of window {self.number}" if self.copy else f"window {self.number}"


def read_outline(reader: Reader, table: DesignTable, *, mirror: bool) -> DesignOutline | None:
    """The outline of `[profile]` or `[plan]`; None when something is wrong with it, which is noted."""
    before = len(reader.problems)
    path = (*table.path, "points")
    vertices = _vertices(reader, table.raw("points"), path)
    if vertices is not None and mirror and not _half_is_good(reader, vertices, path):
        vertices = None
    chain = _chain(reader, vertices, path, mirror=mirror) if vertices is not None else None
    windows = _windows(reader, table, mirror=mirror)
    if chain is None or vertices is None:
        return None
    outer = Ring(chain.curves, chain.owners).turned(left=True)
    outline = Outline(outer, tuple(w.ring for w in windows))
    _report_outline_faults(reader, outline, path, windows)
    if len(reader.problems) > before:
        return None
    shapes = (Polyline(tuple(vertices)), *(w.shape for w in windows if not w.copy))
    return DesignOutline(outline, shapes, mirror)


# ---------------------------------------------------------------- points


def _vertices(reader: Reader, raw: Sequence[object] | None, path: KeyPath) -> list[Vertex] | None:
    if raw is None:
        return None
    if not raw:
        reader.fault(path, "too-few-points", "there are no points", expected="at least 3 points")
        return None
    found: list[Vertex] = []
    plain_mm = reader.quantities.unit is LengthUnit.MM
    straight = Straight()
    for i, value in enumerate(raw):
        if plain_mm and type(value) is list and len(value) == 2:
            # Most points are two plain numbers; nan fails these comparisons too.
            u, v = value
            if (
                type(u) in (int, float)
                and type(v) in (int, float)
                and -REACH_MM <= u <= REACH_MM
                and -REACH_MM <= v <= REACH_MM
            ):
                u = 0.0 if -NOTHING_MM < u < NOTHING_MM else float(u)
                v = 0.0 if -NOTHING_MM < v < NOTHING_MM else float(v)
                found.append(Vertex((u, v), straight))
                continue
        vertex = _vertex(reader, value, (*path, i))
        if vertex is not None:
            found.append(vertex)
    if len(found) < len(raw):
        return None
    _warn_idle_tangents(reader, found, path)
    return found


def _vertex(reader: Reader, value: object, path: KeyPath) -> Vertex | None:
    if not isinstance(value, dict):
        place = reader.point(value, path)
        return None if place is None else Vertex(place)
    before = len(reader.problems)
    table = reader.table(value, path, POINT_FIELDS)
    if table is None:
        return None
    ways = [key for key in EDGE_KEYS if key in table.given and not table.says_no(key)]
    for extra in ways[1:]:
        reader.fault(
            (*path, extra),
            "edge-kinds",
            f"this point is reached by {ways[0]} and by {extra}",
            at_key=True,
            expected="one way to get here",
        )
    if "radius" not in table.given:
        for key in ("hollow", "long"):
            if table.flag(key):
                reader.fault(
                    (*path, key),
                    "edge-kinds",
                    f"{key} says something about an arc of a radius, and there is none",
                    at_key=True,
                    expected="radius beside it",
                )
    place = table.point("to")
    if len(reader.problems) > before or place is None:
        return None
    return Vertex(place, _edge(table), table.number("round") or 0.0, table.flag("tangent"))


def _edge(table: DesignTable) -> Edge:
    through, radius, handles = table.point("through"), table.number("radius"), table.points("handles")
    if through is not None:
        return Through(through)
    if radius is not None:
        return Radius(radius, table.flag("hollow"), table.flag("long"))
    if handles:
        return Bezier(handles[0], handles[1])
    return Smooth() if table.flag("smooth") else Straight()


def _warn_idle_tangents(reader: Reader, vertices: Sequence[Vertex], path: KeyPath) -> None:
    count = len(vertices)
    for i, vertex in enumerate(vertices):
        if not vertex.tangent:
            continue
        here, onward = vertex.edge, vertices[(i + 1) % count].edge
        if isinstance(here, Smooth) == isinstance(onward, Smooth):
            reader.warn(
                (*path, i, "tangent"),
                "tangent-idle",
                "tangent changes nothing here: no smooth curve starts or ends at this point",
            )


def _half_is_good(reader: Reader, vertices: Sequence[Vertex], path: KeyPath) -> bool:
    before = len(reader.problems)
    for i, vertex in enumerate(vertices):
        if vertex.at[1] < -CENTRE_MM:
            reader.fault(
                _point_path(reader, (*path, i)),
                "half-side",
                "this point lies across the centre line, where the mirror image goes",
                expected="y of 0 or more, or mirror = false and the whole outline",
            )
    if vertices[0].at[0] > vertices[-1].at[0]:
        reader.fault(
            path,
            "half-backwards",
            "the half outline runs from the tail to the nose",
            at_key=True,
            expected="its points from the nose to the tail",
        )
    return len(reader.problems) == before


def _chain(reader: Reader, vertices: Sequence[Vertex], path: KeyPath, *, mirror: bool) -> Chain | None:
    chain, faults = build_chain(vertices, mirror=mirror)
    for fault in faults:
        if not vertices or fault.code == "too-few-points":
            where: KeyPath = path
        elif fault.field == "at":
            where = _point_path(reader, (*path, fault.vertex))
        else:
            where = (*path, fault.vertex, fault.field)
        reader.fault(where, fault.code, fault.message, expected=fault.expected)
    return chain


def _point_path(reader: Reader, path: KeyPath) -> KeyPath:
    """The path of a point's own two numbers, which a point with extras keeps under `to`."""
    to = (*path, "to")
    return to if reader.source.value_range(to) is not None else path


# ---------------------------------------------------------------- windows


def _windows(reader: Reader, table: DesignTable, *, mirror: bool) -> list[_Window]:
    """The windows in the file's order, then the mirror images of those beside the centre line."""
    own: list[_Window] = []
    for given in table.tables("window"):
        found = _window(reader, given, _number_of(given.path))
        if found is not None:
            own.append(found)
    if not mirror:
        return own
    copies: list[_Window] = []
    for window in own:
        _, low, _, high = Outline(window.ring).bounds
        if low >= -CENTRE_MM or high <= CENTRE_MM:
            ring = window.ring.mirrored().turned(left=False)
            copies.append(replace(window, ring=ring, copy=True))
        elif not _same_sides(window.ring):
            reader.fault(
                _shape_path(window),
                "window-lopsided",
                f"{window.name} lies across the centre line but its two sides differ",
                expected="the same shape on both sides, or the window beside the centre line",
            )
    return own + copies


def _number_of(path: KeyPath) -> int:
    last = path[-1]
    return last + 1 if isinstance(last, int) else 1


def _window(reader: Reader, table: DesignTable, number: int) -> _Window | None:
    given = [key for key in ("points", *CIRCLE_KEYS) if key in table.given]
    if "points" in given:
        for key in given[1:]:
            reader.fault(
                (*table.path, key),
                "window-kinds",
                f"window {number} has points and {key}",
                at_key=True,
                expected="points alone, or circle and diameter",
            )
        path = (*table.path, "points")
        vertices = _vertices(reader, table.raw("points"), path)
        chain = _chain(reader, vertices, path, mirror=False) if vertices is not None else None
        if vertices is None or chain is None or len(given) > 1:
            return None
        ring = Ring(chain.curves, chain.owners).turned(left=False)
        return _Window(ring, number, table.path, Polyline(tuple(vertices)))
    for key in CIRCLE_KEYS:
        if key not in table.given:
            reader.missing(
                (*table.path, key), f"window {number} has no {key}", "circle and diameter, or points"
            )
    centre, diameter = table.point("circle"), table.number("diameter")
    if centre is None or diameter is None:
        return None
    return _Window(_circle(centre, diameter / 2), number, table.path, RoundWindow(centre, diameter))


def _circle(centre: Point, radius: float) -> Ring:
    """A circle as two half turns, run clockwise as a window is."""
    east, west = (centre[0] + radius, centre[1]), (centre[0] - radius, centre[1])
    under = Arc(centre, radius, 0.0, -math.pi, east, west)
    over = Arc(centre, radius, math.pi, -math.pi, west, east)
    return Ring((under, over), (0, 0))


def _same_sides(ring: Ring) -> bool:
    here = shapely.LinearRing(ring.flattened(FINE_MM)[0])
    there = shapely.LinearRing(ring.mirrored().flattened(FINE_MM)[0])
    return bool(shapely.hausdorff_distance(here, there) <= SAME_SIDES_MM)


def _shape_path(window: _Window, vertex: int | None = None) -> KeyPath:
    if isinstance(window.shape, RoundWindow):
        return (*window.path, "circle")
    points = (*window.path, "points")
    return points if vertex is None else (*points, vertex)


def _report_outline_faults(
    reader: Reader, outline: Outline, path: KeyPath, windows: Sequence[_Window]
) -> None:
    met: set[frozenset[int]] = set()
    for fault in outline_faults(outline):
        if fault.ring == 0:
            reader.fault(
                _point_path(reader, (*path, fault.vertex)), fault.code, fault.message, expected=fault.expected
            )
            continue
        window = windows[fault.ring - 1]
        message = _WINDOW_NAME.sub(lambda m: windows[int(m[1]) - 1].name, fault.message)
        if fault.code == "windows-meet":
            pair = frozenset((window.number, _other(fault, windows).number))
            if pair in met:
                continue
            met.add(pair)
        elif window.copy:  # the window itself has the same fault
            continue
        where = _shape_path(window, fault.vertex)
        reader.fault(_point_path(reader, where), fault.code, message, expected=fault.expected)


_WINDOW_NAME = re.compile(r"window (\d+)")


def _other(fault: OutlineFault, windows: Sequence[_Window]) -> _Window:
    """The window that the one at fault runs into: the last that the message names."""
    numbers = _WINDOW_NAME.findall(fault.message)
    return windows[int(numbers[-1]) - 1]

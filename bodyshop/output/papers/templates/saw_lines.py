"""Where to saw: the saw line beside the outline, and relief cuts up to it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely

from bodyshop.car.stock.blades import Blade
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.sheet.items import Item
from bodyshop.drawing.sheet.pens import Layer
from bodyshop.drawing.sheet.shapes import line, polyline
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.outlines import Arc, Cubic, Curve, Outline
from bodyshop.output.papers.templates.labels import LabelRequest
from bodyshop.output.papers.templates.waste import Waste

__all__ = [
    "MOST_MM",
    "Relief",
    "ReliefCut",
    "draw_relief",
    "relief_cuts",
    "saw_items",
    "saw_lines",
    "saw_words",
]


MOST_MM = 10.0
"""A line farther out than this is no longer wood left for sanding."""

# Chords of the outline and of the round corners about it, mm.
_CHORD_MM = 0.002
# A piece shorter than this along an edge of the blank is no cut.
_LEAST_MM = 0.5
_MOST_POINTS = 3000
_WORDS_OVER_MM = 1.2


def saw_lines(outline: Outline, blank: shapely.Polygon, offset_mm: float) -> list[tuple[Point, ...]]:
    """The parallel of the outline `offset_mm` outside the wood, inside the blank, as chains of points.

    Outside corners are gone round at that distance. In windows the line runs inside, on the waste. Every
    point is at the distance within 0.005 mm.
    """
    steps = max(4, math.ceil(math.pi / 4 / math.acos(1.0 - min(1.0, _CHORD_MM / offset_mm))))
    wide = _grown(outline.polygon(_CHORD_MM), offset_mm, steps).simplify(_CHORD_MM)
    # Where the line would run outside the blank, or on its very edge, there is nothing to saw.
    inside = wide.boundary.intersection(blank.buffer(-1e-6))
    merged = shapely.line_merge(inside) if inside.geom_type == "MultiLineString" else inside
    return [
        tuple((float(x), float(y)) for x, y in part.coords)
        for part in shapely.get_parts(merged)
        if part.geom_type in {"LineString", "LinearRing"} and part.length >= _LEAST_MM
    ]


def _grown(wood: shapely.Polygon, by_mm: float, steps: int) -> shapely.Geometry:
    """All that is no farther than that from the wood.

    The time that the library takes in one go grows as the square of the points, so that an outline of
    thousands is put together from bands round a few edges each, which comes to the same.
    """
    if shapely.get_num_coordinates(wood) <= _MOST_POINTS:
        return wood.buffer(by_mm, quad_segs=steps)
    edges: list[shapely.Geometry] = []
    for ring in (wood.exterior, *wood.interiors):
        points = shapely.get_coordinates(ring)
        edges += [shapely.LineString(points[k : k + 3]) for k in range(0, len(points) - 1, 2)]
    bands = shapely.buffer(edges, by_mm, quad_segs=steps)
    return shapely.union_all([wood, *bands])


def saw_items(chains: list[tuple[Point, ...]], place: Affine | None = None) -> Iterator[Item]:
    """The chains as narrow lines."""
    for chain in chains:
        points = chain if place is None else tuple(place.point(point) for point in chain)
        yield polyline(points, Layer.SAW)


def saw_words(chains: list[tuple[Point, ...]], offset_mm: float, figures: Figures) -> list[LabelRequest]:
    """What the narrow line is for, wanted beside the longest one."""
    if not chains:
        return []
    longest = max(chains, key=lambda chain: shapely.LineString(chain).length)
    middle = shapely.LineString(longest).interpolate(0.5, normalized=True)
    words = f"thin line: saw here, {figures.length(offset_mm)} outside"
    return [LabelRequest(words, (middle.x, middle.y + _WORDS_OVER_MM), on_hatching=True, in_waste=True)]


ReliefCut = tuple[Point, Point]
"""From a little off the line to the edge of the blank."""

_SAMPLES = 48
_CORNER_RAD = math.radians(15)
_OFF_LINE_MM = 0.8
# Ways out, from square to the line: the steep ones only where none of the others is free.
_TURNS_DEG = ((0, 15, -15, 30, -30, 45, -45), (60, -60, 75, -75))
# More than these is no longer sawing but carving.
_MOST = 40


@dataclass(frozen=True, slots=True)
class Relief:
    """Relief cuts as drawn, the ink that words keep off, and the words for them."""

    items: tuple[Item, ...] = ()
    ink: tuple[shapely.Geometry, ...] = ()
    words: tuple[LabelRequest, ...] = ()


def draw_relief(outline: Outline, waste: Waste, blade: Blade | None, place: Affine | None = None) -> Relief:
    """The relief cuts of a view; none without a blade.

    They are found in the view as the blade sees it, and put on paper by `place`.
    """
    cuts = [] if blade is None else relief_cuts(outline, waste.blank, waste.car, blade)
    if not cuts:
        return Relief()
    if place is not None:
        cuts = [(place.point(start), place.point(end)) for start, end in cuts]
    start, end = cuts[len(cuts) // 2]
    words = "relief cut" if len(cuts) == 1 else "relief cuts"
    return Relief(
        tuple(line(a, b, Layer.RELIEF) for a, b in cuts),
        tuple(shapely.LineString(cut) for cut in cuts),
        (LabelRequest(words, ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2), on_hatching=True),),
    )


def relief_cuts(
    outline: Outline, blank: shapely.Polygon, car: shapely.Geometry, blade: Blade
) -> list[ReliefCut]:
    """Relief cuts for a blade, in the outline's coordinates; none for a spot shut in by the car."""
    spots: list[tuple[Point, Point]] = []
    for at, outward in _tight(outline.outer.curves, blade.least_radius_mm, max(blade.width_mm, 3.0)):
        if all(math.dist(at, other) >= blade.width_mm / 2 for other, _ in spots):
            spots.append((at, outward))
        if len(spots) == _MOST:
            break
    keep_out = car.buffer(-_OFF_LINE_MM / 2)
    shapely.prepare(keep_out)
    cuts = (_cut(at, outward, blank, keep_out) for at, outward in spots)
    return [cut for cut in cuts if cut is not None]


def _tight(curves: tuple[Curve, ...], least: float, spacing: float) -> Iterator[tuple[Point, Point]]:
    """Points on curves and corners that turn right, tighter than `least`, and the way out into the waste.

    The wood is on the left, so what turns right is hollow.
    """
    for curve, following in zip(curves, (*curves[1:], curves[0]), strict=True):
        if isinstance(curve, Arc) and curve.sweep < 0 and curve.radius < least:
            yield from _along(curve, 0.0, 1.0, spacing)
        elif isinstance(curve, Cubic):
            for start, end in _runs(curve, least):
                yield from _along(curve, start, end, spacing)
        before, after = curve.direction(1.0), following.direction(0.0)
        turn = math.atan2(
            before[0] * after[1] - before[1] * after[0], before[0] * after[0] + before[1] * after[1]
        )
        if turn < -_CORNER_RAD:
            way = (before[0] + after[0], before[1] + after[1])
            size = math.hypot(*way)
            way = before if size < 1e-9 else (way[0] / size, way[1] / size)
            yield curve.p1, (way[1], -way[0])


def _runs(curve: Cubic, least: float) -> Iterator[tuple[float, float]]:
    """Stretches of a cubic that turn right more tightly than `least`."""
    shares = [(k + 0.5) / _SAMPLES for k in range(_SAMPLES)]
    start: float | None = None
    for share in shares:
        tight = curve.curvature(share) < -1.0 / least
        if tight and start is None:
            start = share
        if start is not None and not tight:
            yield start, share
            start = None
    if start is not None:
        yield start, 1.0


def _along(curve: Curve, start: float, end: float, spacing: float) -> Iterator[tuple[Point, Point]]:
    count = max(1, math.ceil(curve.length * (end - start) / spacing - 1e-9))
    for k in range(count):
        share = start + (end - start) * (k + 0.5) / count
        (at,) = curve.at(np.array([share]))
        way = curve.direction(share)
        yield (float(at[0]), float(at[1])), (way[1], -way[0])


def _cut(at: Point, outward: Point, blank: shapely.Polygon, keep_out: shapely.Geometry) -> ReliefCut | None:
    """The shortest straight way from a spot out of the blank that does not meet the car."""
    x0, y0, x1, y1 = blank.bounds
    far = 2.0 * math.hypot(x1 - x0, y1 - y0)
    for turns in _TURNS_DEG:
        best: ReliefCut | None = None
        for turn in turns:
            cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            way = (outward[0] * cos - outward[1] * sin, outward[0] * sin + outward[1] * cos)
            start = (at[0] + _OFF_LINE_MM * way[0], at[1] + _OFF_LINE_MM * way[1])
            ray = shapely.LineString([start, (at[0] + far * way[0], at[1] + far * way[1])])
            inside = ray.intersection(blank)
            if inside.geom_type != "LineString" or inside.is_empty or shapely.intersects(keep_out, inside):
                continue
            end = max(inside.coords, key=lambda point: math.dist(point, at))
            cut = (start, (float(end[0]), float(end[1])))
            if best is None or math.dist(*cut) < math.dist(*best) - 0.01:
                best = cut
        if best is not None:
            return best
    return None

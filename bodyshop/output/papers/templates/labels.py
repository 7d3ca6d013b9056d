"""Words inside the blank, which stay with the paper once it is glued on."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely

from bodyshop.drawing.layout.free_space import FreeSpace
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import shorten, text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import polygon
from bodyshop.geometry.affine import Point
from bodyshop.geometry.outlines import Array, Line, Outline, Ring
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.templates.faces import FaceBadge
from bodyshop.output.papers.templates.view import NOTE_MM, SEAM_MM, SMALL_MM, TemplateSettings
from bodyshop.output.papers.templates.waste import Waste

__all__ = ["LabelRequest", "ROUGH_MM", "label_blank", "rough_outline", "rough_polygon"]


ROUGH_MM = 0.1
"""How far a rough outline may stray from the true one."""

_CLOSE_MM = 0.5
_MOST_POINTS, _ROUGHEST_MM = 800, 1.5


@lru_cache(maxsize=8)
def rough_polygon(outline: Outline) -> shapely.Polygon:
    """The outline with few points, for looking only; never drawn.

    An outline of thousands of points is taken more roughly, so that looking at it stays quick.
    """
    stray = ROUGH_MM / 2
    rings = [_thinned(ring.flattened(stray)[0]) for ring in outline.rings]
    polygon = shapely.Polygon(rings[0], rings[1:]).simplify(stray)
    while shapely.get_num_coordinates(polygon) > _MOST_POINTS and stray < _ROUGHEST_MM:
        stray *= 2
        polygon = polygon.simplify(stray)
    return polygon if polygon.is_valid else polygon.buffer(0)


def _thinned(points: Array) -> Array:
    """Points of a ring, of very many only one in so many where they are close together."""
    every = len(points) // _MOST_POINTS
    if every < 2:
        return points
    edge = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    corner = (edge > _CLOSE_MM) | (np.roll(edge, 1) > _CLOSE_MM)
    kept: Array = points[corner | (np.arange(len(points)) % every == 0)]
    return kept


def rough_outline(outline: Outline) -> Outline:
    """The same as an outline of straight lines, where it has very many curves; else as it is."""
    if sum(len(ring.curves) for ring in outline.rings) <= _MOST_POINTS:
        return outline
    rings = [
        _ring(ring.coords)
        for part in shapely.get_parts(rough_polygon(outline))
        for ring in (part.exterior, *part.interiors)
    ]
    return Outline(rings[0].turned(left=True), tuple(ring.turned(left=False) for ring in rings[1:]))


def _ring(coordinates: Iterable[tuple[float, ...]]) -> Ring:
    points = [(float(u), float(v)) for u, v in coordinates]
    curves = tuple(Line(a, b) for a, b in itertools.pairwise(points))
    return Ring(curves, tuple(range(len(curves))))


# The most of a blank's length that its template's name may take.
_IDENTITY = 0.4
_ARROW = (18.0, 6.0)
_ARROW_WORD_MM = 3.0


def _arrow(rect: Rect, word: str, *, ahead: bool) -> list[Item]:
    """A broad arrow that points to the nose (ahead) or to the tail, and its word; fills `rect`."""
    middle, half = rect.centre[1], rect.height / 2
    shaft, neck, end = 0.42 * half, 1.1 * half * 2, _ARROW[0]
    outline = (
        (0.0, 0.0),
        (neck, half),
        (neck, shaft),
        (end, shaft),
        (end, -shaft),
        (neck, -shaft),
        (neck, -half),
    )
    tip, way = (rect.x, 1.0) if ahead else (rect.right, -1.0)
    corners = [(tip + way * u, middle + v) for u, v in outline]
    x, anchor = (rect.x + end + 2.0, Anchor.START) if ahead else (rect.right - end - 2.0, Anchor.END)
    at = (x, middle - _ARROW_WORD_MM / 2)
    return [
        polygon(corners, Layer.TEXT, Pen.FRAME, 1.0),
        Text(word, at, _ARROW_WORD_MM, anchor, weight=Weight.BOLD, clear=True),
    ]


def _arrow_size(word: str) -> tuple[float, float]:
    return (_ARROW[0] + 2.0 + text_width_mm(word, _ARROW_WORD_MM, bold=True), _ARROW[1])


@dataclass(frozen=True, slots=True)
class LabelRequest:
    """Words and the place they are wanted at; left out where there is no room."""

    words: str
    at: Point
    on_hatching: bool = False
    in_waste: bool = False
    """Rather there than in the car."""


def label_blank(
    waste: Waste,
    ink: Sequence[shapely.Geometry],
    setting: TemplateSettings,
    view: str,
    extra: Sequence[LabelRequest] = (),
    badge: FaceBadge | None = None,
) -> list[Item]:
    """Where the nose is, whose template it is, which part is waste, and what else is wanted.

    A failing car's template says so here too, over everything else if it must. The template's name stands
    in the car where there is room, since the waste falls away. With a `badge`, of a face that could be
    taken for another, both ends are named.
    """
    blank = waste.blank
    edges = shapely.union_all([part.boundary for part in shapely.get_parts(waste.car)])
    x0, y0, x1, y1 = blank.bounds
    seams = [shapely.box(x - SEAM_MM, y0, x + SEAM_MM, y1) for x in setting.seams]
    spots = FreeSpace(blank, [edges, *seams, *ink])
    items: list[Item] = []
    if setting.fails:
        items += _failing(spots, blank)
    if badge is not None:
        found = spots.first(badge.sizes, (x0 + 0.6 * (x1 - x0), (y0 + y1) / 2))
        if found is not None:
            items += badge.items(*found)
            at = (found[1].centre[0], found[1].y - 4.0)
            extra = [*extra, LabelRequest(badge.up, at)]
    named = [_waste_word(spots, part, part.difference(waste.band)) for part in waste.parts]
    for wanted in extra:
        if wanted.on_hatching:
            items += _word(spots, wanted, waste.rest if wanted.in_waste else None)
    spots.block(waste.band)
    arrow = spots.place(*_arrow_size("NOSE"), (x0 + 24.0, y0 + 0.8 * (y1 - y0)))
    if arrow is not None:
        items += _arrow(arrow, "NOSE", ahead=True)
    if badge is not None:
        arrow = spots.place(*_arrow_size("TAIL"), (x1 - 24.0, y0 + 0.8 * (y1 - y0)))
        if arrow is not None:
            items += _arrow(arrow, "TAIL", ahead=False)
    items += [word for word in named if word is not None]
    items += _identity(spots, waste, setting.identity(view))
    for wanted in extra:
        if not wanted.on_hatching:
            items += _word(spots, wanted)
    return items


def _identity(spots: FreeSpace, waste: Waste, words: str) -> list[Item]:
    """The template's name, in the car or, failing that, in the waste."""
    x0, _, x1, _ = waste.blank.bounds
    inside = waste.car.intersection(waste.blank)
    for within in (inside, None):
        middle = (waste.blank if within is None else within).centroid
        for height in (NOTE_MM, 2.0):
            shown = shorten(words, height, _IDENTITY * (x1 - x0))
            width = text_width_mm(shown, height)
            rect = None if middle.is_empty else spots.place(width, height, (middle.x, middle.y), within)
            if rect is not None:
                return [Text(shown, (rect.x, rect.y), height, clear=True)]
    return []


def _word(spots: FreeSpace, wanted: LabelRequest, within: shapely.Geometry | None = None) -> list[Item]:
    size = (text_width_mm(wanted.words, SMALL_MM), SMALL_MM)
    rect = None if within is None else spots.place(*size, wanted.at, within)
    rect = spots.place(*size, wanted.at) if rect is None else rect
    if rect is None:
        return []
    return [Text(wanted.words, (rect.x, rect.y), SMALL_MM, layer=Layer.DIMENSION, clear=True)]


def _waste_word(spots: FreeSpace, part: shapely.Polygon, plain: shapely.Geometry) -> Text | None:
    """The word in a piece of waste, off the hatching where there is room."""
    size = (text_width_mm("WASTE", NOTE_MM), NOTE_MM)
    middle = part.representative_point()
    rect = spots.place(*size, (middle.x, middle.y), plain) or spots.place(*size, (middle.x, middle.y), part)
    return None if rect is None else Text("WASTE", (rect.x, rect.y), NOTE_MM, clear=True)


def _failing(spots: FreeSpace, blank: shapely.Polygon) -> list[Item]:
    words = "FAILS – do not cut"
    x0, y0, x1, y1 = blank.bounds
    middle = ((x0 + x1) / 2, (y0 + y1) / 2)
    heights = (6.0, 5.0, 4.0, 3.0)
    sizes = [(text_width_mm(words, height, bold=True) + 4.0, height + 3.0) for height in heights]
    found = spots.first(sizes, middle)
    if found is None:
        height = min(6.0, 0.2 * (y1 - y0))
        at = (middle[0], middle[1] - height / 2)
        return [Text(words, at, height, Anchor.MIDDLE, weight=Weight.BOLD, layer=Layer.CAUTION, clear=True)]
    number, rect = found
    corners = ((rect.x, rect.y), (rect.right, rect.y), (rect.right, rect.top), (rect.x, rect.top))
    at = (rect.x + 2.0, rect.y + 1.5)
    return [
        polygon(corners, Layer.CAUTION, Pen.HEAVY, 1.0),
        Text(words, at, heights[number], weight=Weight.BOLD, layer=Layer.CAUTION),
    ]

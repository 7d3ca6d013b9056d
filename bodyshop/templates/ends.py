"""The ends of the blank at full size: the tail-end guide for drilling the bore, and the nose end."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from bodyshop.assembly import Car
from bodyshop.body.rectangles import CORNERS, Rectangles
from bodyshop.body.section import Sections
from bodyshop.body.surfaces import frontal_silhouette
from bodyshop.drawing.affine import Affine, Point
from bodyshop.drawing.dimensions import dimension
from bodyshop.drawing.figures import Figures
from bodyshop.drawing.items import ArcTo, Group, Item, LineTo, MoveTo, Path, Rect, Segment, Text, Weight
from bodyshop.drawing.marks import hole_mark
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import line, polygon, rectangle
from bodyshop.stock.blanks import Blank
from bodyshop.templates.bore import bore_corners, drilled_mm
from bodyshop.templates.spots import rough_outline
from bodyshop.templates.view import NOTE_MM, TITLE_MM, Panel, datum_edge, datum_width_mm, panel, pitch

__all__ = ["nose_panel", "tail_panel"]

_AXIS_OVER_MM = 4.0
_DIMENSION_MM = 8.0
# Chords in a shadow shorter than this are one line on paper.
_SHADOW_MM = 0.01
_NO_WASTE_MM = 0.005


def tail_panel(car: Car, figures: Figures) -> Panel:
    """The tail end seen from behind: y to the right, height up, mm, from the centre line at the underside."""
    blank, bore = car.design.blank, car.body.bore
    items = _end(car, blank.height_tail_mm, mirrored=False)
    items += _section(car.body.section(car.body.x_tail))
    notes = ["narrow line: the car seen from behind", "wide line: its tail"]
    if bore is not None:
        low, high = bore_corners(bore, blank.length_mm)[1:3]
        centre = (bore.y, (low[1] + high[1]) / 2)
        items += hole_mark(centre, 2 * bore.radius)
        items += _bore_dimensions(centre, blank.width_mm / 2, figures)
        notes = [*_bore_notes(car, figures), *notes]
    return _titled("TAIL-END GUIDE", "tail", notes, items, blank, blank.height_tail_mm)


def nose_panel(car: Car, figures: Figures) -> Panel:
    """The nose end seen from ahead: y to the left, height up, mm."""
    blank = car.design.blank
    items = _end(car, blank.height_nose_mm, mirrored=True)
    y0, _, y1, z1 = _silhouette(car).bounds
    notes = [
        "nothing is drilled here",
        f"widest {figures.number(y1 - y0)}, highest {figures.number(z1)}",
        "narrow line: the car seen from ahead",
    ]
    return _titled("NOSE END", "nose", notes, items, blank, blank.height_nose_mm)


def _end(car: Car, height: float, *, mirrored: bool) -> list[Item]:
    half = car.design.blank.width_mm / 2
    silhouette = _silhouette(car)
    top = max(height, silhouette.bounds[3]) + _AXIS_OVER_MM
    shadow: list[Item] = list(_shadow(silhouette))
    if mirrored:
        shadow = [Group(Affine.mirror_x(), tuple(shadow))]
    return [
        *shadow,
        rectangle(Rect(-half, 0.0, 2 * half, height), Layer.BLANK),
        line((0.0, -_AXIS_OVER_MM + 1.0), (0.0, top), Layer.CENTRE),
    ]


def _silhouette(car: Car) -> shapely.Geometry:
    """The body's shadow from ahead; of an outline with thousands of points, the rough one's."""
    body = car.body
    profile, plan = rough_outline(body.profile), rough_outline(body.plan)
    if profile is body.profile and plan is body.plan:
        return body.silhouette
    return frontal_silhouette(Sections(profile, plan, car.design.edge_round_mm))


def _shadow(shape: shapely.Geometry) -> Iterator[Item]:
    for part in shapely.get_parts(shape.simplify(_SHADOW_MM)):
        if part.geom_type == "Polygon":
            for ring in (part.exterior, *part.interiors):
                points = [(float(y), float(z)) for y, z in ring.coords[:-1]]
                yield polygon(points, Layer.OUTLINE, Pen.NARROW)


def _section(r: Rectangles) -> Iterator[Item]:
    """The cross-section's pieces with what is left of their rounded corners."""
    contour = r.contour()
    for k in np.flatnonzero(~r.empty & (r.y1 - r.y0 >= 0.01) & (r.z1 - r.z0 >= 0.01)):
        segments: list[Segment] = []
        for c in range(len(CORNERS)):
            begin = (float(contour.y[2 * c, k]), float(contour.z[2 * c, k]))
            segments.append(LineTo(begin) if segments else MoveTo(begin))
            if contour.sweep[c, k] > 0:
                centre = (float(contour.centre_y[c, k]), float(contour.centre_z[c, k]))
                start, sweep = float(contour.start[c, k]), float(contour.sweep[c, k])
                segments.append(ArcTo.circular(centre, float(r.radius[k]), start, sweep))
        yield Path(tuple(segments), Layer.OUTLINE, Pen.VISIBLE, closed=True)


def _bore_dimensions(centre: Point, half: float, figures: Figures) -> list[Item]:
    """The bore's centre from the underside and from a side of the blank, both datum edges."""
    items: list[Item] = []
    if centre[1] > 1.0:
        out = max(half, centre[0]) + _DIMENSION_MM
        items += dimension((half, 0.0), centre, figures.number(centre[1]), half - out, math.pi / 2)
    if centre[0] + half > 1.0:
        items += dimension((-half, 0.0), (centre[0], 0.0), figures.number(centre[0] + half), -11.0, 0.0)
    return items


def _bore_notes(car: Car, figures: Figures) -> list[str]:
    bore, blank = car.body.bore, car.design.blank
    assert bore is not None  # noqa: S101 - the caller has looked
    first = f"bore Ø {figures.number(2 * bore.radius)}"
    if blank.bore is not None:
        return [f"{first}: drilled already, check it"]
    deep = drilled_mm(bore, blank.length_mm)
    lines = [f"{first}, drill {figures.number(deep)} deep from here"]
    if deep - bore.depth > _NO_WASTE_MM:
        lines.append(f"{figures.number(bore.depth)} of it in the car, the rest in the waste")
    if bore.tilt:
        way = "up" if bore.tilt > 0 else "down"
        lines.append(f"tilted {abs(math.degrees(bore.tilt)):.1f}°, blind end {way}")
    return lines


def _titled(
    title: str, name: str, notes: Sequence[str], items: Sequence[Item], blank: Blank, height: float
) -> Panel:
    """The view with its title over it, its datum edges named, and notes under it.

    Seen from behind the blank's left side is on the left; seen from ahead the right side is.
    """
    width, side = blank.width_mm, "LEFT SIDE" if name == "tail" else "RIGHT SIDE"
    left = -width / 2
    drawn = panel(name, items)
    top = max(height + _AXIS_OVER_MM, drawn.room.top) + 2.0
    low = min(-_AXIS_OVER_MM - 2.5, drawn.room.y) - 3.0
    words: list[Item] = [Text(title, (left, top), TITLE_MM, weight=Weight.BOLD)]
    words += datum_edge("UNDERSIDE", (left + datum_width_mm("UNDERSIDE") / 2, 0.0))
    words += datum_edge(side, (left, height / 2), upright=True, nose=True)
    for k, note in enumerate(notes):
        words.append(Text(note, (left, low - NOTE_MM - k * pitch()), NOTE_MM, layer=Layer.DIMENSION))
    return panel(name, [*items, *words])

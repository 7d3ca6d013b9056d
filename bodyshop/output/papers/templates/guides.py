"""Drill guides at full size: small cards for the axle holes, and the ends of the blank for the bore."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from bodyshop.car.assembly import Car
from bodyshop.car.body.rectangles import CORNERS, Rectangles
from bodyshop.car.body.section import Sections
from bodyshop.car.body.surfaces import frontal_silhouette
from bodyshop.car.design.model import AxleSet
from bodyshop.car.stock.blanks import Blank
from bodyshop.drawing.layout.dimensions import Figures, dimension
from bodyshop.drawing.layout.marks import hole_mark
from bodyshop.drawing.sheet.items import Group, Item, Path, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import line, polygon, polyline, rectangle
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import ArcTo, LineTo, MoveTo, Rect, Segment
from bodyshop.output.papers.templates.hole_notes import bore_corners, drilled_mm
from bodyshop.output.papers.templates.labels import rough_outline
from bodyshop.output.papers.templates.view import (
    NOTE_MM,
    TITLE_MM,
    Panel,
    datum_edge,
    datum_width_mm,
    panel,
    pitch,
)

__all__ = ["axle_guides", "nose_panel", "tail_panel"]


# Paper round a hole, and the least card that fingers can hold in its place.
_ROUND_MM = 13.0
_LEAST_HIGH_MM, _LEAST_LONG_MM = 28.0, 45.0
_DIMENSION_MM = 8.0
_BELOW_MM = 11.0


def axle_guides(car: Car, figures: Figures) -> list[Panel]:
    """A guide for each axle, as it lies on the left side of the blank; x from the blank's nose end, mm."""
    return [_guide(car, axle, figures) for axle in car.design.axles]


def _guide(car: Car, axle: AxleSet, figures: Figures) -> Panel:
    blank = car.design.blank
    length = blank.length_mm
    from_tail = length - axle.x_mm < axle.x_mm
    out = length - axle.x_mm if from_tail else axle.x_mm
    end = length if from_tail else 0.0
    way = -1.0 if from_tail else 1.0
    far = end + way * min(length, max(out + _ROUND_MM, _LEAST_LONG_MM))
    top = max(axle.height_mm + _ROUND_MM, _LEAST_HIGH_MM)
    top = min(top, blank.height_at(end), blank.height_at(far))
    centre = (axle.x_mm, axle.height_mm)
    name = f"{axle.end.value.upper()} AXLE GUIDE"
    end_name = "TAIL END" if from_tail else "NOSE END"

    items: list[Item] = [
        # The two edges that are laid on edges of the blank are wide, the others only end the card.
        polyline(((end, top), (end, 0.0), (far, 0.0)), Layer.BLANK, Pen.VISIBLE),
        polyline(((end, top), (far, top), (far, 0.0)), Layer.BLANK, Pen.NARROW),
        *hole_mark(centre, axle.hole_mm),
    ]
    if axle.height_mm > 1.0:
        # On the side of the hole that is away from the end, clear of the name of the end.
        items += dimension(
            (far, 0.0), centre, figures.number(axle.height_mm), -way * _DIMENSION_MM, math.pi / 2
        )
    if out > 1.0:
        items += dimension((end, 0.0), centre, figures.number(out), -_BELOW_MM, 0.0)
    left, right = sorted((end, far))
    items += _edges(left, right, top, end_name, nose=not from_tail)
    return _titled(name, axle, figures, items, (left, right, top), from_tail=from_tail)


def _edges(left: float, right: float, top: float, end_name: str, *, nose: bool) -> list[Item]:
    """The names of both datum edges; that of an end that is too low for it stands over its corner."""
    items = datum_edge("UNDERSIDE", (left + datum_width_mm("UNDERSIDE") / 2, 0.0))
    end = left if nose else right
    middle = max(top / 2, datum_width_mm(end_name) / 2)
    items += datum_edge(end_name, (end, middle), upright=True, nose=nose)
    if 2 * middle > top:
        items.append(line((end, top), (end, 2 * middle), Layer.DATUM))
    return items


def _titled(
    name: str,
    axle: AxleSet,
    figures: Figures,
    items: Sequence[Item],
    room: tuple[float, float, float],
    *,
    from_tail: bool,
) -> Panel:
    left, _, top = room
    drawn = panel(name, items)
    base = max(top, drawn.room.top) + 2.5
    words: list[Item] = [Text(name, (left, base), TITLE_MM, weight=Weight.BOLD)]
    notes = [
        f"hole Ø {figures.number(axle.hole_mm)}, right through",
        "lay it on the left side, nose end to your left",
    ]
    if from_tail:
        notes.append(f"{figures.number(axle.x_mm)} from the nose end")
    low = drawn.room.y - 2.0
    for k, note in enumerate(notes):
        at: Point = (left, low - NOTE_MM - k * pitch())
        words.append(Text(note, at, NOTE_MM, layer=Layer.DIMENSION))
    # Inside the card, so that it is known once it is cut out.
    label = axle.end.value
    wide = text_width_mm(label, NOTE_MM, bold=True)
    point = _label_place(axle, room, wide)
    if point is not None:
        words.append(Text(label, point, NOTE_MM, weight=Weight.BOLD))
    return panel(f"{axle.end.value} axle guide", [*items, *words])


def _label_place(axle: AxleSet, room: tuple[float, float, float], wide: float) -> Point | None:
    """Beside the hole, on the side with more room."""
    left, right, top = room
    clear = axle.hole_mm / 2 + 3.5
    level = min(axle.height_mm + 2.0, top - NOTE_MM - 1.0)
    if axle.x_mm - left >= right - axle.x_mm:
        point = axle.x_mm - clear - wide - 2.0
        return (point, level) if point > left + 1.0 else None
    point = axle.x_mm + clear + 2.0
    return (point, level) if point + wide < right - 1.0 else None


_AXIS_OVER_MM = 4.0
# Chords in a shadow shorter than this are one line on paper.
_SHADOW_MM = 0.01
_NO_WASTE_MM = 0.005


def tail_panel(car: Car, figures: Figures) -> Panel:
    """The tail end seen from behind: y to the right, height up, mm, from the centre line at the underside."""
    blank, bore = car.design.blank, car.body.bore
    items = _end(car, blank.height_tail_mm, mirrored=False)
    items += _section(car.body.section(car.body.x_tail))
    notes = ["thin line: widest part of the car", "seen from behind", "thick line: its tail end"]
    if bore is not None:
        low, high = bore_corners(bore, blank.length_mm)[1:3]
        centre = (bore.y, (low[1] + high[1]) / 2)
        items += hole_mark(centre, 2 * bore.radius, bore.tilt)
        items += _bore_dimensions(centre, blank.width_mm / 2, figures)
        notes = [*_bore_notes(car, figures), *notes]
    return _ends_titled("TAIL-END GUIDE", "tail", notes, items, blank, blank.height_tail_mm)


def nose_panel(car: Car, figures: Figures) -> Panel:
    """The nose end seen from ahead: y to the left, height up, mm."""
    blank = car.design.blank
    items = _end(car, blank.height_nose_mm, mirrored=True)
    y0, _, y1, z1 = _silhouette(car).bounds
    notes = [
        "no holes on this end",
        f"widest {figures.number(y1 - y0)}, highest {figures.number(z1)}",
        "thin line: the car seen from the front",
    ]
    return _ends_titled("NOSE END", "nose", notes, items, blank, blank.height_nose_mm)


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


def _ends_titled(
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

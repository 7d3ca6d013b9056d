"""The side template: the profile in its blank, with every hole that is drilled or measured from the side."""

from __future__ import annotations

import math

import shapely

from bodyshop.car.assembly import Car
from bodyshop.car.body.holes import BoreHole
from bodyshop.car.design.model import AxleEnd, AxleSet, Design
from bodyshop.car.stock.blanks import Blank
from bodyshop.drawing.layout.dimensions import Figures, dimension
from bodyshop.drawing.layout.marks import hole_mark
from bodyshop.drawing.sheet.items import Item
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import line, polygon, polyline, trace
from bodyshop.foundation.units import LengthUnit
from bodyshop.output.papers.templates.gauges import gauge_lines
from bodyshop.output.papers.templates.hole_notes import (
    HoleNote,
    bore_corners,
    free_stretch,
    hidden_bore,
    hole_notes,
    words_outside,
)
from bodyshop.output.papers.templates.labels import ROUGH_MM, label_blank, rough_polygon
from bodyshop.output.papers.templates.saw_lines import draw_relief, saw_items, saw_lines, saw_words
from bodyshop.output.papers.templates.view import (
    SEAM_MM,
    SMALL_MM,
    Panel,
    TemplateSettings,
    datum_edge,
    datum_width_mm,
    edge_name,
    panel,
    stations,
    title_row,
)
from bodyshop.output.papers.templates.waste import Waste

__all__ = ["axle_name", "eye_name", "side_panel"]


def side_panel(car: Car, setting: TemplateSettings) -> Panel:
    """The side template; x from the nose end and y from the underside of the blank, mm."""
    design, blank, figures = car.design, car.design.blank, setting.figures
    wood = _blank_polygon(blank)
    body = rough_polygon(design.profile)
    length = blank.length_mm
    foot = min(0.0, design.profile.bounds[1])

    waste = Waste(wood, body)
    items: list[Item] = waste.items
    corners = [(float(x), float(y)) for x, y in wood.exterior.coords[:-1]]
    items.append(polygon(corners, Layer.BLANK))
    items += stations(
        ((0.0, blank.height_nose_mm), (length, blank.height_tail_mm)), ((0.0, 0.0), (length, 0.0)), figures
    )
    ink: list[shapely.Geometry] = []
    bore = car.body.bore
    bored: shapely.Geometry | None = None
    if bore is not None:
        items += hidden_bore(bore, length, figures)
        bored = shapely.Polygon(bore_corners(bore, length))
        ink.append(bored)
    items += _hidden_pilots(car, ink)
    tight = draw_relief(design.profile, waste, setting.blade)
    items += tight.items
    ink += tight.ink
    items.append(trace([ring.curves for ring in design.profile.rings], Layer.CUT))
    notes = _axle_notes(car, figures) + _eye_notes(car, figures)
    for axle in design.axles:
        items += hole_mark((axle.x_mm, axle.height_mm), axle.hole_mm)
        ink.append(shapely.Point(axle.x_mm, axle.height_mm).buffer(axle.hole_mm / 2 + 2.0))
    ink += [shapely.LineString([(note.x, note.stem_from), (note.x, foot - 1.0)]) for note in notes]
    wanted = list(tight.words)
    if setting.offset_mm:
        chains = saw_lines(design.profile, wood, setting.offset_mm)
        items += saw_items(chains)
        wanted += saw_words(chains, setting.offset_mm, figures)
    items += gauge_lines(waste, setting, 1.0, ink, bored)
    if bore is not None:
        wanted += words_outside(bore, length, figures)
    items += label_blank(waste, ink, setting, "side", wanted)
    items += hole_notes(notes, foot, (0.0, length), setting.seams)

    strips = [seam + side for seam in setting.seams for side in (-SEAM_MM, SEAM_MM)]
    middle, gap = free_stretch(0.0, length, [*(note.x for note in notes), *strips])
    if gap > datum_width_mm("UNDERSIDE") + 2.0:
        items += datum_edge("UNDERSIDE", (middle, 0.0 if foot > -0.1 else foot))
    items += _end_names(design, bore, figures)
    where = "glue it on the left side: the nose end is to your left"
    inside = wood.buffer(ROUGH_MM).covers(body)
    highest = max(blank.height_nose_mm, blank.height_tail_mm, design.profile.bounds[3])

    def edge_top(x0: float, x1: float) -> float:
        return max(blank.height_at(x0), blank.height_at(x1)) if inside else highest

    items += title_row("SIDE TEMPLATE", where, figures, length, edge_top)
    return panel("side", items)


def _blank_polygon(blank: Blank) -> shapely.Polygon:
    length = blank.length_mm
    return shapely.Polygon([(0, 0), (length, 0), (length, blank.height_tail_mm), (0, blank.height_nose_mm)])


def _hidden_pilots(car: Car, ink: list[shapely.Geometry]) -> list[Item]:
    items: list[Item] = []
    for pilot in car.body.pilots:
        left, right, top = pilot.x - pilot.radius, pilot.x + pilot.radius, pilot.z + pilot.depth
        corners = ((left, pilot.z), (left, top), (right, top), (right, pilot.z))
        items.append(polyline(corners, Layer.HIDDEN))
        items.append(line((pilot.x, pilot.z - 1.0), (pilot.x, top + 2.0), Layer.CENTRE, Pen.NARROW))
        ink.append(shapely.box(left, pilot.z, right, top + 2.0))
    return items


def axle_name(axle: AxleSet) -> str:
    """What an axle is called on paper."""
    return f"{axle.end.value} axle"


def _axle_notes(car: Car, figures: Figures) -> list[HoleNote]:
    return [
        HoleNote(
            axle.x_mm,
            axle.height_mm - axle.hole_mm / 2 - 2.6,
            (
                f"{axle_name(axle)}, Ø {figures.number(axle.hole_mm)}",
                f"{figures.number(axle.x_mm)} from nose end",
                f"{figures.number(axle.height_mm)} from underside",
            ),
        )
        for axle in car.design.axles
    ]


def eye_name(car: Car, index: int) -> str:
    """What a screw eye is called on paper: by its end when there are two, else by its number."""
    eyes = car.design.eyes
    if len(eyes) > 2:
        order = sorted(range(len(eyes)), key=lambda k: eyes[k].x_mm)
        return f"screw eye {order.index(index) + 1}"
    for end in AxleEnd:
        near = car.eye_near(end)
        if near is not None and near[1] == index and len(eyes) == 2:
            return f"{end.value} screw eye"
    return "screw eye"


def _eye_notes(car: Car, figures: Figures) -> list[HoleNote]:
    notes = []
    for index, (place, pilot) in enumerate(zip(car.design.eyes, car.body.eye_pilots, strict=True)):
        lines = [eye_name(car, index), f"{figures.number(place.x_mm)} from nose end"]
        if place.offset_mm:
            lines.append(f"{figures.number(abs(place.offset_mm))} off the centre line")
        if pilot is not None:
            sizes = (f"Ø {figures.number(2 * pilot.radius)}", f"{figures.number(pilot.depth)} deep")
            # Inches with their decimals are too long for one line.
            lines += sizes if figures.unit is LengthUnit.IN else (", ".join(sizes),)
        foot = 0.0 if pilot is None else pilot.z
        notes.append(HoleNote(place.x_mm, foot - 1.2, tuple(lines), minor=True))
    return notes


def _end_names(design: Design, bore: BoreHole | None, figures: Figures) -> list[Item]:
    """The names of both ends, and the height of the bore where it is drilled into the tail end."""
    blank = design.blank
    length, height = blank.length_mm, blank.height_tail_mm
    items: list[Item] = []
    at_nose = (0.0, blank.height_nose_mm / 2)
    if datum_width_mm("NOSE END") < blank.height_nose_mm:
        items += datum_edge("NOSE END", at_nose, upright=True, nose=True)
    else:
        items.append(edge_name("NOSE END", at_nose, upright=True, nose=True))
    low, high = 0.0, height
    if bore is not None:
        _, low_end, high_end, _ = bore_corners(bore, length)
        at = (low_end[1] + high_end[1]) / 2
        if at > 1.0:
            end = max(length, bore.x)
            items += dimension((end, 0.0), (end, at), figures.number(at), -7.0, math.pi / 2)
        low, high = (at, height) if height - at >= at else (0.0, at)
    tail = "TAIL END"
    sticks_out = design.profile.bounds[2] > length + 1.0
    if text_width_mm(tail, SMALL_MM, bold=True) + 4.0 < high - low and not sticks_out:
        items.append(edge_name(tail, (length, (low + high) / 2), upright=True))
    return items

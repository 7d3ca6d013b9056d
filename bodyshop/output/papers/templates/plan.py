"""The plan template: the top view in its blank, for the face of the blank that it is glued to."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from bodyshop.car.assembly import Car
from bodyshop.car.stock.blanks import Blank
from bodyshop.drawing.layout.dimensions import Figures
from bodyshop.drawing.layout.free_space import FreeSpace
from bodyshop.drawing.layout.marks import centre_mark, hole_mark
from bodyshop.drawing.sheet.items import Group, Item, Text
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import circle, line, polyline, rectangle, trace
from bodyshop.geometry.affine import Affine
from bodyshop.geometry.outlines import Outline
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.templates.faces import BlankFace, badge, corner_marks, face_map, face_words, laid
from bodyshop.output.papers.templates.gauges import gauge_lines
from bodyshop.output.papers.templates.hole_notes import (
    LevelDimension,
    bore_corners,
    dimension_rows,
    free_stretch,
)
from bodyshop.output.papers.templates.labels import LabelRequest, label_blank, rough_polygon
from bodyshop.output.papers.templates.saw_lines import draw_relief, saw_items, saw_lines, saw_words
from bodyshop.output.papers.templates.view import (
    NOTE_MM,
    RULER_MM,
    SEAM_MM,
    SMALL_MM,
    Panel,
    TemplateSettings,
    datum_edge,
    datum_width_mm,
    edge_name,
    panel,
    pitch,
    stations,
    title_row,
)
from bodyshop.output.papers.templates.waste import Waste

__all__ = ["plan_panel"]

_AXIS_OVER_MM = 4.0
_STRETCHED = 1e-9
_NO_WASTE_MM = 0.005


def plan_panel(car: Car, setting: TemplateSettings, face: BlankFace, *, alone: bool = True) -> Panel:
    """The plan template; x from the nose end and y from the centre line, mm, as `face_map` lays them.

    Not `alone` when a template for another face is printed too: each then says that it is one of two.
    """
    design, blank = car.design, car.design.blank
    place, figures = face_map(face, blank), setting.figures
    half = blank.width_mm / 2
    seen = Waste(shapely.box(0.0, -half, blank.length_mm, half), rough_polygon(design.plan))
    wood, body = laid(seen.blank, place), laid(seen.car, place)
    length = wood.bounds[2]
    low, high = min(-half, body.bounds[1]), max(half, body.bounds[3])

    waste = Waste(wood, body)
    items: list[Item] = waste.items
    items.append(rectangle(Rect(0.0, -half, length, 2 * half), Layer.BLANK))
    items += stations(((0.0, half), (length, half)), ((0.0, -half), (length, -half)), figures, place.a)
    items.append(line((-_AXIS_OVER_MM, 0.0), (length + _AXIS_OVER_MM, 0.0), Layer.CENTRE))
    ink: list[shapely.Geometry] = [shapely.box(0.0, -0.4, length, 0.4)]
    hidden, bore_box = _hidden_bore(car, figures, place)
    items += hidden
    if bore_box is not None:
        ink.append(bore_box)
    items += _axle_lines(car, low, high, place, ink)
    items += _eyes(car, face, place, ink)
    tight = draw_relief(design.plan, seen, setting.blade, place)
    items += tight.items
    ink += tight.ink
    wanted = [LabelRequest("centre line", (0.72 * length, -2.4)), *tight.words]
    if setting.offset_mm:
        chains = saw_lines(design.plan, seen.blank, setting.offset_mm)
        items += saw_items(chains, place)
        wanted += saw_words([tuple(map(place.point, chain)) for chain in chains], setting.offset_mm, figures)
    items.append(_cut(design.plan, place))
    marks, marked = corner_marks(face, blank, Rect(0.0, -half, length, 2 * half), body)
    items += marks
    ink += marked
    items += gauge_lines(waste, setting, place.a, ink, bore_box)
    items += label_blank(waste, ink, setting, face.value, wanted, badge(face, blank))
    spans = _spans(car, figures, body, low, place)
    items += dimension_rows(spans, low - 3.5, setting.seams)
    taken = [x for span in spans for x in (span.start[0], span.end[0])]
    taken += [seam + side for seam in setting.seams for side in (-SEAM_MM, SEAM_MM)]
    items += _names(blank, face, length, taken, low, sticks_out=body.bounds[2] > length + 1.0)

    words = face_words(face, blank, alone=alone)
    top = high
    if words.beware:
        items.append(Text(words.beware, (0.0, top + RULER_MM), NOTE_MM))
        top += pitch() + 1.0
    items += title_row(words.name, words.where, figures, length, lambda _x0, _x1: top)
    return panel(face.value, items)


def _cut(plan: Outline, place: Affine) -> Item:
    path = trace([ring.curves for ring in plan.rings], Layer.CUT)
    return path if place == Affine() else Group(place, (path,))


def _hidden_bore(car: Car, figures: Figures, place: Affine) -> tuple[list[Item], shapely.Geometry | None]:
    """The bore as it lies on the paper, and the box that labels keep off."""
    bore = car.body.bore
    if bore is None:
        return [], None
    corners = bore_corners(bore, car.design.blank.length_mm)
    xs = [corner[0] for corner in corners]
    box = shapely.box(min(xs), bore.y - bore.radius, max(xs), bore.y + bore.radius)
    left, low, right, high = box.bounds
    items: list[Item] = [polyline(((right, low), (left, low), (left, high), (right, high)), Layer.HIDDEN)]
    if bore.y:
        items.append(line((left - 5.0, bore.y), (right, bore.y), Layer.CENTRE))
    axles = [shapely.box(a.x_mm - a.hole_mm, low, a.x_mm + a.hole_mm, high) for a in car.design.axles]
    middle = (left + min(bore.x, right)) / 2
    places = FreeSpace(
        shapely.box(left, low, min(bore.x, right), high),
        [shapely.box(left, bore.y - 0.4, right, bore.y + 0.4), *axles],
    )
    words = f"bore Ø {figures.number(2 * bore.radius)}"
    rect = places.place(text_width_mm(words, NOTE_MM), NOTE_MM, (middle, bore.y + 1.4 + NOTE_MM / 2))
    if rect is not None:
        items.append(Text(words, (rect.x, rect.y), NOTE_MM, layer=Layer.DIMENSION))
    return [Group(place, tuple(items))], laid(box, place)


def _axle_lines(car: Car, low: float, high: float, place: Affine, ink: list[shapely.Geometry]) -> list[Item]:
    """The axle centre lines across the blank, and the hidden edges of their holes in the wood."""
    items: list[Item] = []
    for axle in car.design.axles:
        x, radius = place.a * axle.x_mm, place.a * axle.hole_mm / 2
        items.append(line((x, low - _AXIS_OVER_MM), (x, high - 1.5), Layer.CENTRE))
        stack = car.stack(axle.end)
        if stack is not None:
            reach = max(abs(face) for face in stack.faces)
            items += [line((side, -reach), (side, reach), Layer.HIDDEN) for side in (x - radius, x + radius)]
        ink.append(shapely.box(x - radius - 0.5, low, x + radius + 0.5, high))
    return items


def _eyes(car: Car, face: BlankFace, place: Affine, ink: list[shapely.Geometry]) -> list[Item]:
    """Screw-eye holes: seen on the underside, hidden on the top."""
    items: list[Item] = []
    for eye in car.design.eyes:
        at, radius = place.point((eye.x_mm, eye.offset_mm)), eye.eye.pilot_diameter_mm / 2
        if face is BlankFace.UNDERSIDE:
            items += hole_mark(at, 2 * radius)
        else:
            there = (eye.x_mm, eye.offset_mm)
            items.append(Group(place, (circle(there, radius, Layer.HIDDEN, Pen.NARROW),)))
            items += centre_mark(at, radius + 1.5)
        ink.append(shapely.Point(at).buffer(radius + 2.5))
    return items


def _spans(
    car: Car, figures: Figures, body: shapely.Geometry, low: float, place: Affine
) -> list[LevelDimension]:
    """Wheelbase, body length, and the bore's depth in the car and from the blank's tail end.

    On a slope each says the true length, and what it measures on the paper.
    """
    front, rear = car.design.axles
    below = low - _AXIS_OVER_MM
    stretched = abs(place.a - 1.0) > _STRETCHED
    nose, tail = place.a * car.body.x_nose, place.a * car.body.x_tail

    def span(
        start: tuple[float, float], end: tuple[float, float], name: str, after: str = ""
    ) -> LevelDimension:
        long = end[0] - start[0]
        words = f"{name} {figures.number(long / place.a)}{after}"
        if stretched:
            words += f", on the slope {figures.number(long)}"
        return LevelDimension(start, end, words)

    spans = [
        span((place.a * front.x_mm, below), (place.a * rear.x_mm, below), "wheelbase"),
        span((nose, _lowest(body, nose, low)), (tail, _lowest(body, tail, low)), "body"),
    ]
    bore = car.body.bore
    # The slope would only make its figures doubtful: side and tail end have them true.
    if bore is not None and not bore.tilt and not stretched:
        level = place.point((0.0, bore.y))[1] - bore.radius
        blind, mouth = place.a * (bore.x - bore.depth), place.a * bore.x
        end = max(place.a * car.design.blank.length_mm, mouth)
        waste = end - mouth > _NO_WASTE_MM
        spans.append(span((blind, level), (mouth, level), "bore", " deep in the car" if waste else " deep"))
        if waste:
            spans.append(span((blind, level), (end, level), "drill", " from tail end"))
    return spans


def _lowest(body: shapely.Geometry, x: float, default: float) -> float:
    """The lowest point of the plan at an end, where the extension line of its length starts."""
    points = shapely.get_coordinates(body)
    near = points[abs(points[:, 0] - x) < 0.5]
    return float(near[:, 1].min()) if near.size else default


def _names(
    blank: Blank, face: BlankFace, length: float, taken: Sequence[float], low: float, *, sticks_out: bool
) -> list[Item]:
    """The names of both ends, and of the long edge at the foot of the paper."""
    items: list[Item] = []
    # Off the centre line, which runs on past both ends.
    quarter, room = blank.width_mm / 4, blank.width_mm / 2 - 0.5
    if datum_width_mm("NOSE END", stacked=True) < room:
        items += datum_edge("NOSE END", (0.0, quarter), upright=True, nose=True, stacked=True)
    else:
        items.append(edge_name("NOSE END", (0.0, quarter), upright=True, nose=True))
    if not sticks_out and text_width_mm("TAIL END", SMALL_MM, bold=True) < room:
        items.append(edge_name("TAIL END", (length, quarter), upright=True))
    side = "RIGHT SIDE" if face is BlankFace.UNDERSIDE else "LEFT SIDE"
    middle, gap = free_stretch(0.0, length, taken)
    if low > -blank.width_mm / 2 - 0.1 and gap > datum_width_mm(side) + 2.0:
        items += datum_edge(side, (middle, -blank.width_mm / 2))
    return items

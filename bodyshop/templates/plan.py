"""The plan template: the top view in its blank, for the face of the blank that it is glued to."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import shapely

from bodyshop.assembly import Car
from bodyshop.drawing.affine import Affine
from bodyshop.drawing.items import Group, Item, Rect, Text
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.marks import centre_mark, hole_mark
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import circle, line, polyline, rectangle
from bodyshop.drawing.tracing import trace
from bodyshop.outline import Outline
from bodyshop.stock.blanks import Blank
from bodyshop.templates.below import Span, dimension_rows
from bodyshop.templates.bore import bore_corners
from bodyshop.templates.figures import Figures
from bodyshop.templates.labels import Wanted, label_blank
from bodyshop.templates.relief import draw_relief
from bodyshop.templates.spots import Spots, rough_polygon
from bodyshop.templates.view import (
    NOTE_MM,
    RULER_MM,
    Panel,
    Setting,
    edge_name,
    panel,
    pitch,
    stations,
    title_row,
)
from bodyshop.templates.waste import Waste

__all__ = ["Face", "FaceWords", "face_for", "face_map", "face_outline", "face_words", "plan_panel"]

_AXIS_OVER_MM = 4.0


class Face(Enum):
    """The face of the blank that a plan template is for."""

    TOP = "top"
    """A level top face, seen from above."""
    UNDERSIDE = "underside"
    """The flat underside, seen from below: mirrored in the centre line."""


@dataclass(frozen=True, slots=True)
class FaceWords:
    """How a plan template for a face says so: its name, what to do with it, and what not to."""

    name: str
    where: str
    beware: str = ""


_WORDS = {
    Face.TOP: FaceWords("TOP TEMPLATE", "seen from above, for the top face"),
    Face.UNDERSIDE: FaceWords(
        "PLAN TEMPLATE FOR THE UNDERSIDE",
        "seen from below",
        "Not for the sloping top: not stretched along the slope. Level the underside before you saw.",
    ),
}


def face_for(blank: Blank) -> Face:
    """The face that a plan is laid on: the top, unless it slopes."""
    return Face.UNDERSIDE if blank.is_wedge else Face.TOP


def face_map(face: Face) -> Affine:
    """From the design's plan, (x, y), to the paper laid on that face with the nose end to the left.

    Seen from below the car's two sides change places; along the length nothing changes.
    """
    return Affine.mirror_y() if face is Face.UNDERSIDE else Affine()


def face_outline(plan: Outline, face: Face) -> Outline:
    """The plan as it lies on paper for that face."""
    if face is Face.TOP:
        return plan
    return Outline(plan.outer.mirrored(), tuple(window.mirrored() for window in plan.windows))


def face_words(face: Face) -> FaceWords:
    """The words for a face."""
    return _WORDS[face]


def plan_panel(car: Car, setting: Setting, face: Face) -> Panel:
    """The plan template; x from the nose end and y from the centre line, mm, as `face_map` turns them."""
    design, blank, place = car.design, car.design.blank, face_map(face)
    figures = setting.figures
    length, half = blank.length_mm, blank.width_mm / 2
    wood = shapely.box(0.0, -half, length, half)
    outline = face_outline(design.plan, face)
    body = rough_polygon(outline)
    low, high = min(-half, body.bounds[1]), max(half, body.bounds[3])

    waste = Waste(wood, body)
    items: list[Item] = waste.items
    items.append(rectangle(Rect(0.0, -half, length, 2 * half), Layer.BLANK))
    items += stations(((0.0, half), (length, half)), ((0.0, -half), (length, -half)), figures)
    items.append(line((-_AXIS_OVER_MM, 0.0), (length + _AXIS_OVER_MM, 0.0), Layer.CENTRE))
    ink: list[shapely.Geometry] = [shapely.box(0.0, -0.4, length, 0.4)]
    hidden, bore_box = _hidden_bore(car, figures)
    items.append(Group(place, tuple(hidden)))
    if bore_box is not None:
        ink.append(shapely.transform(bore_box, lambda p: p * [1.0, place.d]))
    items += _axle_lines(car, low, high, ink)
    items += _eyes(car, face, place, ink)
    tight = draw_relief(outline, waste, setting.blade)
    items += tight.items
    ink += tight.ink
    items.append(trace([ring.curves for ring in outline.rings], Layer.CUT))
    items += label_blank(waste, ink, setting, face.value, [Wanted("centre line", (0.72 * length, -2.4))])
    items += dimension_rows(_spans(car, figures, body, low, place), low - 3.5, setting.seams)

    items += _names(blank, sticks_out=body.bounds[2] > length + 1.0)
    words = face_words(face)
    top = high
    if words.beware:
        items.append(Text(words.beware, (0.0, top + RULER_MM), NOTE_MM))
        top += pitch() + 1.0
    items += title_row(words.name, words.where, figures, length, lambda _x0, _x1: top)
    return panel("plan", items)


def _hidden_bore(car: Car, figures: Figures) -> tuple[list[Item], shapely.Geometry | None]:
    """The bore in the design's plan, and the box that labels keep off."""
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
    spots = Spots(
        shapely.box(left, low, min(bore.x, right), high),
        [shapely.box(left, bore.y - 0.4, right, bore.y + 0.4), *axles],
    )
    words = f"bore Ø {figures.number(2 * bore.radius)}"
    rect = spots.place(text_width_mm(words, NOTE_MM), NOTE_MM, (middle, bore.y + 1.4 + NOTE_MM / 2))
    if rect is not None:
        items.append(Text(words, (rect.x, rect.y), NOTE_MM, layer=Layer.DIMENSION))
    return items, box


def _axle_lines(car: Car, low: float, high: float, ink: list[shapely.Geometry]) -> list[Item]:
    """The axle centre lines across the blank, and the hidden edges of their holes in the wood."""
    items: list[Item] = []
    for axle in car.design.axles:
        x, radius = axle.x_mm, axle.hole_mm / 2
        items.append(line((x, low - _AXIS_OVER_MM), (x, high - 1.5), Layer.CENTRE))
        stack = car.stack(axle.end)
        if stack is not None:
            reach = max(abs(face) for face in stack.faces)
            items += [line((side, -reach), (side, reach), Layer.HIDDEN) for side in (x - radius, x + radius)]
        ink.append(shapely.box(x - radius - 0.5, low, x + radius + 0.5, high))
    return items


def _eyes(car: Car, face: Face, place: Affine, ink: list[shapely.Geometry]) -> list[Item]:
    """Screw-eye holes: seen on the underside, hidden on the top."""
    items: list[Item] = []
    for eye in car.design.eyes:
        at, radius = place.point((eye.x_mm, eye.offset_mm)), eye.eye.pilot_diameter_mm / 2
        if face is Face.UNDERSIDE:
            items += hole_mark(at, 2 * radius)
        else:
            items.append(circle(at, radius, Layer.HIDDEN, Pen.NARROW))
            items += centre_mark(at, radius + 1.5)
        ink.append(shapely.Point(at).buffer(radius + 2.5))
    return items


def _spans(car: Car, figures: Figures, body: shapely.Geometry, low: float, place: Affine) -> list[Span]:
    """Wheelbase, body length, and the bore's depth in the car."""
    front, rear = car.design.axles
    below = low - _AXIS_OVER_MM
    wheelbase = rear.x_mm - front.x_mm
    spans = [
        Span((front.x_mm, below), (rear.x_mm, below), f"wheelbase {figures.number(wheelbase)}"),
        Span(
            (car.body.x_nose, _lowest(body, car.body.x_nose, low)),
            (car.body.x_tail, _lowest(body, car.body.x_tail, low)),
            f"body {figures.number(car.body.x_tail - car.body.x_nose)}",
        ),
    ]
    bore = car.body.bore
    if bore is not None and not bore.tilt:
        level = place.point((0.0, bore.y))[1] - bore.radius
        spans.append(
            Span((bore.x - bore.depth, level), (bore.x, level), f"bore {figures.number(bore.depth)} deep")
        )
    return spans


def _lowest(body: shapely.Geometry, x: float, default: float) -> float:
    """The lowest point of the plan at an end, where the extension line of its length starts."""
    points = shapely.get_coordinates(body)
    near = points[abs(points[:, 0] - x) < 0.5]
    return float(near[:, 1].min()) if near.size else default


def _names(blank: Blank, *, sticks_out: bool) -> list[Item]:
    """The names of both ends."""
    items: list[Item] = []
    for words, x, nose in (("NOSE END – datum edge", 0.0, True), ("TAIL END", blank.length_mm, False)):
        shown = words if text_width_mm(words, 2.2, bold=True) < blank.width_mm / 2 - 2.0 else words[:8]
        if sticks_out and not nose:
            continue
        # Off the centre line, which runs on past both ends.
        items.append(edge_name(shown, (x, blank.width_mm / 4), upright=True, nose=nose))
    return items

"""Exploded drawings of each axle, and the underside with its screw eyes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from bodyshop.car.assembly import AxleStack, Car
from bodyshop.drawing.layout.blocks import Block, paragraph
from bodyshop.drawing.layout.dimensions import (
    DimensionStyle,
    Figures,
    arrowhead,
    dimension,
    scale_text,
    spread,
)
from bodyshop.drawing.sheet.items import Anchor, Item, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import circle, line, polygon, polyline, rectangle
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import Rect
from bodyshop.output.papers.buildsheet.lengths import AxleCut, EyePosition

__all__ = ["SCALES", "exploded_axle", "exploded_size", "underside"]


_TEXT_MM: Final = 2.0
_ROUGH_MM: Final = 0.02
_ENDS_MM: Final = 14.0
_ROW_MM: Final = 5.5
_MOST_ROWS: Final = 4
_APART_MM: Final = 45.0
_STYLE: Final = DimensionStyle(text_mm=_TEXT_MM)


def underside(
    car: Car, spots: tuple[EyePosition, ...], figures: Figures, width_mm: float
) -> tuple[Block, str]:
    """The drawing from (0, 0) downwards, nose to the left, the car's right side below; and its scale."""
    x0, _, _, x1, _, _ = car.body.bounds
    x0, x1 = min(x0, 0.0), max(x1, x0 + 1.0)
    scale = next((s for s in SCALES if (x1 - x0) * s + 2 * _ENDS_MM <= width_mm), SCALES[-1])
    shape = car.design.plan.polygon(_ROUGH_MM).exterior.coords
    half = max(abs(y) for _, y in shape) * scale
    top = -6.5 - 4.0
    middle = top - half
    left = (width_mm - (x1 - x0) * scale) / 2

    def at(x: float, y: float = 0.0) -> tuple[float, float]:
        return (left + (x - x0) * scale, middle - y * scale)

    items: list[Item] = [
        Text(
            f"Screw eyes, the car seen from below, scale {scale_text(scale)}",
            (0.0, -2.6),
            2.4,
            weight=Weight.BOLD,
        ),
        polygon([at(x, y) for x, y in shape], Layer.OUTLINE, Pen.NARROW),
        line((at(x0)[0] - 5.0, middle), (at(x1)[0] + 5.0, middle), Layer.CENTRE),
        Text("nose", (at(x0)[0] - 6.0, middle - _TEXT_MM / 2), _TEXT_MM, Anchor.END),
        Text("tail", (at(x1)[0] + 6.0, middle - _TEXT_MM / 2), _TEXT_MM),
    ]
    for axle in car.design.axles:
        x = at(axle.x_mm)[0]
        items.append(line((x, middle - half - 2.0), (x, top + 2.0), Layer.CENTRE))
        items.append(Text(f"{axle.end.value} axle", (x, top + 3.0), _TEXT_MM, Anchor.MIDDLE))
    foot = middle - half
    # Eyes that stand near each other have rows of their own, so that their figures cannot meet.
    row, rows, before = 0, 0, -math.inf
    for point in spots:
        where = at(point.place.x_mm, point.place.offset_mm)
        ring = max(point.place.eye.ring_outer_mm / 2 * scale, 0.8)
        items.append(circle(where, 0.5, Layer.HOLE))
        # The ring faces nose and tail: from below it is seen edge on, across the car.
        items.append(line((where[0], where[1] - ring), (where[0], where[1] + ring), Layer.OUTLINE, Pen.CUT))
        axle_x = at(point.place.x_mm - point.behind_mm)[0]
        if abs(axle_x - where[0]) > 0.05 and row < _MOST_ROWS:
            row = row + 1 if min(axle_x, where[0]) < before + _APART_MM else 0
            before, rows = max(axle_x, where[0], before), max(rows, row + 1)
            down = foot - 5.0 - row * _ROW_MM
            words = figures.number(abs(point.behind_mm))
            first, last = sorted((axle_x, where[0]))
            if text_width_mm(words, _TEXT_MM) < width_mm:
                items += dimension((first, foot), (last, foot), words, down - foot, 0.0, _STYLE)
    return Block(tuple(items), -(foot - 1.5 - rows * _ROW_MM - 1.0)), scale_text(scale)


SCALES: Final = (2.0, 1.0, 0.5, 0.2, 0.1)
"""Scales of ISO 5455 (from memory), the largest first."""

_LINE_MM: Final = 3.6
_HEADING_MM: Final = 6.5
_STEM_MM: Final = 5.0
_GAP_MM: Final = 7.0
_BETWEEN_WASHERS_MM: Final = 1.6
_MOST_WASHERS: Final = 6
_MARGIN_MM: Final = 9.0
_ROD_MM: Final = 5.0
_DIMENSION_MM: Final = 8.0
_OVER_WHEEL_MM: Final = 4.0


@dataclass(frozen=True, slots=True)
class _Label:
    """Words, and the point of a part that they are about."""

    tip: Point
    lines: tuple[str, ...]

    @property
    def width(self) -> float:
        return max(text_width_mm(words, _TEXT_MM) for words in self.lines)


@dataclass(frozen=True, slots=True)
class _Sizes:
    """Paper sizes of one exploded axle, mm."""

    wheel: float
    washers: float
    body: float
    bearing: float
    rod: float
    thick: float
    body_up: float
    body_down: float
    wheel_radius: float
    is_broken: bool

    @property
    def up(self) -> float:
        """From the axis to the highest of wheel and body."""
        return max(self.body_up, self.wheel_radius)

    @property
    def down(self) -> float:
        """From the axis to the lowest."""
        return max(self.body_down, self.wheel_radius)

    @property
    def row(self) -> float:
        """Length of the row of parts."""
        parts = [self.wheel, self.washers, self.body, self.bearing, self.washers, self.wheel]
        parts = [part for part in parts if part > 0.0]
        return sum(parts) + _GAP_MM * (len(parts) - 1)

    @property
    def width(self) -> float:
        return max(self.row, self.rod) + 2 * _MARGIN_MM

    @property
    def height(self) -> float:
        labels = 2 * (_STEM_MM + 2 * _LINE_MM)
        return _HEADING_MM + labels + self.up + self.down + _ROD_MM + _DIMENSION_MM + self.thick / 2


def exploded_size(cut: AxleCut, car: Car, scale: float) -> tuple[float, float]:
    """Width and height on paper, mm."""
    if cut.stack is None:
        return (0.0, 2 * _HEADING_MM)
    sizes = _sizes(cut, cut.stack, car, scale)
    return (sizes.width, sizes.height)


def exploded_axle(cut: AxleCut, car: Car, figures: Figures, scale: float, width_mm: float) -> Block:
    """The drawing, from (0, 0) downwards, in the middle of `width_mm`."""
    end = cut.axle.end.value
    title = f"{end.capitalize()} axle, exploded view, seen from the tail, scale {scale_text(scale)}"
    heading = Text(title, (0.0, -2.6), 2.4, weight=Weight.BOLD)
    stack = cut.stack
    if stack is None:
        words = f"The {end} axle hole is not in wood: there is no width to measure, so nothing can be drawn."
        told = paragraph(words, (0.0, -4.4), width_mm, _TEXT_MM)
        return Block((heading, *told.items), 4.4 + told.height_mm)
    sizes = _sizes(cut, stack, car, scale)
    axis = -_HEADING_MM - _STEM_MM - 2 * _LINE_MM - sizes.up
    left = (width_mm - sizes.row) / 2
    row = _Row(cut, stack, figures, scale, axis)
    row.lay(left, sizes)
    items: list[Item] = [heading]
    items.append(line((left - 6.0, axis), (left + sizes.row + 6.0, axis), Layer.CENTRE))
    items += row.items
    over, under = axis + sizes.up + _STEM_MM, axis - sizes.down - _STEM_MM
    items += _labels(row.above, over + 1.0, above=True)
    items += _labels(row.below, under - 1.0, above=False)
    items += _rod(cut, stack, figures, scale, (width_mm / 2, under - 2 * _LINE_MM - _ROD_MM), (left, axis))
    return Block(tuple(items), sizes.height)


def _sizes(cut: AxleCut, stack: AxleStack, car: Car, scale: float) -> _Sizes:
    axle = cut.axle
    low, high = _wheel_ends(cut)
    shown = min(axle.washers, _MOST_WASHERS) if axle.washer else 0
    washers = 0.0
    if axle.washer and shown:
        washers = shown * axle.washer.thickness_mm * scale + (shown - 1) * _BETWEEN_WASHERS_MM
    levels = car.body.height_at(axle.x_mm)
    bottom, top = levels if levels is not None else (axle.height_mm - 5.0, axle.height_mm + 5.0)
    most = axle.wheel.radius_mm + _OVER_WHEEL_MM
    return _Sizes(
        wheel=(high - low) * scale,
        washers=washers,
        body=stack.body_width_mm * scale,
        bearing=stack.bearing_length_mm * scale,
        rod=stack.axle_length_mm * scale,
        thick=axle.axle.diameter_mm * scale,
        body_up=min(max(top - axle.height_mm, axle.hole_mm / 2), most) * scale,
        body_down=min(max(axle.height_mm - bottom, axle.hole_mm / 2), most) * scale,
        wheel_radius=axle.wheel.radius_mm * scale,
        is_broken=top - axle.height_mm > most,
    )


def _wheel_ends(cut: AxleCut) -> tuple[float, float]:
    """From the hub's inner end: the wheel's innermost and outermost points, outward."""
    wheel = cut.axle.wheel
    return min(0.0, wheel.hub_inboard_mm), max(wheel.hub_length_mm, wheel.hub_inboard_mm + wheel.width_mm)


class _Row:
    """The parts side by side on the axis, with the labels over and under them."""

    def __init__(self, cut: AxleCut, stack: AxleStack, figures: Figures, scale: float, axis: float) -> None:
        self.items: list[Item] = []
        self.above: list[_Label] = []
        self.below: list[_Label] = []
        self._cut = cut
        self._stack = stack
        self._figures = figures
        self._scale = scale
        self._axis = axis

    def lay(self, x: float, sizes: _Sizes) -> None:
        """All parts from left to right."""
        self._wheel(x, sizes, outward=-1)
        x += sizes.wheel + _GAP_MM
        x = self._washers(x, sizes)
        self._body(x, sizes)
        x += sizes.body + _GAP_MM
        if sizes.bearing:
            self._bearing(x, sizes)
            x += sizes.bearing + _GAP_MM
        x = self._washers(x, sizes)
        self._wheel(x, sizes, outward=1)

    def _tube(self, x: float, length: float, outer: float, inner: float, pen: Pen = Pen.VISIBLE) -> None:
        """A round part seen from its side, its hole hidden; sizes on paper."""
        box = Rect(x, self._axis - outer / 2, length, outer)
        self.items.append(rectangle(box, Layer.OUTLINE, pen, fill_grey=1.0))
        for side in (-1, 1) if length > 3.0 else ():
            y = self._axis + side * inner / 2
            self.items.append(line((x, y), (x + length, y), Layer.HIDDEN))

    def _wheel(self, x: float, sizes: _Sizes, *, outward: int) -> None:
        wheel, s = self._cut.axle.wheel, self._scale
        low, _ = _wheel_ends(self._cut)

        def place(start: float, length: float) -> float:
            at = (start - low) * s
            return x + at if outward > 0 else x + sizes.wheel - at - length * s

        hub = min(max(0.3 * wheel.diameter_mm, 2.2 * wheel.bore_mm), wheel.diameter_mm)
        self._tube(place(0.0, wheel.hub_length_mm), wheel.hub_length_mm * s, hub * s, wheel.bore_mm * s)
        tread = place(wheel.hub_inboard_mm, wheel.width_mm)
        self._tube(tread, wheel.width_mm * s, wheel.diameter_mm * s, wheel.bore_mm * s)
        side = "right" if outward > 0 else "left"
        size = f"{self._figures.hole(wheel.diameter_mm)}"
        tip = (tread + wheel.width_mm * s / 2, self._axis + wheel.radius_mm * s)
        self.above.append(_Label(tip, (f"{side} wheel, {self._cut.axle.end.value}", size)))

    def _washers(self, x: float, sizes: _Sizes) -> float:
        axle, washer = self._cut.axle, self._cut.axle.washer
        if washer is None or not sizes.washers:
            return x
        thick, outer = washer.thickness_mm * self._scale, washer.outer_mm * self._scale
        for k in range(min(axle.washers, _MOST_WASHERS)):
            at = x + k * (thick + _BETWEEN_WASHERS_MM)
            self._tube(at, thick, outer, washer.inner_mm * self._scale, Pen.NARROW)
        count = f"{axle.washers} washer{'' if axle.washers == 1 else 's'}"
        each = "" if axle.washers == 1 else " each"
        lines = (count, f"{self._figures.length(washer.thickness_mm)} thick{each}")
        self.below.append(_Label((x + sizes.washers / 2, self._axis - outer / 2), lines))
        return x + sizes.washers + _GAP_MM

    def _body(self, x: float, sizes: _Sizes) -> None:
        axle, s = self._cut.axle, self._scale
        top, right = self._axis + sizes.body_up, x + sizes.body
        low = self._axis - sizes.body_down
        corners = [(x, top), (x, low), (right, low), (right, top)]
        self.items.append(rectangle(Rect(x, low, sizes.body, top - low), Layer.OUTLINE, None, fill_grey=1.0))
        self.items.append(polyline(corners, Layer.OUTLINE, Pen.VISIBLE))
        if sizes.is_broken:
            mid, step = x + sizes.body / 2, min(1.5, sizes.body / 6)
            zigzag = [(x, top), (mid - 2 * step, top), (mid - step, top + step), (mid + step, top - step)]
            self.items.append(polyline([*zigzag, (mid + 2 * step, top), (right, top)], Layer.DIMENSION))
        else:
            self.items.append(line((x, top), (right, top), Layer.OUTLINE))
        for side in (-1, 1):
            y = self._axis + side * axle.hole_mm * s / 2
            self.items.append(line((x, y), (right, y), Layer.HIDDEN))
        self.items.append(line((x, self._axis), (right, self._axis), Layer.CENTRE))
        lines = ("body at the axle hole", f"{self._figures.length(self._stack.body_width_mm)} wide")
        self.above.append(_Label((x + sizes.body / 2 + min(4.0, sizes.body / 3), top), lines))

    def _bearing(self, x: float, sizes: _Sizes) -> None:
        bearing = self._cut.axle.bearing
        if bearing is None:
            return
        self._tube(x, sizes.bearing, bearing.outer_mm * self._scale, bearing.inner_mm * self._scale)
        size = (
            f"{self._figures.hole(bearing.outer_mm)}, {self._figures.length(self._stack.bearing_length_mm)}"
        )
        tip = (x + sizes.bearing / 2, self._axis - bearing.outer_mm * self._scale / 2)
        self.below.append(_Label(tip, ("bearing, pulled out of the body", f"{size} long")))


def _labels(labels: Sequence[_Label], level: float, *, above: bool) -> list[Item]:
    """Words in one row at `level`, each with a line and an arrow to its part."""
    if not labels:
        return []
    ordered = sorted(labels, key=lambda label: label.tip[0])
    pitch = (
        max((a.width + b.width) / 2 for a, b in zip(ordered, [*ordered[1:], ordered[-1]], strict=True)) + 3
    )
    places = spread([label.tip[0] for label in ordered], pitch)
    items: list[Item] = []
    side = 1.0 if above else -1.0
    for label, x in zip(ordered, places, strict=True):
        foot = (x, level - side * 0.6)
        knee = (label.tip[0], level - side * 3.2)
        points = [label.tip, knee, foot] if abs(x - knee[0]) > 0.05 else [label.tip, foot]
        items.append(polyline(points, Layer.DIMENSION))
        items.append(arrowhead(label.tip, -side * 1.5707963, 2.0))
        for k, words in enumerate(label.lines):
            rank = len(label.lines) - 1 - k if above else k
            y = level + rank * _LINE_MM if above else level - _TEXT_MM - rank * _LINE_MM
            items.append(Text(words, (x, y), _TEXT_MM, Anchor.MIDDLE, layer=Layer.DIMENSION))
    return items


def _rod(
    cut: AxleCut, stack: AxleStack, figures: Figures, scale: float, centre: Point, row: Point
) -> list[Item]:
    """The axle below the row, its length, and the way it goes in from the left."""
    length, thick = stack.axle_length_mm * scale, cut.axle.axle.diameter_mm * scale
    x, y = centre[0] - length / 2, centre[1]
    turn = min(x, row[0]) - 5.0
    way = [(x, y), (turn, y), (turn, row[1]), (row[0] - 1.0, row[1])]
    items: list[Item] = [
        polyline(way, Layer.CENTRE),
        arrowhead((row[0] - 0.5, row[1]), 0.0, 2.0),
        rectangle(Rect(x, y - thick / 2, length, thick), Layer.OUTLINE, Pen.VISIBLE, fill_grey=1.0),
        line((x, y), (x + length, y), Layer.CENTRE),
    ]
    name = f"axle {figures.hole(cut.axle.axle.diameter_mm)}"
    items.append(Text(name, (x + length + 2.0, y - _TEXT_MM / 2), _TEXT_MM, layer=Layer.DIMENSION))
    low = y - thick / 2
    items += dimension((x, low), (x + length, low), figures.number(stack.axle_length_mm), -4.5, 0.0, _STYLE)
    return items

"""A sheet as an SVG at full size: one user unit is one millimetre, arcs stay arcs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.lettering import FAMILY, font_size_mm
from bodyshop.drawing.sheet.pens import Layer, Pen, pen_style
from bodyshop.drawing.sheet.replay import ClipBegin, ClipEnd, InkedPath, Lettering, ellipse_axes, replay
from bodyshop.drawing.writers.meta import DocMeta, plain
from bodyshop.geometry.affine import Point
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, MoveTo, Segment

__all__ = ["write_svg"]

# A file that opens without our lettering falls back to these; the width of every line of text is then
# held by textLength.
_FAMILIES = f"'{FAMILY}', 'DejaVu Sans', sans-serif"


def write_svg(sheet: Sheet, meta: DocMeta) -> str:
    """An SVG document of exactly the sheet's size; the same text for the same sheet.

    Items of a layer are gathered, as far as the drawing order lets them, in groups whose class is the
    layer's name.

    >>> from bodyshop.drawing.sheet.items import Sheet
    >>> text = write_svg(Sheet(210, 297, ()), DocMeta("An empty sheet"))
    >>> 'width="210mm"' in text
    True
    """
    import svgwrite  # one of the packages that the project is built on

    width, height = _number(sheet.width_mm), _number(sheet.height_mm)
    drawing = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", debug=False
    )
    drawing.set_desc(title=plain(meta.title), desc=plain(_description(meta, sheet)))
    drawing.add(drawing.rect((0, 0), (width, height), fill="white", stroke="none"))
    _Page(drawing, sheet.height_mm).draw(sheet)
    return str(drawing.tostring()) + "\n"


def _description(meta: DocMeta, sheet: Sheet) -> str:
    parts = (sheet.name, meta.subject, meta.author, ", ".join(meta.keywords), "Print at actual size (100 %).")
    return ". ".join(part.rstrip(".") for part in parts if part) + "."


class _Page:
    """Adds elements to the drawing; the only place where y is turned over."""

    def __init__(self, drawing: Any, height_mm: float) -> None:
        self._drawing = drawing
        self._height_mm = height_mm
        self._parents: list[Any] = [drawing]
        self._group: Any = None
        self._kind: tuple[Layer, Pen | None] | None = None
        self._clips = 0

    def _at(self, point: Point) -> Point:
        return (point[0], self._height_mm - point[1])

    def draw(self, sheet: Sheet) -> None:
        for drawn in replay(sheet):
            match drawn:
                case InkedPath():
                    self._parent(drawn.layer, drawn.pen).add(self._ink(drawn))
                case Lettering():
                    self._parent(drawn.layer, None).add(self._text(drawn))
                case ClipBegin():
                    self._clip(drawn)
                case ClipEnd():
                    self._parents.pop()
                    self._kind = None

    def _parent(self, layer: Layer, pen: Pen | None) -> Any:
        """The group for a layer and pen: the current one when it is of that kind."""
        if self._kind != (layer, pen):
            self._kind = (layer, pen)
            group = self._drawing.g(class_=layer.value)
            if pen is None:
                group["stroke"] = "none"
            else:
                style = pen_style(pen)
                group["fill"] = "none"
                group["stroke"] = "black"
                group["stroke-width"] = _number(style.width_mm)
                group["stroke-linejoin"] = "round"
                group["stroke-linecap"] = "butt" if style.dashes_mm else "round"
                if style.dashes_mm:
                    group["stroke-dasharray"] = " ".join(map(_number, style.dashes_mm))
            self._group = group
            self._parents[-1].add(group)
        return self._group

    def _clip(self, clip: ClipBegin) -> None:
        self._clips += 1
        name = f"window-{self._clips}"
        path = self._drawing.clipPath(id=name)
        corners = " L".join(self._pair(corner) for corner in clip.corners)
        path.add(self._drawing.path(d=f"M{corners} Z"))
        self._drawing.defs.add(path)
        group = self._drawing.g(clip_path=f"url(#{name})")
        self._parents[-1].add(group)
        self._parents.append(group)
        self._kind = None

    def _ink(self, ink: InkedPath) -> Any:
        if ink.circle is not None:
            centre, radius = ink.circle
            x, y = self._at(centre)
            element = self._drawing.circle((_number(x), _number(y)), _number(radius))
        else:
            element = self._drawing.path(d=" ".join(self._steps(ink)))
        if ink.fill_grey is not None:
            element["fill"] = _grey(ink.fill_grey)
            element["fill-rule"] = "evenodd"
        return element

    def _steps(self, ink: InkedPath) -> Iterator[str]:
        for k, segment in enumerate(ink.segments):
            if isinstance(segment, MoveTo) and k and ink.closed:
                yield "Z"
            yield from self._step(segment)
        if ink.closed:
            yield "Z"

    def _step(self, segment: Segment) -> Iterator[str]:
        match segment:
            case MoveTo():
                yield f"M{self._pair(segment.end)}"
            case LineTo():
                yield f"L{self._pair(segment.end)}"
            case CubicTo():
                points = (segment.control_1, segment.control_2, segment.end)
                yield "C" + " ".join(map(self._pair, points))
            case ArcTo():
                yield from self._arc(segment)

    def _arc(self, arc: ArcTo) -> Iterator[str]:
        # SVG finds the centre from the ends; short arcs keep that well away from its singular cases.
        count = max(1, math.ceil(abs(arc.sweep_rad) / (math.pi / 2) - 1e-9))
        major, minor, turn = ellipse_axes(arc)
        turned = arc.half_a[0] * arc.half_b[1] - arc.half_a[1] * arc.half_b[0]
        # Turning y over turns the sense of every arc and the slope of every axis.
        flag = 0 if (arc.sweep_rad > 0) == (turned > 0) else 1
        tilt = 0.0 if arc.radius_mm is not None else -math.degrees(turn)
        for k in range(1, count + 1):
            end = arc.at(arc.start_rad + arc.sweep_rad * k / count)
            yield f"A{_number(major)} {_number(minor)} {_number(tilt)} 0 {flag} {self._pair(end)}"

    def _text(self, lettering: Lettering) -> Any:
        x, y = self._at(lettering.start)
        element = self._drawing.text(lettering.text, insert=(_number(x), _number(y)))
        element["font-family"] = _FAMILIES
        element["font-size"] = _number(font_size_mm(lettering.height_mm, bold=lettering.bold))
        if lettering.bold:
            element["font-weight"] = "bold"
        element["fill"] = "black"
        element["textLength"] = _number(lettering.width_mm)
        element["lengthAdjust"] = "spacingAndGlyphs"
        element["xml:space"] = "preserve"
        if abs(lettering.rotation_rad) > 1e-12:
            angle = _number(-math.degrees(lettering.rotation_rad))
            element["transform"] = f"rotate({angle} {_number(x)} {_number(y)})"
        return element

    def _pair(self, point: Point) -> str:
        x, y = self._at(point)
        return f"{_number(x)},{_number(y)}"


def _number(value: float) -> str:
    """A number to 1e-6, without zeros at the end; never "-0"."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _grey(level: float) -> str:
    part = round(255 * min(1.0, max(0.0, level)))
    return f"#{part:02x}{part:02x}{part:02x}"

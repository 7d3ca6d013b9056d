"""A sheet as an SVG at full size: one user unit is one millimetre, arcs stay arcs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import ArcTo, CubicTo, LineTo, MoveTo, Segment, Sheet
from bodyshop.drawing.lettering import font_size_mm
from bodyshop.drawing.pens import Layer, Pen, pen_style
from bodyshop.drawing.replay import ClipBegin, ClipEnd, Ink, Lettering, ellipse_axes, replay
from bodyshop.drawing.typeface import FAMILY
from bodyshop.writers.meta import DocMeta, plain

__all__ = ["write_svg"]

_SPACE = 'xmlns="http://www.w3.org/2000/svg" version="1.1"'
# A file that opens without our lettering falls back to these; the width of every line of text is then
# held by textLength.
_FAMILIES = f"'{FAMILY}', 'DejaVu Sans', sans-serif"


def write_svg(sheet: Sheet, meta: DocMeta) -> str:
    """An SVG document of exactly the sheet's size; the same text for the same sheet.

    Items of a layer are gathered, as far as the drawing order lets them, in groups whose class is the
    layer's name.
    """
    width, height = _number(sheet.width_mm), _number(sheet.height_mm)
    page = _Page(sheet.height_mm)
    page.draw(sheet)
    return "\n".join(
        [
            '<?xml version="1.0" encoding="utf-8" ?>',
            f'<svg {_SPACE} width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
            f"<title>{_escaped(plain(meta.title))}</title>",
            f"<desc>{_escaped(plain(_description(meta, sheet)))}</desc>",
            *(["<defs>", *page.defs, "</defs>"] if page.defs else []),
            f'<rect x="0" y="0" width="{width}" height="{height}" fill="white" stroke="none" />',
            *page.body,
            "</svg>\n",
        ]
    )


def _description(meta: DocMeta, sheet: Sheet) -> str:
    parts = (sheet.name, meta.subject, meta.author, ", ".join(meta.keywords), "Print at actual size (100 %).")
    return ". ".join(part.rstrip(".") for part in parts if part) + "."


class _Page:
    """Writes elements one after the other; the only place where y is turned over."""

    def __init__(self, height_mm: float) -> None:
        self.defs: list[str] = []
        self.body: list[str] = []
        self._height_mm = height_mm
        self._kind: tuple[Layer, Pen | None] | None = None
        self._clips = 0

    def _at(self, point: Point) -> Point:
        return (point[0], self._height_mm - point[1])

    def draw(self, sheet: Sheet) -> None:
        """Everything on the sheet."""
        for drawn in replay(sheet):
            match drawn:
                case Ink():
                    self._group(drawn.layer, drawn.pen)
                    self.body.append(self._ink(drawn))
                case Lettering():
                    self._group(drawn.layer, None)
                    self.body.append(self._text(drawn))
                case ClipBegin():
                    self._close()
                    self._clip(drawn)
                case ClipEnd():
                    self._close()
                    self.body.append("</g>")
        self._close()

    def _close(self) -> None:
        if self._kind is not None:
            self.body.append("</g>")
            self._kind = None

    def _group(self, layer: Layer, pen: Pen | None) -> None:
        """Go on in the group for a layer and pen, a new one when the last is of another kind."""
        if self._kind == (layer, pen):
            return
        self._close()
        self._kind = (layer, pen)
        if pen is None:
            self.body.append(f'<g class="{layer.value}" stroke="none">')
            return
        style = pen_style(pen)
        dashes = " ".join(map(_number, style.dashes_mm))
        cap = f'butt" stroke-dasharray="{dashes}' if dashes else "round"
        self.body.append(
            f'<g class="{layer.value}" fill="none" stroke="black" stroke-width="{_number(style.width_mm)}" '
            f'stroke-linejoin="round" stroke-linecap="{cap}">'
        )

    def _clip(self, clip: ClipBegin) -> None:
        self._clips += 1
        name = f"window-{self._clips}"
        corners = " L".join(self._pair(corner) for corner in clip.corners)
        self.defs.append(f'<clipPath id="{name}"><path d="M{corners} Z" /></clipPath>')
        self.body.append(f'<g clip-path="url(#{name})">')

    def _ink(self, ink: Ink) -> str:
        fill = ""
        if ink.fill_grey is not None:
            fill = f' fill="{_grey(ink.fill_grey)}" fill-rule="evenodd"'
        if ink.circle is not None:
            centre, radius = ink.circle
            x, y = self._at(centre)
            return f'<circle cx="{_number(x)}" cy="{_number(y)}" r="{_number(radius)}"{fill} />'
        return f'<path d="{" ".join(self._steps(ink))}"{fill} />'

    def _steps(self, ink: Ink) -> Iterator[str]:
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

    def _text(self, lettering: Lettering) -> str:
        x, y = (_number(value) for value in self._at(lettering.start))
        size = _number(font_size_mm(lettering.height_mm, bold=lettering.bold))
        weight = ' font-weight="bold"' if lettering.bold else ""
        turned = ""
        if abs(lettering.rotation_rad) > 1e-12:
            turned = f' transform="rotate({_number(-math.degrees(lettering.rotation_rad))} {x} {y})"'
        return (
            f'<text x="{x}" y="{y}" font-family="{_FAMILIES}" font-size="{size}"{weight} fill="black" '
            f'textLength="{_number(lettering.width_mm)}" lengthAdjust="spacingAndGlyphs" '
            f'xml:space="preserve"{turned}>{_escaped(lettering.text)}</text>'
        )

    def _pair(self, point: Point) -> str:
        x, y = self._at(point)
        return f"{_number(x)},{_number(y)}"


def _escaped(text: str) -> str:
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _number(value: float) -> str:
    """A number to 1e-6, without zeros at the end; never "-0"."""
    text = f"{value:.6f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _grey(level: float) -> str:
    part = round(255 * min(1.0, max(0.0, level)))
    return f"#{part:02x}{part:02x}{part:02x}"

"""A sheet as a DXF at full size: one drawing unit is one millimetre, whatever the design counts in.

`$INSUNITS` is 4, millimetres, for a design in inches too: the geometry is then the same to the last digit,
and a program that works in inches converts it by the header (DXF reference, group codes of HEADER). The
version is R2010, which most programs read and which writes letters as UTF-8. Arcs are ARC or CIRCLE, arcs
stretched along a slope ELLIPSE, cubics SPLINE with the very control points. What a tile hides is cut off,
since a DXF cannot hide it. White paper behind words takes away the strokes of the waste under them.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from bodyshop.drawing.sheet.items import Sheet
from bodyshop.drawing.sheet.lettering import font_file
from bodyshop.drawing.sheet.pens import Layer, Pen, default_pen, pen_style
from bodyshop.drawing.sheet.replay import Drawn, InkedPath, Lettering, arc_as_cubics, ellipse_axes, replay
from bodyshop.drawing.writers.meta import DocMeta, bare, plain
from bodyshop.geometry.affine import Point
from bodyshop.geometry.clipping import stretches
from bodyshop.geometry.paths import ArcTo, CubicTo, LineTo, Segment

__all__ = ["layer_name", "write_dxf"]

_VERSION = "R2010"
_MM = 4
"""`$INSUNITS` for millimetres."""

_NAMES = {Layer.HIDDEN: "hidden", Layer.HATCH: "waste", Layer.DIMENSION: "dimension"}
_USES = {
    Layer.CUT: "the finished outline: sand to it",
    Layer.SAW: "saw along this, outside the outline",
    Layer.RELIEF: "saw these first, from the edge up to the line",
    Layer.OUTLINE: "edges that are not sawn",
    Layer.HIDDEN: "edges inside the wood",
    Layer.CENTRE: "centre lines and hole centres",
    Layer.HOLE: "holes to drill",
    Layer.BLANK: "the blank round the car",
    Layer.DATUM: "marks of the edges that sizes are taken from",
    Layer.STATION: "stations, by their distance from the nose end of the blank",
    Layer.DIMENSION: "sizes and notes",
    Layer.TEXT: "words",
    Layer.CHECK_BAR: "bars of known length",
    Layer.REGISTER: "seams between sheets",
    Layer.HATCH: "the waste side of a cut",
    Layer.BORDER: "frame and title block",
    Layer.CAUTION: "cautions",
}
_LINETYPES = {Pen.HIDDEN: "HIDDEN", Pen.CENTRE: "CENTRE", Pen.ADJACENT: "BLANK", Pen.TRIM: "TRIM"}
_BLACK_OR_WHITE = 7
_SPECK_MM = 1e-6
_STYLES = {False: "lettering", True: "lettering-bold"}


def layer_name(layer: Layer) -> str:
    """What a layer is called in a DXF."""
    return _NAMES.get(layer, layer.value)


def write_dxf(sheet: Sheet, meta: DocMeta) -> bytes:
    """A DXF document of one sheet, its lower left corner at the origin; the same bytes for the same sheet."""
    import ezdxf

    # The library stamps dates and random names on what it writes unless it is told not to.
    library: Any = ezdxf
    before = library.options.write_fixed_meta_data_for_testing
    library.options.write_fixed_meta_data_for_testing = True
    try:
        document = library.new(_VERSION, units=_MM)
        drawn = bare(list(replay(sheet)))
        _prepare(document, sheet, meta, drawn)
        _Page(document.modelspace()).draw(drawn)
        _settle(document)
        out = io.StringIO()
        document.write(out)
    finally:
        library.options.write_fixed_meta_data_for_testing = before
    data: bytes = document.encode(out.getvalue())
    return data


def _settle(document: Any) -> None:
    """List the classes in order: the library takes them out of a set, whose order changes from run to run."""
    for kind in sorted(document.entitydb.dxf_types_in_use()):
        document.classes.add_class(kind)
    document.classes.add_required_classes(document.dxfversion)
    listed = sorted(document.classes.classes.items())
    document.classes.classes.clear()
    document.classes.classes.update(listed)


def _prepare(document: Any, sheet: Sheet, meta: DocMeta, drawn: Sequence[Drawn]) -> None:
    """Header, line kinds, layers and lettering."""
    document.header["$INSUNITS"] = _MM
    document.header["$MEASUREMENT"] = 1
    document.header["$LUNITS"] = 2
    document.header["$LTSCALE"] = 1.0
    document.header["$PSLTSCALE"] = 0
    document.header["$LWDISPLAY"] = 1
    space = document.modelspace()
    corner = (_round(sheet.width_mm), _round(sheet.height_mm), 0.0)
    space.reset_extents((0.0, 0.0, 0.0), corner)
    # The library takes extents that begin at the origin for none at all.
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (0.0, 0.0, 0.0), corner
    space.reset_limits((0.0, 0.0), (sheet.width_mm, sheet.height_mm))
    document.set_modelspace_vport(
        height=1.05 * sheet.height_mm, center=(sheet.width_mm / 2, sheet.height_mm / 2)
    )
    for pen, name in _LINETYPES.items():
        style = pen_style(pen)
        signed = [dash if k % 2 == 0 else -dash for k, dash in enumerate(style.dashes_mm)]
        document.linetypes.add(name, [sum(style.dashes_mm), *signed], description=style.kind)
    for bold, name in _STYLES.items():
        document.styles.add(name, font=font_file(bold=bold).name)
    used = {item.layer for item in drawn if isinstance(item, InkedPath | Lettering)}
    for layer in Layer:
        if layer in used:
            pen = default_pen(layer)
            added = document.layers.add(
                layer_name(layer),
                color=_BLACK_OR_WHITE,
                linetype=_LINETYPES.get(pen, "CONTINUOUS"),
                lineweight=_lineweight(pen),
            )
            added.description = _USES[layer]
    words = (
        ("title", meta.title),
        ("author", meta.author),
        ("subject", meta.subject),
        ("keywords", ", ".join(meta.keywords)),
        ("sheet", sheet.name),
        ("unit", "millimetre"),
        ("scale", "1 : 1"),
    )
    for key, value in words:
        if value:
            document.header.custom_vars.append(key, plain(value))


def _lineweight(pen: Pen) -> int:
    """A pen's width in hundredths of a millimetre, as layers count it."""
    return round(100 * pen_style(pen).width_mm)


class _Page:
    """Adds entities to the model space."""

    def __init__(self, space: Any) -> None:
        self._space = space

    def draw(self, drawn: Iterable[Drawn]) -> None:
        for item in drawn:
            match item:
                case InkedPath():
                    if item.fill_grey is not None:
                        self._fill(item)
                    if item.pen is not None:
                        self._stroke(item, item.pen)
                case Lettering():
                    self._text(item)

    def _stroke(self, ink: InkedPath, pen: Pen) -> None:
        looks = _looks(ink.layer, pen)
        if ink.circle is not None:
            centre, radius = ink.circle
            self._space.add_circle(_at(centre), _round(radius), dxfattribs=looks)
            return
        for run in stretches(ink.segments, closed=ink.closed):
            self._run(run, looks)

    def _run(self, run: Sequence[Segment], looks: dict[str, Any]) -> None:
        points = [run[0].end]
        for segment in run[1:]:
            if isinstance(segment, LineTo):
                points.append(segment.end)
                continue
            self._lines(points, looks)
            if isinstance(segment, CubicTo):
                controls = [points[-1], segment.control_1, segment.control_2, segment.end]
                self._space.add_open_spline([_at(p) for p in controls], degree=3, dxfattribs=looks)
            elif isinstance(segment, ArcTo):
                self._arc(segment, looks)
            points = [segment.end]
        self._lines(points, looks)

    def _lines(self, points: Sequence[Point], looks: dict[str, Any]) -> None:
        """A line, or lines that follow each other as one polyline."""
        shown = [p for k, p in enumerate(points) if not k or math.dist(p, points[k - 1]) > _SPECK_MM]
        if len(shown) == 2:
            self._space.add_line(_at(shown[0]), _at(shown[1]), dxfattribs=looks)
        elif len(shown) > 2:
            closed = math.dist(shown[0], shown[-1]) <= _SPECK_MM
            held = shown[:-1] if closed else shown
            self._space.add_lwpolyline([_at(p) for p in held], close=closed, dxfattribs=looks)

    def _arc(self, arc: ArcTo, looks: dict[str, Any]) -> None:
        turned = arc.half_a[0] * arc.half_b[1] - arc.half_a[1] * arc.half_b[0]
        # Entities run anticlockwise.
        first, last = (arc.begin, arc.end) if (arc.sweep_rad > 0) == (turned > 0) else (arc.end, arc.begin)
        whole = abs(arc.sweep_rad) >= 2 * math.pi - 1e-9
        major, minor, turn = ellipse_axes(arc)
        if arc.radius_mm is not None:
            if whole:
                self._space.add_circle(_at(arc.centre), _round(arc.radius_mm), dxfattribs=looks)
                return
            angles = [_degrees(arc.centre, p) for p in (first, last)]
            self._space.add_arc(_at(arc.centre), _round(arc.radius_mm), *angles, dxfattribs=looks)
            return
        cos, sin = math.cos(turn), math.sin(turn)
        if minor <= 1e-6 * major:
            # Seen on edge an ellipse is a line, which the entity cannot be.
            self._lines([arc.begin, arc.end], looks)
            return

        def parameter(p: Point) -> float:
            dx, dy = p[0] - arc.centre[0], p[1] - arc.centre[1]
            return math.atan2((dy * cos - dx * sin) / minor, (dx * cos + dy * sin) / major)

        start = 0.0 if whole else parameter(first)
        end = 2 * math.pi if whole else parameter(last)
        self._space.add_ellipse(
            _at(arc.centre),
            major_axis=(_round(major * cos), _round(major * sin)),
            ratio=minor / major,
            start_param=round(start, 12),
            end_param=round(end, 12),
            dxfattribs=looks,
        )

    def _fill(self, ink: InkedPath) -> None:
        grey = min(1.0, max(0.0, ink.fill_grey or 0.0))
        looks = _looks(ink.layer, Pen.NARROW)
        colour = round(255 * grey)
        if grey > 0.0:
            looks["true_color"] = colour << 16 | colour << 8 | colour
        rings = [_corners(run) for run in stretches(ink.segments, closed=True)]
        if len(rings) == 1 and len(rings[0]) == 3:
            self._space.add_solid([_at(p) for p in rings[0]], dxfattribs=looks)
            return
        hatch = self._space.add_hatch(color=_BLACK_OR_WHITE, dxfattribs=looks)
        if grey > 0.0:
            hatch.rgb = (colour, colour, colour)
        for ring in rings:
            hatch.paths.add_polyline_path([_at(p) for p in ring], is_closed=True)

    def _text(self, lettering: Lettering) -> None:
        looks = {
            "layer": layer_name(lettering.layer),
            "style": _STYLES[lettering.bold],
            "height": _round(lettering.height_mm),
            "rotation": round(math.degrees(lettering.rotation_rad), 9) + 0.0,
            "insert": _at(lettering.start),
        }
        self._space.add_text(_spelled(lettering.text), dxfattribs=looks)


def _corners(run: Sequence[Segment]) -> list[Point]:
    """The corners of a filled stretch, curves by their chords."""
    return list(_walk(run))[:-1] if len(run) > 2 else [segment.end for segment in run]


def _walk(run: Sequence[Segment]) -> Iterator[Point]:
    here = run[0].end
    for segment in run:
        cubics = arc_as_cubics(segment) if isinstance(segment, ArcTo) else (segment,)
        for piece in cubics:
            if isinstance(piece, CubicTo):
                for k in range(1, 4):
                    t, u = k / 4, 1 - k / 4
                    weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
                    points = (here, piece.control_1, piece.control_2, piece.end)
                    yield (
                        sum(w * p[0] for w, p in zip(weights, points, strict=True)),
                        sum(w * p[1] for w, p in zip(weights, points, strict=True)),
                    )
            here = piece.end
            yield here


def _looks(layer: Layer, pen: Pen) -> dict[str, Any]:
    """The layer, and whatever the pen does differently."""
    looks: dict[str, Any] = {"layer": layer_name(layer)}
    usual = default_pen(layer)
    if _lineweight(pen) != _lineweight(usual):
        looks["lineweight"] = _lineweight(pen)
    if _LINETYPES.get(pen) != _LINETYPES.get(usual):
        looks["linetype"] = _LINETYPES.get(pen, "CONTINUOUS")
    return looks


def _spelled(text: str) -> str:
    """Words without the signs that a line of text in a DXF reads as commands."""
    return text.replace("%%", "% %").replace("^", "^ ").replace("\\U+", "\\ U+").replace("\\M+", "\\ M+")


def _degrees(centre: Point, p: Point) -> float:
    return round(math.degrees(math.atan2(p[1] - centre[1], p[0] - centre[0])), 10) + 0.0


def _at(point: Point) -> Point:
    return (_round(point[0]), _round(point[1]))


def _round(value: float) -> float:
    """A coordinate to a millionth of a millimetre; never minus zero."""
    return round(value, 6) + 0.0

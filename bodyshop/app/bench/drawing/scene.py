"""The drawing as data for the page: three views at one scale, with outlines as SVG path data."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np
import shapely

from bodyshop.app.bench.drawing.handles import find_handles
from bodyshop.app.bench.drawing.model import DrawingView, Handle, usual_steps
from bodyshop.app.bench.drawing.solid import section_shapes
from bodyshop.app.bench.messages import Data
from bodyshop.car.assembly import Car
from bodyshop.car.body import Rectangles
from bodyshop.car.body.surfaces import frontal_silhouette
from bodyshop.car.editing.numbers import Numbers
from bodyshop.car.stock.blanks import Blank
from bodyshop.foundation.constants import MM_PER_IN
from bodyshop.foundation.units import LengthUnit
from bodyshop.geometry.outlines import Arc, Curve, Line, Outline, Point, Ring
from bodyshop.rules.checking import Checked

__all__ = ["circle_path", "outline_path", "plain", "polygon_path", "polyline_path", "ring_path", "scene"]


_PLACES: Final = 4
_LONGEST_RAD: Final = math.radians(120)
"""An arc that turns further is told in parts: near half a turn, and near a whole one, the hair by which the
ends of an arc are rounded would move its middle."""


def plain(value: float) -> str:
    """A coordinate as short as it can be, to a ten-thousandth of a millimetre."""
    text = f"{value:.{_PLACES}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def ring_path(ring: Ring) -> str:
    """A closed ring."""
    parts = [f"M{_path_point(ring.curves[0].p0)}"]
    parts.extend(_curve(curve) for curve in ring.curves)
    return "".join(parts) + "Z"


def outline_path(outline: Outline) -> str:
    """An outline with its windows, one path; drawn evenodd or nonzero alike, windows being clockwise."""
    return "".join(ring_path(ring) for ring in outline.rings)


def polyline_path(points: Iterable[Point], *, closed: bool = False) -> str:
    """Straight lines from point to point."""
    return "M" + "L".join(_path_point(point) for point in points) + ("Z" if closed else "")


def circle_path(centre: Point, radius_mm: float) -> str:
    """A circle as two half turns."""
    (u, v), r = centre, plain(radius_mm)
    return (
        f"M{_path_point((u + radius_mm, v))}A{r} {r} 0 0 1 {_path_point((u - radius_mm, v))}"
        f"A{r} {r} 0 0 1 {_path_point((u + radius_mm, v))}Z"
    )


def polygon_path(shape: shapely.Geometry) -> str:
    """All polygons of a shape that has corners only."""
    parts: Sequence[shapely.Geometry] = getattr(shape, "geoms", (shape,))
    rings = [
        ring
        for part in parts
        if isinstance(part, shapely.Polygon) and not part.is_empty
        for ring in (part.exterior, *part.interiors)
    ]
    return "".join(
        polyline_path(((float(u), float(v)) for u, v in ring.coords[:-1]), closed=True) for ring in rings
    )


def _path_point(point: Point) -> str:
    return f"{plain(point[0])} {plain(point[1])}"


def _curve(curve: Curve) -> str:
    match curve:
        case Line(_, p1):
            return f"L{_path_point(p1)}"
        case Arc(sweep=sweep):
            count = math.ceil(abs(sweep) / _LONGEST_RAD - 1e-9)
            parts = [curve.part(k / count, (k + 1) / count) for k in range(count)] if count > 1 else [curve]
            return "".join(_arc(part) for part in parts)
        case _:
            return f"C{_path_point(curve.c1)} {_path_point(curve.c2)} {_path_point(curve.p1)}"


def _arc(arc: Arc) -> str:
    r = plain(arc.radius)
    far, left = int(abs(arc.sweep) > math.pi), int(arc.sweep > 0)
    return f"A{r} {r} 0 {far} {left} {_path_point(arc.p1)}"


# Two ends nearer than this are one.
_NEAR_MM: Final = 1e-6
_PAST_MM: Final = 8.0
"""How far the track and the centre lines run on past what they belong to."""

_MARK_MM: Final = 3.0
_SHORT_MM: Final = 1.0
"""Stretches of the body up to this length are as good as straight to the eye."""

_DIGITS: Final = 4
_HAIR_MM: Final = 0.005

Stroke = tuple[str, str]
"""What is drawn, and its path."""


def scene(checked: Checked) -> dict[str, Data]:
    """Everything the page draws of a car, and everything on it that can be taken hold of.

    The keys: `views` by name, each with `title`, `strokes` as [kind, path] and `labels`;
    `boxes`, what each view spans; `handles`; `unit`, `steps` and `grid` of the file's lengths; `mirrored`,
    whether the plan's points are one half of it.
    """
    opened = checked.opened
    numbers = Numbers(opened.source)
    drawn = _Drawing(opened.car)
    unit = opened.design.unit
    return {
        "name": opened.design.name,
        "unit": unit.symbol,
        "steps": [{"id": step.id, "mm": float(step.mm)} for step in usual_steps(unit)],
        "grid": [MM_PER_IN / 8, MM_PER_IN] if unit is LengthUnit.IN else [5.0, 10.0],
        "views": {
            DrawingView.SIDE.value: _view("Side", drawn.side(), drawn.side_labels()),
            DrawingView.TOP.value: _view("Top", drawn.top(), drawn.top_labels()),
            DrawingView.TAIL.value: _view("Tail", drawn.tail(), drawn.tail_labels()),
        },
        "boxes": {name: [_short(each) for each in box] for name, box in drawn.boxes().items()},
        "handles": [_handle(handle, numbers) for handle in find_handles(opened, numbers)],
        "mirrored": opened.design.plan_mirrored,
    }


def _view(title: str, strokes: Iterator[Stroke], labels: Iterator[tuple[Point, str, str]]) -> Data:
    return {
        "title": title,
        "strokes": [[kind, path] for kind, path in strokes],
        "labels": [
            {"at": [_short(at[0]), _short(at[1])], "text": text, "side": side} for at, text, side in labels
        ],
    }


def _handle(handle: Handle, numbers: Numbers) -> Data:
    more: dict[str, Data] = {}
    if handle.way is not None:
        more["way"] = [round(each, 6) for each in handle.way]
    if handle.tied_to is not None:
        more["tied"] = _scene_point(handle.tied_to)
    if handle.fixed:
        more["fixed"] = handle.fixed
    return {
        "id": handle.id,
        "kind": handle.kind.value,
        "view": handle.sheet.value,
        "at": _scene_point(handle.at),
        "label": handle.label,
        **more,
        "numbers": [
            {
                "key": ".".join(str(part) for part in move.path),
                "name": _name(handle, index),
                "mm": _short(move.value_mm),
                "text": numbers.old_text(move.path),
                "slope": [round(move.du, 6), round(move.dv, 6)],
            }
            for index, move in enumerate(handle.moves)
        ],
    }


def _name(handle: Handle, index: int) -> str:
    """What a number of a handle is called beside its box."""
    last = handle.moves[index].path[-1]
    if isinstance(last, str):
        return last
    return "x" if last == 0 else ("height" if handle.sheet is DrawingView.SIDE else "y")


def _scene_point(point: Point) -> list[Data]:
    return [_short(point[0]), _short(point[1])]


def _short(value: float) -> float:
    return round(value, _DIGITS) + 0.0


class _Drawing:
    def __init__(self, car: Car) -> None:
        self.car = car
        self.design = car.design
        self.body = car.body

    def boxes(self) -> dict[str, tuple[float, float, float, float]]:
        """What each view spans: the car and its blank."""
        x0, y0, z0, x1, y1, z1 = self.body.bounds
        p, q = self.design.profile.bounds, self.design.plan.bounds
        blank = self.design.blank
        x0, x1 = min(x0, p[0], q[0], 0.0), max(x1, p[2], q[2], blank.length_mm)
        y0, y1 = min(y0, q[1], -blank.width_mm / 2), max(y1, q[3], blank.width_mm / 2)
        z0, z1 = min(z0, p[1], 0.0), max(z1, p[3], blank.height_nose_mm, blank.height_tail_mm)
        for stack in self.car.stacks:
            r, z, x = stack.axle.wheel.radius_mm, stack.axle.height_mm, stack.axle.x_mm
            x0, x1, z0, z1 = min(x0, x - r), max(x1, x + r), min(z0, z - r), max(z1, z + r)
            y0, y1 = min(y0, stack.ends[0]), max(y1, stack.ends[1])
        return {
            DrawingView.SIDE.value: (x0, z0, x1, z1),
            DrawingView.TOP.value: (x0, y0, x1, y1),
            DrawingView.TAIL.value: (y0, z0, y1, z1),
        }

    # ------------------------------------------------------------ from the side

    def side(self) -> Iterator[Stroke]:
        """Strokes in (x, z)."""
        design, car = self.design, self.car
        yield "blank", _blank_side(design.blank)
        yield "body", outline_path(design.profile)
        rim = self.body.rim
        if rim is not None:
            bore = rim.bore
            mouth, blind = rim.side_view
            yield "hidden", polyline_path([mouth[-1], *blind, mouth[0]])
            yield "centre", polyline_path([bore.point(-_PAST_MM), bore.point(bore.depth + _PAST_MM)])
        for hole in self.body.pilots:
            yield (
                "hidden",
                _box(hole.x - hole.radius, hole.z, hole.x + hole.radius, hole.z + hole.depth),
            )
        for eye, pilot in zip(design.eyes, self.body.eye_pilots, strict=True):
            if pilot is not None:
                middle = pilot.z - eye.eye.ring_outer_mm / 2
                # Seen edge on: the ring stands across the line that runs through it.
                half = eye.eye.wire_mm / 2
                yield (
                    "eye",
                    _box(eye.x_mm - half, pilot.z - eye.eye.ring_outer_mm, eye.x_mm + half, pilot.z),
                )
                yield "mark", polyline_path([(eye.x_mm - _MARK_MM, middle), (eye.x_mm + _MARK_MM, middle)])
        for axle in design.axles:
            centre = (axle.x_mm, axle.height_mm)
            yield "wheel", circle_path(centre, axle.wheel.radius_mm)
            yield "hole", circle_path(centre, axle.hole_mm / 2)
            yield "rod", circle_path(centre, axle.axle.diameter_mm / 2)
        track = car.track
        if track is not None:
            x0, _, x1, _ = self.boxes()[DrawingView.SIDE.value]
            yield "track", polyline_path([(x, track.level(x)) for x in (x0 - _PAST_MM, x1 + _PAST_MM)])
        x, _, z = car.mass.centre
        yield "mass", _mass_mark((x, z))

    def side_labels(self) -> Iterator[tuple[Point, str, str]]:
        """Words in (x, z)."""
        box = self.boxes()[DrawingView.SIDE.value]
        if self.car.track is not None:
            yield (box[2], self.car.track.level(box[2])), "track", "below"
        x, _, z = self.car.mass.centre
        yield (x, z), "balance", "above"

    # ------------------------------------------------------------ from above

    def top(self) -> Iterator[Stroke]:
        """Strokes in (x, y)."""
        design = self.design
        blank = design.blank
        yield "blank", _box(0.0, -blank.width_mm / 2, blank.length_mm, blank.width_mm / 2)
        yield "body", outline_path(design.plan)
        x0, _, x1, _ = self.boxes()[DrawingView.TOP.value]
        yield "centre", polyline_path([(x0 - _PAST_MM, 0.0), (x1 + _PAST_MM, 0.0)])
        if self.body.rim is not None:
            mouth, blind = self.body.rim.top_view
            # In a tail that leans the edge of the mouth shows too, elsewhere it lies in the outline.
            leans = min(x for x, _ in mouth) < self.body.x_tail - _NEAR_MM
            yield "hidden", polyline_path([mouth[-1], *blind, *(mouth if leans else mouth[:1])])
        for pilot in self.body.pilots:
            yield "hidden", circle_path((pilot.x, pilot.y), pilot.radius)
        for stack in self.car.stacks:
            x, r = stack.axle.x_mm, stack.axle.wheel.radius_mm
            for low, high in stack.treads:
                yield "wheel", _box(x - r, low, x + r, high)
            half, rod = stack.axle_length_mm / 2, stack.axle.axle.diameter_mm / 2
            yield "hidden", _box(x - rod, stack.middle - half, x + rod, stack.middle + half)
            yield "centre", polyline_path([(x, stack.ends[0] - _MARK_MM), (x, stack.ends[1] + _MARK_MM)])
        x, y, _ = self.car.mass.centre
        yield "mass", _mass_mark((x, y))

    def top_labels(self) -> Iterator[tuple[Point, str, str]]:
        """Words in (x, y)."""
        for axle in self.design.axles:
            yield (axle.x_mm, self.boxes()[DrawingView.TOP.value][1]), f"{axle.end.value} axle", "below"

    # ------------------------------------------------------------ from the tail

    def tail(self) -> Iterator[Stroke]:
        """Strokes in (y, z), looking forward."""
        design, car = self.design, self.car
        blank = design.blank
        yield "blank", _box(-blank.width_mm / 2, 0.0, blank.width_mm / 2, blank.height_tail_mm)
        yield "body", polygon_path(self._shadow())
        face = self.body.sections.at(self.body.x_tail, ahead=True)
        for piece in _pieces(face):
            yield "face", piece
        bore = self.body.bore
        if bore is not None:
            yield "bore", circle_path((bore.y, bore.z), bore.radius)
            reach = bore.radius + _MARK_MM
            yield "centre", polyline_path([(bore.y - reach, bore.z), (bore.y + reach, bore.z)])
        for stack in car.stacks:
            z, r = stack.axle.height_mm, stack.axle.wheel.radius_mm
            front = stack.axle is design.front
            for low, high in stack.treads:
                yield "hidden" if front else "wheel", _box(low, z - r, high, z + r)
            if not front:
                half, rod = stack.axle_length_mm / 2, stack.axle.axle.diameter_mm / 2
                yield "hidden", _box(stack.middle - half, z - rod, stack.middle + half, z + rod)
        for eye, pilot in zip(design.eyes, self.body.eye_pilots, strict=True):
            if pilot is not None:
                outer = eye.eye.ring_outer_mm / 2
                yield "eye", circle_path((pilot.y, pilot.z - outer), outer)
                yield "eye", circle_path((pilot.y, pilot.z - outer), eye.eye.ring_inner_mm / 2)
        box = self.boxes()[DrawingView.TAIL.value]
        yield "centre", polyline_path([(0.0, box[1] - _MARK_MM), (0.0, box[3] + _MARK_MM)])
        if car.track is not None:
            z = car.track.level(design.rear.x_mm)
            yield "track", polyline_path([(box[0] - _PAST_MM, z), (box[2] + _PAST_MM, z)])
        _, y, z = car.mass.centre
        yield "mass", _mass_mark((y, z))

    def _shadow(self) -> shapely.Geometry:
        """The body's shadow, with its highest, lowest and widest sections to the last hair."""
        body = self.body
        silhouette = frontal_silhouette(body.sections, short_mm=_SHORT_MM)
        y0, z0, y1, z1 = silhouette.bounds
        beyond: list[shapely.Polygon] = []
        for outline, low, high in ((body.profile, z0, z1), (body.plan, y0, y1)):
            for curve in outline.outer.curves:
                for u, v in curve.at(np.array(curve.turning_points(1))):
                    if not low - _HAIR_MM <= v <= high + _HAIR_MM and body.x_nose <= u <= body.x_tail:
                        beyond.extend(section_shapes(self.car, float(u)))
        return shapely.union_all([silhouette, *beyond]) if beyond else silhouette

    def tail_labels(self) -> Iterator[tuple[Point, str, str]]:
        """Words in (y, z)."""
        yield from ()


def _blank_side(blank: Blank) -> str:
    return polyline_path(
        [
            (0.0, 0.0),
            (blank.length_mm, 0.0),
            (blank.length_mm, blank.height_tail_mm),
            (0.0, blank.height_nose_mm),
        ],
        closed=True,
    )


def _box(u0: float, v0: float, u1: float, v1: float) -> str:
    return polyline_path([(u0, v0), (u1, v0), (u1, v1), (u0, v1)], closed=True)


def _pieces(r: Rectangles) -> Iterator[str]:
    """The pieces of a section, each with what is left of its rounded corners."""
    contour = r.contour()
    for k in np.flatnonzero(~r.empty):
        radius = float(r.radius[k])
        parts: list[str] = []
        for c in range(4):
            (u, u_end), (v, v_end) = contour.y[2 * c : 2 * c + 2, k], contour.z[2 * c : 2 * c + 2, k]
            parts.append(f"{'L' if parts else 'M'}{u:.4f} {v:.4f}")
            if contour.sweep[c, k] > 0:
                parts.append(f"A{radius:.4f} {radius:.4f} 0 0 1 {u_end:.4f} {v_end:.4f}")
        yield "".join(parts) + "Z"


def _mass_mark(at: Point) -> str:
    """The mark of a centre of mass: a circle with two opposite quarters, which the page fills."""
    u, v = at
    r = _MARK_MM
    quarter = f"M{u:.3f} {v:.3f}L{u + r:.3f} {v:.3f}A{r} {r} 0 0 1 {u:.3f} {v + r:.3f}Z"
    other = f"M{u:.3f} {v:.3f}L{u - r:.3f} {v:.3f}A{r} {r} 0 0 1 {u:.3f} {v - r:.3f}Z"
    return quarter + other

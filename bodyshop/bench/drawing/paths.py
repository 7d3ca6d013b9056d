"""Outlines as SVG path data: lines, arcs and cubic curves as what they are, in mm, the second axis up.

The path commands are those of SVG 1.1, chapter 8. A turn to the left in our axes is a turn with growing
angle, which is what the sweep flag says; a page whose second axis points down turns the whole view over.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import shapely

from bodyshop.outline import Arc, Curve, Line, Outline, Point, Ring

__all__ = ["circle_path", "outline_path", "plain", "polygon_path", "polyline_path", "ring_path"]

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
    parts = [f"M{_spot(ring.curves[0].p0)}"]
    parts.extend(_curve(curve) for curve in ring.curves)
    return "".join(parts) + "Z"


def outline_path(outline: Outline) -> str:
    """An outline with its windows, one path; drawn evenodd or nonzero alike, windows being clockwise."""
    return "".join(ring_path(ring) for ring in outline.rings)


def polyline_path(points: Iterable[Point], *, closed: bool = False) -> str:
    """Straight lines from point to point."""
    return "M" + "L".join(_spot(point) for point in points) + ("Z" if closed else "")


def circle_path(centre: Point, radius_mm: float) -> str:
    """A circle as two half turns."""
    (u, v), r = centre, plain(radius_mm)
    return (
        f"M{_spot((u + radius_mm, v))}A{r} {r} 0 0 1 {_spot((u - radius_mm, v))}"
        f"A{r} {r} 0 0 1 {_spot((u + radius_mm, v))}Z"
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


def _spot(point: Point) -> str:
    return f"{plain(point[0])} {plain(point[1])}"


def _curve(curve: Curve) -> str:
    match curve:
        case Line(_, p1):
            return f"L{_spot(p1)}"
        case Arc(sweep=sweep):
            count = math.ceil(abs(sweep) / _LONGEST_RAD - 1e-9)
            parts = [curve.part(k / count, (k + 1) / count) for k in range(count)] if count > 1 else [curve]
            return "".join(_arc(part) for part in parts)
        case _:
            return f"C{_spot(curve.c1)} {_spot(curve.c2)} {_spot(curve.p1)}"


def _arc(arc: Arc) -> str:
    r = plain(arc.radius)
    far, left = int(abs(arc.sweep) > math.pi), int(arc.sweep > 0)
    return f"A{r} {r} 0 {far} {left} {_spot(arc.p1)}"

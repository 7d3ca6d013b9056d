"""The curves of an outline as a path on a sheet: arcs stay arcs, cubics stay cubics."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from bodyshop.drawing.items import ArcTo, CubicTo, LineTo, MoveTo, Path, Segment
from bodyshop.drawing.pens import Layer, Pen, default_pen
from bodyshop.outline.curves import Arc, Cubic, Curve

__all__ = ["trace"]

# An arc of so large a radius that its ends are lost to rounding (mm) is a straight line on paper.
_LOST_MM = 5e-7


def trace(
    rings: Sequence[Sequence[Curve]],
    layer: Layer,
    pen: Pen | None = None,
    *,
    closed: bool = True,
    fill_grey: float | None = None,
) -> Path:
    """One path through one or more chains of curves; with a fill, rings inside others are holes.

    `pen` None takes the layer's pen. A chain may not be empty.
    """
    segments = tuple(segment for ring in rings for segment in _segments(ring))
    return Path(segments, layer, pen or default_pen(layer), closed, fill_grey)


def _segments(ring: Sequence[Curve]) -> Iterator[Segment]:
    yield MoveTo(ring[0].p0)
    for curve in ring:
        if isinstance(curve, Cubic):
            yield CubicTo(curve.c1, curve.c2, curve.p1)
        elif isinstance(curve, Arc):
            arc = ArcTo.circular(curve.centre, curve.radius, curve.start, curve.sweep)
            if max(math.dist(arc.begin, curve.p0), math.dist(arc.end, curve.p1)) <= _LOST_MM:
                yield arc
            else:
                yield LineTo(curve.p1)
        else:
            yield LineTo(curve.p1)

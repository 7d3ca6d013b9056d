"""How far the items of a sheet reach."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from bodyshop.drawing.affine import Point
from bodyshop.drawing.items import ArcTo, CubicTo, Item, Rect, Segment, Sheet
from bodyshop.drawing.replay import ClipBegin, ClipEnd, Lettering, replay, text_box

__all__ = ["bounds", "boxed"]

_Box = tuple[float, float, float, float]


def bounds(items: Iterable[Item]) -> Rect | None:
    """The upright rectangle round items, by centre lines of strokes and boxes of text; None if empty.

    What a clip hides is not counted.
    """
    boxes = list(_boxes(items))
    if not boxes:
        return None
    x0, y0 = min(box[0] for box in boxes), min(box[1] for box in boxes)
    x1, y1 = max(box[2] for box in boxes), max(box[3] for box in boxes)
    return Rect(x0, y0, x1 - x0, y1 - y0)


def boxed(items: Iterable[Item]) -> list[tuple[Item, Rect]]:
    """Every item that shows with the rectangle round it, in order."""
    pairs = ((item, bounds([item])) for item in items)
    return [(item, box) for item, box in pairs if box is not None]


def _boxes(items: Iterable[Item]) -> Iterator[_Box]:
    everywhere = (-math.inf, -math.inf, math.inf, math.inf)
    windows: list[_Box] = [everywhere]
    for drawn in replay(Sheet(0.0, 0.0, tuple(items))):
        if isinstance(drawn, ClipEnd):
            windows.pop()
            continue
        if isinstance(drawn, ClipBegin):
            windows.append(_common(_box(drawn.corners), windows[-1]))
            continue
        points = text_box(drawn) if isinstance(drawn, Lettering) else _extremes(drawn.segments)
        box = _common(_box(points), windows[-1])
        if box[0] <= box[2] and box[1] <= box[3]:
            yield box


def _box(points: Iterable[Point]) -> _Box:
    listed = list(points)
    xs, ys = [p[0] for p in listed], [p[1] for p in listed]
    return min(xs), min(ys), max(xs), max(ys)


def _common(a: _Box, b: _Box) -> _Box:
    return max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])


def _extremes(segments: Iterable[Segment]) -> Iterator[Point]:
    """The ends of segments, and the points between where x or y turns round."""
    here: Point = (0.0, 0.0)
    for segment in segments:
        if isinstance(segment, CubicTo):
            yield from _cubic_turns(here, segment)
        elif isinstance(segment, ArcTo):
            low, high = sorted((segment.start_rad, segment.start_rad + segment.sweep_rad))
            for axis in (0, 1):
                base = math.atan2(segment.half_b[axis], segment.half_a[axis])
                first, last = math.ceil((low - base) / math.pi), math.floor((high - base) / math.pi)
                for k in range(first, last + 1):
                    yield segment.at(base + k * math.pi)
        here = segment.end
        yield here


def _cubic_turns(start: Point, cubic: CubicTo) -> Iterator[Point]:
    """Points inside a cubic where its derivative along x or y is zero."""
    p, q, r, s = start, cubic.control_1, cubic.control_2, cubic.end
    for axis in (0, 1):
        # The derivative over 3: a t^2 + b t + c.
        a = -p[axis] + 3 * q[axis] - 3 * r[axis] + s[axis]
        b = 2 * (p[axis] - 2 * q[axis] + r[axis])
        c = q[axis] - p[axis]
        for t in _roots(a, b, c):
            if 0 < t < 1:
                u = 1 - t
                weights = (u * u * u, 3 * u * u * t, 3 * u * t * t, t * t * t)
                corners = (p, q, r, s)
                yield (
                    sum(w * corner[0] for w, corner in zip(weights, corners, strict=True)),
                    sum(w * corner[1] for w, corner in zip(weights, corners, strict=True)),
                )


def _roots(a: float, b: float, c: float) -> tuple[float, ...]:
    size = abs(a) + abs(b) + abs(c)
    if abs(a) <= 1e-12 * size:
        return (-c / b,) if abs(b) > 1e-12 * size else ()
    inside = b * b - 4 * a * c
    if inside < 0:
        return ()
    # The stable pair: no difference of nearly equal numbers.
    q = -(b + math.copysign(math.sqrt(inside), b)) / 2
    return (q / a, c / q) if q else (0.0,)

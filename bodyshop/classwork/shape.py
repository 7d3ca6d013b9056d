"""A car's shape in short: a print that is the same for the same body, and a small drawing."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

import numpy as np

from bodyshop.assembly import Car
from bodyshop.classwork.model import Thumbnail
from bodyshop.design.fingerprint import Canonical, fingerprint
from bodyshop.outline import Arc, Array, Cubic, Curve, Line, Outline

__all__ = ["shape_print", "thumbnail"]

_THOUSANDTHS: Final = 1000
"""Whole thousandths of a millimetre: no saw tells them apart, and a length in inches rounds to the same."""

_CHORD_MM: Final = 0.2
"""As fine as the thickness of the body is searched with: that flattening is there already."""

_GRID_MM: Final = 0.5
_GAP: Final = 8
_EDGE: Final = 2


def shape_print(car: Car) -> str:
    """A short name for the geometry alone: outlines, long edges, bore and axle holes.

    The car's name, bench, wood, parts and the unit of its file do not count.
    """
    design = car.design
    bore = design.bore
    return fingerprint(
        [
            _outline(design.profile),
            _outline(design.plan),
            _whole(
                (design.edge_round_mm, bore.diameter_mm, bore.depth_mm, bore.height_mm, bore.offset_mm),
            ),
            round(bore.tilt_rad * 1e6),
            [_whole((axle.x_mm, axle.height_mm, axle.hole_mm)) for axle in design.axles],
        ]
    )


def _outline(outline: Outline) -> list[Canonical]:
    return [[_curve(curve) for curve in ring.curves] for ring in outline.rings]


def _curve(curve: Curve) -> list[Canonical]:
    match curve:
        case Line():
            return _whole(curve.p0)
        case Arc():
            return _whole((*curve.p0, curve.radius, math.copysign(curve.radius, curve.sweep)))
        case Cubic():
            return _whole((*curve.p0, *curve.c1, *curve.c2))


def _whole(values: Iterable[float]) -> list[Canonical]:
    return [round(value * _THOUSANDTHS) for value in values]


# ---------------------------------------------------------------- the small drawing


def thumbnail(car: Car) -> Thumbnail:
    """Side view above, top view below, nose to the left, all at one scale."""
    body, design = car.body, car.design
    wheels = [(axle.x_mm, axle.height_mm, axle.wheel.radius_mm) for axle in design.axles]
    low = min(body.profile.bounds[1], *(z - r for _, z, r in wheels))
    high = max(body.profile.bounds[3], *(z + r for _, z, r in wheels))
    left = min(body.x_nose, *(x - r for x, _, r in wheels))
    right = max(body.x_tail, *(x + r for x, _, r in wheels))
    treads = [
        (
            stack.axle.x_mm - left,
            stack.axle.wheel.radius_mm,
            *sorted(
                stack.middle + side * (at - stack.middle)
                for at in (stack.tread_inner_mm, stack.tread_outer_mm)
            ),
        )
        for stack in car.stacks
        for side in (-1, 1)
    ]
    reach = [abs(y) for y in (body.plan.bounds[1], body.plan.bounds[3])] + [
        abs(y) for _, _, *ends in treads for y in ends
    ]
    half = _grid(max(reach)) + _EDGE
    # The side view's top edge is nought; the centre line of the top view lies below its lower edge.
    centre = _grid(high - low) + _GAP + half
    side = [(points * (1, -1) + (-left, high)) for points in _rings(design.profile)]
    top = [(points * (1, -1) + (-left, centre * _GRID_MM)) for points in _rings(design.plan)]
    return Thumbnail(
        box=(-_EDGE, -_EDGE, _grid(right - left) + 2 * _EDGE, centre + half + _EDGE),
        side=_path(side),
        top=_path(top),
        wheels=tuple((_grid(x - left), _grid(high - z), _grid(r)) for x, z, r in wheels),
        treads="".join(_tread(x, r, y0, y1, centre) for x, r, y0, y1 in treads),
    )


def _tread(x: float, radius: float, y0: float, y1: float, centre: int) -> str:
    """A wheel seen from above, as path data."""
    u0, u1, v0, v1 = _grid(x - radius), _grid(x + radius), centre - _grid(y1), centre - _grid(y0)
    return f"M{u0} {v0}H{u1}V{v1}H{u0}z"


def _rings(outline: Outline) -> list[Array]:
    return [ring.flattened(_CHORD_MM)[0] for ring in outline.rings]


def _grid(value_mm: float) -> int:
    return round(value_mm / _GRID_MM)


def _path(rings: Iterable[Array]) -> str:
    """Closed rings as SVG path data in whole steps of the grid, each step relative to the last."""
    parts: list[str] = []
    for ring in rings:
        points = np.rint(ring / _GRID_MM).astype(np.int64)
        steps = np.diff(points, axis=0)
        steps = steps[np.any(steps != 0, axis=1)].tolist()
        data = [f"M{points[0, 0]} {points[0, 1]}l", *(f"{x} {y} " for x, y in steps)]
        parts.append("".join(data).rstrip(" l") + "z")
    return "".join(parts).replace(" -", "-")

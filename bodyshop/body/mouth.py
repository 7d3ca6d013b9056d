"""Where the bore opens, and which faces of the body are its mouth rather than a wall.

The mouth is where the bore's axis comes out at the tail. Its faces are those that the bore cuts through
there: the one that the axis meets and, where the tail is round, pointed or has rounded corners, every other
that looks to the tail, within 45 degrees of the axis, wherever the bore cuts it. A face that the bore cuts
while it looks sideways or up is no mouth: there the bore breaks out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from bodyshop.design.model import Bore
from bodyshop.outline import FINE_MM, Arc, Curve, Line, Outline

__all__ = ["Face", "Mouth", "find_mouth"]

Face = tuple[bool, int]
"""A curve of the outer profile (True) or of the outer plan (False), by its number."""

FACING = math.cos(math.radians(45))
# Two ends of the bore's axis that differ by less (mm) are one.
SAME_END_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Mouth:
    """Where the bore opens: x of its centre, and the faces it opens through."""

    x: float
    faces: frozenset[Face]


def find_mouth(bore: Bore, profile: Outline, plan: Outline) -> Mouth | None:
    """The mouth of a bore; None when its axis never meets both outlines."""
    views = ((True, profile, bore.height_mm, bore.tilt_rad), (False, plan, bore.offset_mm, 0.0))
    met: list[tuple[float, Face]] = []
    ends = []
    for in_profile, outline, level, _ in views:
        crossings = [
            (x, (in_profile, number))
            for number, curve in enumerate(outline.outer.curves)
            for x in _crossings(curve, level)
        ]
        if not crossings:
            return None
        met.extend(crossings)
        ends.append(max(crossings)[0])
    x = min(ends)
    on_axis = {face for end, face in met if abs(end - x) < SAME_END_MM}
    faces: set[Face] = set()
    for in_profile, outline, level, tilt in views:
        behind = x - bore.depth_mm * math.cos(tilt)
        numbers = _facing(outline, (x, level), bore.diameter_mm / 2, tilt, behind)
        faces.update((in_profile, number) for number in numbers)
    if not faces & on_axis and len(on_axis) == 1:
        # A tail that slopes up or sideways so much is the mouth all the same; an edge between two is not.
        faces |= on_axis
    return Mouth(x, frozenset(faces))


def _facing(
    outline: Outline, mouth: tuple[float, float], radius: float, tilt: float, x_blind: float
) -> list[int]:
    """Outer curves that the bore cuts in this view only where they look along it to the tail."""
    points, index = outline.outer.flattened(FINE_MM)
    ends = np.concatenate((points[1:], points[:1]))
    behind = np.maximum(points[:, 0], ends[:, 0]) > x_blind
    points, ends, index = points[behind], ends[behind], index[behind]
    du, dv = points[:, 0] - mouth[0], points[:, 1] - mouth[1]
    c, s = math.cos(tilt), math.sin(tilt)
    off = du * s + dv * c
    off1 = (ends[:, 0] - mouth[0]) * s + (ends[:, 1] - mouth[1]) * c
    cut = (np.minimum(off, off1) < radius - SAME_END_MM) & (np.maximum(off, off1) > SAME_END_MM - radius)
    along = ends - points
    # The outward normal is on the right of the edge.
    facing = along[:, 1] * c + along[:, 0] * s > FACING * np.hypot(along[:, 0], along[:, 1])
    some = np.unique(index[cut])
    return [int(i) for i in some if np.all(facing[cut & (index == i)])]


def _crossings(curve: Curve, level: float) -> list[float]:
    """U at each place where a curve meets v = level."""
    match curve:
        case Line((u0, v0), (u1, v1)):
            if (v0 - level) * (v1 - level) > 0 or v0 == v1:
                return []
            return [u0 + (level - v0) / (v1 - v0) * (u1 - u0)]
        case Arc():
            sine = (level - curve.centre[1]) / curve.radius
            if abs(sine) > 1:
                return []
            angles = (math.asin(sine), math.pi - math.asin(sine))
            share = [((a - curve.start) / math.copysign(2 * math.pi, curve.sweep)) % 1 for a in angles]
            reach = abs(curve.sweep) / (2 * math.pi)
            return [
                curve.centre[0] + curve.radius * math.cos(a)
                for a, s in zip(angles, share, strict=True)
                if s <= reach + 1e-12
            ]
        case _:
            heights = (curve.p0[1], curve.c1[1], curve.c2[1], curve.p1[1])
            if not min(heights) <= level <= max(heights):
                return []
            b = curve.power()[1]
            roots = np.roots([b[3], b[2], b[1], b[0] - level])
            t = np.array([float(r.real) for r in roots if abs(r.imag) < 1e-9 and -1e-9 <= r.real <= 1 + 1e-9])
            return [float(u) for u in curve.at(np.clip(t, 0, 1))[:, 0]] if t.size else []

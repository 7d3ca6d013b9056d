"""A short name for what a design means, so that a sheet of paper and a checked file can be matched.

It is taken over the resolved numbers, rounded to a millionth of a millimetre, the shapes and the names of
the parts. Comments, layout, the unit a length was written in and the order of keys do not count.
"""

from __future__ import annotations

import hashlib
import json
from typing import TypeAlias

from bodyshop.design.model import AxleSet, Bore, EyePlace
from bodyshop.design.outlines import Circle, Drawn, Polyline
from bodyshop.outline import Bezier, Edge, Point, Radius, Smooth, Straight, Through, Vertex
from bodyshop.stock.blanks import Blank

__all__ = [
    "Canonical",
    "canonical_axle",
    "canonical_blank",
    "canonical_bore",
    "canonical_eye",
    "canonical_number",
    "canonical_outline",
    "fingerprint",
]

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32: no I, L, O or U, which are misread or misheard."""

Canonical: TypeAlias = "bool | int | str | list[Canonical] | None"


def fingerprint(meaning: list[Canonical]) -> str:
    """Two groups of four letters and digits, 40 bits of the SHA-256 of `meaning`."""
    text = json.dumps(meaning, ensure_ascii=True, separators=(",", ":"))
    number = int.from_bytes(hashlib.sha256(text.encode("ascii")).digest()[:5], "big")
    letters = "".join(CROCKFORD[number >> shift & 31] for shift in range(35, -5, -5))
    return f"{letters[:4]}-{letters[4:]}"


def canonical_number(value: float | None) -> int | None:
    """A number as whole millionths; minus nought is nought."""
    return None if value is None else round(value * 1e6)


def _p(point: Point) -> list[Canonical]:
    return [canonical_number(point[0]), canonical_number(point[1])]


def canonical_outline(drawn: Drawn) -> list[Canonical]:
    """The shapes of an outline and whether it is mirrored."""
    return [drawn.mirrored, [_shape(shape) for shape in drawn.shapes]]


def _shape(shape: Polyline | Circle) -> list[Canonical]:
    if isinstance(shape, Circle):
        return ["circle", _p(shape.centre), canonical_number(shape.diameter_mm)]
    return ["points", [_vertex(vertex) for vertex in shape.vertices]]


def _vertex(vertex: Vertex) -> list[Canonical]:
    return [_p(vertex.at), _edge(vertex.edge), canonical_number(vertex.round_mm), vertex.tangent]


def _edge(edge: Edge) -> list[Canonical]:
    match edge:
        case Straight():
            return []
        case Through(point):
            return ["through", _p(point)]
        case Radius(radius, hollow, long):
            return ["radius", canonical_number(radius), hollow, long]
        case Bezier(one, two):
            return ["handles", _p(one), _p(two)]
        case Smooth():
            return ["smooth"]


def canonical_blank(blank: Blank) -> list[Canonical]:
    """The sizes of the blank and of its bore."""
    bore = blank.bore
    return [
        blank.id,
        canonical_number(blank.length_mm),
        canonical_number(blank.width_mm),
        canonical_number(blank.height_nose_mm),
        canonical_number(blank.height_tail_mm),
        None
        if bore is None
        else [
            canonical_number(bore.diameter_mm),
            canonical_number(bore.depth_mm),
            canonical_number(bore.height_mm),
        ],
    ]


def canonical_bore(bore: Bore) -> list[Canonical]:
    """The bore's figures."""
    return [
        canonical_number(bore.diameter_mm),
        canonical_number(bore.depth_mm),
        canonical_number(bore.height_mm),
        canonical_number(bore.offset_mm),
        canonical_number(bore.tilt_rad),
    ]


def canonical_axle(axle: AxleSet) -> list[Canonical]:
    """An axle's place, and what is on it."""
    return [
        axle.end.value,
        canonical_number(axle.x_mm),
        canonical_number(axle.height_mm),
        canonical_number(axle.hole_mm),
        axle.axle.id,
        canonical_number(axle.length_mm),
        axle.bearing.id if axle.bearing is not None else None,
        [
            axle.wheel.id,
            canonical_number(axle.wheel.diameter_mm),
            canonical_number(axle.wheel.width_mm),
            canonical_number(axle.wheel.mass_g),
        ],
        axle.washer.id if axle.washer is not None else None,
        axle.washers,
        canonical_number(axle.play_mm),
    ]


def canonical_eye(eye: EyePlace) -> list[Canonical]:
    """A screw eye and its place."""
    return [
        eye.eye.id,
        canonical_number(eye.x_mm),
        canonical_number(eye.offset_mm),
        eye.axle.value if eye.axle is not None else None,
    ]

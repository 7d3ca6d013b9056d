"""A short name for what a design means, so that a sheet of paper and a checked file can be matched.

It is taken over the resolved numbers, rounded to a millionth of a millimetre, the shapes and the names of
the parts. Comments, layout, the unit a length was written in and the order of keys do not count.
"""

from __future__ import annotations

import hashlib
import json
from dataclasses import fields
from typing import TypeAlias

from bodyshop.car.design.fields import FORMAT
from bodyshop.car.design.model import AxleSet, Bore, Design, EyePlace, Parts
from bodyshop.car.design.outlines import DesignOutline, Polyline, RoundWindow
from bodyshop.car.stock.blanks import Blank
from bodyshop.car.stock.hardware import Material, Part, hardware
from bodyshop.geometry.outlines import Bezier, Edge, Point, Radius, Smooth, Straight, Through, Vertex

__all__ = ["Canonical", "fingerprint", "meaning"]

CROCKFORD = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""Crockford's base 32: no I, L, O or U, which are misread or misheard."""

Canonical: TypeAlias = "bool | int | str | list[Canonical] | None"


def fingerprint(canonical: list[Canonical]) -> str:
    """Two groups of four letters and digits, 40 bits of the SHA-256 of its canonical text."""
    text = json.dumps(canonical, ensure_ascii=True, separators=(",", ":"))
    number = int.from_bytes(hashlib.sha256(text.encode("ascii")).digest()[:5], "big")
    letters = "".join(CROCKFORD[number >> shift & 31] for shift in range(35, -5, -5))
    return f"{letters[:4]}-{letters[4:]}"


def meaning(design: Design, profile: DesignOutline, plan: DesignOutline) -> list[Canonical]:
    """All that a fingerprint is taken over. `profile` and `plan` are the outlines as the file draws them."""
    return [
        FORMAT,
        design.name,
        design.unit.symbol,
        design.wood.id,
        _blank(design.blank),
        [_n(design.weighed_blank_g), _n(design.balance_g)],
        _outline(profile),
        _outline(plan),
        _n(design.edge_round_mm),
        _bore(design.bore),
        [_axle(axle) for axle in design.axles],
        [_eye(eye) for eye in design.eyes],
        [_part("cartridges", design.cartridge), design.finish.id, design.glue.id],
        *_parts(design.parts),
    ]


def _parts(parts: Parts) -> list[Canonical]:
    """Nothing where nothing is declared, so that fingerprints from before the table stay what they were."""
    if parts == Parts():
        return []
    counts: list[Canonical] = [
        parts.clips,
        parts.spare_wheels,
        parts.spare_axles,
        parts.spare_washers,
        parts.spare_eyes,
        parts.spare_clips,
    ]
    return [[*counts, _n(parts.number_height_mm)]]


def _n(value: float | None) -> int | None:
    """A number as whole millionths; minus zero is zero."""
    return None if value is None else round(value * 1e6)


def _p(point: Point) -> list[Canonical]:
    return [_n(point[0]), _n(point[1])]


def _outline(drawn: DesignOutline) -> list[Canonical]:
    """The shapes of an outline and whether it is mirrored."""
    return [drawn.mirrored, [_shape(shape) for shape in drawn.shapes]]


def _shape(shape: Polyline | RoundWindow) -> list[Canonical]:
    if isinstance(shape, RoundWindow):
        return ["circle", _p(shape.centre), _n(shape.diameter_mm)]
    return ["points", [_vertex(vertex) for vertex in shape.vertices]]


def _vertex(vertex: Vertex) -> list[Canonical]:
    return [_p(vertex.at), _edge(vertex.edge), _n(vertex.round_mm), vertex.tangent]


def _edge(edge: Edge) -> list[Canonical]:
    match edge:
        case Straight():
            return []
        case Through(point):
            return ["through", _p(point)]
        case Radius(radius, hollow, long):
            return ["radius", _n(radius), hollow, long]
        case Bezier(one, two):
            return ["handles", _p(one), _p(two)]
        case Smooth():
            return ["smooth"]


def _blank(blank: Blank) -> list[Canonical]:
    """The sizes of the blank and of its bore."""
    bore = blank.bore
    return [
        blank.id,
        _n(blank.length_mm),
        _n(blank.width_mm),
        _n(blank.height_nose_mm),
        _n(blank.height_tail_mm),
        None
        if bore is None
        else [
            _n(bore.diameter_mm),
            _n(bore.depth_mm),
            _n(bore.height_mm),
        ],
    ]


def _bore(bore: Bore) -> list[Canonical]:
    """The bore's figures."""
    return [
        _n(bore.diameter_mm),
        _n(bore.depth_mm),
        _n(bore.height_mm),
        _n(bore.offset_mm),
        _n(bore.tilt_rad),
    ]


def _part(shelf: str, part: Part) -> Canonical:
    """A part in stock by its name; one that an event brings with its figures, which its name does not fix."""
    if part.id in hardware().shelf(shelf):
        return part.id
    figures = [getattr(part, each.name) for each in fields(part)]
    return [part.id, *(_n(each) for each in figures if isinstance(each, float)), *_materials(figures)]


def _materials(figures: list[object]) -> list[Canonical]:
    return [each.id for each in figures if isinstance(each, Material)]


def _axle(axle: AxleSet) -> list[Canonical]:
    """An axle's place, and what is on it."""
    return [
        axle.end.value,
        _n(axle.x_mm),
        _n(axle.height_mm),
        _n(axle.hole_mm),
        _part("axles", axle.axle),
        _n(axle.length_mm),
        _part("bearings", axle.bearing) if axle.bearing is not None else None,
        [
            _part("wheels", axle.wheel),
            _n(axle.wheel.diameter_mm),
            _n(axle.wheel.width_mm),
            _n(axle.wheel.mass_g),
        ],
        _part("washers", axle.washer) if axle.washer is not None else None,
        axle.washers,
        _n(axle.play_mm),
    ]


def _eye(eye: EyePlace) -> list[Canonical]:
    """A screw eye and its place."""
    return [
        _part("screw-eyes", eye.eye),
        _n(eye.x_mm),
        _n(eye.offset_mm),
        eye.axle.value if eye.axle is not None else None,
    ]

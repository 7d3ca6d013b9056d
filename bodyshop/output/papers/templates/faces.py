"""The faces of a blank that a plan is laid on, how the plan lies on each, and how each is told apart.

A saw with an upright blade cuts what it sees from above. On the flat underside that is the plan turned
over; on a sloping top every length along the slope is 1 / cos(slope) times its length in plan, and widths
stay.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import Enum

import numpy as np
import shapely

from bodyshop.car.stock.blanks import Blank
from bodyshop.drawing.sheet.items import Item, Text, Weight
from bodyshop.drawing.sheet.lettering import text_width_mm
from bodyshop.drawing.sheet.pens import Layer, Pen
from bodyshop.drawing.sheet.shapes import polygon, rectangle
from bodyshop.geometry.affine import Affine, Point
from bodyshop.geometry.paths import Rect

__all__ = [
    "FaceBadge",
    "BlankFace",
    "FaceWords",
    "badge",
    "corner_marks",
    "face_map",
    "face_words",
    "faces_for",
    "faces_offered",
    "laid",
]

_BADGE_MM = (4.5, 3.5, 2.8)
_PAD_MM = 1.8
_MARK_MM, _MARK_IN_MM = 4.0, 1.5


class BlankFace(Enum):
    """The face of the blank that a plan template is for."""

    TOP = "top"
    """A level top face, seen from above."""
    SLOPE = "sloping top"
    """The sloping top of a wedge, seen square to it: stretched along the slope."""
    UNDERSIDE = "underside"
    """The flat underside, seen from below: mirrored in the centre line."""


@dataclass(frozen=True, slots=True)
class FaceWords:
    """How a plan template for a face says so: its name, what it shows, what not to do, which side is up."""

    name: str
    where: str
    beware: str = ""
    up: str = ""


@dataclass(frozen=True, slots=True)
class FaceBadge:
    """The name of a face in large letters in a frame of its own shape, and which side is up at the saw."""

    face: BlankFace
    name: str
    up: str

    @property
    def sizes(self) -> list[tuple[float, float]]:
        """Widths and heights, from the one that is wanted to the least."""
        return [_badge_size(self, height) for height in _BADGE_MM]

    def items(self, number: int, rect: Rect) -> list[Item]:
        """The badge in the size `number`, inside a rectangle of that size."""
        return list(_badge(self, _BADGE_MM[number], rect))


def faces_offered(blank: Blank) -> tuple[BlankFace, ...]:
    """The faces of a blank that a plan can be laid on, the usual one first."""
    return (BlankFace.SLOPE if blank.is_wedge else BlankFace.TOP, BlankFace.UNDERSIDE)


def faces_for(blank: Blank) -> tuple[BlankFace, ...]:
    """The faces that plans are drawn for when nobody says otherwise: both on a wedge, else the top."""
    return faces_offered(blank) if blank.is_wedge else (BlankFace.TOP,)


def face_map(face: BlankFace, blank: Blank) -> Affine:
    """From the design's plan, (x, y), to the paper laid on that face with the nose end to the left.

    Seen from below the car's two sides change places; on the slope lengths grow by 1 / cos of its angle.
    """
    match face:
        case BlankFace.TOP:
            return Affine()
        case BlankFace.UNDERSIDE:
            return Affine.mirror_y()
        case BlankFace.SLOPE:
            return Affine.stretch(1.0 / math.cos(blank.top_slope_rad), 1.0)


def laid(shape: shapely.Geometry, place: Affine) -> shapely.Geometry:
    """A shape of the design's plan as it lies on the paper."""

    def mapped(points: np.ndarray[tuple[int, int], np.dtype[np.float64]]) -> object:
        return points @ np.array([[place.a, place.b], [place.c, place.d]]) + np.array([place.e, place.f])

    return shapely.transform(shape, mapped)


def face_words(face: BlankFace, blank: Blank, *, alone: bool = True) -> FaceWords:
    """The words for a face; not `alone` when a template for another face is printed too."""
    or_other = "" if alone else " Never use both plans."
    match face:
        case BlankFace.TOP:
            return FaceWords("TOP TEMPLATE", "seen from above, for the top face", or_other.strip(), "")
        case BlankFace.SLOPE:
            share = f"{1.0 / math.cos(blank.top_slope_rad):.4f}"
            return FaceWords(
                "PLAN TEMPLATE FOR THE SLOPING TOP",
                "seen from above, this side up",
                f"Not for the underside: stretched {share} times along the slope.{or_other}",
                "this side up, underside on the saw table",
            )
        case BlankFace.UNDERSIDE:
            beware = ""
            up = "this side up, top on the saw table"
            if blank.is_wedge:
                beware = "Not for the sloping top: not stretched along the slope."
                up = "this side up and level, wedge under the slope"
            return FaceWords(
                "PLAN TEMPLATE FOR THE UNDERSIDE",
                "seen from below, this side up",
                f"{beware}{or_other}".strip(),
                up,
            )


def badge(face: BlankFace, blank: Blank) -> FaceBadge | None:
    """The badge of a face that could be taken for another; none for a level top."""
    words = face_words(face, blank)
    return FaceBadge(face, face.value.upper(), words.up) if words.up else None


def _badge_size(each: FaceBadge, height: float) -> tuple[float, float]:
    wide = text_width_mm(each.name, height, bold=True) + 2 * _PAD_MM
    return wide, height + 2 * _PAD_MM + _rise(each, height)


def _rise(each: FaceBadge, height: float) -> float:
    return 0.6 * height if each.face is BlankFace.SLOPE else 0.0


def _badge(each: FaceBadge, height: float, rect: Rect) -> Iterator[Item]:
    """The underside's frame is two rectangles; the sloping top's rises to the tail as the wedge does."""
    if each.face is BlankFace.SLOPE:
        corners = (
            (rect.x, rect.y),
            (rect.right, rect.y),
            (rect.right, rect.top),
            (rect.x, rect.top - _rise(each, height)),
        )
        yield polygon(corners, Layer.TEXT, Pen.HEAVY, 1.0)
    else:
        yield rectangle(rect, Layer.TEXT, Pen.HEAVY, 1.0)
        yield rectangle(rect.inset(0.8), Layer.TEXT, Pen.NARROW)
    yield Text(each.name, (rect.x + _PAD_MM, rect.y + _PAD_MM), height, weight=Weight.BOLD)


def corner_marks(
    face: BlankFace, blank: Blank, wood: Rect, car: shapely.Geometry
) -> tuple[list[Item], list[shapely.Geometry]]:
    """Marks in the corners of the blank, as far as the car leaves them free, and the ink that they are.

    Filled squares for the underside, open wedges for the sloping top, none for a level top.
    """
    items: list[Item] = []
    ink: list[shapely.Geometry] = []
    if face is BlankFace.TOP:
        return items, ink
    rises = blank.top_slope_rad > 0
    for x, y in _corners(wood):
        box = Rect(x, y, _MARK_MM, _MARK_MM)
        held = shapely.box(box.x, box.y, box.right, box.top)
        if car.intersects(held.buffer(0.6)):
            continue
        if face is BlankFace.UNDERSIDE:
            items.append(rectangle(box, Layer.TEXT, Pen.NARROW, 0.0))
        else:
            tip = (box.right if rises else box.x, box.top)
            items.append(polygon(((box.x, box.y), (box.right, box.y), tip), Layer.TEXT, Pen.FRAME, 1.0))
        ink.append(held)
    return items, ink


def _corners(wood: Rect) -> Iterable[Point]:
    near, far = _MARK_IN_MM, _MARK_IN_MM + _MARK_MM
    for x in (wood.x + near, wood.right - far):
        for y in (wood.y + near, wood.top - far):
            yield x, y

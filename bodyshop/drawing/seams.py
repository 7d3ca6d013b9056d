"""The seams between tiles: where they run, the register crosses on them, and what to do at each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely

from bodyshop.drawing.affine import Point
from bodyshop.drawing.clearing import clearest, ink_near
from bodyshop.drawing.frame import tile_label
from bodyshop.drawing.items import Anchor, Item, Rect, Text
from bodyshop.drawing.lettering import text_width_mm
from bodyshop.drawing.marks import register_cross
from bodyshop.drawing.pens import Layer, Pen
from bodyshop.drawing.shapes import line
from bodyshop.drawing.tileplan import TilePlan

__all__ = ["Seams"]

_NOTE_MM = 1.8
_TRIM_LIFT_MM = 2.0
_FLAP_LIFT_MM = -3.8
# Room that a cross and a note like to have round them.
_CROSS_CLEAR_MM = 5.0
_NOTE_CLEAR_MM = 2.5


@dataclass(frozen=True, slots=True)
class _Seam:
    """A seam up or to the right, and how far along it the crosses stand."""

    start: Point
    end: Point
    half_mm: float
    ink: shapely.Geometry
    crosses: tuple[float, ...]

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def place(self, u: float, v: float = 0.0) -> Point:
        """The point `u` along the seam and `v` to its left."""
        length = self.length
        along = ((self.end[0] - self.start[0]) / length, (self.end[1] - self.start[1]) / length)
        return (
            self.start[0] + u * along[0] - v * along[1],
            self.start[1] + u * along[1] + v * along[0],
        )


class Seams:
    """All seams of a plan, worked out once, so that both neighbours carry the very same crosses.

    `pieces` are the items of the drawing, each with the rectangle round it.
    """

    def __init__(self, pieces: Sequence[tuple[Item, Rect]], plan: TilePlan) -> None:
        self._plan = plan
        self._right: dict[tuple[int, int], _Seam] = {}
        self._below: dict[tuple[int, int], _Seam] = {}
        half = plan.overlap_mm / 2
        for row in range(plan.rows):
            for column in range(plan.columns):
                part = plan.part(column, row)
                if column < plan.columns - 1:
                    x = part.right - half
                    self._right[column, row] = _seam(pieces, (x, part.y), (x, part.top), half)
                if row < plan.rows - 1:
                    y = part.y + half
                    self._below[column, row] = _seam(pieces, (part.x, y), (part.right, y), half)

    def marks(self, column: int, row: int) -> list[Item]:
        """What a tile carries at its seams, in the drawing's coordinates."""
        items: list[Item] = []
        for seams, neighbour in ((self._right, (column - 1, row)), (self._below, (column, row - 1))):
            if neighbour in seams:
                # Up a seam its left is the trimmed side; along a level seam it is the upper side.
                words = f"trim here, lay on {tile_label(*neighbour)}"
                items += _marks(seams[neighbour], words, _TRIM_LIFT_MM)
        for seams, neighbour in ((self._right, (column + 1, row)), (self._below, (column, row + 1))):
            if (column, row) in seams:
                words = f"flap: glue {tile_label(*neighbour)} on here"
                items += _marks(seams[column, row], words, _FLAP_LIFT_MM)
        return items


def _seam(pieces: Sequence[tuple[Item, Rect]], start: Point, end: Point, half_mm: float) -> _Seam:
    level = start[1] == end[1]
    strip = (
        Rect(start[0], start[1] - half_mm, end[0] - start[0], 2 * half_mm)
        if level
        else Rect(start[0] - half_mm, start[1], 2 * half_mm, end[1] - start[1])
    )
    bare = _Seam(
        start, end, half_mm, ink_near([item for item, box in pieces if box.touches(strip)], strip), ()
    )
    crosses = tuple(
        clearest(
            [(u, (bare.place(u),)) for u in (bare.length * (share + 0.01 * k) for k in range(-12, 13))],
            bare.ink,
            bare.length * share,
            _CROSS_CLEAR_MM,
        )
        for share in (0.2, 0.8)
    )
    return _Seam(start, end, half_mm, bare.ink, crosses)


def _marks(seam: _Seam, words: str, lift_mm: float) -> list[Item]:
    """The seam's line and crosses, and a note on its left (`lift_mm` positive) or right."""
    items: list[Item] = [line(seam.start, seam.end, Layer.REGISTER, Pen.TRIM)]
    for u in seam.crosses:
        items += register_cross(seam.place(u))
    reach = text_width_mm(words, _NOTE_MM) / 2
    edge = seam.half_mm + reach
    free = [
        u
        for u in (seam.length * k * 0.02 for k in range(1, 50))
        if edge <= u <= seam.length - edge and all(abs(u - cross) > reach + 5.0 for cross in seam.crosses)
    ] or [seam.length / 2]
    middle = lift_mm + _NOTE_MM / 2
    stretches = [(u, (seam.place(u - reach, middle), seam.place(u + reach, middle))) for u in free]
    u = clearest(stretches, seam.ink, seam.length / 2, _NOTE_CLEAR_MM)
    turn = math.atan2(seam.end[1] - seam.start[1], seam.end[0] - seam.start[0])
    note = Text(
        words, seam.place(u, lift_mm), _NOTE_MM, Anchor.MIDDLE, turn, layer=Layer.REGISTER, clear=True
    )
    return [*items, note]

"""Words cut into a flat face, in the letters of the papers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from bodyshop.drawing.sheet.lettering import font_file, load_face
from bodyshop.foundation.place import Point3
from bodyshop.geometry.outlines import Array
from bodyshop.solids.forms import moved

if TYPE_CHECKING:
    from fontTools.ttLib import TTFont
    from manifold3d import Manifold

__all__ = ["EngravedText", "letter_tool"]

LEAST_LETTER_MM = 2.5
"""Smaller letters come out of no printer; then the notches alone have to tell."""

# Points on a curved stroke of a letter: a bend of a few tenths of a millimetre.
_STEPS = 4
# How far the tool stands out of the face, mm.
_OUT_MM = 0.5


@dataclass(frozen=True, slots=True)
class EngravedText:
    """Words about `middle` on a face, running along `along`; `out` points away from the material.

    `room` is the width and height (mm) that they have to keep within, `letter` the height of a capital.
    """

    words: str
    middle: Point3
    along: Point3
    out: Point3
    room: tuple[float, float]
    letter_mm: float
    depth_mm: float


def letter_tool(mark: EngravedText) -> Manifold | None:
    """What the words take out of the material; None where there is no room for letters."""
    from manifold3d import CrossSection, FillRule

    face = load_face(bold=True)
    wide = sum(face.advance.get(ord(c), 0.0) for c in mark.words) / face.cap_height
    letter = min(mark.letter_mm, mark.room[1], mark.room[0] / wide if wide else 0.0)
    if letter < LEAST_LETTER_MM:
        return None
    size = letter / face.cap_height
    rings, pen = [], 0.0
    for character in mark.words:
        rings += [size * (ring + np.array([pen, 0.0])) for ring in _rings(character)]
        pen += face.advance.get(ord(character), 0.0)
    if not rings:
        return None
    tool = CrossSection(rings, FillRule.NonZero).extrude(mark.depth_mm + _OUT_MM)
    u, w = np.array(mark.along), np.array(mark.out)
    v = np.cross(w, u)
    start = np.array(mark.middle) - 0.5 * wide * letter * u - 0.5 * letter * v - mark.depth_mm * w
    return moved(tool, np.column_stack((u, v, w, start)))


@cache
def _font() -> TTFont:
    from fontTools.ttLib import TTFont

    return TTFont(font_file(bold=True))


def _rings(character: str) -> Iterator[Array]:
    """The outlines of a letter, as rings of points, in ems."""
    from fontTools.pens.basePen import decomposeQuadraticSegment
    from fontTools.pens.recordingPen import DecomposingRecordingPen

    font = _font()
    glyphs = font.getGlyphSet()
    name = font.getBestCmap().get(ord(character))
    if name is None:
        return
    pen = DecomposingRecordingPen(glyphs)
    glyphs[name].draw(pen)
    em = float(font["head"].unitsPerEm)
    ring: list[tuple[float, float]] = []
    for command, points in pen.value:
        if command == "moveTo":
            ring = [points[0]]
        elif command == "lineTo":
            ring.append(points[0])
        elif command == "qCurveTo":
            for bend, end in decomposeQuadraticSegment(points):
                a, b, c = (np.array(p, dtype=float) for p in (ring[-1], bend, end))
                for t in np.arange(1, _STEPS + 1) / _STEPS:
                    x, y = (1 - t) ** 2 * a + 2 * t * (1 - t) * b + t * t * c
                    ring.append((float(x), float(y)))
        elif ring:
            yield np.array(ring, dtype=float) / em
